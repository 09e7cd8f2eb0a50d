//! What can happen, and how often.

use super::asking::{command, in_steps, job_name};
use super::handing;
use super::hands;
use super::polled;
use super::refusing::{Meets, Outage};
use super::shop::{self, TARGETS};
use super::world::World;
use crate::input::Input;
use bench::plan::Check;
use bench::series::{Touch, next_position, next_touch};
use bench::{Attempt, Command, Request};
use intake::{Arrival, Link, News};
use quantity::Name;

type Happening = fn(&mut World);

const HAPPENINGS: [(u64, &str, Happening); 27] = [
    (420, "a press", press),
    (150, "a series of presses", series),
    (25, "nonsense", nonsense),
    (25, "half a frame", half),
    (15, "the same press twice", twice),
    (4, "a flood", flood),
    (8, "unplugged", unplug),
    (12, "plugged in", plug),
    (25, "a foot", hands::foot),
    (25, "a scan", hands::scan),
    (14, "a stream", hands::stream),
    (30, "gauges are asked", polled::takes),
    (60, "a file", file),
    (6, "the same file again", file_again),
    (6, "a folder", folder),
    (210, "a request", request),
    (12, "checks keyed in whole", keyed),
    (25, "a request again", again),
    (8, "another configuration", reload),
    (15, "the clock steps", step),
    (10, "a restart", restart),
    (25, "the record begins to refuse", outage),
    (15, "a commit fails in its middle", failing),
    (3, "the record is copied", handing::copy),
    (2, "an older copy is restored", handing::restored),
    (3, "a job is taken over", handing::taken_over),
    (6, "housekeeping", housekeeping),
];

/// Lets time pass, then one thing happen.
pub(super) fn happen(world: &mut World) {
    let ms = if world.dice.one_in(20) { 60_000 } else { 1 + world.dice.below(1500) };
    world.pass(ms * 1000);
    let total: u64 = HAPPENINGS.iter().map(|(weight, ..)| weight).sum();
    let mut throw = world.dice.below(total);
    for (weight, name, happening) in HAPPENINGS {
        if throw < weight {
            world.note(name);
            happening(world);
            return;
        }
        throw -= weight;
    }
}

/// The gauges, attempts and checks on the screens of all stations.
pub(super) fn on_screen(world: &World) -> Vec<(String, Check, Attempt)> {
    let bench = world.bench();
    let shown = bench.stations.values().filter_map(|station| bench.attempt(station.attempt?));
    shown
        .filter_map(|(_, job, attempt)| {
            let (_, check) = job.check_of(attempt)?;
            Some((check.gauge.as_ref()?.to_string(), check.clone(), attempt.as_ref().clone()))
        })
        .collect()
}

/// The gauge that somebody presses, usually the one that is wanted, and the position touched.
fn pressed(world: &mut World) -> (String, u32) {
    let shown = on_screen(world);
    if !shown.is_empty() && !world.dice.one_in(12) {
        let (gauge, check, attempt) = world.dice.pick(&shown).clone();
        let position = match next_touch(&check, &attempt) {
            Touch::Position(position) => position,
            Touch::Sweep
            | Touch::Seat { .. }
            | Touch::Master
            | Touch::Middle
            | Touch::Closure
            | Touch::Asked(_)
            | Touch::Answer
            | Touch::Nothing => 0,
        };
        return (gauge, position);
    }
    let gauge = *world.dice.pick(&["plate", "left", "right"]);
    (gauge.to_owned(), u32::try_from(world.dice.below(8)).unwrap())
}

/// Steps of the display at a position of a leaning face, with some noise.
pub(super) fn steps(world: &mut World, position: u32) -> i64 {
    const LEAN: [i64; 8] = [0, 7, 10, 7, 0, -7, -10, -7];
    let (size, to) = world.lean;
    let place = usize::try_from(i64::from(position) + to).unwrap() % 8;
    let wild = if world.dice.one_in(40) { 200 } else { 0 };
    let noise = if world.dice.one_in(4) { 4 } else { 1 };
    LEAN[place] * size / 10 + world.dice.around(noise) + wild
}

fn one_press(world: &mut World, gauge: &str, position: u32) {
    let steps = steps(world, position);
    let Some(cable) = world.cable_of(gauge) else { return };
    let frame = shop::frame(gauge, steps, world.layout.coarse) + "\r";
    world.bytes(cable, frame.as_bytes());
}

