//! `import`: take a job that another bench exported into the record.

use std::path::{Path, PathBuf};

use clap::Args;

use ::bench::judge;
use ::record::{ImportError, Imported, Origin, Store, become_owner};
use wire::{Manifest, RECORD, import_line, printable};

use super::bundle::{self, Bundle};
use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::Global;
use super::unreadable::not_opened;
use super::{bench, screen};

/// The folder of the exported job.
#[derive(Debug, Args)]
#[command(after_help = "The service must be stopped.

Examples:
  tenths import J-1042
  tenths import /media/stick/J-1042")]
pub(crate) struct ImportArgs {
    /// The folder that `tenths export` made
    pub(crate) folder: PathBuf,
}

pub(crate) fn run(global: &Global, args: &ImportArgs) -> Result<u8, Failure> {
    let state = bench::whereabouts(global)?.state;
    let Bundle { manifest, rows, callers, digest, papers } = bundle::read(&args.folder)?;
    become_owner(&state).map_err(not_opened)?;
    let (mut store, _) = Store::open_with(&state, bench::parse_plan).map_err(not_opened)?;
    let origin = Origin { wall: intake::now().wall, digest };
    let kept =
        papers.into_iter().try_for_each(|(mut file, paper)| store.keep_paper(&mut file, &paper));
    let imported = match kept {
        Ok(()) => store.import((&rows, &callers), origin, &judge),
        Err(error) => Err(error.into()),
    };
    if imported.is_err() {
        store.drop_unnamed_papers();
    }
    store.close().map_err(bench::no_record)?;
    let imported = imported.map_err(|error| refused(error, &args.folder))?;
    if global.json {
        screen::line(&import_line(&manifest, &imported))?;
    } else {
        screen::told(&told(&manifest, &imported))?;
    }
    Ok(0)
}

fn refused(error: ImportError, folder: &Path) -> Failure {
    let record = folder.join(RECORD);
    let text = error.to_string();
    let in_record = format!("{}: {text}", record.display());
    match error {
        ImportError::Used { name, .. } => {
            let hint = format!(
                "a name is never used twice; see the other job with: tenths job show {name}"
            );
            // Its number in the record does not matter here.
            Failure::new(REFUSED, text, hint)
        }
        ImportError::Contradiction(_) => {
            Failure::new(REFUSED, in_record, "nothing was changed; it was not made by tenths")
        }
        ImportError::Differs { .. } => {
            let hint = "nothing was changed; its verdicts do not follow from its readings";
            Failure::new(REFUSED, in_record, hint)
        }
        ImportError::Refused(refused) => {
            Failure::new(UNREACHABLE, refused.to_string(), "nothing was changed")
        }
        ImportError::Store(error) => bench::no_record(error),
    }
}

fn told(manifest: &Manifest, imported: &Imported) -> String {
    let Imported { rows, verdicts, older } = imported;
    let job = printable(&manifest.job);
    let judged = match older {
        0 => format!("its {verdicts} verdicts follow from its readings"),
        _ => format!(
            "{older} of its verdicts are of an older version of the arithmetic and were NOT computed again; \
             the other {verdicts} follow from its readings"
        ),
    };
    let mut lines = vec![format!("Job {job} is now in the record ({rows} rows); {judged}.")];
    match manifest.papers.len() {
        0 => {}
        1 => lines.push("1 picture or paper came along.".to_owned()),
        many => lines.push(format!("{many} pictures and papers came along.")),
    }
    if !manifest.missing.is_empty() {
        let many = manifest.missing.len();
        lines.push(format!("{many} more were missing already where it comes from."));
    }
    if !manifest.closed {
        lines.push(format!("It is open; go on with: tenths job use {job}"));
    }
    lines.join("\n") + "\n"
}
