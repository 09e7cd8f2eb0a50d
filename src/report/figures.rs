//! Figures as a person at the bench reads them.

use bench::row::Lack;
use quantity::{Figure, Name, Unit};
use store::WentOnRecord;
use wire::{LimitsTold, StationLine, VerdictLine};
use words::{Held, Told};

/// A verdict's figures in the unit people see, as short as they can be without misleading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoken {
    /// The judged figure, or `less than …` below its noise floor, or an answer, or a dash where there
    /// is none of these.
    pub value: String,
    /// The limit, or `… to …`, of a bar with the station; the answers that conform; or a dash.
    pub limit: String,
    /// The expanded uncertainty, or a dash.
    pub uncertainty: String,
}

/// Tells a verdict's figures in `unit`, as [`Held::told`] does: a bar has the station it was
/// judged at, a question its answer and the good ones.
#[must_use]
pub fn spoken(line: &VerdictLine, unit: Unit) -> Spoken {
    if let Some(answer) = &line.answer {
        return spoken_answer(answer, &line.good);
    }
    let Told { value, limit, uncertainty, .. } = told(line, unit);
    Spoken {
        value: value.unwrap_or_else(dash),
        limit: limit.map_or_else(dash, |limit| limit + &at_station(line, unit)),
        uncertainty: uncertainty.unwrap_or_else(dash),
    }
}

/// The figures of a verdict that has some.
pub(super) fn told(line: &VerdictLine, unit: Unit) -> Told {
    let own = Unit::parse(&line.unit).unwrap_or(unit);
    let floor = line.figures.noise_floor.as_ref();
    read((line.value.as_ref(), line.tolerance.as_ref(), line.uncertainty.as_ref()), own)
        .above_noise(floor.and_then(|text| Figure::parse(text, own)))
        .signed(line.figures.pair.is_some())
        .spoken(unit)
}

/// Tells the figures of one station of a bar.
#[must_use]
pub fn spoken_station(station: &StationLine, own: Unit, unit: Unit) -> Spoken {
    let StationLine { value, tolerance, uncertainty, .. } = station;
    let Told { value, limit, uncertainty, .. } =
        read((Some(value), Some(tolerance), Some(uncertainty)), own).spoken(unit);
    Spoken {
        value: value.unwrap_or_else(dash),
        limit: limit.unwrap_or_else(dash),
        uncertainty: uncertainty.unwrap_or_else(dash),
    }
}

/// A figure, its limits and its uncertainty as a line gives them, in its own unit.
fn read(
    (value, limits, uncertainty): (Option<&String>, Option<&LimitsTold>, Option<&String>),
    own: Unit,
) -> Held {
    let figure = |text: Option<&String>| Figure::parse(text?, own);
    let (min, max) = match limits {
        None => (None, None),
        Some(LimitsTold::Max(max)) => (None, Some(max)),
        Some(LimitsTold::Band { min, max }) => (Some(min), Some(max)),
    };
    Held::of(figure(value), own).between(figure(min), figure(max)).known_within(figure(uncertainty))
}

fn dash() -> String {
    "–".to_owned()
}

fn spoken_answer(answer: &str, good: &[String]) -> Spoken {
    let limit = if good.is_empty() { dash() } else { good.join(" or ") };
    Spoken { value: answer.to_owned(), limit, uncertainty: dash() }
}

/// The station of a bar whose figure is the judged one: nearest to its own limit, or farthest past
/// it.
#[must_use]
pub fn judged_station(line: &VerdictLine) -> Option<&StationLine> {
    let judged = |station: &&StationLine| {
        Some(&station.value) == line.value.as_ref()
            && Some(&station.tolerance) == line.tolerance.as_ref()
            && Some(&station.uncertainty) == line.uncertainty.as_ref()
    };
    line.figures.stations.iter().find(judged)
}

/// ` at 3`, where there are several stations.
fn at_station(line: &VerdictLine, unit: Unit) -> String {
    let own = Unit::parse(&line.unit).unwrap_or(unit);
    judged_station(line)
        .map_or_else(String::new, |one| format!(" at {}", in_unit(&one.at, own, unit)))
}

/// A decimal text of one unit in another: unchanged where they are the same, otherwise rounded
/// for show.
#[must_use]
pub fn in_unit(text: &str, from: Unit, to: Unit) -> String {
    match Figure::parse(text, from) {
        Some(figure) if from != to => figure.shown(to),
        _ => text.to_owned(),
    }
}

/// What spoke against something that went on: `ring/face does not conform, nut/torque is not measured`.
#[must_use]
pub fn lacking_words(went: &WentOnRecord) -> String {
    let one = |(part, check, lack): &(Name, Name, Lack)| format!("{part}/{check} {}", lack.words());
    went.lacking.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// Why a verdict stands no longer because of the metal, in words; `None` where it is not so.
#[must_use]
pub fn metal_words(standing: &str) -> Option<&'static str> {
    match standing {
        "metal-changed" => Some("the metal has changed since"),
        "part-replaced" => Some("on the part that was replaced"),
        _ => None,
    }
}

/// The word of a verdict as a table tells it: one that rests on metal that is gone says so instead.
#[must_use]
pub fn word_now(verdict: &str, standing: &str) -> String {
    match standing {
        "metal-changed" => "METAL CHANGED".to_owned(),
        "part-replaced" => "PART REPLACED".to_owned(),
        _ => word_of(verdict),
    }
}

