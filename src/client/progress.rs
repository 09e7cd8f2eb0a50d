//! Shows the progress of a long command while somebody watches.

use std::io::{IsTerminal, stderr};
use std::sync::mpsc;
use std::time::Duration;

use thread_priority::ThreadPriority;
use thread_priority::unix::{
    NormalThreadSchedulePolicy, ThreadSchedulePolicy, set_thread_priority_and_policy,
    thread_native_id,
};

use ::record::{Progress, Step};

use super::screen;

/// How often it is shown.
const TOLD_EVERY: Duration = Duration::from_millis(500);
/// Erases the rest of the line (ECMA-48, EL).
const WIPE: &str = "\u{1b}[K";

/// By how much the priority is lowered (`man 2 nice`) where the system has no better way: the process then gets a
/// tenth of a processor that others want.
const NICER: i32 = 10;

/// Lowers the priority of this process, since a long command must not keep a touch waiting. It gets only time that
/// nobody else wants (`SCHED_IDLE`, `man 7 sched`), so that the service gets its turn at once. Threads started
/// later have the same priority.
pub(super) fn give_way() {
    let idle = ThreadSchedulePolicy::Normal(NormalThreadSchedulePolicy::Idle);
    // If the system refuses, the command runs all the same.
    let _refused = set_thread_priority_and_policy(thread_native_id(), ThreadPriority::Min, idle);
    let _refused = rustix::process::nice(NICER);
}

/// Runs some work and shows its progress on a terminal; prints nothing into a pipe.
pub(super) fn shown<T>(work: impl FnOnce(&Progress) -> T) -> T {
    let progress = Progress::default();
    if !stderr().is_terminal() {
        return work(&progress);
    }
    let (done, ended) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        let looked_at = &progress;
        scope.spawn(move || {
            let mut told = false;
            while ended.recv_timeout(TOLD_EVERY) == Err(mpsc::RecvTimeoutError::Timeout) {
                screen::say(&format!("\r{}{WIPE}", sentence(looked_at.now())));
                told = true;
            }
            if told {
                screen::say(&format!("\r{WIPE}"));
            }
        });
        let worked = work(&progress);
        drop(done);
        worked
    })
}

fn sentence((step, share): (Step, Option<u64>)) -> String {
    let what = match step {
        Step::Copying => "copying",
        Step::File => "checking the file",
        Step::Rows => "checking the rows",
    };
    share.map_or_else(|| format!("{what} …"), |share| format!("{what}: {share} %"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_says_what_is_done_and_how_much_where_that_is_known() {
        assert_eq!(sentence((Step::Copying, Some(40))), "copying: 40 %");
        assert_eq!(sentence((Step::File, None)), "checking the file …");
        assert_eq!(sentence((Step::Rows, Some(0))), "checking the rows: 0 %");
    }
}
