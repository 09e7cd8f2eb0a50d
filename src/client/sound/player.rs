//! Plays sounds through another program, which is never waited for long.

use std::io::{self, Write};
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use rustix::io::Errno;
use rustix::process::{Pid, Signal, kill_process_group};

/// The longest time that the player may take for one tone.
const LONGEST: Duration = Duration::from_secs(2);
/// The time between two looks whether it has ended.
const LOOK: Duration = Duration::from_millis(10);

/// A message about the player; each is shown once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Said(pub(crate) String);

/// Plays one WAV file after the other, on a thread of its own. While one is played, the next one waits; any more are
/// left out rather than played late. So at most one program runs at a time, and none is left once this is dropped.
#[derive(Debug)]
pub(crate) struct Player {
    /// `None` once the player ends.
    next: Option<SyncSender<Vec<u8>>>,
    over: Arc<AtomicBool>,
    works: Option<JoinHandle<()>>,
}

impl Player {
    /// A player with this command line; `tell` gets messages about what is wrong with it.
    pub(crate) fn new(command: Vec<String>, tell: impl Fn(Said) + Send + 'static) -> Self {
        let (next, wanted) = sync_channel(1);
        let over = Arc::new(AtomicBool::new(false));
        let ends = Arc::clone(&over);
        let works = thread::spawn(move || work(&command, &wanted, &ends, &tell));
        Self { next: Some(next), over, works: Some(works) }
    }

    /// Plays a tone soon, or not at all.
    pub(crate) fn play(&self, wav: Vec<u8>) {
        if let Some(next) = &self.next {
            // If the queue is full, the tone is left out.
            drop(next.try_send(wav));
        }
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        self.next = None;
        self.over.store(true, Ordering::Relaxed);
        if let Some(works) = self.works.take() {
            // If the thread panicked, that was printed on standard error already.
            drop(works.join());
        }
    }
}

fn work(command: &[String], wanted: &Receiver<Vec<u8>>, over: &AtomicBool, tell: &impl Fn(Said)) {
    let mut told = Vec::new();
    for wav in wanted {
        if over.load(Ordering::Relaxed) {
            return;
        }
        let ended = play(command, &wav, Patience { longest: LONGEST, over });
        if let Err(said) = ended
            && !over.load(Ordering::Relaxed)
            && !told.contains(&said)
        {
            told.push(said.clone());
            tell(said);
        }
    }
}

/// How long a player is waited for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience<'a> {
    pub(super) longest: Duration,
    /// Set when nobody wants to hear it any more.
    pub(super) over: &'a AtomicBool,
}

/// Plays a file and waits until the player ends; if that takes too long, the player is killed.
pub(super) fn play(command: &[String], wav: &[u8], patience: Patience<'_>) -> Result<(), Said> {
    let program = command.first().map_or("", String::as_str);
    let trouble = |error: io::Error| Said(format!("the sound player {program} fails: {error}"));
    let (child, kept) = start(command, wav).map_err(trouble)?;
    let ended = wait(child, patience);
    // The file is kept until the player has ended.
    drop(kept);
    match ended.map_err(trouble)? {
        None => Err(Said(format!("the sound player {program} does not end and was killed"))),
        Some(true) => Ok(()),
        Some(false) => Err(Said(format!("the sound player {program} says that it failed"))),
    }
}

/// Starts the player with the file on its standard input, or with the file's name in place of `{file}`.
fn start(command: &[String], wav: &[u8]) -> io::Result<(Child, Option<tempfile::NamedTempFile>)> {
    let (program, arguments) = command.split_first().ok_or(io::ErrorKind::NotFound)?;
    let mut start = Command::new(program);
    start.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    // It gets a process group of its own, so that programs started by the player are killed with it.
    start.process_group(0);
    if !arguments.iter().any(|word| word.contains("{file}")) {
        let mut child = start.args(arguments).stdin(Stdio::piped()).spawn()?;
        // A tone is far smaller than a pipe's buffer, so this does not wait. If the player ends without reading, its exit code
        // shows that.
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
fn wait(mut child: Child, patience: Patience<'_>) -> io::Result<Option<bool>> {
    let until = Instant::now() + patience.longest;
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status.success()));
        }
        if Instant::now() >= until || patience.over.load(Ordering::Relaxed) {
            kill_group(&child)?;
            child.wait()?;
            return Ok(None);
        }
        thread::sleep(LOOK);
    }
}

/// Kills a player and all that it started. It was not waited for yet, so its number is still its own.
fn kill_group(child: &Child) -> io::Result<()> {
    let group = i32::try_from(child.id()).ok().and_then(Pid::from_raw);
    match group.map(|group| kill_process_group(group, Signal::KILL)) {
        Some(Ok(()) | Err(Errno::SRCH)) => Ok(()),
        Some(Err(error)) => Err(error.into()),
        None => Err(io::ErrorKind::NotFound.into()),
    }
}
