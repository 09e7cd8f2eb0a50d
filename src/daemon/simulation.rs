//! A random run of the product from a seed: bytes, files, requests, reloads, restarts and a record that
//! refuses, through the real parts. Every rule is checked after every step.
//!
//! `TENTHS_SEED=7 cargo test -p tenths-daemon simulation::first_seed` repeats the run of one seed;
//! `TENTHS_SIMULATION=3600 cargo test -p tenths-daemon simulation::drawn` plays drawn seeds for so many seconds.

mod alike;
mod asking;
mod cable;
mod dice;
mod disk;
mod handing;
mod hands;
mod happenings;
mod polled;
mod refusing;
mod rules;
mod shop;
mod world;

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

use bench::verdict::Figures;
use bench::{Body, Row};
use disk::Image;
use happenings::happen;
use judgement::Word;
use rules::Afterwards;
use world::World;

use ::record::NEWEST;

/// Events of one run.
const STEPS: u32 = 10_000;

/// After one commit in this many, at random, it is checked what a start would read back.
const READ_BACK_ONE_IN: u64 = 64;

/// After one step in this many, at random, every row of the record is checked.
const ROWS_ONE_IN: u64 = 2500;

/// The rest of the record is checked each time after this many steps.
const WHOLE_EVERY: u32 = 5000;

/// Prints how to repeat a run that broke a rule, and what happened before.
struct Witness {
    seed: u64,
    steps: u32,
    step: u32,
    /// The test that repeats it.
    test: &'static str,
    log: Rc<RefCell<VecDeque<String>>>,
}

impl Drop for Witness {
    fn drop(&mut self) {
        if std::thread::panicking() {
            for line in self.log.borrow().iter() {
                eprintln!("{line}");
            }
            let Self { seed, steps, step, test, .. } = self;
            eprintln!("^ step {step}. Again:");
            eprintln!(
                "TENTHS_SEED={seed} TENTHS_STEPS={steps} cargo test -p tenths-daemon simulation::{test} -- --nocapture"
            );
        }
    }
}

/// What happened in a run, so that a run in which nothing happens does not count as a good one.
#[derive(Debug, Default)]
struct Tale {
    rows: usize,
    verdicts: usize,
    /// Verdicts other than incomplete.
    judged: usize,
    questions: usize,
    files: usize,
    /// Verdicts on turns, on bars and on differences.
    turns: usize,
    bars: usize,
    pairs: usize,
    /// Answers and values that were given.
    answers: usize,
    /// Parts on the lists of the stack, and parts that were replaced.
    stacked: usize,
    replaced: usize,
    refusals: (u64, u64),
    /// How often the power was cut in the middle of a write.
    cuts: u32,
    /// Touches found in a stream, and answers of gauges that were asked.
    streamed: usize,
    asked: usize,
    /// Jobs that were taken over, copies that were restored, commits that failed in the database.
    taken_over: u32,
    restored: u32,
    met: u64,
    /// What was given to the desk: frames, samples, files, requests, news.
    inputs: u64,
}

