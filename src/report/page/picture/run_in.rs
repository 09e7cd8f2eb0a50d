//! The curve of a run-in: temperatures over time, with the steps of speed below.

use std::fmt::Write as _;

use bench::plan::run_in::{Log, RunIn, STANDS};
use maud::{Markup, html};
use quantity::Figure;

use super::super::model::{Go, Item};
use super::super::text::shown;
use super::svg::n;

/// The frame of the curve, in units of the picture.
const LEFT: f64 = 46.0;
const RIGHT: f64 = 620.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 230.0;
/// The frame of the steps below it.
const STEPS: (f64, f64) = (262.0, 310.0);
/// How the lines of places are broken up, so that they are told apart without colour; the room is the last.
const DASHES: [&str; 4] = ["", "7 3", "2 2", "9 3 2 3"];
const COLOURS: [&str; 4] = ["#b3261e", "#1b5e9e", "#7a4f01", "#5b2a86"];

/// What is drawn where.
struct Scale {
    minutes: f64,
    low: f64,
    high: f64,
}

impl Scale {
    fn x(&self, ms: u64) -> f64 {
        LEFT + (RIGHT - LEFT) * minutes(ms) / self.minutes
    }

    fn y(&self, degrees: f64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * (degrees - self.low) / (self.high - self.low)
    }
}

#[expect(clippy::cast_precision_loss, reason = "minutes that are drawn")]
fn minutes(ms: u64) -> f64 {
    ms as f64 / 60_000.0
}

fn degrees(value: quantity::Length) -> f64 {
    Figure::from(value).to_f64() / 1e9
}

pub(super) fn picture(item: &Item<'_>, go: &Go<'_>) -> Markup {
    let run_in = item.check.measures.own().log;
    let Some((run_in, logged)) = run_in.zip(go.attempt.log.as_ref()) else { return html! {} };
    let log = &logged.log;
    let all = || log.readings.iter().map(|one| degrees(one.value));
    let (low, high) =
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    if !low.is_finite() {
        return html! {};
    }
    // Five degrees at least, so that a flat line looks flat.
    let (low, high) = ((low - 1.0).floor(), (high + 1.0).ceil().max(low.floor() + 5.0));
    let last = log.readings.iter().map(|one| one.after_ms).max().unwrap_or(0);
    let last = log.speeds.last().map_or(last, |end| end.after_ms.max(last));
    let scale = Scale { minutes: minutes(last).max(0.001), low, high };
    let title = format!("Temperatures over {:.0} minutes of run-in", minutes(last));
    html! {
        figure.curve {
            svg viewBox="0 0 640 330" role="img" aria-label=(title) width="640" height="330" style="max-width:100%;height:auto" {
                (axes(&scale))
                @for place in 0..=run_in.room() { (line(run_in, log, place, &scale)) }
                (steps(run_in, log, &scale))
            }
            figcaption { (shown(&legend(run_in))) }
        }
    }
}

/// `front: whole line; rear: broken; room: grey. °C over minutes; below, the speed in rpm.`
fn legend(run_in: &RunIn) -> String {
    let how = ["whole line", "long dashes", "dots", "dash and dot"];
    let place = |place: u16| {
        let of = if place == run_in.room() { "grey" } else { how[usize::from(place) % how.len()] };
        format!("{}: {of}", run_in.place(place))
    };
    let places: Vec<String> = (0..=run_in.room()).map(place).collect();
    format!("{}. Temperature, °C, over minutes; below, the speed in rpm.", places.join("; "))
}

fn axes(scale: &Scale) -> Markup {
    let frame = format!("M{},{} V{} H{}", n(LEFT), n(TOP), n(BOTTOM), n(RIGHT));
    let marks = |from: f64, to: f64, count: u32| {
        (0..=count).map(move |at| from + (to - from) * f64::from(at) / f64::from(count))
    };
    html! {
        path d=(frame) fill="none" stroke="#16191d" stroke-width="1" {}
        @for at in marks(scale.low, scale.high, 5) {
            @let y = scale.y(at);
            path d=(format!("M{},{} H{}", n(LEFT), n(y), n(RIGHT))) stroke="#c9ced6" stroke-width="0.5" {}
            text x=(n(LEFT - 5.0)) y=(n(y + 3.5)) font-size="11" text-anchor="end" { (format!("{at:.0}")) }
        }
        @for at in marks(0.0, scale.minutes, 6) {
            @let x = LEFT + (RIGHT - LEFT) * at / scale.minutes;
            @let places = usize::from(scale.minutes < 12.0);
            text x=(n(x)) y=(n(BOTTOM + 14.0)) font-size="11" text-anchor="middle" { (format!("{at:.places$}")) }
        }
        text x=(n(LEFT)) y="10" font-size="11" { "°C" }
    }
}

fn line(run_in: &RunIn, log: &Log, place: u16, scale: &Scale) -> Markup {
    let room = place == run_in.room();
    let (mut path, mut before) = (String::new(), None::<u64>);
    for one in log.of(place) {
        // A gap stays a gap; the room is written down seldom.
        let gap = !room && before.is_some_and(|at| one.after_ms - at > run_in.gap_of(place));
        let sign = if before.is_none() || gap { 'M' } else { 'L' };
        let (x, y) = (scale.x(one.after_ms), scale.y(degrees(one.value)));
        let _ok = write!(path, "{sign}{},{} ", n(x), n(y));
        before = Some(one.after_ms);
    }
    let index = usize::from(place) % DASHES.len();
    let (colour, dash) = if room { ("#7b828c", "") } else { (COLOURS[index], DASHES[index]) };
    html! {
        @if !path.is_empty() {
            path d=(path.trim_end()) fill="none" stroke=(colour) stroke-width="1.6" stroke-dasharray=(dash) {}
        }
    }
}

/// The speeds as stairs below the curve.
fn steps(run_in: &RunIn, log: &Log, scale: &Scale) -> Markup {
    let most = run_in.steps.iter().map(|speed| speed.rpm).max().unwrap_or(1);
    let (top, floor) = STEPS;
    let ran = run_in.steps.iter().enumerate().filter_map(|(index, speed)| {
        let (from, to) = log.ran(index)?;
        Some((speed.rpm, scale.x(from), scale.x(to)))
    });
    let ends = log.speeds.iter().filter(|one| one.step == STANDS).map(|one| scale.x(one.after_ms));
    html! {
        path d=(format!("M{},{} H{}", n(LEFT), n(floor), n(RIGHT))) stroke="#16191d" stroke-width="1" {}
        @for (rpm, from, to) in ran {
            @let high = (floor - top) * f64::from(rpm) / f64::from(most);
            rect x=(n(from)) y=(n(floor - high)) width=(n((to - from).max(0.5))) height=(n(high)) fill="#dfe6ee" stroke="#16191d" stroke-width="0.8" {}
            text x=(n(f64::midpoint(from, to))) y=(n(floor + 13.0)) font-size="10" text-anchor="middle" { (rpm) }
        }
        @for x in ends { path d=(format!("M{},{} V{}", n(x), n(TOP), n(floor))) stroke="#7b828c" stroke-width="0.8" stroke-dasharray="3 3" {} }
    }
}
