//! Every figure beside a judged one, described once. What is stored, the published line, the columns of a
//! spreadsheet and the comparison of two figures all follow from the lists below.

use ::words::{
    Angle, Billionth, Bound, Held, LimitsLine, LimitsTold, Millionth, Stated, Tell, Thousandth,
    ThousandthUp, To, first_high_spot,
};
use judgement::{Limits, Word};
use quantity::{Figure, Unit};
use serde::{Deserialize, Serialize};

use super::length::SizeJudged;

mod sizes;

pub use self::sizes::{
    DiameterFigures, DiameterLine, Estimate, FitFigures, FitLine, MemberFigures, MemberLine,
    OffsetFigures, OffsetLine, PlaneFigures, PlaneLine, SetFigures, SetLine, Side, Sits,
    UnbalanceFigures, UnbalanceLine,
};

::words::told! {
    /// Figures beside the judged one; a figure that does not apply is `None` or empty.
    #[derive(Default)]
    struct Figures => FiguresLine {
        /// Highest minus lowest.
        max_minus_min: Option<Figure>,
        /// Width of the minimum zone.
        minimum_zone: Option<Figure>,
        // Both are results of float arithmetic, rounded to a thousandth of a picometre.
        /// Range of the residuals from the least-squares plane.
        least_squares: Option<Figure>,
        /// Rise of the least-squares plane over the largest measuring diameter.
        tilt: Option<Figure>,
        /// The slope of that plane, microradians.
        slope_urad: Option<Thousandth>,
        /// Where the high side lies, degrees from the index mark.
        high_side_deg: Option<Angle>,
        /// How well that is known, degrees, k = 2.
        high_side_u_deg: Option<Thousandth>,
        /// What a perfect part would show with this gauge.
        noise_floor: Option<Bound>,
        /// Mean of the readings.
        mean: Option<Figure>,
        /// Positions that touch the upper plane of the minimum zone.
        contacts_upper: Vec<u32>,
        /// Positions that touch the lower plane.
        contacts_lower: Vec<u32>,
        /// Closure minus position 0.
        closure: Option<Figure>,
        /// Closing minus opening touch on the master.
        zero_walk: Option<Figure>,
        /// What the master would have shown at the mean of the judged touches of a length.
        zero: Option<Figure>,
        /// What of a length is judged.
        judged: Option<SizeJudged>,
        /// The judged figure as it was read, where a drift or the temperature was taken out of it.
        as_read: Option<Figure>,
        /// The even drift that was taken out, from the first to the last touch that showed it.
        drift: Option<Figure>,
        /// What the judged figure of a round that did not close would be, had all of that been an even drift: shown,
        /// never judged.
        without_drift: Option<Figure>,
        /// What was taken off a length to bring it to 20 °C.
        to_20_c: Option<Figure>,
        /// Mean of the outermost circle minus mean of the innermost.
        dish: Option<Figure>,
        /// How many times larger a saddle could be than what the touches show of it.
        saddle_factor: Option<ThousandthUp>,
        /// The waves of a turn, rising.
        harmonics: Vec<WaveFigure>,
        /// Half the total reading of the first wave.
        eccentricity: Option<Figure>,
        /// Where the axis lies, degrees from the index mark.
        axis_deg: Option<Angle>,
        /// Range of what mean and first wave leave of a turn.
        out_of_round: Option<Figure>,
        /// Total reading of the turn as it was read, where waves above the fifteenth were left out of
        /// the judged one.
        unfiltered: Option<Figure>,
        /// The stations of a bar.
        stations: Vec<StationFigures>,
        /// The axis through the stations of a bar.
        axis: Option<AxisFigures>,
        /// Total readings predicted along the bar, not measured.
        predicted: Vec<Predicted>,
        /// The difference of a pair and what it does.
        pair: Option<PairFigures>,
        /// What the log of a run-in shows.
        run_in: Option<RunInFigures>,
        /// The rows of a table that was written down.
        rows: Vec<EntryRow>,
        /// What pushes and pulls along the axis show.
        each_way: Option<EachWay>,
        /// A diameter, plane by plane.
        diameter: Option<DiameterFigures>,
        /// How a bore sits on its seat.
        fit: Option<FitFigures>,
        /// What a part that is loose on its shaft can do to the balance.
        unbalance: Option<UnbalanceFigures>,
        /// The sizes of a set.
        set: Option<SetFigures>,
        /// A face offset, round by round.
        offset: Option<OffsetFigures>,
        /// Change of diameter over distance along the axis, to nine places.
        rate: Option<Billionth>,
        /// The angle between axis and side that belongs to the rate, to a millionth of a degree.
        half_angle_deg: Option<Millionth>,
        /// What has to come off at each position to bring the face to its plane.
        take_off: Vec<Amount>,
        /// What is left of the length when that is done.
        leaves: Option<Figure>,
        /// What the wheel took off since the attempt before.
        took_off: Option<TookOff>,
    }

    /// One wave of a turn.
    #[derive(Copy)]
    struct WaveFigure => WaveFigureLine {
        /// Waves in one turn.
        order: u32,
        // To a thousandth of a picometre.
        /// Half its peak-to-valley.
        amplitude: Figure,
        /// Its first high spot, degrees from the index mark.
        phase_deg: Angle as f64 = WaveFigure::first_high_spot,
    }

    /// What one station of a bar shows.
    struct StationFigures => StationLine {
        /// The distance from the nose face.
        at: Stated,
        /// The figure that is judged: of one seating the total reading, of several the spindle's part.
        value: Figure as String = StationFigures::value_text,
        /// What it was held against.
        tolerance: Limits as LimitsTold = StationFigures::limits_told,
        /// The same as `tolerance`, in one shape for one and for two limits.
        told limits: LimitsLine = StationFigures::limits_line,
        /// Expanded uncertainty, k = 2.
        uncertainty: Bound as String = StationFigures::uncertainty_text,
        /// What the job's rule says of it by itself.
        verdict: Word,
        /// The total reading of each seating, in order.
        seatings: Vec<Figure> as Vec<String> = StationFigures::seating_texts,
        /// Half the total reading of the first wave of the figure that is judged.
        eccentricity: Option<Figure>,
        /// Where the high reading lies, degrees.
        high_side_deg: Option<Angle>,
        /// Where the axis lies, degrees.
        axis_deg: Option<Angle>,
        /// The bar itself, where it was split from the spindle.
        bar: Option<BarFigures>,
        /// How far the seatings disagree: of three the third and the first, of four the two pairs of
        /// opposite ones.
        repeat: Option<Repeat>,
        /// Mean of the total readings of four seatings by their first waves: what a round bar put in by
        /// chance shows.
        mean_of_seatings: Option<Figure>,
        /// Mean of the total readings of the seatings as they were read.
        mean_of_totals: Option<Figure>,
        /// Total reading of the mean of the seatings, mark by mark: with what is not round in it.
        mean_sweep: Option<Figure>,
    }

    /// The bar itself at a station.
    #[derive(Copy)]
    struct BarFigures => BarLine {
        /// Of the bar, off its own axis.
        eccentricity: Figure,
        /// Where it lies when the bar stands at 0, degrees.
        high_side_deg: Angle,
    }

    /// How far seatings of a bar disagree.
    #[derive(Copy, Eq)]
    struct Repeat => RepeatLine {
        /// How far.
        difference: Figure as String = Repeat::difference_text,
        /// How far they may.
        limit: Figure as String = Repeat::limit_text,
    }

    /// The axis through the stations of a bar.
    #[derive(Copy)]
    struct AxisFigures => AxisLine {
        /// Whose it is.
        name: AxisName,
        /// How far it is off the axis of rotation at the nose face.
        offset: Figure,
        /// Where to, degrees.
        offset_deg: Angle,
        /// Its tilt, microradians.
        tilt_urad: Thousandth,
        /// Where it leans to, away from the nose, degrees.
        tilt_deg: Angle,
    }

    /// A total reading worked out for a place where none was taken.
    #[derive(Copy)]
    struct Predicted => PredictedLine {
        /// The distance from the nose face.
        at: Stated,
        /// Total reading by the first wave alone.
        value: Figure,
        /// Expanded uncertainty, k = 2.
        uncertainty: Bound,
        /// How many times the uncertainty of a station that is.
        factor: Thousandth,
        /// Where the axis lies there, degrees.
        axis_deg: Angle,
        /// What it is.
        label: NotMeasured,
    }

    /// The difference of a pair and what it does.
    struct PairFigures => PairLine {
        /// The two lengths.
        lengths: [Figure; 2],
        /// How sure it is which is the longer.
        longer: Longer,
        /// The difference the drawing or the bearings ask for.
        required: Option<Figure>,
        /// Preload with rings lying free, newtons: lower and upper end of its band, to two digits.
        preload_n: Option<[Thousandth; 2]>,
        /// Load on each bearing, left to right, newtons: now, and with the required difference.
        loads_n: Vec<[Thousandth; 2]>,
        /// Minutes between the touches on the one and on the other.
        apart_min: Option<u32>,
    }

    /// What the log of a run-in shows. Temperatures are in the unit of the line, times in minutes after the
    /// first step began.
    struct RunInFigures => RunInLine {
        /// The temperature of the place that rose farthest above the room.
        highest: Option<Figure>,
        /// That place; empty where there is none.
        place: String,
        /// When it was that warm.
        after_min: Option<Thousandth>,
        /// The room then.
        room: Option<Figure>,
        /// Whether it was steady at the end, by the rule of the plan.
        steady: bool,
        /// How many temperatures were kept.
        readings: u32,
        /// The steps that were run.
        steps: Vec<RunStep>,
        /// The times without a reading of a place.
        gaps: Vec<RunGap>,
    }

    /// One step of a run-in.
    struct RunStep => RunStepLine {
        /// Its speed, revolutions a minute.
        speed_rpm: u32,
        /// How long it was to run, minutes.
        asked_min: Thousandth,
        /// How long it ran, minutes.
        ran_min: Thousandth,
        /// The warmest place at its end.
        at_the_end: Option<Figure>,
    }

    /// A time without a reading of a place.
    struct RunGap => RunGapLine {
        /// The place.
        place: String,
        /// When it began, minutes after the first step.
        from_min: Thousandth,
        /// How long it was, minutes.
        minutes: Thousandth,
        /// Whether it hides something that the verdict needs.
        hides: bool,
    }

    /// One row of a table that was written down.
    struct EntryRow => EntryRowLine {
        /// Where: the number and its unit, as written down.
        at: String,
        /// The value there.
        value: Figure,
        /// What the job's rule says of it by itself; left out where nothing is judged.
        verdict: Option<Word>,
    }

    /// What pushes and pulls along the axis show.
    struct EachWay => EachWayLine {
        /// What it was pushed and pulled with, as the plan states it.
        load: String,
        /// Mean of the readings after a push.
        pushes: Figure,
        /// Mean of the readings after a pull.
        pulls: Figure,
        /// How far the pushes lie apart among themselves, and the pulls.
        apart: [Figure; 2],
    }

    /// What the wheel took off between two attempts.
    struct TookOff => TookOffLine {
        /// At each position.
        at: Vec<Amount>,
        /// Whether both attempts stood on the same zero: only then are the amounts more than their
        /// differences.
        same_zero: bool,
        /// How much more on one side than on the other, over the largest measuring diameter.
        tilt: Option<Figure>,
        /// The side it took more from, degrees.
        more_deg: Option<Angle>,
    }
}

