//! The `tenths` program.

use std::process::ExitCode;

/// A bug: the record on disk tells where it was, and a supervisor starts it again.
const BUG: i32 = 70;

fn main() -> ExitCode {
    let tell = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        tell(panic);
        end_as_bug();
    }));
    ExitCode::from(client::run(std::env::args_os()))
}

/// Ends the whole program, whichever thread found the bug: what is stored is whole, and nothing
/// else may go on from a state nobody thought of.
#[expect(clippy::exit, reason = "part of main: the exit code of a bug")]
fn end_as_bug() {
    std::process::exit(BUG);
}