fn press(world: &mut World) {
    let (gauge, position) = pressed(world);
    one_press(world, &gauge, position);
}

fn series(world: &mut World) {
    for _ in 0..=world.dice.below(9) {
        press(world);
        let ms = 400 + world.dice.below(1200);
        world.pass(ms * 1000);
    }
}

fn nonsense(world: &mut World) {
    let bytes = shop::nonsense(&mut world.dice);
    let cable = world.dice.index(world.cables.len());
    world.bytes(cable, &bytes);
}

fn half(world: &mut World) {
    let (gauge, position) = pressed(world);
    let Some(cable) = world.cable_of(&gauge) else { return };
    let frame = shop::frame(&gauge, i64::from(position), world.layout.coarse) + "\r";
    let (head, tail) = frame.as_bytes().split_at(world.dice.index(frame.len()));
    world.bytes(cable, head);
    let ms = *world.dice.pick(&[1, 40, 190, 260, 3000]);
    world.pass(ms * 1000);
    if !world.dice.one_in(3) {
        world.bytes(cable, tail);
    }
}

fn twice(world: &mut World) {
    let (gauge, position) = pressed(world);
    let Some(cable) = world.cable_of(&gauge) else { return };
    let frame = shop::frame(&gauge, i64::from(position), world.layout.coarse) + "\r";
    for _ in 0..2 {
        world.bytes(cable, frame.as_bytes());
        let ms = 20 + world.dice.below(400);
        world.pass(ms * 1000);
    }
}

fn flood(world: &mut World) {
    for count in 0..10 + world.dice.below(50) {
        one_press(world, "plate", u32::try_from(count % 8).unwrap());
        world.pass(100_000);
    }
}

fn unplug(world: &mut World) {
    let at = world.dice.index(world.cables.len());
    let cable = &mut world.cables[at];
    if cable.plugged {
        cable.unplug();
        let links = [Link::Lost("it is gone".to_owned()), Link::Refused("it is busy".to_owned())];
        let gauges = cable.port.gauges.clone();
        let link = world.dice.pick(&links).clone();
        let news = News::Line { gauges, link };
        world.arrive(vec![Arrival { at: world.clock.now(), news }]);
    }
}

fn plug(world: &mut World) {
    let now_us = world.clock.mono_us;
    for cable in &mut world.cables {
        if !cable.plugged {
            cable.plug(now_us);
        }
    }
    if world.dice.one_in(2) {
        // Before the silence is over: its beginning may be missing.
        let cable = world.dice.index(world.cables.len());
        world.bytes(cable, b".00001\r");
    }
}

/// Lines of a file in the logger's columns, usually ones that go on where a job is.
fn tagged_lines(world: &mut World, count: u64) -> Vec<String> {
    let bench = world.bench();
    let jobs: Vec<_> = bench.jobs.values().cloned().collect();
    if jobs.is_empty() {
        return vec!["J1,ring,length,0,1.50000".to_owned()];
    }
    let job = world.dice.pick(&jobs).clone();
    let plan = &job.opened.plan.plan;
    let of_height = |at: &bench::plan::CheckAt| {
        plan.at(*at).is_some_and(|(_, check)| {
            check.gauge.as_ref().is_some_and(|gauge| gauge.as_str() == "height")
        })
    };
    let at = *world.dice.pick(&plan.places().filter(of_height).collect::<Vec<_>>());
    let (part, check) = plan.at(at).unwrap();
    let next = match job.newest_at(at) {
        Some((_, attempt)) if attempt.ending.is_none() => next_position(check, attempt),
        Some(_) | None => Some(0),
    };
    let first = u64::from(next.unwrap_or(0));
    let total = u64::from(check.total()) + u64::from(check.closure);
    (first..first + count)
        .map(|k| {
            let k = if world.dice.one_in(60) { k + 1 } else { k };
            let position = if check.closure && k == total - 1 { 0 } else { k };
            let value = 150_000 + world.dice.around(30);
            let name = if world.dice.one_in(60) { "J0" } else { job.opened.name.as_str() };
            let value = format!("{}.{:05}", value / 100_000, value % 100_000);
            let value = if world.dice.one_in(60) { "38.1" } else { &value };
            format!("{name},{},{},{position},{value}", part.name, check.name)
        })
        .collect()
}