quantity::worded! {
    /// How sure it is which of two lengths is the longer.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Longer {
        /// The difference is within its uncertainty.
        CannotSay = "cannot-say",
        /// Within twice its uncertainty.
        Barely = "barely",
        /// Beyond that.
        Sure = "sure",
    }
}

quantity::worded! {
    /// Whose axis the one through the stations of a bar is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum AxisName {
        /// The spindle's own.
        Spindle = "spindle axis",
        /// That of the bar as seated, bar and spindle together.
        Bar = "bar axis as seated",
    }
}

quantity::worded! {
    /// What stands beside a figure that nobody measured.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum NotMeasured {
        /// It was worked out from others.
        Predicted = "predicted, not measured",
    }
}

/// Choices that are told by their word.
macro_rules! by_its_word {
    ($($choice:ty),*) => { $(
        impl Tell for $choice {
            type Told = String;

            fn tell(&self, _to: &To<'_>) -> String {
                self.text().to_owned()
            }

            fn alike(&self, again: &Self) -> bool {
                self == again
            }
        }

        #[cfg(feature = "schemas")]
        impl ::words::schema::ToldSchema for $choice {
            fn told(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                quantity::schema_of_words(Self::WORDS)
            }
        }
    )* };
}

use by_its_word;

by_its_word!(Longer, AxisName, NotMeasured, SizeJudged);

