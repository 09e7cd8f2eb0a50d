//! A seeded random run of the product: bytes, files, requests, reloads, restarts and a record that
//! refuses, through the real parts, with every rule looked at after every step.
//!
//! `TENTHS_SEED=7 cargo test --lib simulation` repeats the run of one seed.

mod asking;
mod dice;
mod happenings;
mod refusing;
mod rules;
mod shop;
mod world;

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

use crate::bench::Body;
use crate::judgement::Word;
use happenings::happen;
use world::World;

/// Events of one run.
const STEPS: u32 = 10_000;

/// Steps between two looks at what a start would read back.
const READ_BACK_EVERY: u32 = 16;

/// Steps between two looks at every row of the record.
const ROWS_EVERY: u32 = 500;

/// Steps between two looks at the rest of the record.
const WHOLE_EVERY: u32 = 5000;

/// Tells how to repeat a run that broke a rule, and what happened before.
struct Witness {
    seed: u64,
    step: u32,
    log: Rc<RefCell<VecDeque<String>>>,
}

impl Drop for Witness {
    fn drop(&mut self) {
        if std::thread::panicking() {
            for line in self.log.borrow().iter() {
                eprintln!("{line}");
            }
            eprintln!("^ TENTHS_SEED={} step {}", self.seed, self.step);
        }
    }
}

/// What a run came to, so that a run in which nothing happens is not taken for a good one.
#[derive(Debug, Default)]
struct Tale {
    rows: usize,
    verdicts: usize,
    /// Verdicts that do not say incomplete.
    judged: usize,
    questions: usize,
    files: usize,
    /// Answers and values that were given.
    answers: usize,
    /// Parts on the lists of the stack, and parts that were replaced.
    stacked: usize,
    replaced: usize,
    refusals: (u64, u64),
}

fn run(seed: u64, steps: u32) -> Tale {
    let log = Rc::new(RefCell::new(VecDeque::new()));
    let mut witness = Witness { seed, step: 0, log: Rc::clone(&log) };
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
            if step % READ_BACK_EVERY == 0 {
                rules::check(&rules::READ_BACK, &world);
            }
        }
        if step % ROWS_EVERY == 0 {
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
    let count = |what: fn(&Body) -> bool| outside.rows.iter().filter(|row| what(&row.body)).count();
    Tale {
        rows: outside.rows.len(),
        verdicts: count(|body| matches!(body, Body::Verdict(_))),
        judged: count(
            |body| matches!(body, Body::Verdict(verdict) if verdict.word != Word::Incomplete),
        ),
        questions: count(|body| matches!(body, Body::Asked { question: Some(_), .. })),
        files: count(|body| matches!(body, Body::FileTaken(_))),
        answers: count(|body| matches!(body, Body::Answered { .. })),
        stacked: count(|body| matches!(body, Body::StackPlaced { .. })),
        replaced: count(|body| matches!(body, Body::PartReplaced { .. })),
        refusals: outside.refusals,
    }
}

fn told_seed() -> Option<u64> {
    let text = std::env::var("TENTHS_SEED").ok()?;
    Some(text.parse().expect("TENTHS_SEED is a whole number"))
}

#[track_caller]
fn run_well(seed: u64) {
    let seed = told_seed().unwrap_or(seed);
    let tale = run(seed, STEPS);
    eprintln!("seed {seed}: {tale:?}");
    assert!(tale.rows > 5000 && tale.verdicts > 200, "{tale:?}");
    assert!(tale.judged > 50 && tale.questions > 20 && tale.files > 50, "{tale:?}");
    assert!(tale.answers > 10 && tale.stacked > 20 && tale.replaced > 5, "{tale:?}");
    assert!(tale.refusals.0 > 50 && tale.refusals.1 > 5, "{tale:?}");
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
