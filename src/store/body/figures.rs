//! The figures beside a judged one, as JSON. What does not apply is left out.

use serde::{Deserialize, Serialize};

use super::number::{Fraction, Picometres, Shortest, each};
use super::{Faulty, LimitsBody, known};
use crate::words;
use bench::plan::SizeJudged;
use bench::verdict::{
    AxisFigures, Figures, Lobe, Longer, PairFigures, Predicted, StationFigures, TookOff,
};

/// Rows written before a figure existed lack it, and have `null` where one does not apply.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct FiguresBody {
    #[serde(skip_serializing_if = "Option::is_none")]
    max_minus_min: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    minimum_zone: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    least_squares: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tilt: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    slope_urad: Option<Shortest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high_side_deg: Option<Shortest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high_side_u_deg: Option<Shortest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    noise_floor: Option<Picometres>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mean: Option<Fraction>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    contacts_upper: Vec<u32>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    contacts_lower: Vec<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    closure: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    zero_walk: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    zero: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    judged: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to_20_c: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dish: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    saddle_factor: Option<Shortest>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    harmonics: Vec<LobeBody>,
    #[serde(skip_serializing_if = "Option::is_none")]
    eccentricity: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    axis_deg: Option<Shortest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    out_of_round: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unfiltered: Option<Fraction>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    stations: Vec<StationBody>,
    #[serde(skip_serializing_if = "Option::is_none")]
    axis: Option<AxisBody>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    predicted: Vec<PredictedBody>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pair: Option<PairBody>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rate: Option<Shortest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    half_angle_deg: Option<Shortest>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    take_off: Vec<(u32, Fraction)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    leaves: Option<Fraction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    took_off: Option<TookOffBody>,
}

#[derive(Serialize, Deserialize)]
struct LobeBody {
    order: u32,
    amplitude: Fraction,
    high_deg: Shortest,
}

#[derive(Serialize, Deserialize)]
struct StationBody {
    at: Picometres,
    value: Fraction,
    limits: LimitsBody,
    uncertainty: Picometres,
    word: String,
    seatings: Vec<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    eccentricity: Option<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    high_side_deg: Option<Shortest>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    axis_deg: Option<Shortest>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bar: Option<(Fraction, Shortest)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    repeat: Option<(Fraction, Fraction)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mean_of_seatings: Option<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mean_of_totals: Option<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mean_sweep: Option<Fraction>,
}

#[derive(Serialize, Deserialize)]
struct AxisBody {
    of_spindle: bool,
    offset: Fraction,
    offset_deg: Shortest,
    tilt_urad: Shortest,
    tilt_deg: Shortest,
}

#[derive(Serialize, Deserialize)]
struct PredictedBody {
    at: Picometres,
    value: Fraction,
    uncertainty: Picometres,
    factor: Shortest,
    axis_deg: Shortest,
}

#[derive(Serialize, Deserialize)]
struct PairBody {
    lengths: [Fraction; 2],
    longer: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    required: Option<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    preload_n: Option<(Shortest, Shortest)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    loads_n: Vec<(Shortest, Shortest)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    apart_min: Option<u32>,
}

#[derive(Serialize, Deserialize)]
struct TookOffBody {
    at: Vec<(u32, Fraction)>,
    same_zero: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    tilt: Option<Fraction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    more_deg: Option<Shortest>,
}

/// Two numbers in their other form.
fn both<A, B, C: From<A>, D: From<B>>((first, second): (A, B)) -> (C, D) {
    (first.into(), second.into())
}

