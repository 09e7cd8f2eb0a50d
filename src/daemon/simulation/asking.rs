//! What people ask for.

use std::path::Path;

use super::happenings::on_screen;
use super::shop::{PARTS, QUESTIONS, TARGETS};
use super::world::World;
use ::record::keep_paper;
use bench::event::AttachAsked;
use bench::plan::Check;
use bench::row::{
    AttemptReason, IntakeItem, JobField, Outcome, Paper, PaperType, Question, Role, Stage,
};
use bench::{AckOf, Attempt, Command, Seq};
use judgement::Rule;
use quantity::{Length, Quoted};

/// The name of a job, usually one that exists.
pub(super) fn job_name(world: &mut World) -> String {
    let open: Vec<String> =
        world.bench().jobs.values().map(|job| job.opened.name.to_string()).collect();
    if open.is_empty() || world.dice.one_in(4) {
        return format!("J{}", world.dice.below(world.jobs + 2));
    }
    world.dice.pick(&open).clone()
}

fn target(world: &mut World) -> String {
    let (part, check) = *world.dice.pick(&TARGETS);
    format!("{part}/{check}")
}

fn job_command(world: &mut World) -> Command {
    let open = world.bench().jobs.len() as u64;
    match world.dice.below(8 + 2 * open) {
        0..4 => {
            world.jobs += 1;
            let odd = ["", "a/b", "a__b", "J1"];
            let name = format!("{}{}", world.jobs_begin, world.jobs);
            Command::JobOpen {
                name: if world.dice.one_in(10) {
                    (*world.dice.pick(&odd)).to_owned()
                } else {
                    name
                },
                used: false,
                plan: (*world.dice.pick(&["spindle", "spindle", "spindle", "nut", "moon"]))
                    .to_owned(),
                serial: world.dice.one_in(2).then(|| "S 7".to_owned()),
                customer: None,
                told: told(world),
                rule: world.dice.one_in(5).then_some(Rule::Simple),
            }
        }
        4..6 => Command::JobUse { name: job_name(world) },
        6 if world.dice.one_in(2) => {
            Command::JobIntake { name: job_name(world), told: told(world) }
        }
        6..8 => Command::JobReopen {
            name: format!("J{}", world.dice.below(world.jobs + 1)),
            found: None,
        },
        _ if world.dice.one_in(2) => Command::JobClose { name: None, why: gone_on(world) },
        _ => Command::JobClose { name: Some(job_name(world)), why: gone_on(world) },
    }
}

/// What was said when a job came in.
fn told(world: &mut World) -> Vec<(IntakeItem, String)> {
    let texts = ["whines", "whines", "new bearings", " "];
    let count = world.dice.below(3);
    let one = |_| (*world.dice.pick(&IntakeItem::ALL), (*world.dice.pick(&texts)).to_owned());
    (0..count).map(one).collect()
}

/// What is decided, written down or signed.
fn card_command(world: &mut World) -> Command {
    let part = (*world.dice.pick(&PARTS)).to_owned();
    match world.dice.below(5) {
        4 => {
            let edits = (*world.dice.pick(&JobField::ALL), *world.dice.pick(&["S 7", "S 8", " "]));
            Command::JobEdit {
                name: format!("J{}", world.dice.below(world.jobs + 1)),
                edits: vec![(edits.0, edits.1.to_owned())],
                why: world.dice.one_in(2).then(|| "mistyped".to_owned()),
                found: None,
            }
        }
        0 => Command::Serial { part, serial: (*world.dice.pick(&["S 8", "S 9", ""])).to_owned() },
        1 => {
            let outcome = *world.dice.pick(&Outcome::ALL);
            let why = if world.dice.one_in(8) { " " } else { "fretted" }.to_owned();
            Command::Decide { part, outcome, why }
        }
        _ => {
            let job = if world.dice.one_in(2) {
                job_name(world)
            } else {
                format!("J{}", world.dice.below(world.jobs + 1))
            };
            let role = *world.dice.pick(&Role::ALL);
            Command::Sign { job, role, why: gone_on(world), known: None }
        }
    }
}

