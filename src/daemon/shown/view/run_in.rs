//! A run-in on the screen: the step, what comes next, and the curves.

use bench::plan::run_in::{Course, Noted, degrees, minutes};
use bench::words::run_in::{CAUTION, step, step_over, to_begin};
use bench::{Attempt, Logged};
use quantity::{Figure, Stamp};
use wire::{MOST_POINTS, ViewCheck, ViewPlace, ViewRunIn};

/// Fills in what a run-in shows.
pub(super) fn show(
    shown: &mut ViewCheck,
    (attempt, run_in): (&Attempt, &Course),
    (now, boot): (Stamp, u64),
) {
    let first = run_in.steps.first().map_or(0, |speed| speed.rpm);
    let Some(logged) = &attempt.log else {
        shown.next_words = format!("SET {first} RPM");
        shown.why = Some(to_begin(run_in));
        return;
    };
    let after = if attempt.runs() { logged.after(now, boot) } else { logged.newest_ms };
    let live = logged.log.live(run_in, after).filter(|_| attempt.runs());
    if let Some(live) = live {
        let due = step_over(run_in, live);
        let next = run_in.steps.get(usize::from(live.step) + 1);
        shown.next_words = match (&due, next) {
            (Some(_), Some(next)) => format!("SET {} RPM", next.rpm),
            (Some(_), None) => "STOP IT".to_owned(),
            (None, _) => format!("STEP {} OF {}", live.step + 1, run_in.steps.len()),
        };
        let runs =
            format!("{}, {} so far. {CAUTION}", step(run_in, live.step), minutes(live.ran_ms));
        shown.why = Some(due.unwrap_or(runs));
    }
    shown.run_in = Some(ViewRunIn {
        step: live.map(|live| u32::from(live.step) + 1),
        steps: u32::try_from(run_in.steps.len()).unwrap_or(u32::MAX),
        speed_rpm: live.and_then(|live| Some(run_in.steps.get(usize::from(live.step))?.rpm)),
        ran_s: live.map(|live| live.ran_ms / 1000),
        of_s: live.map(|live| live.of_ms / 1000),
        began_min: logged.log.speeds.iter().map(|one| as_minutes(one.after_ms)).collect(),
        places: places(run_in, logged),
    });
}

fn places(run_in: &Course, logged: &Logged) -> Vec<ViewPlace> {
    let one = |(place, of): (u16, &bench::plan::run_in::Place)| {
        let all: Vec<&Noted> = logged.log.of(place).collect();
        let every = all.len().div_ceil(MOST_POINTS).max(1);
        // The newest is always there.
        let kept = all.iter().rev().step_by(every).rev();
        ViewPlace {
            name: of.name.clone(),
            last: all.last().map(|one| degrees(one.value)),
            points: kept.map(|one| [as_minutes(one.after_ms), as_degrees(one)]).collect(),
        }
    };
    (0_u16..).zip(&run_in.places).map(one).collect()
}

/// Minutes, to a thousandth.
#[expect(clippy::cast_precision_loss, reason = "minutes that are drawn")]
fn as_minutes(ms: u64) -> f64 {
    (ms as f64 / 60.0).round() / 1000.0
}

fn as_degrees(one: &Noted) -> f64 {
    Figure::from(one.value).to_f64() / 1e9
}
