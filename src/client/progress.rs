//! How far a long command has come, told while somebody looks on.

use std::io::{IsTerminal, stderr};
use std::sync::mpsc;
use std::time::Duration;

use thread_priority::ThreadPriority;
use thread_priority::unix::{
    NormalThreadSchedulePolicy, ThreadSchedulePolicy, set_thread_priority_and_policy,
    thread_native_id,
};

use store::{Progress, Step};

use super::screen;

/// How often it is told.
const TOLD_EVERY: Duration = Duration::from_millis(500);
/// Takes away what stood in the rest of the line (ECMA-48, EL).
const WIPE: &str = "\u{1b}[K";

/// How much nicer than others (`man 2 nice`), where the system knows no better: it gets a tenth of a
/// processor that somebody else wants.
const NICER: i32 = 10;

/// Lets others go first from now on: what takes long must not keep a touch waiting. It gets what
/// nobody else wants (`SCHED_IDLE`, `man 7 sched`), so that a service that wakes up is not kept
/// waiting until it has had its turn. Threads that begin later do the same.
pub(super) fn give_way() {
    let idle = ThreadSchedulePolicy::Normal(NormalThreadSchedulePolicy::Idle);
    // Where the system refuses, it is done all the same.
    let _refused = set_thread_priority_and_policy(thread_native_id(), ThreadPriority::Min, idle);
    let _refused = rustix::process::nice(NICER);
}

/// Works, and on a terminal tells meanwhile how much is done. In a pipe it is quiet.
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