fn run(seed: u64, steps: u32) -> Tale {
    let log = Rc::new(RefCell::new(VecDeque::new()));
    let mut witness = Witness { seed, steps, step: 0, test: "first_seed", log: Rc::clone(&log) };
    let mut world = World::new(seed, log);
    let mut before = world.bench().clone();
    for step in 1..=steps {
        witness.step = step;
        happen(&mut world);
        world.outside.borrow_mut().look();
        rules::check(&rules::ALWAYS, &world);
        rules::check_attempts(&world, &before);
        before = world.bench().clone();
        if world.dice.one_in(2) {
            world.commit();
            world.outside.borrow_mut().look();
            rules::check(&rules::ALWAYS, &world);
            rules::check(&rules::STORED, &world);
            before = world.bench().clone();
            if world.dice.one_in(READ_BACK_ONE_IN) {
                rules::check(&rules::READ_BACK, &world);
            }
        }
        if world.dice.one_in(ROWS_ONE_IN) {
            rules::check(&rules::ROWS, &world);
        }
        if step % WHOLE_EVERY == 0 {
            rules::check(&rules::WHOLE, &world);
        }
    }
    world.end();
    world.start();
    rules::check(&rules::ROWS, &world);
    rules::check(&rules::WHOLE, &world);
    rules::verified(&world).unwrap_or_else(|what| panic!("broken: verify agrees: {what}"));
    let outside = world.outside.borrow();
    let ever = || outside.rows.iter().chain(&world.handing.gone);
    let count = |what: fn(&Body) -> bool| ever().filter(|row| what(&row.body)).count();
    let figures = |has: fn(&Figures) -> bool| {
        let judged =
            |row: &&Row| matches!(&row.body, Body::Verdict(verdict) if has(&verdict.figures));
        ever().filter(judged).count()
    };
    Tale {
        rows: ever().count(),
        verdicts: count(|body| matches!(body, Body::Verdict(_))),
        judged: count(
            |body| matches!(body, Body::Verdict(verdict) if verdict.word != Word::Incomplete),
        ),
        questions: count(|body| matches!(body, Body::Asked { question: Some(_), .. })),
        files: count(|body| matches!(body, Body::FileTaken(_))),
        turns: figures(|figures| !figures.harmonics.is_empty()),
        bars: figures(|figures| !figures.stations.is_empty()),
        pairs: figures(|figures| figures.pair.is_some()),
        answers: count(|body| matches!(body, Body::Answered { .. })),
        stacked: count(|body| matches!(body, Body::StackPlaced { .. })),
        replaced: count(|body| matches!(body, Body::PartReplaced { .. })),
        refusals: outside.refusals,
        cuts: world.cuts,
        taken_over: world.handing.taken_over,
        restored: world.handing.restored,
        met: outside.met,
        inputs: world.inputs,
        streamed: count(
            |body| matches!(body, Body::Reading(reading) if reading.gauge.as_str() == shop::STREAM),
        ),
        asked: count(
            |body| matches!(body, Body::Reading(reading) if shop::ASKED.contains(&reading.gauge.as_str())),
        ),
    }
}

/// A number from the environment.
fn number_from_environment(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(text.parse().unwrap_or_else(|_| panic!("{name} is a whole number")))
}

fn seed_from_environment() -> Option<u64> {
    number_from_environment("TENTHS_SEED")
}

#[track_caller]
fn run_well(seed: u64) {
    let seed = seed_from_environment().unwrap_or(seed);
    let steps =
        number_from_environment("TENTHS_STEPS").map_or(STEPS, |steps| steps.try_into().unwrap());
    let (tale, pace) = paced(seed, steps);
    eprintln!("seed {seed}: {pace} events a minute, {tale:?}");
    if steps < STEPS {
        return;
    }
    assert!(tale.rows > 5000 && tale.verdicts > 200, "{tale:?}");
    assert!(tale.judged > 50 && tale.questions > 10 && tale.files > 50, "{tale:?}");
    assert!(tale.turns > 5 && tale.bars > 2 && tale.pairs > 2, "{tale:?}");
    assert!(tale.answers > 20 && tale.stacked > 20 && tale.replaced > 5, "{tale:?}");
    assert!(tale.streamed > 20 && tale.asked > 100, "{tale:?}");
    assert!(tale.taken_over > 2 && tale.restored > 2 && tale.met > 5, "{tale:?}");
    assert!(tale.refusals.0 > 50 && tale.refusals.1 > 5 && tale.cuts > 10, "{tale:?}");
}

/// Runs, and returns how many events that was in a minute of this thread's work.
fn paced(seed: u64, steps: u32) -> (Tale, u64) {
    let work = || rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    let seconds = |time: rustix::time::Timespec| {
        std::time::Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec.try_into().unwrap())
    };
    let began = seconds(work());
    let tale = run(seed, steps);
    let took = seconds(work()).saturating_sub(began).as_millis().max(1);
    let pace = u128::from(steps) * 60_000 / took;
    (tale, pace.try_into().unwrap())
}

/// The steps of a run with a drawn seed: many short runs find more than a long one.
const DRAWN_STEPS: u32 = 2000;

