//! Turns, bars and tapers: whole series, most with figures that an independent program worked out
//! from the formulas (scenario, invented), some against exact fractions worked out by hand.

mod bars;
mod circles;
mod faces;
mod sweeps;
mod tapers;

use crate::event::Command;
use crate::plan::{BarRun, BarStation, Check, Holding, Measures, Seatings, Surface};
use crate::tests::kit::{Kit, face, inch};
use judgement::Limits;
use quantity::{Figure, Unit};

/// Runout to a tenth of the outside of a part, nothing but the stand beside the gauge.
fn turn(positions: u32) -> Check {
    let stand = inch("0.000005");
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        positions,
        radii: Vec::new(),
        measures: Measures::from(crate::plan::Turn { stand, ..Default::default() }),
        ..face("nose")
    }
}

/// A bar of twelve positions, its stations told as place, limit and seating.
fn bar(stations: &[(&str, &str, &str)], seatings: Seatings) -> Check {
    let station = |&(at, limit, seating): &(&str, &str, &str)| BarStation {
        at: inch(at),
        limits: Limits::Max(inch(limit)),
        seating: inch(seating),
    };
    let stations: Vec<BarStation> = stations.iter().map(station).collect();
    let tightest = stations.iter().map(|station| station.limits.half_width()).min().unwrap();
    let tightest = i64::try_from(tightest.numerator()).unwrap();
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        positions: 12,
        radii: Vec::new(),
        limits: Some(Limits::Max(quantity::Length::from_picometres(tightest))),
        measures: Measures::from(BarRun {
            stations,
            seatings,
            predict: Vec::new(),
            stand: inch("0.000005"),
            bar: inch("0.000005"),
        }),
        ..face("bar")
    }
}

fn predict(check: &mut Check, at: &str) {
    let mut run: BarRun = check.measures.told();
    run.predict.push(inch(at));
    check.measures = run.into();
}

/// A kit that measures its only check.
fn measuring(check: Check) -> Kit {
    let target = format!("ring/{}", check.name);
    let mut kit = Kit::new(vec![check]);
    kit.measure(&target).unwrap();
    kit
}

fn skip(kit: &mut Kit, positions: &[u32]) {
    for position in positions {
        let skip = Command::Skip { position: Some(*position), why: "slot".to_owned() };
        kit.ask(skip).unwrap();
    }
}

fn fixed(figure: Option<impl Into<Figure>>, places: u32) -> String {
    figure.unwrap().into().fixed(Unit::Inch, places)
}

fn near(value: Option<impl Into<f64>>, expected: f64, within: f64) {
    let value: f64 = value.unwrap().into();
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

fn exact(text: &str) -> Figure {
    Figure::from(inch(text))
}
