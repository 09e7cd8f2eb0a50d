//! Diameters along an axis.

use geometry::half_angle_deg;
use judgement::{Budget, Known, Named, Part, Share};
use num_rational::Ratio;
use quantity::{Figure, Length};
use words::{Billionth, Millionth};

use super::bar_runout::MOST_STATIONS;
use super::check::{Holding, Reads};
use super::figures::Figures;
use super::judged::{Judged, SaidOf, Saying};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{
    Keys, MUST, ReadCheck, decimal, described, lengths, limits, touched, uncertainty,
};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

/// Diameters along an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    /// The change of diameter over distance along the axis that the drawing asks for; positive where the
    /// diameter grows with the distance.
    pub rate: Ratio<i128>,
    /// Distances along the axis in rising order, at least two; position k is at the k-th distance.
    pub stations: Vec<Length>,
    /// Standard uncertainty of each distance; on a cone the diameter is off by the rate times the
    /// distance's error.
    pub station_u: Length,
}

impl Taper {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::Along, Reads::Touches);
        let usual = Usual { holding: Some(Holding::Supports), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, goes, usual);
        let judged = limits::upper(keys, Self::TRAITS.word);
        touched(keys, &Self::TRAITS, setting, judged, taper_of(keys))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "taper",
        about: "Change of diameter along the axis, against the drawing's rate.",
        named: "taper",
        keys: &[&described! {
            "rate" = "change of diameter over distance along the axis: `\"7/24\"`", "a cylinder";
            "stations" = "the distances along the axis, in rising order: `[\"0.5 in\", \"1.5 "
                "in\"]`. A reading is the diameter at a station, in their order; there are no "
                "`positions`", MUST;
            "station_uncertainty" = "standard uncertainty of each distance, a length", "nothing";
        }],
        by: By::Touches,
        step: None,
        held: Some("at rest, diameters along the axis"),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Anvil | Holding::Supports => None,
            Holding::Turning => Some((
                "a stylus beside a turning part sees the radius, half the rate",
                "measure diameters on the part at rest: leave setup out",
            )),
        },
        spoiled: Spoiled::ByItsOwn,
        bar: Bar::Carried,
        sum: Sum::Rate,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for Taper {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Along(&self.stations, self.rate)
    }

    fn own(&self) -> Own<'_> {
        Own::NOTHING
    }

    fn judge(&self, of: &Series<'_>, _known: &dyn Beside) -> Judged {
        judged(of, self)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// The judged figure is the error over the full length: the error of the rate times the distance between
/// the outermost stations.
fn judged(of: &Series<'_>, taper: &Taper) -> Judged {
    let mut judged = Judged { limits: of.check.limits, ..Judged::default() };
    judged.figures =
        Figures { mean: of.mean(), closure: of.closure.map(Figure::from), ..Figures::default() };
    let Some(line) = Line::through(of, taper) else { return judged };
    judged.value = line.error(taper.rate);
    let cone = taper.rate != Ratio::from_integer(0);
    let exact = cone && taper.station_u == Length::ZERO;
    let station = Part::stated(judgement::on_a_cone(taper.station_u, taper.rate));
    let known = if exact { Known::Assumed } else { Known::Stated };
    let station = Named::of(Share::Station, Part { known, ..station });
    let parts = [of.scatter(), of.reading.remains(), station];
    judged.budget = judgement::weight_of_slope(line.span, line.squares).map(|weight| {
        let weighed = |budget: Budget, part| budget.weighing(part, weight);
        of.with_returns(parts.into_iter().fold(Budget::default(), weighed))
    });
    if exact {
        judged.says.push("The distances of the stations are taken as exact.".to_owned());
    }
    let rate = line.rate();
    judged.figures.rate = Some(Billionth::of(rate));
    judged.figures.half_angle_deg = Some(Millionth::of(half_angle_deg(rate)));
    if of.sums.len() == 2 {
        judged.says.push("Two stations show no form.".to_owned());
    }
    let taken = mistaken(rate, float(taper.rate));
    judged.sayings.extend(taken.map(|text| Saying { of: SaidOf::Mistaken, text: text.to_owned() }));
    judged
}

/// The exact least-squares line through diameters over stations. Distances are counted in a step of which
/// all stations are whole multiples, so that the sums of their squares stay small.
struct Line {
    /// The step, picometres.
    step: i128,
    /// The distance between the outermost stations of the plan, in steps.
    span: u64,
    /// `Σ(x − x̄)²` over the touched stations.
    squares: Ratio<i128>,
    /// `Σ(x − x̄)(d − d̄)` divided by that, picometres per step.
    slope: Ratio<i128>,
}

impl Line {
    /// `None` with fewer than two touched stations, or where the numbers are too large for the arithmetic.
    fn through(of: &Series<'_>, taper: &Taper) -> Option<Self> {
        let from_first = |at: &Length| {
            Some(i128::from(at.picometres()) - i128::from(taper.stations.first()?.picometres()))
        };
        let along: Vec<i128> = taper.stations.iter().map(from_first).collect::<Option<_>>()?;
        let step = along.iter().fold(0, |all, &at| common(all, at.abs()));
        if step == 0 {
            return None;
        }
        let first = i128::from(of.sums.first()?.1);
        let place = |&(position, sum): &(u32, i64)| {
            let at = along.get(usize::try_from(position).ok()?)? / step;
            Some((at, i128::from(sum) - first))
        };
        let places: Vec<(i128, i128)> = of.sums.iter().map(place).collect::<Option<_>>()?;
        let count = i128::try_from(places.len()).ok()?;
        let sum = |of: fn((i128, i128)) -> Option<i128>| {
            places.iter().try_fold(0_i128, |all, one| all.checked_add(of(*one)?))
        };
        let (x, d) = (sum(|(x, _)| Some(x))?, sum(|(_, d)| Some(d))?);
        let xx = sum(|(x, _)| x.checked_mul(x))?.checked_mul(count)?;
        let xd = sum(|(x, d)| x.checked_mul(d))?.checked_mul(count)?;
        let squares = xx.checked_sub(x.checked_mul(x)?)?;
        let rise = xd.checked_sub(x.checked_mul(d)?)?;
        let over = squares.checked_mul(i128::from(of.parts))?;
        (squares > 0).then_some(())?;
        let span = along.iter().max()? - along.iter().min()?;
        Some(Self {
            step,
            span: u64::try_from(span / step).ok()?,
            squares: Ratio::new(squares, count),
            slope: Ratio::new(rise, over),
        })
    }

    fn rate(&self) -> f64 {
        float(self.slope) / float(Ratio::from_integer(self.step))
    }

    /// The error of the cone over the full span, without a sign.
    fn error(&self, asked: Ratio<i128>) -> Option<Figure> {
        // A larger figure could not be shown.
        const LARGEST: i128 = 1 << 60;
        let span = i128::from(self.span);
        let times = |ratio: Ratio<i128>, by: i128| {
            let part = Ratio::new(by, *ratio.denom());
            Some(Ratio::new(ratio.numer().checked_mul(*part.numer())?, *part.denom()))
        };
        let found = times(self.slope, span)?;
        let asked = times(asked, span.checked_mul(self.step)?)?;
        let over = found.denom().checked_mul(*asked.denom())?;
        let one = found.numer().checked_mul(*asked.denom())?;
        let other = asked.numer().checked_mul(*found.denom())?;
        let error = Figure::new(one.checked_sub(other)?, over).abs();
        (error.denominator() < LARGEST && error.numerator() < LARGEST << 20).then_some(error)
    }
}

/// The largest whole number that divides both, neither negative.
fn common(one: i128, other: i128) -> i128 {
    if other == 0 { one } else { common(other, one % other) }
}

#[expect(clippy::cast_precision_loss, reason = "a rate that is shown, and what is said of it")]
fn float(ratio: Ratio<i128>) -> f64 {
    *ratio.numer() as f64 / *ratio.denom() as f64
}

/// What a wrong rate looks like when it was measured in another way than the drawing means.
fn mistaken(rate: f64, asked: f64) -> Option<&'static str> {
    let share = rate / asked;
    if !share.is_finite() {
        return None;
    }
    if (share - 0.5).abs() <= 0.025 {
        return Some(
            "The rate is half of the drawing's: between centres an indicator sees the radius.",
        );
    }
    if (share + 1.0).abs() <= 0.05 {
        return Some(
            "The rate has the other sign: the diameters run the other way. Large end first? Or the distances run from the other end.",
        );
    }
    let seven_in_24 = (asked.abs() - geometry::SEVEN_IN_24).abs() < 1e-9;
    let short = 1.0 - share;
    (seven_in_24 && (short - 0.0106).abs() <= 0.003).then_some(
        "The rate is about 1 % short: that is how a 7/24 comes out with distances taken along the side.",
    )
}

