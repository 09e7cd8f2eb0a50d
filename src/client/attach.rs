//! `attach`: a picture or a paper that belongs to a job, and taking one back.

use std::fs::File;
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use clap::Args;

use ::bench::event::AttachAsked;
use ::bench::{Command, LARGEST_PAPER, Refusal, Seq, too_large};

use super::change::{change, change_with};
use super::failure::{Failure, REFUSED};
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(
    after_help = "The type is known by the content: JPEG, PNG or PDF, at most 20 MB. The file is copied; the one you name stays as it is.

Examples:
  tenths attach J-1042 pitting.jpg --to spindle --what \"pitting at the nose\"
  tenths attach J-1042 --remove 61 --why \"it shows another spindle\""
)]
pub(crate) struct AttachArgs {
    /// The job
    pub(crate) job: String,
    /// The picture or paper
    #[arg(required_unless_present = "remove")]
    pub(crate) file: Option<PathBuf>,
    /// The part, or the check, it belongs to; if left out, the whole job
    #[arg(long, value_name = "PART[/CHECK]")]
    pub(crate) to: Option<String>,
    /// What it shows
    #[arg(long, value_name = "TEXT", required_unless_present = "remove")]
    pub(crate) what: Option<String>,
    /// Take this attachment back: its file is kept, and no report shows it
    #[arg(long, value_name = "ID", requires = "why", conflicts_with_all = ["file", "to", "what"])]
    pub(crate) remove: Option<u64>,
    /// Why it is taken back
    #[arg(long, value_name = "TEXT", requires = "remove")]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: AttachArgs) -> Result<u8, Failure> {
    let AttachArgs { job, file, to, what, remove, why, asking } = args;
    if let Some(id) = remove {
        let why = why.unwrap_or_default();
        return change(global, asking, Command::TakeAttachedBack { job, id: Seq(id), why });
    }
    let (file, what) = (file.unwrap_or_default(), what.unwrap_or_default());
    let bytes = content(&file)?;
    paper::recognised(&bytes).map_err(|why| {
        Failure::new(REFUSED, format!("{} is not taken: {}", file.display(), why.what), why.hint)
    })?;
    let asked = AttachAsked {
        job,
        to,
        what,
        name: file.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        digest: *blake3::hash(&bytes).as_bytes(),
        bytes: bytes.len() as u64,
        found: None,
    };
    change_with(global, asking, Command::Attach(Box::new(asked)), &bytes)
}

/// The bytes of a file, which is not read when it is too large.
fn content(path: &Path) -> Result<Vec<u8>, Failure> {
    let cannot = |error: std::io::Error| {
        let text = format!("cannot read {}: {error}", path.display());
        Failure::new(REFUSED, text, "name a file that you may read")
    };
    // A pipe without a writer is not waited for.
    let nonblock = rustix::fs::OFlags::NONBLOCK.bits().cast_signed();
    let mut file = File::options().read(true).custom_flags(nonblock).open(path).map_err(cannot)?;
    let found = file.metadata().map_err(cannot)?;
    if !found.is_file() {
        let text = format!("{} is no plain file", path.display());
        return Err(Failure::new(REFUSED, text, "name a JPEG, PNG or PDF file"));
    }
    let large = |bytes| refused(too_large(&path.display().to_string(), bytes));
    if found.len() > LARGEST_PAPER {
        return Err(large(found.len()));
    }
    let mut bytes = Vec::new();
    (&mut file).take(LARGEST_PAPER + 1).read_to_end(&mut bytes).map_err(cannot)?;
    let read = bytes.len() as u64;
    if read > LARGEST_PAPER { Err(large(read)) } else { Ok(bytes) }
}

fn refused(Refusal { exit, text, hint }: Refusal) -> Failure {
    Failure::new(exit, text, hint.unwrap_or_default())
}
