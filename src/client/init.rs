//! `init`: the first configuration of a bench. What only a person knows is asked, or said by options; the gauge
//! is heard out. The file holds what was said and heard, and nothing else.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use quantity::Name;

use super::ask::{self, ask, is_attended, one_of, unsaid};
use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::gauge::{Described, Describing};
use super::global::Global;
use super::screen;
use crate::new_file::write_new;
use config::{MACHINE_CONFIG, Surroundings};
use wire::printable;

/// The plan that comes along: one ring, which every bench can measure.
const RING: &str = include_str!("../../config/plans/ring.toml");
/// The gauge that it names.
const ITS_GAUGE: &str = "plate";

/// What is known beforehand; the rest is asked where somebody is there to answer.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths init   # asks for everything
  tenths init --unit in --by-eye \"0.00005 in\"   # an indicator that is read by eye and keyed in
  tenths init --unit in --port /dev/serial/by-id/usb-Cable_0001-if00-port0 --gauge-unit in")]
pub(crate) struct InitArgs {
    /// What people see: in or mm
    #[arg(long, value_name = "UNIT", value_parser = ["in", "mm"])]
    unit: Option<String>,
    /// A name for the place, such as "grinding room"
    #[arg(long = "name", value_name = "TEXT")]
    place: Option<String>,
    /// Where the record lies; if left out, where records of this user or machine usually lie
    #[arg(long, value_name = "FOLDER")]
    state: Option<PathBuf>,
    #[command(flatten)]
    gauge: Describing,
}

pub(crate) fn run(global: &Global, args: &InitArgs) -> Result<u8, Failure> {
    let around = Surroundings::of_process();
    let file = global.config.clone().or_else(|| around.config.clone());
    let Some(file) = file.or_else(|| around.users_config()) else {
        let text = "there is no home folder to put bench.toml in";
        return Err(Failure::new(REFUSED, text, "name the file: --config FILE"));
    };
    let file = std::path::absolute(&file).unwrap_or(file);
    not_there_yet(&file)?;
    let (unit, name) = (unit(args)?, name(args)?);
    let state = state(args, &around, &file)?;
    let gauge = args.gauge.described(&unit, None)?;
    let text = bench(&unit, &name, state.as_deref(), &gauge);
    write(&file, &text, &gauge.name)?;
    let written = [&file, &plan_beside(&file)].map(|path| printable(&path.to_string_lossy()));
    screen::sentence(&format!("{} is written.", written[0]))?;
    screen::sentence(&format!(
        "{} is a first plan: its limits are common practice, your drawing takes precedence.",
        written[1]
    ))?;
    let findings = config::check_all(&file);
    for finding in &findings {
        screen::line(&super::bench::shown(finding))?;
    }
    if findings.iter().any(config::Finding::is_error) {
        screen::sentence("Mend what is named above; `tenths config check` looks again.")?;
        return Ok(REFUSED);
    }
    screen::text(&next(&file, &gauge))?;
    Ok(0)
}

/// Nothing is ever written over.
fn not_there_yet(file: &Path) -> Result<(), Failure> {
    let plan = plan_beside(file);
    let there = [file, plan.as_path()].into_iter().find(|path| fs::symlink_metadata(path).is_ok());
    there.map_or(Ok(()), |there| {
        let text = format!("{} is there already; nothing was written", there.display());
        let hint = "`tenths gauge add PORT` adds a gauge to a configuration, `tenths config check` checks it";
        Err(Failure::new(REFUSED, text, hint))
    })
}

fn plan_beside(file: &Path) -> PathBuf {
    file.parent().unwrap_or(Path::new("")).join("plans/ring.toml")
}

fn unit(args: &InitArgs) -> Result<String, Failure> {
    match &args.unit {
        Some(unit) => Ok(unit.clone()),
        None if is_attended() => {
            let unit = ask(
                "Inch or millimetre, in what people read here?",
                Some("in"),
                one_of(&["in", "mm"]),
            )?;
            Ok(unit.to_owned())
        }
        None => Err(unsaid("--unit in or --unit mm")),
    }
}

