//! Plugs that are pulled and put back, also in the middle of a frame.

use std::time::{Duration, Instant};

use crate::rig::Dice;
use crate::shop::{Line, Shop};
use crate::traffic::Traffic;
use crate::{Outcome, Play, Row};

pub(crate) const ROWS: [Row; 1] = [Row {
    fault: "a plug is pulled and put back",
    how: "the pseudo-terminal of a gauge with a button, of a stream, of a gauge that is asked closes and another one comes under the same name, \
          at random moments and in the middle of frames, with the same traffic",
    share: |count| count,
    play,
}];

/// Pulls in one record; then another begins.
const IN_ONE: usize = 100;

fn play(play: &mut Play) -> Outcome {
    let mut outcome = play.in_records(IN_ONE, one_record);
    outcome.told = "`status` and the feed: the gauge is lost, and that it is back".into();
    outcome
}

fn one_record(play: &mut Play, round: u64, count: usize, outcome: &mut Outcome) {
    let mut dice = Dice::seeded(play.seed * 1000 + round);
    let mut shop = Shop::open();
    let traffic = Traffic::begin(&shop, play.seed * 1000 + round);
    for pull in 0..count {
        std::thread::sleep(Duration::from_micros(dice.below(400_000)));
        let (name, line): (_, &Line) = match dice.below(3) {
            0 => ("plate", &shop.press),
            1 => ("stream", &shop.stream),
            _ => ("asked", &shop.asked),
        };
        let frames = || shop.bench.gauge(name)["frames"].as_u64().unwrap();
        let before = {
            let mut line = line.lock().unwrap();
            line.unplug();
            // Where it is told the plug stays out until somebody knows.
            if dice.below(2) == 0 {
                shop.bench.until_gauge(name, "lost");
            }
            std::thread::sleep(Duration::from_micros(dice.below(50_000)));
            let before = frames();
            line.plug();
            before
        };
        let began = Instant::now();
        shop.bench.until(&format!("{name} is heard again"), || frames() > before);
        outcome.answered_after(began.elapsed());
        outcome.tries += 1;
        if pull % 10 == 9 {
            let before = traffic.before();
            traffic.check(&shop, &before, outcome);
        }
        play.progress(outcome);
    }
    traffic.end(&mut shop, outcome);
    let verified = shop.bench.run(&["verify"]);
    outcome.must(verified.status.success(), || {
        format!("verify: {}", String::from_utf8_lossy(&verified.stdout))
    });
    shop.bench.balanced();
    shop.bench.stop();
}
