//! The proof of a gauge: where it stands, and what it showed.

use serde::Serialize;

use ::words::size;
use bench::proofs::{chart_of_steps, scatter_of};
use bench::row::{Charted, ProofEnding, ProofRow, Proved};
use bench::words::proof as said;
use bench::{ProofTouch, ProvingNow};
use judgement::{Fault, Known};
use quantity::{Figure, Length, Name, Unit};

use super::text::json_text;

quantity::worded! {
    /// What is touched next in a proof.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum NextLift {
        /// A lift on the low block.
        Lift = "lift",
        /// The high block.
        High = "high",
        /// The low block again.
        Back = "back",
        /// Nothing: the proof is over.
        Nothing = "nothing",
    }
}

impl NextLift {
    /// The word for a touch.
    #[must_use]
    pub const fn of(touch: ProofTouch) -> Self {
        match touch {
            ProofTouch::Lift(_) => Self::Lift,
            ProofTouch::High => Self::High,
            ProofTouch::Back => Self::Back,
        }
    }
}

/// What a proof showed. Lengths are in `unit`.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "gauge low high").of(::words::schema::length, "step step_uncertainty resolution s read uncertainty off may_differ came_back may_be_off"))
)]
pub struct ProofLine {
    /// The gauge.
    pub gauge: String,
    /// Its serial number then, as the register has it or else the configuration.
    pub serial: Option<String>,
    /// How it ended.
    pub ending: ProofEnding,
    /// Why it ended before its last touch.
    pub why: Option<String>,
    /// Whether the gauge is proven by it.
    pub proven: bool,
    /// The unit of all lengths in the line.
    pub unit: Unit,
    /// How much higher the high block is.
    pub step: String,
    /// The standard uncertainty of that.
    pub step_uncertainty: String,
    /// How that is known.
    pub step_known: Known,
    /// The low block, where it was named.
    pub low: Option<String>,
    /// The high block.
    pub high: Option<String>,
    /// The step of the gauge's readings.
    pub resolution: String,
    /// The readings that count, by their numbers, in the order of the touches.
    pub readings: Vec<u64>,
    /// The standard deviation of one lift; `null` where only the step was proved.
    pub s: Option<String>,
    /// Its degrees of freedom.
    pub df: Option<u32>,
    /// The step as it was read; `null` where the proof ended before its last touch.
    pub read: Option<String>,
    /// How many times the size of the blocks that is.
    pub scale: Option<f64>,
    /// How far it was read from the size of the blocks.
    pub off: Option<String>,
    /// The expanded uncertainty of that.
    pub uncertainty: Option<String>,
    /// How far it may be from the size of the blocks by chance.
    pub may_differ: Option<String>,
    /// The angle, degrees, at which a stylus would read the step so long; `null` where it is not read long
    /// beyond chance.
    pub lever_deg: Option<f64>,
    /// The low block at the end, minus what it was before.
    pub came_back: Option<String>,
    /// How far it may be off by chance.
    pub may_be_off: Option<String>,
    /// The lift that stands off, counted from 1.
    pub stands_off: Option<u32>,
    /// What is wrong; empty where the gauge is proven.
    pub faults: Vec<Fault>,
    /// What left the limits of its chart.
    pub off_chart: Vec<Charted>,
}

