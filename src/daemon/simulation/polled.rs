//! Gauges that are asked: their answers, and when and whether they come.

use super::happenings::{ask, on_screen, steps};
use super::shop::{self, ANSWER_US, ASKED};
use super::world::World;
use bench::Command;
use quantity::Name;

/// The gauge at `cable` was asked: usually it answers in time.
pub(super) fn answer(world: &mut World, cable: usize, gauge: &Name) {
    let now_us = world.clock.mono_us;
    let shown = on_screen(world);
    let armed = shown.iter().find(|(name, ..)| name == gauge.as_str());
    let place = armed.map_or(0, |(_, _, attempt)| attempt.taken());
    let steps = steps(world, place % 8);
    let good = (shop::frame(gauge.as_str(), steps, false) + "\r").into_bytes();
    let soon = now_us + 1 + world.dice.below(ANSWER_US - 1);
    let late = now_us + ANSWER_US + world.dice.below(2 * ANSWER_US);
    let fate = world.dice.below(20);
    world.note(format!("  {gauge} is asked, {fate}"));
    let coming = &mut world.cables[cable];
    match fate {
        0 => {}
        1 | 2 => coming.send_later(late, good),
        3 => coming.send_later(soon, b"1:E04\r".to_vec()),
        4 => coming.send_later(soon, b"2:E04\r".to_vec()),
        5 => coming.send_later(soon, b"+0.1\x80\r".to_vec()),
        6 => {
            // The other gauge of the line answers in its place, then this one.
            let other = if gauge.as_str() == ASKED[0] { ASKED[1] } else { ASKED[0] };
            coming.send_later(now_us + 1, (shop::frame(other, 1, false) + "\r").into_bytes());
            coming.send_later(soon.max(now_us + 2), good);
        }
        7 => {
            // In two pieces; the second may come too late.
            let (head, tail) = good.split_at(good.len() / 2);
            coming.send_later(soon, head.to_vec());
            coming.send_later(soon + 30_000, tail.to_vec());
        }
        8 => {
            // Twice.
            coming.send_later(soon, good.clone());
            coming.send_later(soon + 20_000, good);
        }
        _ => coming.send_later(soon, good),
    }
}

/// Somebody measures with a gauge that is asked: a take for each touch, now and then two at once, or
/// the gauge's own button.
pub(super) fn takes(world: &mut World) {
    let shown = on_screen(world);
    let armed = shown.iter().find(|(gauge, ..)| ASKED.contains(&gauge.as_str()));
    let station = world.loaded.bench.stations.len() > 1;
    let Some((gauge, ..)) = armed.cloned() else {
        let (target, one) = *world.dice.pick(&[("ring/asked", "one"), ("shim/answered", "two")]);
        let station = station.then(|| one.to_owned());
        ask(world, station, Command::Measure { target: target.to_owned(), remark: None });
        return;
    };
    let station = station.then(|| if gauge == ASKED[0] { "one" } else { "two" }.to_owned());
    for _ in 0..=world.dice.below(9) {
        if world.dice.one_in(10) {
            let Some(cable) = world.cable_of(&gauge) else { return };
            let steps = steps(world, 0);
            let frame = shop::frame(&gauge, steps, false) + "\r";
            world.bytes(cable, frame.as_bytes());
        } else {
            ask(world, station.clone(), Command::Take { frame: None });
        }
        let ms = *world.dice.pick(&[5, 300, 500, 1000, 1500, 1500, 2000]);
        world.pass(ms * 1000);
    }
}
