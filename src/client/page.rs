//! `page`: what the bench shows and what its record holds, for a browser. A process of its own that only reads.

mod lists;
mod shop;
mod source;
mod station;
mod told;

use std::path::PathBuf;
use std::sync::Arc;

use ::page::{Door, DoorError, Source};
use clap::Args;
use tokio::signal::unix::{SignalKind, signal};

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::Global;
use super::screen;
use shop::ShopSource;
use source::BenchSource;

/// Where it is offered.
#[derive(Debug, Args)]
#[command(
    after_help = "A tablet at the bench shows what `watch` shows; the office looks up jobs, reports and alerts. Nothing can be changed\n\
    there. Without options only this machine can look: http://127.0.0.1:8480\n\n\
    Examples:\n  tenths page\n  tenths page --listen 0.0.0.0:8480 --token-file page.token   # the network, with a token\n  \
    tenths page --shop --listen 127.0.0.1:8481                  # every bench of the shop"
)]
pub(crate) struct PageArgs {
    /// The address and the port; another one than this machine's own needs --token-file
    #[arg(long, value_name = "ADDRESS:PORT", conflicts_with = "socket")]
    pub(crate) listen: Option<String>,
    /// A socket in the file system in place of a port, for a web server in front (mode 0660)
    #[arg(long, value_name = "PATH")]
    pub(crate) socket: Option<PathBuf>,
    /// A file with a secret of 16 letters and digits or more: a browser is let in by http://…/?token=SECRET
    #[arg(long, value_name = "FILE")]
    pub(crate) token_file: Option<PathBuf>,
    /// Show jobs and alerts of all benches, from the database of [shop.database], in place of this bench
    #[arg(long)]
    pub(crate) shop: bool,
}

/// By how much the process lets others go first (`man 2 nice`): a touch is never kept waiting by a reader.
const NICER: i32 = 5;

pub(crate) fn run(global: &Global, args: &PageArgs) -> Result<u8, Failure> {
    let refused = |error: DoorError| {
        let exit = if matches!(error, DoorError::Taken { .. }) { UNREACHABLE } else { REFUSED };
        let hint = error.hint();
        Failure::new(exit, wire::printable(&error.to_string()), hint)
    };
    let door =
        Door::new(args.listen.as_deref(), args.socket.as_deref(), args.token_file.as_deref());
    let door = door.map_err(refused)?;
    let source: Arc<dyn Source> = if args.shop {
        Arc::new(ShopSource::of(global)?)
    } else {
        Arc::new(BenchSource::of(global)?)
    };
    // If the system refuses, the page runs all the same.
    let _refused = rustix::process::nice(NICER);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let served = runtime.block_on(async {
        let mut ends = [
            signal(SignalKind::terminate())?,
            signal(SignalKind::interrupt())?,
            signal(SignalKind::hangup())?,
        ];
        let opened = ::page::open(door, source).await.map_err(refused)?;
        screen::say(&format!("{}\n", wire::printable(opened.sentence())));
        let [terminate, interrupt, hangup] = &mut ends;
        let stop = async {
            tokio::select! {
                _ = terminate.recv() => {}
                _ = interrupt.recv() => {}
                _ = hangup.recv() => {}
            }
        };
        ::page::serve(opened, stop).await;
        Ok(0)
    });
    // A question that is still asked is not waited for.
    runtime.shutdown_background();
    served
}