impl From<&Proved> for ProofLine {
    fn from(proved: &Proved) -> Self {
        let (blocks, shows) = (&proved.blocks, proved.shows.as_ref());
        let unit = blocks.unit;
        let length = |length: Length| size(length, unit);
        let figure = |figure: Figure| figure.shown(unit);
        let text = |name: &Name| name.to_string();
        Self {
            gauge: proved.name().to_string(),
            serial: proved.serial().map(str::to_owned),
            ending: proved.ending,
            why: proved.why.clone(),
            proven: proved.is_good(),
            unit,
            step: length(blocks.step),
            step_uncertainty: Figure::from(blocks.u).shown_up(unit),
            step_known: blocks.known,
            low: blocks.low.as_ref().map(text),
            high: blocks.high.as_ref().map(text),
            resolution: length(proved.resolution()),
            readings: proved.readings.iter().map(|id| id.0).collect(),
            s: shows.and_then(|shows| shows.s).map(|s| Figure::from(s).shown(unit)),
            df: shows.and_then(|shows| shows.df),
            read: shows.map(|shows| figure(shows.step)),
            scale: shows.map(|shows| {
                rounded(shows.step.to_f64() / Figure::from(blocks.step).to_f64(), 1e6)
            }),
            off: shows.map(|shows| figure(shows.step - Figure::from(blocks.step))),
            uncertainty: shows.map(|shows| Figure::from(shows.uncertainty).shown_up(unit)),
            may_differ: shows.map(|shows| Figure::from(shows.may_differ).shown_up(unit)),
            lever_deg: shows.filter(|shows| shows.faults.contains(&Fault::Leans)).map(|shows| {
                let ratio = (shows.step.to_f64() / Figure::from(blocks.step).to_f64()).abs();
                rounded((1.0 / ratio).acos().to_degrees(), 10.0)
            }),
            came_back: shows.map(|shows| figure(shows.came_back)),
            may_be_off: shows.map(|shows| Figure::from(shows.may_be_off).shown_up(unit)),
            stands_off: shows.and_then(|shows| shows.stands_off).map(|lift| lift + 1),
            faults: shows.map(|shows| shows.faults.clone()).unwrap_or_default(),
            off_chart: shows.map(|shows| shows.off_chart.clone()).unwrap_or_default(),
        }
    }
}

fn rounded(number: f64, per_one: f64) -> f64 {
    (number * per_one).round() / per_one
}

/// A proof in the record.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
pub(crate) struct ProvedLine {
    /// Its number in the record; later ones have higher numbers.
    id: u64,
    /// When it ended, RFC 3339, UTC.
    at: String,
    /// Who proved the gauge.
    by: Option<String>,
    #[serde(flatten)]
    proof: ProofLine,
}

/// The limits of a chart, in `unit`.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "centre sigma low high"))
)]
pub(crate) struct ChartLine {
    /// The unit of the lengths.
    unit: Unit,
    /// The mean of the first days.
    centre: String,
    /// The standard deviation from day to day: the mean moving range over 1.128.
    sigma: String,
    /// The lower limit, 3 sigma below the centre.
    low: String,
    /// The upper limit.
    high: String,
}

/// The scatter of a lift that the good proofs show together.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "s"))
)]
pub(crate) struct ScatterLine {
    /// The unit of the lengths.
    unit: Unit,
    /// The standard deviation of one lift.
    s: String,
    /// Its degrees of freedom.
    df: Option<u32>,
    /// From how many lifts it is.
    lifts: u32,
}

/// What the record knows of a gauge.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("gauge-history/1").of(::words::schema::name, "gauge"))
)]
pub(crate) struct GaugeHistoryLine {
    /// The name of this shape: `gauge-history/1`.
    schema: &'static str,
    /// The gauge.
    gauge: String,
    /// The serial number of the instrument that was proved last; another one begins a new history.
    serial: Option<String>,
    /// Its proofs, the oldest first, those of instruments before it among them.
    proofs: Vec<ProvedLine>,
    /// The scatter of a lift over the history of this instrument; `null` without a good proof.
    repeatability: Option<ScatterLine>,
    /// The chart of the step, as a check master; `null` with fewer than ten good proofs with the same blocks.
    check_master: Option<ChartLine>,
}