/// A file is dropped: a new one, or one that has grown.
fn file(world: &mut World) {
    let drop = world.dice.index(world.loaded.drops.len());
    let drop_name = world.loaded.drops[drop].name.clone();
    let grows: Vec<_> = world.files.keys().filter(|(of, _)| *of == drop_name).cloned().collect();
    let (name, mut text) = if !grows.is_empty() && world.dice.one_in(3) {
        let key = world.dice.pick(&grows).clone();
        let text = world.files[&key].clone();
        (key.1, text)
    } else {
        let header = match drop_name.as_str() {
            "logger" => "Job,Part,Check,Pos,Value\n",
            _ => "Value\n",
        };
        (file_name(world, drop_name.as_str()), header.to_owned())
    };
    let count = 1 + world.dice.below(if drop_name.as_str() == "logger" { 4 } else { 9 });
    let lines = match drop_name.as_str() {
        "logger" => tagged_lines(world, count),
        "by-name" => {
            (0..count).map(|_| shop::frame("plate", world.dice.around(4), false)).collect()
        }
        _ => (0..count).map(|_| format!("0.{:03}", world.dice.below(6))).collect(),
    };
    for line in lines {
        text = text + &line + "\n";
    }
    if world.dice.one_in(12) {
        text += "not a row\n";
    }
    put(world, drop, &name, text);
}

fn file_name(world: &mut World, drop: &str) -> String {
    let number = world.dice.below(1000);
    if drop != "by-name" {
        return format!("log-{number}.csv");
    }
    let (part, check) = *world.dice.pick(&TARGETS);
    format!("{}__{part}__{check}{number}.csv", job_name(world))
}

fn put(world: &mut World, drop: usize, name: &str, text: String) {
    let of = &world.loaded.drops[drop];
    std::fs::write(of.folder.join(name), &text).unwrap();
    world.note(format!("  {name}: {text:?}"));
    world.files.insert((of.name.clone(), name.to_owned()), text.clone());
    world.texts.insert(*blake3::hash(text.as_bytes()).as_bytes(), text);
    world.hand_over(drop, name);
}

/// A file that was dropped before, under its name or another.
fn file_again(world: &mut World) {
    let files: Vec<_> = world.files.keys().cloned().collect();
    if files.is_empty() {
        return;
    }
    let key = world.dice.pick(&files).clone();
    let of_key = |drop: &config::Drop| drop.name == key.0;
    let drop = world.loaded.drops.iter().position(of_key).unwrap();
    let name = if world.dice.one_in(2) { key.1.clone() } else { format!("x{}", key.1) };
    let text = world.files[&key].clone();
    put(world, drop, &name, text);
}

fn folder(world: &mut World) {
    let at = world.dice.index(world.loaded.drops.len());
    let missing = world.dice.one_in(2).then(|| "the folder is gone".to_owned());
    let news = News::Folder { drop: world.loaded.drops[at].name.clone(), missing };
    world.arrive(vec![Arrival { at: world.clock.now(), news }]);
}

fn request(world: &mut World) {
    if world.dice.one_in(6) {
        let leans = [0, 0, 0, 6, 14, 30];
        world.lean = (*world.dice.pick(&leans), world.dice.around(4) + 4);
    }
    let stations: Vec<Name> =
        world.loaded.bench.stations.iter().map(|station| station.name.clone()).collect();
    let named = stations.len() > 1 && !world.dice.one_in(20) || world.dice.one_in(20);
    let station = named.then(|| world.dice.pick(&stations).to_string());
    let station = if world.dice.one_in(50) { Some("moon".to_owned()) } else { station };
    let command = command(world);
    ask(world, station, command);
}

pub(super) fn ask(world: &mut World, station: Option<String>, command: Command) {
    let by = world.dice.one_in(2).then(|| "ann".to_owned());
    let login = world.dice.one_in(2).then(|| "root".to_owned());
    let request = Request { station, by, login, command };
    let key = format!("k{}", world.asked.len());
    world.asked.push((key.clone(), request.clone()));
    world.ask(&key, request);
}