pub(super) fn figures_body(figures: &Figures) -> FiguresBody {
    FiguresBody {
        max_minus_min: figures.max_minus_min.map(Fraction),
        minimum_zone: figures.minimum_zone.map(Fraction),
        least_squares: figures.least_squares.map(Fraction),
        tilt: figures.tilt.map(Fraction),
        slope_urad: figures.slope_urad.map(Shortest),
        high_side_deg: figures.high_side_deg.map(Shortest),
        high_side_u_deg: figures.high_side_u_deg.map(Shortest),
        noise_floor: figures.noise_floor.map(Picometres::from),
        mean: figures.mean.map(Fraction),
        contacts_upper: figures.contacts_upper.clone(),
        contacts_lower: figures.contacts_lower.clone(),
        closure: figures.closure.map(Fraction),
        zero_walk: figures.zero_walk.map(Fraction),
        zero: figures.zero.map(Fraction),
        judged: figures.judged.map(|judged| judged.text().to_owned()),
        to_20_c: figures.to_20_c.map(Fraction),
        dish: figures.dish.map(Fraction),
        saddle_factor: figures.saddle_factor.map(Shortest),
        harmonics: figures.harmonics.iter().map(lobe_body).collect(),
        eccentricity: figures.eccentricity.map(Fraction),
        axis_deg: figures.axis_deg.map(Shortest),
        out_of_round: figures.out_of_round.map(Fraction),
        unfiltered: figures.unfiltered.map(Fraction),
        stations: figures.stations.iter().map(station_body).collect(),
        axis: figures.axis.as_ref().map(axis_body),
        predicted: figures.predicted.iter().map(predicted_body).collect(),
        pair: figures.pair.as_ref().map(pair_body),
        rate: figures.rate.map(Shortest),
        half_angle_deg: figures.half_angle_deg.map(Shortest),
        take_off: figures.take_off.iter().copied().map(both).collect(),
        leaves: figures.leaves.map(Fraction),
        took_off: figures.took_off.as_ref().map(took_off_body),
    }
}

fn lobe_body(lobe: &Lobe) -> LobeBody {
    let Lobe { order, amplitude, high_deg } = *lobe;
    LobeBody { order, amplitude: amplitude.into(), high_deg: high_deg.into() }
}

fn station_body(station: &StationFigures) -> StationBody {
    StationBody {
        at: station.at.into(),
        value: station.value.into(),
        limits: station.limits.into(),
        uncertainty: station.uncertainty.into(),
        word: station.word.text().to_owned(),
        seatings: each(station.seatings.iter().copied()),
        eccentricity: station.eccentricity.map(Fraction),
        high_side_deg: station.high_side_deg.map(Shortest),
        axis_deg: station.axis_deg.map(Shortest),
        bar: station.bar.map(both),
        repeat: station.repeat.map(both),
        mean_of_seatings: station.mean_of_seatings.map(Fraction),
        mean_of_totals: station.mean_of_totals.map(Fraction),
        mean_sweep: station.mean_sweep.map(Fraction),
    }
}

fn axis_body(axis: &AxisFigures) -> AxisBody {
    AxisBody {
        of_spindle: axis.of_spindle,
        offset: axis.offset.into(),
        offset_deg: axis.offset_deg.into(),
        tilt_urad: axis.tilt_urad.into(),
        tilt_deg: axis.tilt_deg.into(),
    }
}

fn predicted_body(predicted: &Predicted) -> PredictedBody {
    PredictedBody {
        at: predicted.at.into(),
        value: predicted.value.into(),
        uncertainty: predicted.uncertainty.into(),
        factor: predicted.factor.into(),
        axis_deg: predicted.axis_deg.into(),
    }
}

fn pair_body(pair: &PairFigures) -> PairBody {
    PairBody {
        lengths: pair.lengths.map(Fraction),
        longer: pair.longer.text().to_owned(),
        required: pair.required.map(Fraction),
        preload_n: pair.preload_n.map(both),
        loads_n: pair.loads_n.iter().copied().map(both).collect(),
        apart_min: pair.apart_min,
    }
}

fn took_off_body(took: &TookOff) -> TookOffBody {
    TookOffBody {
        at: took.at.iter().copied().map(both).collect(),
        same_zero: took.same_zero,
        tilt: took.tilt.map(Fraction),
        more_deg: took.more_deg.map(Shortest),
    }
}