/// Reads a taper.
fn taper_of(keys: &impl Keys) -> Option<Taper> {
    // Read whatever else is wrong: a key that nobody asks for is an unknown one.
    let station_u = uncertainty(keys, "station_uncertainty");
    let hint = "write stations = [\"0.5 in\", \"2 in\", \"3 in\"], say: distances along the axis";
    keys.must_have("stations", hint);
    let rate = if keys.has("rate") { rate(keys) } else { Some(Ratio::from(0)) };
    let written = keys.literals("stations").len();
    let line = keys.line_of("stations");
    if keys.has("stations") && !(2..=MOST_STATIONS).contains(&written) {
        let text = format!("stations should be 2 to {MOST_STATIONS} distances");
        keys.error(line, text, hint);
        return None;
    }
    let stations = lengths(keys, "stations");
    if stations.len() != written || stations.is_empty() {
        return None;
    }
    if stations.windows(2).any(|pair| pair[0] >= pair[1]) {
        let text = "the stations of a taper should rise";
        keys.error(line, text, "write them in the order of the distance");
        return None;
    }
    if written == 2 {
        let text = "two stations show the rate and no form";
        keys.warning(line, text, "three show whether the side is straight");
    }
    let rate = rate?;
    if !keys.has("station_uncertainty") && rate != Ratio::from(0) {
        let text = "how well the stations' distances are known is not stated: they count as exact";
        let hint = "write station_uncertainty = \"0.0003 in\", say: a diameter is off by the rate \
                    times that";
        keys.warning(line, text, hint);
    }
    Some(Taper { rate, stations, station_u })
}

