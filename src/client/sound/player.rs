//! The player: somebody else's program, so nothing waits for it for long.

use std::io::{self, Write};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// The longest a player may take for one tone.
const LONGEST: Duration = Duration::from_secs(2);
/// Between two looks whether it has ended.
const LOOK: Duration = Duration::from_millis(10);

/// What a person is told of the player, once each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Said(pub(crate) String);

/// Plays one WAV file after the other, on a thread of its own. While one is played the next one
/// waits; what comes on top of that is left out rather than heard late.
#[derive(Debug)]
pub(crate) struct Player {
    next: SyncSender<Vec<u8>>,
}

impl Player {
    /// A player by its command line; `tell` hears what is wrong with it.
    pub(crate) fn new(command: Vec<String>, tell: impl Fn(Said) + Send + 'static) -> Self {
        let (next, wanted) = sync_channel(1);
        thread::spawn(move || work(&command, &wanted, &tell));
        Self { next }
    }

    /// Plays it, soon or not at all.
    pub(crate) fn play(&self, wav: Vec<u8>) {
        drop(self.next.try_send(wav));
    }
}

fn work(command: &[String], wanted: &Receiver<Vec<u8>>, tell: &impl Fn(Said)) {
    let mut told = Vec::new();
    for wav in wanted {
        if let Err(said) = play(command, &wav, LONGEST)
            && !told.contains(&said)
        {
            told.push(said.clone());
            tell(said);
        }
    }
}

/// Plays a file and waits until the player ends, `longest` at most; then it is killed.
pub(super) fn play(command: &[String], wav: &[u8], longest: Duration) -> Result<(), Said> {
    let program = command.first().map_or("", String::as_str);
    let trouble = |error: io::Error| Said(format!("the sound player {program} fails: {error}"));
    let (child, kept) = start(command, wav).map_err(trouble)?;
    let ended = wait(child, longest);
    // The file stays until the player has ended.
    drop(kept);
    match ended.map_err(trouble)? {
        None => Err(Said(format!("the sound player {program} does not end and was killed"))),
        Some(true) => Ok(()),
        Some(false) => Err(Said(format!("the sound player {program} says that it failed"))),
    }
}

/// Starts the player with the file on its standard input, or named where `{file}` stands.
fn start(command: &[String], wav: &[u8]) -> io::Result<(Child, Option<tempfile::NamedTempFile>)> {
    let (program, arguments) = command.split_first().ok_or(io::ErrorKind::NotFound)?;
    let mut start = Command::new(program);
    start.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    if !arguments.iter().any(|word| word.contains("{file}")) {
        let mut child = start.args(arguments).stdin(Stdio::piped()).spawn()?;
        // A tone is far smaller than a pipe holds, so this does not wait; a player that ends
        // without reading is told by its exit.
        let written = child.stdin.take().map(|mut pipe| pipe.write_all(wav));
        drop(written);
        return Ok((child, None));
    }
    let mut file = tempfile::Builder::new().prefix("tone").suffix(".wav").tempfile()?;
    file.write_all(wav)?;
    let name = file.path().display().to_string();
    let child = start.args(arguments.iter().map(|word| word.replace("{file}", &name))).spawn()?;
    Ok((child, Some(file)))
}

/// Whether it ended well; `None` when it had to be killed.
fn wait(mut child: Child, longest: Duration) -> io::Result<Option<bool>> {
    let until = Instant::now() + longest;
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status.success()));
        }
        if Instant::now() >= until {
            child.kill()?;
            child.wait()?;
            return Ok(None);
        }
        thread::sleep(LOOK);
    }
}