/// Values somebody keys in for the check on a screen, or arbitrary ones.
fn values(world: &mut World) -> Vec<String> {
    let shown = on_screen(world);
    let open =
        shown.first().map_or(3, |(_, check, attempt)| u64::from(attempt.open_touches(check)));
    let count = if world.dice.one_in(2) { open.max(1) } else { 1 + world.dice.below(3) };
    let odd = ["x", "3 um", "0.00000000000001", "9999999999999"];
    let step = shown.first().and_then(|(_, _, attempt)| Some(attempt.gauge()?.resolution));
    (0..count)
        .map(|_| {
            let value = in_steps(step, world.dice.below(8));
            if world.dice.one_in(40) { (*world.dice.pick(&odd)).to_owned() } else { value }
        })
        .collect()
}

/// This many steps of a gauge, with its unit; without a gauge, hundred thousandths without one.
pub(super) fn in_steps(step: Option<Quoted>, count: u64) -> String {
    let Some(step) = step else { return format!("0.{count:05}") };
    let picometres = step.length.picometres() * i64::try_from(count).unwrap_or_default();
    Quoted { length: Length::from_picometres(picometres), ..step }.to_string()
}

/// The reading that somebody is asked to touch again, if there is one.
fn asked_reading(world: &World) -> Option<Seq> {
    let asked = |(_, _, attempt): &(String, Check, Attempt)| match attempt.asked {
        Some(Question::Touch(position)) => Some(attempt.at(position)?.id),
        Some(Question::Closure | Question::Master | Question::HalfTurn { .. }) | None => None,
    };
    on_screen(world).iter().find_map(asked)
}

/// The number of a reading or alert, usually one that exists.
fn number(world: &mut World, alerts: bool) -> Seq {
    if let Some(asked) = asked_reading(world).filter(|_| !alerts && world.dice.one_in(2)) {
        return asked;
    }
    let bench = world.bench();
    let readings = bench.jobs.values().flat_map(|job| job.attempts.values());
    let known: Vec<Seq> = if alerts {
        bench.alerts.keys().copied().collect()
    } else {
        let ids = readings.flat_map(|attempt| attempt.readings.iter().rev().take(12));
        ids.map(|touched| touched.id).collect()
    };
    if known.is_empty() || world.dice.one_in(10) {
        let end = world.bench().last.0 + 2;
        return Seq(world.dice.below(end));
    }
    *world.dice.pick(&known)
}

pub(super) fn command(world: &mut World) -> Command {
    let reasons = [AttemptReason::Ground, AttemptReason::Cleaned, AttemptReason::Again];
    match world.dice.below(64) {
        0..10 => job_command(world),
        10..15 => Command::Measure { target: target(world), remark: remark(world) },
        15 => Command::Stop,
        16..20 => {
            let target = world.dice.one_in(3).then(|| target(world));
            let reason = *world.dice.pick(&reasons);
            Command::Remeasure { reason, target, remark: remark(world) }
        }
        20..25 => Command::Next,
        25..28 => {
            let graduation = world.dice.one_in(6).then(|| "0.0001in".to_owned());
            Command::Enter { values: values(world), graduation }
        }
        28..33 => {
            let id = world.dice.one_in(2).then(|| number(world, false));
            Command::Void { id, why: world.dice.one_in(2).then(|| "slipped".to_owned()) }
        }
        33 | 34 => {
            let position = world.dice.one_in(2);
            let position = position.then(|| u32::try_from(world.dice.below(9)).unwrap());
            Command::Skip { position, why: "slot".to_owned() }
        }
        35 | 36 => {
            let gauge = world.dice.one_in(3);
            let gauge = gauge.then(|| (*world.dice.pick(&["plate", "height"])).to_owned());
            Command::Master { gauge }
        }
        37 if world.dice.one_in(2) => paper(world),
        37 => {
            let text = if world.dice.one_in(5) { " " } else { "Ø 40, seen" }.to_owned();
            Command::Note { job: job_name(world), text, closed: None }
        }
        38 if world.dice.one_in(8) => Command::Ack(AckOf::All),
        38 if world.dice.one_in(8) => Command::Ack(AckOf::Job(job_name(world))),
        38 | 39 => Command::Ack(AckOf::One(number(world, true))),
        40 | 41 => Command::Take { frame: None },
        60..64 => card_command(world),
        _ => built_command(world),
    }
}

/// All pictures there are, with their bytes.
fn pictures() -> Vec<(Vec<u8>, Paper)> {
    let picture = |number: u8| {
        let bytes = vec![number; 50 + usize::from(number)];
        let digest = *blake3::hash(&bytes).as_bytes();
        let paper = Paper { digest, bytes: bytes.len() as u64, kind: PaperType::Jpeg };
        (bytes, paper)
    };
    (0..6).map(picture).collect()
}