pub(super) fn figures(body: FiguresBody) -> Result<Figures, Faulty> {
    Ok(Figures {
        max_minus_min: body.max_minus_min.map(Into::into),
        minimum_zone: body.minimum_zone.map(Into::into),
        least_squares: body.least_squares.map(Into::into),
        tilt: body.tilt.map(Into::into),
        slope_urad: body.slope_urad.map(Into::into),
        high_side_deg: body.high_side_deg.map(Into::into),
        high_side_u_deg: body.high_side_u_deg.map(Into::into),
        noise_floor: body.noise_floor.map(Into::into),
        mean: body.mean.map(Into::into),
        contacts_upper: body.contacts_upper,
        contacts_lower: body.contacts_lower,
        closure: body.closure.map(Into::into),
        zero_walk: body.zero_walk.map(Into::into),
        zero: body.zero.map(Into::into),
        judged: body.judged.as_deref().map(judged).transpose()?,
        to_20_c: body.to_20_c.map(Into::into),
        dish: body.dish.map(Into::into),
        saddle_factor: body.saddle_factor.map(Into::into),
        harmonics: body.harmonics.iter().map(lobe).collect(),
        eccentricity: body.eccentricity.map(Into::into),
        axis_deg: body.axis_deg.map(Into::into),
        out_of_round: body.out_of_round.map(Into::into),
        unfiltered: body.unfiltered.map(Into::into),
        stations: body.stations.into_iter().map(station).collect::<Result<_, _>>()?,
        axis: body.axis.as_ref().map(axis),
        predicted: body.predicted.iter().map(predicted).collect(),
        pair: body.pair.map(pair).transpose()?,
        rate: body.rate.map(Into::into),
        half_angle_deg: body.half_angle_deg.map(Into::into),
        take_off: body.take_off.into_iter().map(both).collect(),
        leaves: body.leaves.map(Into::into),
        took_off: body.took_off.map(took_off),
    })
}

fn judged(text: &str) -> Result<SizeJudged, Faulty> {
    let all = [SizeJudged::Mean, SizeJudged::EveryTouch];
    known(all.into_iter().find(|judged| judged.text() == text), "judged", text)
}

fn longer(text: &str) -> Result<Longer, Faulty> {
    let all = [Longer::CannotSay, Longer::Barely, Longer::Sure];
    known(all.into_iter().find(|longer| longer.text() == text), "longer", text)
}

fn lobe(body: &LobeBody) -> Lobe {
    let LobeBody { order, amplitude, high_deg } = *body;
    Lobe { order, amplitude: amplitude.into(), high_deg: high_deg.into() }
}

fn station(body: StationBody) -> Result<StationFigures, Faulty> {
    Ok(StationFigures {
        at: body.at.into(),
        value: body.value.into(),
        limits: body.limits.into(),
        uncertainty: body.uncertainty.into(),
        word: known(words::word(&body.word), "verdict", &body.word)?,
        seatings: each(body.seatings),
        eccentricity: body.eccentricity.map(Into::into),
        high_side_deg: body.high_side_deg.map(Into::into),
        axis_deg: body.axis_deg.map(Into::into),
        bar: body.bar.map(both),
        repeat: body.repeat.map(both),
        mean_of_seatings: body.mean_of_seatings.map(Into::into),
        mean_of_totals: body.mean_of_totals.map(Into::into),
        mean_sweep: body.mean_sweep.map(Into::into),
    })
}

fn axis(body: &AxisBody) -> AxisFigures {
    AxisFigures {
        of_spindle: body.of_spindle,
        offset: body.offset.into(),
        offset_deg: body.offset_deg.into(),
        tilt_urad: body.tilt_urad.into(),
        tilt_deg: body.tilt_deg.into(),
    }
}

fn predicted(body: &PredictedBody) -> Predicted {
    Predicted {
        at: body.at.into(),
        value: body.value.into(),
        uncertainty: body.uncertainty.into(),
        factor: body.factor.into(),
        axis_deg: body.axis_deg.into(),
    }
}

fn pair(body: PairBody) -> Result<PairFigures, Faulty> {
    Ok(PairFigures {
        lengths: body.lengths.map(Into::into),
        longer: longer(&body.longer)?,
        required: body.required.map(Into::into),
        preload_n: body.preload_n.map(both),
        loads_n: body.loads_n.into_iter().map(both).collect(),
        apart_min: body.apart_min,
    })
}

fn took_off(body: TookOffBody) -> TookOff {
    TookOff {
        at: body.at.into_iter().map(both).collect(),
        same_zero: body.same_zero,
        tilt: body.tilt.map(Into::into),
        more_deg: body.more_deg.map(Into::into),
    }
}
