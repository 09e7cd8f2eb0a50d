//! The curve of a run-in: temperatures over time, with the steps of speed below.

use std::fmt::Write as _;

use bench::plan::run_in::{Course, Log, Noted, STANDS};
use maud::{Markup, html};
use quantity::Figure;

use super::super::model::{Go, Item};
use super::super::text::shown;
use super::svg::{n, round_down};

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
    /// That of a log; `None` without a temperature.
    fn of(log: &Log) -> Option<Self> {
        let all = || log.readings.iter().map(|one| degrees(one.value));
        let low = (all().reduce(f64::min)? - 1.0).floor();
        let high = (all().reduce(f64::max)? + 1.0).ceil();
        // Five degrees at least, so that a flat line looks flat, and a number that five divides.
        let high = low + 5.0 * ((high - low) / 5.0).ceil();
        let last = log.readings.iter().map(|one| one.after_ms).max().unwrap_or(0);
        let last = log.speeds.last().map_or(last, |end| end.after_ms.max(last));
        Some(Self { minutes: minutes(last).max(0.001), low, high })
    }

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
    curve(run_in, &logged.log)
}

fn curve(run_in: &Course, log: &Log) -> Markup {
    let Some(scale) = Scale::of(log) else { return html! {} };
    let title = format!("Temperatures over {:.0} minutes of run-in", scale.minutes);
    html! {
        figure.curve {
            svg viewBox="0 0 640 330" role="img" aria-label=(title) width="640" height="330" {
                (axes(&scale))
                @for place in 0..=run_in.room() { (line(run_in, log, place, &scale)) }
                (steps(run_in, log, &scale))
            }
            figcaption { (shown(&legend(run_in, log))) }
        }
    }
}

/// Whether there are more places than ways of breaking up a line: then each line has its number beside it.
fn numbered(run_in: &Course) -> bool {
    usize::from(run_in.room()) > DASHES.len()
}

/// `front: whole line; rear: long dashes; room: grey. °C over minutes; below, the speed in rpm.`
fn legend(run_in: &Course, log: &Log) -> String {
    let how = ["whole line", "long dashes", "dots", "dash and dot"];
    let place = |place: u16| {
        let name = run_in.place(place);
        if log.of(place).next().is_none() {
            return format!("{name}: no readings");
        }
        let of = if place == run_in.room() { "grey" } else { how[usize::from(place) % how.len()] };
        let number = if numbered(run_in) { format!(" ({})", place + 1) } else { String::new() };
        format!("{name}{number}: {of}")
    };
    let places: Vec<String> = (0..=run_in.room()).map(place).collect();
    format!("{}. Temperature, °C, over minutes; below, the speed in rpm.", places.join("; "))
}

fn axes(scale: &Scale) -> Markup {
    let frame = format!("M{},{} V{} H{}", n(LEFT), n(TOP), n(BOTTOM), n(RIGHT));
    // Each mark is where the number beside it says: a fifth of the height is whole degrees.
    let degrees = (0..=5).map(|at| scale.low + (scale.high - scale.low) * f64::from(at) / 5.0);
    let step = round_down(scale.minutes / 5.0);
    let times = (0_u32..).map(|at| f64::from(at) * step);
    let times = times.take_while(|at| *at <= scale.minutes * 1.000_001);
    let places =
        (0..6_usize).find(|places| step * 10_f64.powi(i32::try_from(*places).unwrap_or(0)) > 0.99);
    html! {
        path d=(frame) fill="none" stroke="#16191d" stroke-width="1" {}
        @for at in degrees {
            @let y = scale.y(at);
            path d=(format!("M{},{} H{}", n(LEFT), n(y), n(RIGHT))) stroke="#c9ced6" stroke-width="0.5" {}
            text x=(n(LEFT - 5.0)) y=(n(y + 3.5)) font-size="11" text-anchor="end" { (format!("{at:.0}")) }
        }
        @for at in times {
            @let x = LEFT + (RIGHT - LEFT) * at / scale.minutes;
            @let places = places.unwrap_or(6);
            text x=(n(x)) y=(n(BOTTOM + 14.0)) font-size="11" text-anchor="middle" { (format!("{at:.places$}")) }
        }
        text x=(n(LEFT)) y="10" font-size="11" { "°C" }
    }
}

/// The readings of a place, in pieces that have no gap in them; the room is written down seldom and has none.
fn pieces(run_in: &Course, log: &Log, place: u16) -> Vec<Vec<Noted>> {
    let room = place == run_in.room();
    let mut pieces: Vec<Vec<Noted>> = Vec::new();
    for one in log.of(place) {
        let whole = |before: &Noted| room || one.after_ms - before.after_ms <= run_in.gap_of(place);
        match pieces.last_mut() {
            Some(piece) if piece.last().is_some_and(whole) => piece.push(*one),
            _ => pieces.push(vec![*one]),
        }
    }
    pieces
}

fn line(run_in: &Course, log: &Log, place: u16, scale: &Scale) -> Markup {
    let at = |one: &Noted| (scale.x(one.after_ms), scale.y(degrees(one.value)));
    let (mut path, mut alone) = (String::new(), Vec::new());
    for piece in pieces(run_in, log, place) {
        // A line through one point shows nothing: it is drawn as a dot.
        if let [one] = piece[..] {
            alone.push(at(&one));
            continue;
        }
        for (index, one) in piece.iter().enumerate() {
            let ((x, y), sign) = (at(one), if index == 0 { 'M' } else { 'L' });
            let _ok = write!(path, "{sign}{},{} ", n(x), n(y));
        }
    }
    let index = usize::from(place) % DASHES.len();
    let room = place == run_in.room();
    let (colour, dash) = if room { ("#7b828c", "") } else { (COLOURS[index], DASHES[index]) };
    let end = log.of(place).next_back().filter(|_| numbered(run_in)).map(at);
    html! {
        @if !path.is_empty() {
            path d=(path.trim_end()) fill="none" stroke=(colour) stroke-width="1.6" stroke-dasharray=(dash) {}
        }
        @for (x, y) in alone { circle cx=(n(x)) cy=(n(y)) r="2" fill=(colour) {} }
        @if let Some((x, y)) = end {
            text x=(n(x + 3.0)) y=(n(y + 3.5)) font-size="10" fill=(colour) { (place + 1) }
        }
    }
}

/// The speeds as stairs below the curve.
fn steps(run_in: &Course, log: &Log, scale: &Scale) -> Markup {
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

#[cfg(test)]
mod tests;