/// Keeps every picture: a connection does so before its request is passed on, and a start takes away those
/// that no row names.
pub(super) fn keep_pictures(state: &Path) {
    std::fs::create_dir_all(state).unwrap();
    for (bytes, paper) in pictures() {
        keep_paper(state, &bytes, &paper).unwrap();
    }
}

/// A picture is attached, as its connection passes it on once its bytes are kept, or one is taken back.
fn paper(world: &mut World) -> Command {
    let job = job_name(world);
    let papers = world.bench().jobs.values().flat_map(|job| job.attached.iter());
    let known: Vec<Seq> = papers.map(|kept| kept.id).collect();
    if !known.is_empty() && world.dice.one_in(3) {
        let id = *world.dice.pick(&known);
        return Command::TakeAttachedBack { job, id, why: "blurred".to_owned() };
    }
    let (_, Paper { digest, bytes, kind }) = world.dice.pick(&pictures()).clone();
    let found = (!world.dice.one_in(8)).then_some(kind);
    let to = match world.dice.below(3) {
        0 => None,
        1 => Some((*world.dice.pick(&PARTS)).to_owned()),
        _ => Some(target(world)),
    };
    let (what, name) = ("pitting".to_owned(), "a.jpg".to_owned());
    let asked = AttachAsked { job, to, what, name, digest, bytes, found };
    Command::Attach(Box::new(asked))
}

fn remark(world: &mut World) -> Option<String> {
    world.dice.one_in(4).then(|| "face b down".to_owned())
}

/// What is answered, written down, stacked or replaced.
fn built_command(world: &mut World) -> Command {
    let target = (*world.dice.pick(&QUESTIONS)).to_owned();
    match world.dice.below(12) {
        0..3 => {
            let target = if world.dice.one_in(3) { target } else { "lock/side".to_owned() };
            let answer = (*world.dice.pick(&["round", "round", "hollow", "none", " "])).to_owned();
            Command::Confirm { target, answer }
        }
        3..6 => {
            let value = *world.dice.pick(&["0.4", "-0.2", "20.6", "0.5 um", "tight", ""]);
            Command::Record { target, value: value.to_owned() }
        }
        6..10 => stack_command(world),
        10 => {
            let stage = *world.dice.pick(&[Stage::Found, Stage::Built]);
            Command::StackBack { stage }
        }
        _ => {
            let serial = world.dice.one_in(2).then(|| "S 8".to_owned());
            let why = if world.dice.one_in(8) { " " } else { "worn" }.to_owned();
            Command::Replace { part: (*world.dice.pick(&PARTS)).to_owned(), serial, why }
        }
    }
}

/// Usually the part that comes next, usually the right way round.
fn stack_command(world: &mut World) -> Command {
    let stage = *world.dice.pick(&[Stage::Found, Stage::Built]);
    let jobs: Vec<_> = world.bench().jobs.values().cloned().collect();
    let next = if jobs.is_empty() { 0 } else { world.dice.pick(&jobs).stack(stage).len() };
    let part = PARTS.get(next).copied().filter(|_| !world.dice.one_in(5));
    let part = part.unwrap_or_else(|| *world.dice.pick(&PARTS)).to_owned();
    let ways = ["thrust-side", "thrust-side", "thrust-side", "open-side"];
    let way = (*world.dice.pick(&ways)).to_owned();
    let mark = *world.dice.pick(&[0, 0, 10, 200]);
    if world.dice.one_in(4) {
        let amount = *world.dice.pick(&[None, Some("0.00004 in"), Some("0.00002 in"), Some("0")]);
        return Command::StackSpot {
            part,
            deg: (!world.dice.one_in(5)).then_some(mark),
            low: world.dice.one_in(3),
            amount: amount.map(str::to_owned),
            uncertainty: amount.filter(|_| world.dice.one_in(2)).map(|_| "0.000006 in".to_owned()),
            towards_nose: world.dice.one_in(3).then_some(way),
        };
    }
    Command::StackPlace {
        stage,
        part,
        towards_nose: (!world.dice.one_in(8)).then_some(way),
        mark_deg: (!world.dice.one_in(8)).then_some(mark),
        serial: world.dice.one_in(6).then(|| "S 8".to_owned()),
        why: gone_on(world),
    }
}

/// Usually the reason that is asked for to go on.
fn gone_on(world: &mut World) -> Option<String> {
    (!world.dice.one_in(4)).then(|| "the owner waits".to_owned())
}