/// A high side that is known only within more than this, degrees either way, is not shown.
const KNOWN_DEG: f64 = 30.0;

impl Figures {
    /// Sets where the high side lies, known within this, degrees, k = 2.
    pub fn lies_high_at(&mut self, at: Angle, within: Thousandth) {
        self.high_side_deg = Some(at);
        self.high_side_u_deg = Some(within);
    }

    /// Replaces how well the high side is known by a value worked out from the present one.
    pub fn known_again(&mut self, within: impl FnOnce(Thousandth) -> Thousandth) {
        self.high_side_u_deg = self.high_side_u_deg.map(within);
    }

    /// Forgets where the high side lies.
    pub const fn forget_high_side(&mut self) {
        self.high_side_deg = None;
        self.high_side_u_deg = None;
    }

    /// Where the high side lies and how well that is known, degrees, where it is known well enough to be
    /// shown. A verdict below its noise floor shows none in any case.
    #[must_use]
    pub fn high_side(&self) -> Option<(f64, f64)> {
        let (at, within) = self.high_side_deg.zip(self.high_side_u_deg)?;
        (within.get() <= KNOWN_DEG).then_some((at.get(), within.get()))
    }
}

/// A length at a position. There is one for each touch of a verdict, so it is stored as a pair.
macro_rules! at_a_position {
    ($(#[doc = $about:literal])* $exact:ident => $line:ident, $length:ident) => {
        $(#[doc = $about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(from = "(u32, Figure)", into = "(u32, Figure)")]
        pub struct $exact {
            /// The position.
            pub position: u32,
            /// The length there.
            pub $length: Figure,
        }

        $(#[doc = $about])*
        ///
        /// As its line tells it: the length in the line's unit.
        #[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
        pub struct $line {
            /// The position.
            pub position: u32,
            /// The length there.
            pub $length: String,
        }

        impl From<(u32, Figure)> for $exact {
            fn from((position, $length): (u32, Figure)) -> Self {
                Self { position, $length }
            }
        }

        impl From<$exact> for (u32, Figure) {
            fn from(at: $exact) -> Self {
                (at.position, at.$length)
            }
        }

        impl Tell for $exact {
            type Told = $line;

            fn tell(&self, to: &To<'_>) -> $line {
                $line { position: self.position, $length: self.$length.tell(to) }
            }

            fn alike(&self, again: &Self) -> bool {
                self == again
            }
        }

        #[cfg(feature = "schemas")]
        impl ::words::schema::ToldSchema for $exact {
            fn told(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                generator.subschema_for::<$line>()
            }
        }

        #[cfg(feature = "schemas")]
        impl schemars::JsonSchema for $line {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($line).into()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                use ::words::schema::{ToldSchema, object};
                let [position, length] = [u32::told(generator), Figure::told(generator)];
                object(concat!($($about),*), vec![
                    ("position", "The position.", true, position),
                    (stringify!($length), "The length there.", true, length),
                ])
            }
        }
    };
}

at_a_position! {
    /// What counts at a position: the mean over the tries; a length against a master is the size.
    Mean => MeanLine, value
}
at_a_position! {
    /// What comes or came off at a position.
    Amount => AmountLine, amount
}

impl WaveFigure {
    fn first_high_spot(&self, _to: &To<'_>) -> f64 {
        first_high_spot(self.phase_deg.get(), self.order)
    }
}

/// The printed digits of a station's figures depend on each other, so that comparing them gives the
/// verdict.
impl StationFigures {
    /// Its figure beside its limits; `unit` is that of the verdict.
    #[must_use]
    pub fn held(&self, unit: Unit) -> Held {
        let expanded = Figure::from(self.uncertainty.0);
        Held::of(self.value, unit).against(self.tolerance).known_within(expanded)
    }

    fn value_text(&self, to: &To<'_>) -> String {
        self.held(to.unit).recorded().value_text().unwrap_or_default()
    }

    fn limits_told(&self, to: &To<'_>) -> LimitsTold {
        LimitsTold::of(&self.held(to.unit).recorded()).unwrap_or_default()
    }

    fn limits_line(&self, to: &To<'_>) -> LimitsLine {
        LimitsLine::of(&self.held(to.unit).recorded())
    }

    fn uncertainty_text(&self, to: &To<'_>) -> String {
        self.held(to.unit).recorded().uncertainty_text().unwrap_or_default()
    }

    /// A single seating is judged as it was read.
    fn seating_texts(&self, to: &To<'_>) -> Vec<String> {
        let text = self.value_text(to);
        self.seatings.tell(&To { judged: Some((self.value, &text)), ..*to })
    }
}

impl Repeat {
    fn held(&self, to: &To<'_>) -> Held {
        Held::of(self.difference, to.unit).between(None, Some(self.limit)).recorded()
    }

    fn difference_text(&self, to: &To<'_>) -> String {
        self.held(to).value_text().unwrap_or_default()
    }

    fn limit_text(&self, to: &To<'_>) -> String {
        let [_, limit] = self.held(to).limit_texts();
        limit.unwrap_or_default()
    }
}