/// Plays drawn seeds for the number of seconds in `TENTHS_SIMULATION`, on every processor; without it, a
/// few fixed seeds on one processor.
#[test]
fn drawn_seeds() {
    let told_seconds = number_from_environment("TENTHS_SIMULATION");
    let first = match told_seconds {
        Some(_) => intake::now().wall.micros().unsigned_abs(),
        None => 1000,
    };
    let threads =
        told_seconds.map_or(1, |_| std::thread::available_parallelism().map_or(1, usize::from));
    let limit = std::time::Duration::from_secs(told_seconds.unwrap_or(5));
    let began = std::time::Instant::now();
    let drawn = |first: u64| {
        let mut dice = dice::Dice::new(first);
        let (mut runs, mut inputs) = (0_u64, 0_u64);
        while began.elapsed() < limit {
            inputs += run(dice.below(1 << 32), DRAWN_STEPS).inputs;
            runs += 1;
        }
        (runs, inputs)
    };
    // A seed that fails is printed by its own thread; the others go on until their time is over.
    let (runs, inputs) = std::thread::scope(|scope| {
        let started: Vec<_> =
            (first..).take(threads).map(|first| scope.spawn(move || drawn(first))).collect();
        let ended = started.into_iter().map(|thread| thread.join().expect("a seed failed"));
        ended.fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
    });
    let events = runs * u64::from(DRAWN_STEPS);
    let minutes = began.elapsed().as_secs_f64() / 60.0;
    #[expect(clippy::cast_precision_loss, reason = "it is only shown")]
    let pace = events as f64 / minutes;
    eprintln!("{runs} seeds, {events} events, {inputs} inputs, {pace:.0} events a minute");
}

/// What happened to records on a disk that did not keep what was written.
#[derive(Debug, Default)]
struct Kept {
    /// Refused at the start, with a sentence.
    refused: u32,
    /// Reported as faulty by the start, by reading it or by `verify`.
    told: u32,
    /// The newest rows are missing.
    short: u32,
    /// As it was stored.
    whole: u32,
}

/// A short run; then, in many ways, a disk that lost syncs or changed a bit.
fn lied(seed: u64, kept: &mut Kept) {
    let log = Rc::new(RefCell::new(VecDeque::new()));
    let (steps, test) = (200, "a_disk");
    let mut witness = Witness { seed, steps, step: 0, test, log: Rc::clone(&log) };
    let mut world = World::new(seed, log);
    let mut earlier = VecDeque::new();
    for step in 1..=steps {
        witness.step = step;
        happen(&mut world);
        if world.dice.one_in(2) {
            world.commit();
        }
        if step > 195 {
            earlier.push_back(Image::of_folder(&world.state()));
        }
    }
    world.commit();
    let last = Image::of_folder(&world.state());
    world.die();
    for _ in 0..20 {
        let image = if world.dice.one_in(2) {
            let from = world.dice.index(earlier.len());
            world.note("  a disk that forgot");
            earlier[from].torn(&last, &mut world.dice)
        } else {
            let mut image = last.clone();
            for _ in 0..1_u32 << world.dice.below(7) {
                let place = image.flip(&mut world.dice);
                world.note(format!("  {place}"));
            }
            image
        };
        image.lay(&world.state());
        // Whether the number of the newest row reached the disk: without it nothing shows that rows are
        // missing.
        let knows = image.holds(NEWEST, &last);
        match rules::found(&world) {
            Afterwards::Refused => kept.refused += 1,
            Afterwards::Told => kept.told += 1,
            Afterwards::Short if knows => panic!("broken: rows that are missing are told"),
            Afterwards::Short => kept.short += 1,
            Afterwards::Whole => kept.whole += 1,
            Afterwards::Wrong(what) => {
                panic!("broken: what a disk lost or changed is told: {what}")
            }
        }
    }
}

#[test]
fn a_disk_that_did_not_keep_what_it_was_given_is_told() {
    let mut kept = Kept::default();
    let first = seed_from_environment().unwrap_or(1);
    for seed in first..first + 10 {
        lied(seed, &mut kept);
    }
    eprintln!("{kept:?}");
    assert!(kept.refused + kept.told > 20 && kept.short > 5 && kept.whole > 20, "{kept:?}");
}

#[test]
fn first_seed() {
    run_well(1);
}

#[test]
fn second_seed() {
    run_well(20_270_301);
}

#[test]
fn third_seed() {
    run_well(0x7465_6e74_6873);
}
