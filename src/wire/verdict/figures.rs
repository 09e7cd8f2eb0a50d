//! The figures of `verdict/1`. Lengths are decimal texts in the verdict's unit, what does not apply
//! is left out.

use serde::{Deserialize, Serialize};

use super::ToleranceLine;
use crate::lengths::{thousandth, thousandth_up};
use ::words::{Held, degrees, first_high_spot, size};
use bench::verdict::{AxisFigures, Figures, Lobe, PairFigures, Predicted, StationFigures, TookOff};
use quantity::{Figure, Length, Unit};

/// Figures beside the judged one; what does not apply is left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct FiguresLine {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_minus_min: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_zone: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tilt: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_urad: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_side_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_side_u_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub noise_floor: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub contacts_upper: Vec<u32>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub contacts_lower: Vec<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closure: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zero_walk: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zero: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub judged: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to_20_c: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dish: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub saddle_factor: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub harmonics: Vec<HarmonicLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eccentricity: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub axis_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub out_of_round: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unfiltered: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stations: Vec<StationLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub axis: Option<AxisLine>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub predicted: Vec<PredictedLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pair: Option<PairLine>,
    /// Change of diameter over distance, to nine places.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    /// To a millionth of a degree.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub take_off: Vec<AmountLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leaves: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub took_off: Option<TookOffLine>,
}

/// One wave of a turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct HarmonicLine {
    pub order: u32,
    pub amplitude: String,
    pub phase_deg: f64,
}

/// One station of a bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct StationLine {
    pub at: String,
    pub value: String,
    pub tolerance: ToleranceLine,
    pub uncertainty: String,
    pub verdict: String,
    /// The total reading of each seating.
    pub seatings: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eccentricity: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high_side_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bar: Option<BarLine>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<RepeatLine>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_of_seatings: Option<String>,
    /// Mean of the total readings of the seatings as they were read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_of_totals: Option<String>,
    /// Total reading of the mean of the seatings, mark by mark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_sweep: Option<String>,
}

/// The bar itself at a station, where it was split from the spindle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct BarLine {
    pub eccentricity: String,
    /// When the bar stands at 0.
    pub high_side_deg: f64,
}

/// How far a third seating lies from the first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct RepeatLine {
    pub difference: String,
    pub limit: String,
}

/// The axis through the stations of a bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct AxisLine {
    /// `bar axis as seated` or `spindle axis`.
    pub name: String,
    /// At the nose face, off the axis of rotation.
    pub offset: String,
    pub offset_deg: f64,
    pub tilt_urad: f64,
    pub tilt_deg: f64,
}

/// A total reading worked out for a place where none was taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct PredictedLine {
    pub at: String,
    pub value: String,
    pub uncertainty: String,
    pub factor: f64,
    pub axis_deg: f64,
    /// `predicted, not measured`.
    pub label: String,
}

/// The difference of a pair and what it does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct PairLine {
    pub lengths: [String; 2],
    /// How sure it is which is the longer: `cannot-say`, `barely`, `sure`.
    pub longer: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub required: Option<String>,
    /// Lower and upper end of the band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preload_n: Option<[f64; 2]>,
    /// Of each bearing, left to right: now, and with the required difference.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub loads_n: Vec<[f64; 2]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub apart_min: Option<u32>,
}

/// A length at a position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct AmountLine {
    pub position: u32,
    pub amount: String,
}

/// What the wheel took off between two attempts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct TookOffLine {
    pub at: Vec<AmountLine>,
    /// Only then are the amounts more than their differences.
    pub same_zero: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub more_deg: Option<f64>,
}

/// An uncertainty, rounded up.
fn up(uncertainty: Length, unit: Unit) -> String {
    Figure::from(uncertainty).shown_up(unit)
}

/// A number to so many parts of one.
fn places(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}

fn amounts(at: &[(u32, Figure)], unit: Unit) -> Vec<AmountLine> {
    let line =
        |&(position, amount): &(u32, Figure)| AmountLine { position, amount: amount.shown(unit) };
    at.iter().map(line).collect()
}