/// A verdict's word as it is called out.
#[must_use]
pub fn word_of(verdict: &str) -> String {
    verdict.replace('-', " ").to_uppercase()
}

/// How the part was held, in a few words.
#[must_use]
pub fn setup_words(setup: &str) -> &str {
    match setup {
        "plate" => "on the plate",
        "anvil" => "over the anvil",
        "supports" => "on supports",
        "turning" => "while turning",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{bar, line};
    use wire::{FiguresLine, LimitsTold};

    #[test]
    fn a_figure_has_one_digit_more_than_its_limit() {
        let told = spoken(&line(), Unit::Inch);
        assert_eq!(told.value, "0.00034");
        assert_eq!(told.limit, "0.0001");
        assert_eq!(told.uncertainty, "0.000026");
    }

    #[test]
    fn a_size_is_told_as_fine_as_it_is_known() {
        let band = LimitsTold::Band { min: "1.999".to_owned(), max: "2.001".to_owned() };
        let size =
            VerdictLine { value: Some("1.99982".to_owned()), tolerance: Some(band), ..line() };
        let told = spoken(&size, Unit::Inch);
        assert_eq!((told.value.as_str(), told.uncertainty.as_str()), ("1.99982", "0.000026"));
    }

    #[test]
    fn rounding_never_carries_an_out_into_an_in() {
        let value = |text: &str| {
            spoken(&VerdictLine { value: Some(text.to_owned()), ..line() }, Unit::Inch).value
        };
        assert_eq!(value("0.00010001"), "0.00010001");
        assert_eq!(value("0.000104"), "0.000104");
        assert_eq!(value("0.00009999"), "0.00009999");
        assert_eq!(value("0.00009"), "0.00009");
        assert_eq!(value("0.0001"), "0.00010");
    }

    #[test]
    fn below_the_noise_floor_no_number_is_claimed() {
        let figures =
            FiguresLine { noise_floor: Some("0.000018".to_owned()), ..FiguresLine::default() };
        let quiet = VerdictLine { value: Some("0.00001".to_owned()), figures, ..line() };
        assert_eq!(spoken(&quiet, Unit::Inch).value, "less than 0.000018");
    }

    #[test]
    fn a_metric_limit_is_told_in_the_unit_of_the_bench() {
        let metric = VerdictLine {
            value: Some("2".to_owned()),
            unit: "um".to_owned(),
            tolerance: Some(LimitsTold::Max("2.54".to_owned())),
            uncertainty: None,
            ..line()
        };
        let told = spoken(&metric, Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("0.00008", "0.0001"));
        assert_eq!(told.uncertainty, "–");
        let band = LimitsTold::Band { min: "1".to_owned(), max: "1.0002".to_owned() };
        let length = VerdictLine { value: None, tolerance: Some(band), ..line() };
        let told = spoken(&length, Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("–", "1 to 1.0002"));
    }

    #[test]
    fn a_difference_has_its_sign() {
        let band = LimitsTold::Band { min: "-0.0001".to_owned(), max: "0.0001".to_owned() };
        let pair = |value: &str| VerdictLine {
            measures: "difference".to_owned(),
            value: Some(value.to_owned()),
            tolerance: Some(band.clone()),
            ..line()
        };
        let told = spoken(&pair("0.00002256"), Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("+0.00002", "-0.0001 to 0.0001"));
        assert_eq!(spoken(&pair("-0.00004"), Unit::Inch).value, "-0.00004");
        assert_eq!(spoken(&pair("0"), Unit::Inch).value, "0.00000");
    }

    #[test]
    fn an_answer_stands_for_the_value_and_the_good_ones_for_the_limit() {
        let asked = |good: &[&str]| VerdictLine {
            measures: "confirm".to_owned(),
            value: None,
            tolerance: None,
            uncertainty: None,
            answer: Some("blue all round".to_owned()),
            good: good.iter().map(|&one| one.to_owned()).collect(),
            ..line()
        };
        let told = spoken(&asked(&["blue all round", "at the big end"]), Unit::Inch);
        assert_eq!(told.value, "blue all round");
        assert_eq!(told.limit, "blue all round or at the big end");
        assert_eq!(
            (spoken(&asked(&[]), Unit::Inch).limit.as_str(), told.uncertainty.as_str()),
            ("–", "–")
        );
    }

    #[test]
    fn without_a_limit_a_figure_keeps_its_digits() {
        let free = VerdictLine { tolerance: None, ..line() };
        let told = spoken(&free, Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("0.00034", "–"));
        assert_eq!(told.uncertainty, "0.000026");
    }

    #[test]
    fn a_bar_names_the_station_it_was_judged_at() {
        let told = spoken(&bar(), Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("0.00016", "0.0002 at 3"));
        let metric = spoken(&bar(), Unit::Millimetre);
        assert_eq!(metric.limit, "0.00508 at 76.2");
        assert_eq!(judged_station(&line()), None);
    }

    #[test]
    fn a_reading_keeps_its_places_in_its_own_unit() {
        assert_eq!(in_unit("0.00010", Unit::Inch, Unit::Inch), "0.00010");
        assert_eq!(in_unit("25.40", Unit::Millimetre, Unit::Inch), "1");
    }
}
