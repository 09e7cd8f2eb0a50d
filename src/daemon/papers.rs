//! Files that clients attach. A file comes over the socket behind the request that attaches it: the service
//! may not be allowed to read it where it lies, and a client's descriptor could be one that never answers.
//!
//! Its bytes are taken in by the connection's own task and written by a thread for such work, so that the
//! deciding thread learns of a file only when it is on disk.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{Mutex, Semaphore, SemaphorePermit};
use tokio::time::{Instant, timeout_at};

use super::server::Lines;
use ::record::{Reader, StoreError, drop_paper, keep_paper};
use bench::event::AttachAsked;
use bench::row::Paper;
use bench::{LARGEST_PAPER, Refusal, too_large};

/// The most files that come in at one time. Each may take its whole size in memory.
const AT_ONCE: usize = 3;

/// The longest pause between two pieces of a file.
const LONGEST_PAUSE: Duration = Duration::from_secs(10);

/// The longest time for a whole file.
const LONGEST: Duration = Duration::from_mins(2);

/// Where files are taken in.
#[derive(Clone)]
pub(super) struct Papers(Arc<Shared>);

struct Shared {
    state: PathBuf,
    places: Semaphore,
    /// Held from the writing of a file until its request is answered: while it is held no other request
    /// can come to name the same file.
    one: Mutex<()>,
}

/// A file that came in.
pub(super) struct CameIn {
    pub(super) paper: Paper,
    bytes: Vec<u8>,
}

/// Why a file did not come in.
pub(super) enum NotIn {
    /// The connection can go on.
    Refused(Refusal),
    /// The connection is of no use any more: some of the file may still come.
    Ends(Refusal),
}

fn refusal(exit: u8, text: impl Into<String>, hint: &str) -> Refusal {
    Refusal { exit, text: text.into(), hint: Some(hint.to_owned()) }
}

impl Papers {
    pub(super) fn new(state: PathBuf) -> Self {
        Self(Arc::new(Shared { state, places: Semaphore::new(AT_ONCE), one: Mutex::new(()) }))
    }

    /// A place for a file of that size, or why there is none. Nothing of it was sent yet.
    pub(super) fn place(&self, asked: &AttachAsked) -> Result<SemaphorePermit<'_>, Refusal> {
        if asked.bytes > LARGEST_PAPER {
            return Err(too_large(&asked.name, asked.bytes));
        }
        let full = "other files are just being attached";
        self.0.places.try_acquire().map_err(|_| refusal(3, full, "repeat it in a moment"))
    }

    /// Takes in the bytes of a file, which are all the client sends next, and looks what they are.
    pub(super) async fn take_in(
        &self,
        asked: &AttachAsked,
        lines: &mut Lines,
    ) -> Result<CameIn, NotIn> {
        let whole = usize::try_from(asked.bytes).unwrap_or(usize::MAX);
        let (until, mut bytes) = (Instant::now() + LONGEST, Vec::new());
        while bytes.len() < whole {
            let soon = until.min(Instant::now() + LONGEST_PAUSE);
            let came = timeout_at(soon, lines.piece(whole - bytes.len(), &mut bytes)).await;
            let why = match came {
                Ok(Ok(0)) => "the connection ended",
                Ok(Ok(_)) => continue,
                Ok(Err(_)) => "the connection broke",
                Err(_) => "it came too slowly",
            };
            let text = format!("{} did not arrive whole: {why}", asked.name);
            return Err(NotIn::Ends(refusal(3, text, "nothing was kept; attach it again")));
        }
        let (digest, name) = (asked.digest, asked.name.clone());
        let looked = tokio::task::spawn_blocking(move || looked_at(bytes, digest, &name)).await;
        match looked {
            Ok(looked) => looked.map_err(NotIn::Refused),
            Err(error) => Err(NotIn::Refused(refusal(70, format!("a bug: {error}"), "report it"))),
        }
    }

    /// Keeps a file and asks for the request that names it; `ask` returns the reply and whether the request
    /// was refused. A refused one leaves no file behind.
    pub(super) async fn keep<F: Future<Output = (String, bool)>>(
        &self,
        came: CameIn,
        ask: impl FnOnce() -> F,
    ) -> Result<String, Refusal> {
        let _one = self.0.one.lock().await;
        let (state, paper) = (self.0.state.clone(), came.paper.clone());
        let kept = on_its_thread(move || keep_paper(&state, &came.bytes, &came.paper)).await?;
        let (reply, refused) = ask().await;
        if kept && refused {
            let state = self.0.state.clone();
            on_its_thread(move || unless_named(&state, &paper)).await?;
        }
        Ok(reply)
    }
}

/// What the bytes are, if they are the ones that were promised.
fn looked_at(bytes: Vec<u8>, digest: [u8; 32], name: &str) -> Result<CameIn, Refusal> {
    if *blake3::hash(&bytes).as_bytes() != digest {
        let text = format!("{name} changed while it was attached");
        return Err(refusal(2, text, "nothing was kept; attach it again"));
    }
    let kind = paper::recognised(&bytes)
        .map_err(|why| refusal(2, format!("{name}: {}", why.what), why.hint))?;
    let paper = Paper { digest, bytes: bytes.len() as u64, kind };
    Ok(CameIn { paper, bytes })
}

/// Takes a file away again, unless a fact names it: it may have been missing, and is there now.
fn unless_named(state: &std::path::Path, paper: &Paper) -> Result<(), StoreError> {
    if Reader::open(state)?.names_paper(paper)? { Ok(()) } else { drop_paper(state, paper) }
}

async fn on_its_thread<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, StoreError> + Send + 'static,
) -> Result<T, Refusal> {
    let room = "look at the disk of the record: tenths status";
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done.map_err(|error| refusal(3, error.to_string(), room)),
        Err(error) => Err(refusal(70, format!("a bug: {error}"), "report it")),
    }
}