/// What the record knows of a gauge, as one line of JSON without its line end.
#[must_use]
pub fn gauge_history_line(gauge: &Name, proofs: &[ProofRow]) -> String {
    let newest = proofs.iter().rev().find(|row| row.proved.shows.is_some()).or(proofs.last());
    let other = newest.and_then(|newest| {
        proofs.iter().rposition(|row| row.proved.serial() != newest.proved.serial())
    });
    let history = proofs.get(other.map_or(0, |at| at + 1)..).unwrap_or_default();
    let chart = newest.and_then(|newest| {
        let (blocks, resolution) = (&newest.proved.blocks, newest.proved.resolution());
        let chart = chart_of_steps(history, blocks, resolution)?;
        let (unit, limit) = (blocks.unit, Figure::from(chart.limit));
        Some(ChartLine {
            unit,
            centre: chart.centre.shown(unit),
            sigma: Figure::from(chart.sigma).shown(unit),
            low: (chart.centre - limit).shown(unit),
            high: (chart.centre + limit).shown(unit),
        })
    });
    let scatter = newest.and_then(|newest| {
        let pooled = scatter_of(history, newest.proved.resolution())?;
        let unit = newest.proved.blocks.unit;
        let (s, df) = (Figure::from(pooled.s).shown(unit), pooled.freedom.degrees());
        Some(ScatterLine { unit, s, df, lifts: pooled.count })
    });
    let line = |row: &ProofRow| ProvedLine {
        id: row.id.0,
        at: row.at.to_string(),
        by: row.by.as_ref().map(ToString::to_string),
        proof: ProofLine::from(&*row.proved),
    };
    json_text(&GaugeHistoryLine {
        schema: "gauge-history/1",
        gauge: gauge.to_string(),
        serial: newest.and_then(|newest| newest.proved.serial().map(str::to_owned)),
        proofs: proofs.iter().map(line).collect(),
        repeatability: scatter,
        check_master: chart,
    })
}

/// Where the proof of a gauge stands.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "station gauge"))
)]
pub(crate) struct ProvingLine {
    /// The station.
    station: String,
    /// The gauge.
    gauge: String,
    /// The number of the row that began the proof.
    proof: u64,
    /// What is touched next.
    next: NextLift,
    /// Which lift that is, counted from 1; `null` for another touch.
    lift: Option<u32>,
    /// How many touches count so far.
    taken: u32,
    /// How many touches the proof has.
    of: u32,
    /// The numbers of the readings that were taken just now.
    ids: Vec<u64>,
    /// The check, `PART/CHECK`, that waits until the proof is over.
    waits: Option<String>,
    /// What it showed, once it is over.
    result: Option<ProofLine>,
    /// The message for a person to read.
    text: String,
}

impl From<&ProvingNow> for ProvingLine {
    fn from(now: &ProvingNow) -> Self {
        let ids = now.readings.iter().map(|id| id.0).collect();
        let station = now.station.to_string();
        let waits = now.waits.clone();
        let goes_on = waits.as_ref().map(|waits| format!(" {waits} goes on now."));
        match (&now.proving, &now.over) {
            (Some(proving), _) => {
                let (next, began) = (proving.next(), &proving.began);
                let lift = if let ProofTouch::Lift(lift) = next { Some(lift + 1) } else { None };
                let first = proving.touches.is_empty();
                let begins =
                    if first { format!("Proving {}. ", began.gauge.name) } else { String::new() };
                let waiting = waits.as_ref().filter(|_| first);
                let waiting = waiting.map_or_else(String::new, |waits| {
                    format!(" {waits} waits until that is over.")
                });
                Self {
                    station,
                    gauge: began.gauge.name.to_string(),
                    proof: proving.id.0,
                    next: NextLift::of(next),
                    lift,
                    taken: count(proving.touches.len()),
                    of: began.touches(),
                    ids,
                    waits,
                    result: None,
                    text: format!("{begins}{}{waiting}", said::next(next, began)),
                }
            }
            (None, Some(proved)) => {
                let mut text = said::came_to(proved);
                for more in [now.off_chart.as_ref().map(|off| format!(" {off}")), goes_on] {
                    text.push_str(more.as_deref().unwrap_or_default());
                }
                let taken = count(proved.readings.len());
                Self {
                    result: Some(ProofLine::from(&**proved)),
                    taken,
                    text,
                    ..Self::over(proved, station, (ids, waits))
                }
            }
            (None, None) => Self::nothing(station, ids, waits),
        }
    }
}

impl ProvingLine {
    fn over(proved: &Proved, station: String, (ids, waits): (Vec<u64>, Option<String>)) -> Self {
        let of = count(proved.readings.len());
        let (gauge, proof) = (proved.name().to_string(), proved.proof.0);
        Self { gauge, proof, of, ..Self::nothing(station, ids, waits) }
    }

    fn nothing(station: String, ids: Vec<u64>, waits: Option<String>) -> Self {
        Self {
            station,
            gauge: String::new(),
            proof: 0,
            next: NextLift::Nothing,
            lift: None,
            taken: 0,
            of: 0,
            ids,
            waits,
            result: None,
            text: "The proof is over.".to_owned(),
        }
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
