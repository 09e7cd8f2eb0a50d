//! `ack`: mark alerts as seen.

use clap::Args;

use ::bench::{AckOf, Command, Seq};

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[group(id = "which", required = true, multiple = false, args = ["id", "job", "all"])]
#[command(after_help = "Examples:\n  tenths ack 51\n  tenths ack --job J-1042\n  tenths ack --all")]
pub(crate) struct AckArgs {
    /// The alert
    pub(crate) id: Option<u64>,
    /// All open alerts of this job
    #[arg(long, value_name = "NAME")]
    pub(crate) job: Option<String>,
    /// All open alerts
    #[arg(long)]
    pub(crate) all: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: AckArgs) -> Result<u8, Failure> {
    let of = match (args.id, args.job) {
        (Some(id), _) => AckOf::One(Seq(id)),
        (None, Some(job)) => AckOf::Job(job),
        // The arguments always have one of the three.
        (None, None) => AckOf::All,
    };
    change(global, args.asking, Command::Ack(of))
}