/// `None` where the arithmetic does not reach.
fn quotient(over: Ratio<i128>, under: Ratio<i128>) -> Option<Ratio<i128>> {
    let [numbers, shifts] = [(over.numer(), under.numer()), (under.denom(), over.denom())]
        .map(|(over, under)| Ratio::new(*over, *under));
    let whole = numbers.numer().checked_mul(*shifts.numer())?;
    Some(Ratio::new(whole, numbers.denom().checked_mul(*shifts.denom())?))
}

/// `7/24`, or a decimal number.
fn rate(keys: &impl Keys) -> Option<Ratio<i128>> {
    let rate = keys.parsed_literal("rate", |text| {
        let Some((over, under)) = text.split_once('/') else { return decimal(text) };
        let (over, under) = (decimal(over.trim())?, decimal(under.trim())?);
        if under == Ratio::from(0) {
            return Err(format!("\"{text}\" divides by zero"));
        }
        quotient(over, under).ok_or_else(|| format!("\"{text}\" has too many digits"))
    })?;
    // A cone with a full angle of 53 degrees does not hold as a taper any more.
    if rate.value < Ratio::from(-1) || rate.value > Ratio::from(1) {
        let text = "the rate is more than the distance itself";
        let hint = "a rate is the change of diameter over the distance along the axis: \"7/24\"";
        keys.error(rate.line, text, hint);
        return None;
    }
    Some(rate.value)
}
