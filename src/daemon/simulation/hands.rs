//! What hands and feet do without keys and screen: a pedal, a scanner, the stylus of a streaming gauge.

use super::asking::job_name;
use super::happenings::{ask, on_screen, steps};
use super::shop;
use super::world::World;
use bench::Command;
use bench::plan::CheckAt;
use bench::row::{AttemptReason, Stage};
use intake::{Arrival, News};
use quantity::Name;
use wire::code::{Action, Blocked, Code, JobTag, PersonTag};

fn station(world: &mut World) -> Name {
    let stations = &world.loaded.bench.stations;
    let at = world.dice.index(stations.len());
    world.loaded.bench.stations[at].name.clone()
}

fn tell(world: &mut World, news: News) {
    let at = world.clock.now();
    world.arrive(vec![Arrival { at, news }]);
}

/// A foot comes down, is reported once more when it is steady, and comes up: a tap, a hold, a bounce.
pub(super) fn foot(world: &mut World) {
    let station = station(world);
    let down = |down| News::Pedal { station: station.clone(), down };
    tell(world, down(true));
    world.pass(30_000);
    if !world.dice.one_in(8) {
        tell(world, down(true));
    }
    let ms = *world.dice.pick(&[1, 60, 200, 700, 1200, 5000]);
    world.pass(ms * 1000);
    if !world.dice.one_in(20) {
        tell(world, down(false));
    }
}

fn code(world: &mut World) -> Code {
    let small = |world: &mut World, end: u64| u16::try_from(world.dice.below(end)).unwrap();
    let job = JobTag::of(&Name::new(&job_name(world)).unwrap());
    let at = CheckAt { part: small(world, 6), check: small(world, 6) };
    match world.dice.below(16) {
        0..5 => Code::Action(*world.dice.pick(&Action::ALL)),
        5 => Code::Skip(*world.dice.pick(&Blocked::ALL)),
        6..9 => Code::Value(i8::try_from(world.dice.around(10)).unwrap()),
        9 => Code::Job(job),
        10..13 => Code::Check { job, at },
        13 => Code::Answer { job, at, answer: u8::try_from(world.dice.below(3)).unwrap() },
        14 => Code::Person(PersonTag::of(&Name::new("ann").unwrap())),
        _ => {
            let stage = *world.dice.pick(&[Stage::Found, Stage::Built]);
            let way = world.dice.one_in(2).then(|| u8::from(world.dice.one_in(2)));
            Code::Stack { job, stage, place: small(world, 4), way }
        }
    }
}

/// A scanner reads a code, complete or not, or something else.
pub(super) fn scan(world: &mut World) {
    let station = station(world);
    let mut text = code(world).to_string();
    match world.dice.below(12) {
        0 => text.truncate(world.dice.index(text.len())),
        1 => "5 901234 123457".clone_into(&mut text),
        _ => {}
    }
    world.note(format!("  {text}"));
    tell(world, News::Scan { station, text });
}

/// A stylus goes from the air to the face and back several times while the gauge streams.
pub(super) fn stream(world: &mut World) {
    let Some(cable) = world.cable_of(shop::STREAM) else { return };
    let armed = on_screen(world).iter().any(|(gauge, ..)| gauge == shop::STREAM);
    if !armed && !world.dice.one_in(3) {
        let station = world.loaded.bench.stations[0].name.to_string();
        let (target, remark) = ("ring/slow".to_owned(), None);
        let command = if world.dice.one_in(2) {
            Command::Measure { target, remark }
        } else {
            let reason = AttemptReason::Ground;
            Command::Remeasure { reason, target: Some(target), remark }
        };
        ask(world, Some(station), command);
    }
    for _ in 0..=world.dice.below(7) {
        let shown = on_screen(world);
        let armed = shown.iter().find(|(gauge, ..)| gauge == shop::STREAM);
        let place = armed.map_or(0, |(_, _, attempt)| attempt.taken());
        let height = steps(world, place % 8);
        let in_air = 2 + world.dice.below(4);
        let still = world.dice.below(12);
        for sample in 0..in_air + still {
            let at = if sample < in_air { shop::REST } else { height };
            let frame = shop::frame(shop::STREAM, at, false) + "\r";
            world.bytes(cable, frame.as_bytes());
            world.pass(100_000);
        }
    }
}
