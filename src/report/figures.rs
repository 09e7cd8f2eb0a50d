//! Figures as a person at the bench reads them.

use crate::quantity::{Figure, Unit};
use crate::wire::{ToleranceLine, VerdictLine, figure_of};

/// A verdict's figures in the unit people see, as short as they can be without misleading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoken {
    /// The judged figure, or `less than …` below its noise floor, or a dash where there is none.
    pub value: String,
    /// The limit, or `… to …`.
    pub limit: String,
    /// The expanded uncertainty, or a dash.
    pub uncertainty: String,
}

/// Tells a verdict's figures in `unit`: the figure with one digit more than its limit, the
/// uncertainty with two more and rounded up. More digits are told where rounding would put an
/// outside figure inside its limit, or the other way round.
#[must_use]
pub fn spoken(line: &VerdictLine, unit: Unit) -> Spoken {
    let own = Unit::parse(&line.unit).unwrap_or(unit);
    let limits: Vec<Figure> = match &line.tolerance {
        None => vec![],
        Some(ToleranceLine::Max(max)) => vec![max],
        Some(ToleranceLine::Band { min, max }) => vec![min, max],
    }
    .into_iter()
    .filter_map(|text| figure_of(text, own))
    .collect();
    let texts: Vec<String> = limits.iter().map(|limit| limit.shown(unit)).collect();
    let places = texts.iter().map(|text| places_of(text)).max().unwrap_or(0) + 1;
    let read = |text: &Option<String>| text.as_ref().and_then(|text| figure_of(text, own));
    let floor = read(&line.figures.noise_floor);
    let dash = || "–".to_owned();
    let value = read(&line.value);
    Spoken {
        value: value.map_or_else(dash, |value| match floor {
            Some(floor) if value < floor => {
                format!("less than {}", floor.shown_up_at(unit, places))
            }
            _ => beside_limits(value, &limits, unit, places),
        }),
        limit: texts.join(" to "),
        uncertainty: read(&line.uncertainty)
            .map_or_else(dash, |figure| figure.shown_up_at(unit, places + 1)),
    }
}

/// A figure at `places`, or at more where fewer would move it across a limit.
fn beside_limits(value: Figure, limits: &[Figure], unit: Unit, places: u32) -> String {
    let most = unit.uncertainty_places();
    let fair = |text: &String| {
        let shown = figure_of(text, unit);
        limits.iter().all(|limit| shown.is_some_and(|shown| shown.cmp(limit) == value.cmp(limit)))
    };
    let mut texts = (places..most).map(|places| value.fixed(unit, places));
    texts.find(fair).unwrap_or_else(|| value.fixed(unit, most))
}

fn places_of(text: &str) -> u32 {
    let places = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    u32::try_from(places).unwrap_or(0)
}

/// A decimal text of one unit in another: unchanged where they are the same, otherwise rounded
/// for show.
#[must_use]
pub fn in_unit(text: &str, from: Unit, to: Unit) -> String {
    match figure_of(text, from) {
        Some(figure) if from != to => figure.shown(to),
        _ => text.to_owned(),
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
        other => other,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::wire::FiguresLine;

    pub(crate) fn line() -> VerdictLine {
        VerdictLine {
            schema: "verdict/1".to_owned(),
            id: 50,
            at: "2027-03-01T14:30:00.250Z".to_owned(),
            job: "J-1042".to_owned(),
            part: "inner-spacer".to_owned(),
            check: "face-a".to_owned(),
            attempt: 1,
            reason: "first".to_owned(),
            tries: 1,
            measures: "parallelism".to_owned(),
            value: Some("0.00034".to_owned()),
            unit: "in".to_owned(),
            tolerance: Some(ToleranceLine::Max("0.0001".to_owned())),
            uncertainty: Some("0.00002545587".to_owned()),
            uncertainty_from: "stated".to_owned(),
            rule: "guarded".to_owned(),
            verdict: "does-not-conform".to_owned(),
            simple: Some("does-not-conform".to_owned()),
            guarded: Some("does-not-conform".to_owned()),
            positions: 8,
            taken: 8,
            skipped: 0,
            setup: "plate".to_owned(),
            figures: FiguresLine::default(),
            advice: Vec::new(),
            reasons: Vec::new(),
            superseded_by: None,
        }
    }

    #[test]
    fn a_figure_has_one_digit_more_than_its_limit() {
        let told = spoken(&line(), Unit::Inch);
        assert_eq!(told.value, "0.00034");
        assert_eq!(told.limit, "0.0001");
        assert_eq!(told.uncertainty, "0.000026");
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
        assert_eq!(spoken(&quiet, Unit::Inch).value, "less than 0.00002");
    }

    #[test]
    fn a_metric_limit_is_told_in_the_unit_of_the_bench() {
        let metric = VerdictLine {
            value: Some("2".to_owned()),
            unit: "um".to_owned(),
            tolerance: Some(ToleranceLine::Max("2.54".to_owned())),
            uncertainty: None,
            ..line()
        };
        let told = spoken(&metric, Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("0.00008", "0.0001"));
        assert_eq!(told.uncertainty, "–");
        let band = ToleranceLine::Band { min: "1".to_owned(), max: "1.0002".to_owned() };
        let length = VerdictLine { value: None, tolerance: Some(band), ..line() };
        let told = spoken(&length, Unit::Inch);
        assert_eq!((told.value.as_str(), told.limit.as_str()), ("–", "1 to 1.0002"));
    }

    #[test]
    fn a_reading_keeps_its_places_in_its_own_unit() {
        assert_eq!(in_unit("0.00010", Unit::Inch, Unit::Inch), "0.00010");
        assert_eq!(in_unit("25.40", Unit::Millimetre, Unit::Inch), "1");
    }
}
