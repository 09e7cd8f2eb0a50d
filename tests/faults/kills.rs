//! SIGKILL at any moment, with every kind of traffic.

use std::process::Child;
use std::time::{Duration, Instant};

use crate::rig::Dice;
use crate::shop::Shop;
use crate::traffic::Traffic;
use crate::{Outcome, Play, Row};

pub(crate) const ROWS: [Row; 1] = [Row {
    fault: "the service is killed",
    how: "`SIGKILL` at random moments, a fifth of them again while it starts, with every kind of traffic at once: a gauge with a button, a stream of 30 Hz, a \
          gauge asked by a pedal, a scanner, dropped files, three clients with keys, five screens, a follower of the feed, backups; `verify` after each",
    share: |count| count,
    play,
}];

/// Kills in one record; then another begins.
const IN_ONE: usize = 40;

fn play(play: &mut Play) -> Outcome {
    let mut outcome = play.in_records(IN_ONE, one_record);
    outcome.told = "clients and followers: that they wait, and that the service is back".into();
    outcome
}

/// A copy being made while all this goes on.
struct Copying {
    child: Child,
    killed: bool,
    path: String,
}

fn one_record(play: &mut Play, round: u64, count: usize, outcome: &mut Outcome) {
    let mut dice = Dice::seeded(play.seed * 1000 + round);
    let mut shop = Shop::open();
    let traffic = Traffic::begin(&shop, play.seed * 1000 + round);
    for kill in 0..count {
        let copying = (dice.below(4) == 0).then(|| begin_copy(&shop, kill));
        wait_for_the_moment(&traffic, &mut dice);
        let copying = copying.map(|copying| maybe_killed(copying, &mut dice));
        let before = traffic.before();
        killed_and_started(&mut shop, &mut dice, outcome);
        traffic.check(&shop, &before, outcome);
        verified(&shop, &["verify"], outcome);
        if let Some(copying) = copying {
            end_copy(&shop, copying, outcome);
        }
        outcome.tries += 1;
        play.progress(outcome);
    }
    shop.bench.until("gauges live", || shop.bench.all_live());
    traffic.end(&mut shop, outcome);
    verified(&shop, &["verify"], outcome);
    shop.bench.balanced();
    let log = shop.bench.log();
    let odd = log.lines().find(|line| line.contains("panicked") || line.contains("ERROR"));
    outcome.must(odd.is_none(), || format!("in the log: {odd:?}"));
    shop.bench.stop();
}

/// At once, after a while, or the moment something is acknowledged.
fn wait_for_the_moment(traffic: &Traffic, dice: &mut Dice) {
    match dice.below(3) {
        0 => std::thread::sleep(Duration::from_micros(dice.below(100_000))),
        1 => std::thread::sleep(Duration::from_micros(dice.below(1_500_000))),
        _ => {
            std::thread::sleep(Duration::from_micros(dice.below(500_000)));
            let (count, start) = (traffic.told.count(), Instant::now());
            while traffic.told.count() == count && start.elapsed() < Duration::from_secs(1) {
                std::hint::spin_loop();
            }
        }
    }
}

fn killed_and_started(shop: &mut Shop, dice: &mut Dice, outcome: &mut Outcome) {
    let began = Instant::now();
    shop.bench.kill();
    if dice.below(5) == 0 {
        shop.bench.launch();
        std::thread::sleep(Duration::from_micros(dice.below(80_000)));
        shop.bench.kill();
    }
    shop.bench.launch();
    shop.bench.until_up();
    outcome.answered_after(began.elapsed());
}

fn verified(shop: &Shop, arguments: &[&str], outcome: &mut Outcome) {
    let found = shop.bench.run(arguments);
    outcome.must(found.status.success(), || {
        let said = [found.stdout.as_slice(), found.stderr.as_slice()].concat();
        format!("{arguments:?}: {}", String::from_utf8_lossy(&said))
    });
}

fn begin_copy(shop: &Shop, kill: usize) -> Copying {
    let path = shop.bench.path(&format!("copy-{kill}.db")).to_str().unwrap().to_owned();
    Copying { child: shop.bench.spawn(&["backup", &path]), killed: false, path }
}

fn maybe_killed(mut copying: Copying, dice: &mut Dice) -> Copying {
    if dice.below(4) == 0 {
        copying.child.kill().unwrap();
        copying.killed = true;
    }
    copying
}

/// A copy that was made is whole; one that was killed has no name.
fn end_copy(shop: &Shop, copying: Copying, outcome: &mut Outcome) {
    let Copying { child, killed, path } = copying;
    let ended = child.wait_with_output().unwrap();
    if !killed {
        outcome.must(ended.status.success(), || {
            format!("backup: {}", String::from_utf8_lossy(&ended.stderr))
        });
    }
    if ended.status.success() {
        verified(shop, &["verify", &path], outcome);
    }
    if std::fs::exists(&path).unwrap() {
        verified(shop, &["verify", &path], outcome);
        std::fs::remove_file(&path).unwrap();
    }
}