fn name(args: &InitArgs) -> Result<String, Failure> {
    match &args.place {
        Some(name) => Ok(name.clone()),
        None if is_attended() => ask("A name for this place?", Some("bench"), ask::text),
        None => Ok("bench".to_owned()),
    }
}

/// The folder of the record, where it is not the usual one.
fn state(args: &InitArgs, around: &Surroundings, file: &Path) -> Result<Option<PathBuf>, Failure> {
    let usual = around.state_of(file);
    let said = match (&args.state, &usual) {
        (Some(state), _) => state.clone(),
        (None, Some(_)) if !is_attended() => return Ok(None),
        (None, Some(usual)) => {
            let shown = usual.display().to_string();
            ask(
                "Where does the record lie? Nothing is ever deleted from it.",
                Some(&shown),
                ask::text,
            )?
            .into()
        }
        (None, None) if is_attended() => ask("Where does the record lie?", None, ask::text)?.into(),
        (None, None) => return Err(unsaid("--state FOLDER")),
    };
    let said = std::path::absolute(&said).unwrap_or(said);
    Ok(Some(said).filter(|said| Some(said) != usual.as_ref()))
}

/// The text of bench.toml.
fn bench(unit: &str, name: &str, state: Option<&Path>, gauge: &Described) -> String {
    let quoted = |text: &str| format!("{:?}", printable(text));
    let state = state.map_or_else(String::new, |state| {
        format!(
            "state = {}           # the folder of the record\n",
            quoted(&state.to_string_lossy())
        )
    });
    format!(
        "# A bench, as it was told to `tenths init`. `tenths config check` names every mistake in it,\n\
         # `tenths gauge add PORT` hears out one more gauge, `tenths reload` makes the service read it again.\n\n\
         [bench]\n\
         name = {}\n\
         unit = {}                     # what people see\n\
         {state}\n\
         {}",
        quoted(name),
        quoted(unit),
        gauge.lines
    )
}

/// Writes the configuration and the plan beside it; both are new, or nothing is written.
fn write(file: &Path, text: &str, gauge: &Name) -> Result<(), Failure> {
    let plan = plan_beside(file);
    let named = format!("gauge = {:?}", gauge.as_str());
    let ring = RING.replace(&format!("gauge = \"{ITS_GAUGE}\""), &named);
    let written = plan
        .parent()
        .map_or(Ok(()), fs::create_dir_all)
        .and_then(|()| write_new(&plan, ring.as_bytes()));
    written.and_then(|()| write_new(file, text.as_bytes())).map_err(|error| {
        let text = format!("cannot write {}: {error}", file.display());
        Failure::new(UNREACHABLE, text, "choose a place that you may write to: --config FILE")
    })
}

/// What to do next.
fn next(file: &Path, gauge: &Described) -> String {
    let serve = if file == Path::new(MACHINE_CONFIG) {
        "systemctl enable --now tenths"
    } else {
        "tenths serve              # leave it open; the rest in a second terminal"
    };
    let touch = if gauge.by_eye {
        "tenths enter 0 0 0.00002 0.00002 0 0 0 -0.00002 0     # what you read: 0 to 7, and 0 again"
    } else {
        "tenths watch              # and press the gauge's button at 0 to 7, and at 0 again"
    };
    format!(
        "\nA first ring, touched at eight positions and at position 0 again:\n\
         \x20 {serve}\n\
         \x20 tenths job open TRY-1 --plan ring\n\
         \x20 tenths measure ring/face-a\n\
         \x20 {touch}\n\
         Until the gauge is proved, or its uncertainty is stated, ± is assumed and every verdict says so: `tenths prove {}`\n",
        bench::words::typed(gauge.name.as_str())
    )
}