/// Somebody keys in checks from the first position to the last: two lengths and their difference, a bar, a
/// turn.
fn keyed(world: &mut World) {
    let station = world.loaded.bench.stations[0].name.to_string();
    let pair: &[&str] = &["ring/length", "shim/length", "pair/match"];
    let targets = *world.dice.pick(&[pair, pair, &["shaft/bar"], &["shaft/turn"]]);
    let job = job_name(world);
    ask(world, Some(station.clone()), Command::JobUse { name: job });
    for offset in ["pair/left", "pair/right"] {
        let value = format!("0.{} um", world.dice.below(10));
        let target = offset.to_owned();
        ask(world, Some(station.clone()), Command::Record { target, value });
    }
    for &target in targets {
        let target = target.to_owned();
        ask(world, Some(station.clone()), Command::Measure { target, remark: None });
        let at = world.bench().stations.get(station.as_str()).and_then(|shown| shown.attempt);
        let Some((_, job, attempt)) = at.and_then(|at| world.bench().attempt(at)) else { continue };
        let Some((_, check)) = job.check_of(attempt) else { continue };
        let (open, length) = (attempt.open_touches(check), check.traits().sizes);
        let step = attempt.gauge().map(|gauge| gauge.resolution);
        let one = |world: &mut World| {
            let steps = world.dice.below(18);
            if length { format!("1.500{:02}", 5 * steps) } else { in_steps(step, steps) }
        };
        let values: Vec<String> = (0..open).map(|_| one(world)).collect();
        if !values.is_empty() {
            ask(world, Some(station.clone()), Command::Enter { values, graduation: None });
        }
    }
}

/// A client that got no answer, or lost it, asks again with the same key. The request is not done again.
fn again(world: &mut World) {
    if world.asked.is_empty() {
        return;
    }
    let recent = world.asked.len().min(30);
    let at = world.asked.len() - 1 - world.dice.index(recent);
    let (key, request) = world.asked[at].clone();
    // What follows from time alone, such as a pedal that stays down, is reported with the next input.
    world.take(Input::Pulse);
    world.commit();
    world.outside.borrow_mut().outage = Outage::default();
    let known = world.outside.borrow().answers.get(&key).cloned();
    let last = world.bench().last;
    world.ask(&key, request);
    world.outside.borrow_mut().look();
    if let Some(known) = known {
        let reply = world.outside.borrow().replies.get(&key).cloned();
        assert_eq!(reply, Some(known), "broken: a repeated key gives the same reply");
        assert_eq!(world.bench().last, last, "broken: a repeated key gives no new rows");
    }
}

fn reload(world: &mut World) {
    let layout = world.layout.changed(&mut world.dice);
    world.note(format!("  {layout:?}"));
    world.follow(layout);
}

fn step(world: &mut World) {
    const DAY_US: i64 = 86_400_000_000;
    let steps = [-3_600_000_000, -DAY_US, 30_000_000, DAY_US, -1];
    world.clock.wall_us += *world.dice.pick(&steps);
}

/// The service ends, in order or not, with a record that refuses or not, and starts again.
fn restart(world: &mut World) {
    let how = world.dice.below(5);
    if how < 2 {
        world.power_cut();
    } else if how < 4 {
        let happens = world.dice.one_in(2);
        let tries = if world.dice.one_in(2) { 100 } else { 0 };
        world.outside.borrow_mut().outage = Outage { tries, happens, meets: meets(world) };
        world.note(format!("  ends, {tries} refusals, {happens}"));
        world.end();
    } else {
        world.note("  dies");
        world.die();
    }
    if world.dice.one_in(3) {
        world.clock.boot += 1;
        world.clock.mono_us = world.dice.below(60_000_000);
        world.note("  the machine boots");
    }
    if world.dice.one_in(4) {
        let layout = world.layout.changed(&mut world.dice);
        world.set_up(layout);
    }
    world.start();
}

fn outage(world: &mut World) {
    let tries = 1 + u32::try_from(world.dice.below(4)).unwrap();
    let happens = world.dice.one_in(2);
    world.note(format!("  {tries} times, {happens}"));
    let low = world.dice.one_in(3);
    let mut outside = world.outside.borrow_mut();
    outside.outage = Outage { tries, happens, meets: Meets::Nothing };
    outside.low = low;
}

/// What a commit meets in the real database, if anything.
fn meets(world: &mut World) -> Meets {
    match world.dice.below(3) {
        0 => Meets::Nothing,
        1 => Meets::Full(world.dice.below(3).cast_signed()),
        _ => Meets::Error(1 + i32::try_from(world.dice.below(2000)).unwrap()),
    }
}

fn failing(world: &mut World) {
    let meets = meets(world);
    world.note(format!("  {meets:?}"));
    world.outside.borrow_mut().outage.meets = meets;
}

fn housekeeping(world: &mut World) {
    world.take(Input::Dump);
    world.take(Input::Pulse);
}