impl FiguresLine {
    /// `judged` is the value of the verdict and its text: where it stands among the figures, too,
    /// it has the same digits.
    pub(super) fn of(
        figures: &Figures,
        unit: Unit,
        (value, text): (Option<Figure>, Option<&String>),
    ) -> Self {
        let shown = |figure: Option<Figure>| figure.map(|figure| figure.shown(unit));
        let judged = |figure: Option<Figure>| match figure {
            Some(_) if figure == value => text.cloned(),
            Some(_) | None => shown(figure),
        };
        Self {
            max_minus_min: judged(figures.max_minus_min),
            minimum_zone: judged(figures.minimum_zone),
            least_squares: judged(figures.least_squares),
            tilt: shown(figures.tilt),
            slope_urad: figures.slope_urad.map(thousandth),
            high_side_deg: figures.high_side_deg.map(degrees),
            high_side_u_deg: figures.high_side_u_deg.map(thousandth),
            noise_floor: figures.noise_floor.map(|floor| up(floor, unit)),
            mean: judged(figures.mean),
            contacts_upper: figures.contacts_upper.clone(),
            contacts_lower: figures.contacts_lower.clone(),
            closure: shown(figures.closure),
            zero_walk: shown(figures.zero_walk),
            zero: shown(figures.zero),
            judged: figures.judged.map(|judged| judged.text().to_owned()),
            to_20_c: shown(figures.to_20_c),
            dish: shown(figures.dish),
            saddle_factor: figures.saddle_factor.map(thousandth_up),
            harmonics: figures.harmonics.iter().map(|lobe| HarmonicLine::of(lobe, unit)).collect(),
            eccentricity: shown(figures.eccentricity),
            axis_deg: figures.axis_deg.map(degrees),
            out_of_round: shown(figures.out_of_round),
            unfiltered: judged(figures.unfiltered),
            stations: figures.stations.iter().map(|one| StationLine::of(one, unit)).collect(),
            axis: figures.axis.as_ref().map(|axis| AxisLine::of(axis, unit)),
            predicted: figures.predicted.iter().map(|one| PredictedLine::of(one, unit)).collect(),
            pair: figures.pair.as_ref().map(|pair| PairLine::of(pair, unit)),
            rate: figures.rate.map(|rate| places(rate, 1e9)),
            half_angle_deg: figures.half_angle_deg.map(|half| places(half, 1e6)),
            take_off: amounts(&figures.take_off, unit),
            leaves: shown(figures.leaves),
            took_off: figures.took_off.as_ref().map(|took| TookOffLine::of(took, unit)),
        }
    }
}

impl HarmonicLine {
    fn of(lobe: &Lobe, unit: Unit) -> Self {
        let amplitude = lobe.amplitude.shown(unit);
        Self { order: lobe.order, amplitude, phase_deg: first_high_spot(lobe.high_deg, lobe.order) }
    }
}

impl StationLine {
    fn of(station: &StationFigures, unit: Unit) -> Self {
        let held = station.held(unit).recorded();
        let shown = |figure: Figure| figure.shown(unit);
        let value = held.value_text().unwrap_or_default();
        // One seating is judged as it was read.
        let judged = |figure: Figure| {
            if figure == station.value { value.clone() } else { shown(figure) }
        };
        Self {
            at: size(station.at, unit),
            value: value.clone(),
            tolerance: ToleranceLine::of(&held).unwrap_or_default(),
            uncertainty: held.uncertainty_text().unwrap_or_default(),
            verdict: station.word.text().to_owned(),
            seatings: station.seatings.iter().copied().map(judged).collect(),
            eccentricity: station.eccentricity.map(shown),
            high_side_deg: station.high_side_deg.map(degrees),
            axis_deg: station.axis_deg.map(degrees),
            bar: station.bar.map(|(eccentricity, high)| BarLine {
                eccentricity: shown(eccentricity),
                high_side_deg: degrees(high),
            }),
            repeat: station.repeat.map(|repeat| RepeatLine::of(repeat, unit)),
            mean_of_seatings: station.mean_of_seatings.map(shown),
            mean_of_totals: station.mean_of_totals.map(shown),
            mean_sweep: station.mean_sweep.map(shown),
        }
    }
}

impl RepeatLine {
    fn of((difference, limit): (Figure, Figure), unit: Unit) -> Self {
        let held = Held::of(difference, unit).between(None, Some(limit)).recorded();
        let [_, limit] = held.limit_texts();
        Self { difference: held.value_text().unwrap_or_default(), limit: limit.unwrap_or_default() }
    }
}

impl AxisLine {
    fn of(axis: &AxisFigures, unit: Unit) -> Self {
        let name = if axis.of_spindle { "spindle axis" } else { "bar axis as seated" };
        Self {
            name: name.to_owned(),
            offset: axis.offset.shown(unit),
            offset_deg: degrees(axis.offset_deg),
            tilt_urad: thousandth(axis.tilt_urad),
            tilt_deg: degrees(axis.tilt_deg),
        }
    }
}

impl PredictedLine {
    fn of(predicted: &Predicted, unit: Unit) -> Self {
        Self {
            at: size(predicted.at, unit),
            value: predicted.value.shown(unit),
            uncertainty: up(predicted.uncertainty, unit),
            factor: thousandth(predicted.factor),
            axis_deg: degrees(predicted.axis_deg),
            label: "predicted, not measured".to_owned(),
        }
    }
}

impl PairLine {
    fn of(pair: &PairFigures, unit: Unit) -> Self {
        let both = |(one, other): (f64, f64)| [thousandth(one), thousandth(other)];
        Self {
            lengths: pair.lengths.map(|length| length.shown(unit)),
            longer: pair.longer.text().to_owned(),
            required: pair.required.map(|required| required.shown(unit)),
            preload_n: pair.preload_n.map(both),
            loads_n: pair.loads_n.iter().copied().map(both).collect(),
            apart_min: pair.apart_min,
        }
    }
}

impl TookOffLine {
    fn of(took: &TookOff, unit: Unit) -> Self {
        Self {
            at: amounts(&took.at, unit),
            same_zero: took.same_zero,
            tilt: took.tilt.map(|tilt| tilt.shown(unit)),
            more_deg: took.more_deg.map(degrees),
        }
    }
}
