//! The waves and circles of one turn: time per call.
//!
//! `cargo bench --bench harmonics` prints a table. With `--peer` it reads readings of one turn from
//! standard input, one a line, and prints the nanoseconds of a call and the waves it found, for
//! `benches/peers/waves.py` to set against another program.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::f64::consts::TAU;
use std::hint::black_box;
use std::io::Read as _;
use std::time::Instant;

use geometry::{
    EvenTurn, circumscribed_circle, inscribed_circle, least_squares_circle, low_pass_even,
    minimum_zone_circle,
};

/// Orders a roundness report can show: up to the low-pass at 15 waves a turn.
const ORDERS: usize = 15;

fn main() {
    if std::env::args().any(|argument| argument == "--peer") {
        peer();
    } else {
        table();
    }
}

/// Nanoseconds of a call, the median of 21 runs of about ten milliseconds each.
fn nanoseconds(mut call: impl FnMut()) -> f64 {
    let mut run = |calls: u32| {
        let start = Instant::now();
        (0..calls).for_each(|_| call());
        start.elapsed().as_secs_f64() * 1e9 / f64::from(calls)
    };
    let first = run(1).max(10.0);
    // Between 1 and a million calls: the quotient is in range of an integer.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
    let calls = (1e7 / first).clamp(1.0, 1e6) as u32;
    let mut runs: Vec<f64> = (0..21).map(|_| run(calls)).collect();
    runs.sort_by(f64::total_cmp);
    runs[runs.len() / 2]
}

fn peer() {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text).expect("readings");
    let readings: Vec<f64> =
        text.lines().map(|line| line.parse().expect("a number on each line")).collect();
    for orders in [ORDERS, (readings.len() - 1) / 2] {
        let turn = EvenTurn::new(readings.len(), orders).expect("enough readings");
        let time = nanoseconds(|| {
            black_box(turn.waves(black_box(&readings)).expect("waves"));
        });
        println!("orders {orders} ns {time:.1}");
        let waves = turn.waves(&readings).expect("waves");
        println!("0 {:e} 0", waves.mean);
        for wave in waves.waves {
            println!("{} {:e} {:e}", wave.order, wave.cosine, wave.sine);
        }
    }
}

/// A turn with lobes and a rough skin, about (30, −7), radius 25.
fn trace(count: u32) -> Vec<(f64, f64)> {
    (0..count)
        .map(|k| {
            (TAU * f64::from(k) / f64::from(count), f64::from((k % 9_973) * (k % 9_973) % 101))
        })
        .map(|(t, skin)| {
            let form = (3.0 * t).cos() + 0.4 * (5.0 * t).sin() + 0.003 * skin;
            let radius = 25.0 + 1e-3 * form;
            (30.0 + radius * t.cos(), -7.0 + radius * t.sin())
        })
        .collect()
}

fn table() {
    println!("{:<44}{:>14}", "one call", "microseconds");
    let line = |what: &str, ns: f64| println!("{what:<44}{:>14.2}", ns / 1e3);
    let readings: Vec<f64> = trace(360).iter().map(|point| point.0.hypot(point.1)).collect();
    for orders in [ORDERS, 179] {
        let turn = EvenTurn::new(360, orders).expect("enough readings");
        let call = || {
            black_box(turn.waves(black_box(&readings)).expect("waves"));
        };
        line(&format!("waves 0 to {orders} of 360 readings"), nanoseconds(call));
    }
    line(
        "low-pass of 360 readings",
        nanoseconds(|| {
            black_box(low_pass_even(black_box(&readings), ORDERS).expect("smooth"));
        }),
    );
    for count in [360, 3_600, 10_000] {
        let points = trace(count);
        let points = points.as_slice();
        let least = nanoseconds(|| {
            black_box(least_squares_circle(black_box(points)).expect("a circle"));
        });
        line(&format!("least-squares circle of {count} points"), least);
        let zone = nanoseconds(|| {
            black_box(minimum_zone_circle(black_box(points)).expect("a zone"));
        });
        line(&format!("minimum zone of {count} points"), zone);
        let around = nanoseconds(|| {
            black_box(circumscribed_circle(black_box(points)).expect("a circle"));
        });
        line(&format!("smallest circle around {count} points"), around);
        let inside = nanoseconds(|| {
            black_box(inscribed_circle(black_box(points)).expect("a circle"));
        });
        line(&format!("largest circle inside {count} points"), inside);
    }
}
