//! Figures on a published line: comparing the printed digits gives the same decision as the exact figures.

use super::*;
use crate::BarStation;
use crate::figures::{Figures, Longer, Mean, PairFigures, Repeat, StationFigures, WaveFigure};
use judgement::Word;
use words::{Angle, Bound, LimitsTold, Tell, Thousandth, To};

fn station(value: i64, uncertainty: i64, limit: i64) -> StationFigures {
    let [value, uncertainty, limit] = [value, uncertainty, limit].map(Length::from_picometres);
    let limits = Limits::Max(limit);
    let figure = Figure::from(value);
    let plan = BarStation { at: inch("3"), limits, seating: Length::ZERO };
    StationFigures {
        at: words::Stated(plan.at),
        value: figure,
        tolerance: limits,
        uncertainty: Bound(uncertainty),
        verdict: judgement::decide(figure, uncertainty, limits).by(Rule::Guarded),
        seatings: vec![figure],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    }
}

/// A printed decimal, exact: its digits as a whole number and their places.
fn exact(text: &str) -> Figure {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let places = u32::try_from(part.len()).unwrap();
    let digits: i128 = format!("{whole}{part}").parse().unwrap();
    Figure::new(digits, 10_i128.pow(places))
}

/// A value about its limit, and about the limit less and plus its uncertainty, by the smallest steps
/// there are and by halves of what is shown.
#[test]
fn the_digits_of_a_station_decide_as_its_figures_do() {
    let limits = [2_540_000, 5_080_000, 2_000_000, 1_234_567, 30_480_001];
    for (limit, u) in limits.into_iter().flat_map(|limit| [603_219, 254_000, 7].map(|u| (limit, u)))
    {
        for about in [limit, limit - u, limit + u] {
            for off in [-12_700, -5_001, -127, -1, 0, 1, 126, 128, 4_999, 12_701] {
                let one = station(about + off, u, limit);
                for unit in [Unit::Inch, Unit::Millimetre] {
                    let line = one.tell(&To::unit(unit));
                    let LimitsTold::Max(max) = &line.tolerance else { panic!() };
                    let [value, known, max] =
                        [&line.value, &line.uncertainty, max].map(|text| exact(text));
                    let word = if value > max + known {
                        Word::DoesNotConform
                    } else if value + known <= max {
                        Word::Conforms
                    } else {
                        Word::Undecided
                    };
                    assert_eq!(word, one.verdict, "{line:?}");
                    assert_eq!(line.seatings.first(), Some(&line.value), "as it was judged");
                }
            }
        }
    }
}

/// How far seatings disagree stands beside how far they may.
#[test]
fn the_digits_of_a_repeat_decide_as_it_does() {
    for limit in [1_270_000_i64, 1_294_117, 999] {
        for off in [-1_000, -13, -1, 0, 1, 13, 1_000] {
            // Thousandths of a picometre, as they are worked out.
            for thousandths in [0_i128, 1, 499, 999] {
                let difference = Figure::new(i128::from(limit + off) * 1000 + thousandths, 1000);
                let limit = Figure::new(i128::from(limit), 1);
                for unit in [Unit::Inch, Unit::Millimetre] {
                    let line = Repeat { difference, limit }.tell(&To::unit(unit));
                    let [told, allowed] = [&line.difference, &line.limit].map(|text| exact(text));
                    assert_eq!(told <= allowed, difference <= limit, "{line:?}");
                }
            }
        }
    }
}

/// The first of the high spots of a wave lies within its own length from the index mark.
#[test]
fn a_wave_is_told_by_its_first_high_spot() {
    for order in 1..=15 {
        let long = 360.0 / f64::from(order);
        for spot in 0..order {
            let wave = WaveFigure {
                order,
                amplitude: Figure::from(inch("0.00002")),
                phase_deg: Angle::of((0.25 + f64::from(spot)) * long % 360.0),
            };
            let line = wave.tell(&To::unit(Unit::Inch));
            near(line.phase_deg.rem_euclid(long), 0.25 * long, 0.001);
            assert!((0.0..long).contains(&line.phase_deg), "{line:?}");
            assert_eq!((line.order, line.amplitude.as_str()), (order, "0.00002"));
        }
    }
}

/// A verdict has one of these for each touch, so they are stored as pairs.
#[test]
fn a_mean_is_stored_as_position_and_figure() {
    let mean = Mean { position: 7, value: Figure::new(762_001, 3) };
    let text = serde_json::to_string(&mean).unwrap();
    assert!(text.starts_with("[7,"), "{text}");
    assert_eq!(serde_json::from_str::<Mean>(&text).unwrap(), mean);
    assert!(mean.alike(&{ mean }));
    let other = Mean { position: 8, ..mean };
    assert!(!mean.alike(&other) && !mean.alike(&Mean { value: Figure::ZERO, ..mean }));
    assert_eq!(mean.tell(&To::unit(Unit::Millimetre)).position, 7);
}

#[test]
fn what_was_stored_is_read_again_and_a_word_or_field_nobody_knows_is_not() {
    let pair = PairFigures {
        lengths: [inch("1.5"), inch("1.49995")].map(Figure::from),
        longer: Longer::Barely,
        required: None,
        preload_n: Some([Thousandth::of(180.0), Thousandth::of(220.5)]),
        loads_n: vec![[Thousandth::of(200.0), Thousandth::of(210.0)]; 2],
        apart_min: Some(12),
    };
    let figures = Figures {
        contacts_upper: vec![1, 5],
        stations: vec![station(2_000_000, 603_219, 2_540_000)],
        pair: Some(pair),
        ..Figures::default()
    };
    let text = serde_json::to_string(&figures).unwrap();
    let again: Figures = serde_json::from_str(&text).unwrap();
    assert_eq!(again, figures);
    assert!(again.alike(&figures) && !again.alike(&Figures::default()));
    assert!(text.contains("\"barely\""), "{text}");
    for (known, unknown) in [("\"barely\"", "\"nearly\""), ("\"longer\"", "\"shorter\"")] {
        assert!(serde_json::from_str::<Figures>(&text.replace(known, unknown)).is_err());
    }
    // What does not apply takes no room.
    assert_eq!(serde_json::to_string(&Figures::default()).unwrap(), "{}");
}

/// No better than 30 degrees either way is no direction.
#[test]
fn a_high_side_is_told_where_it_is_known_well_enough() {
    let mut figures = Figures::default();
    assert_eq!(figures.high_side(), None);
    for (within, told) in [(0.0, true), (29.999, true), (30.0, true), (30.001, false)] {
        figures.lies_high_at(Angle::of(120.0), Thousandth::of(within));
        assert_eq!(figures.high_side(), told.then_some((120.0, within)), "{within}");
    }
    figures.known_again(|known| Thousandth::of(known.get() / 2.0));
    assert!(figures.high_side().is_some(), "15 degrees");
    figures.forget_high_side();
    assert_eq!((figures.high_side_deg, figures.high_side_u_deg), (None, None));
    figures.known_again(|_| Thousandth::of(1.0));
    assert_eq!(figures.high_side_u_deg, None, "nothing is known of nothing");
}
