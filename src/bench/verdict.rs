//! Verdicts: what was found of one attempt, and every figure it stands on.

use ::words::Held;
use judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use quantity::{Figure, Length, Name, Unit, Wall};

use super::plan::SizeJudged;
use super::row::Seq;

/// The verdict on one attempt at a check. The newest one of an attempt stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The attempt.
    pub attempt: Seq,
    /// Tries that were combined, this one included.
    pub tries: u32,
    /// The attempts whose readings it rests on: its tries, oldest first, itself the last; of a
    /// difference those of the first and then of the second length.
    pub combined: Vec<Seq>,
    /// The mean of the tries at each position that one of them touched, each without what its
    /// setting added; a length against a master is the size. Empty of a turn that was swept: its
    /// samples are in the record as they are.
    pub means: Vec<(u32, Figure)>,
    /// The figure that is judged; `None` where too little was taken for one.
    pub value: Option<Figure>,
    /// The unit of the tolerance.
    pub unit: Unit,
    /// What it was held against; `None` where nothing is held against limits.
    pub limits: Option<Limits>,
    /// Expanded uncertainty, rounded up to a whole picometre.
    pub uncertainty: Option<Length>,
    /// What the standard uncertainty was multiplied by: 2 where all of it is stated.
    pub k: Option<Coverage>,
    /// Where the worst known share of the uncertainty is from.
    pub known: Known,
    /// The rule the job agreed on.
    pub rule: Rule,
    /// The verdict.
    pub word: Word,
    /// What the simple rule's arithmetic gives.
    pub simple: Option<Word>,
    /// What the guarded rule's arithmetic gives.
    pub guarded: Option<Word>,
    /// Positions of the check.
    pub positions: u32,
    /// Positions that hold a reading that counts.
    pub taken: u32,
    /// Positions left out with a reason.
    pub skipped: u32,
    /// The answer given to a question.
    pub answer: Option<String>,
    /// Every answer given to it for this piece, oldest first, this one the last.
    pub answers: Vec<Answered>,
    /// Everything derived beside the judged figure.
    pub figures: Figures,
    /// Sentences for the person, in the order they matter.
    pub advice: Vec<String>,
    /// Those of them that a person must not miss: told wherever the word is told.
    pub cautions: Vec<String>,
    /// Why it was withheld, or may not pass.
    pub reasons: Vec<Reason>,
}

impl Verdict {
    /// The judged figure beside what it was held against, for whoever prints it.
    #[must_use]
    pub fn held(&self) -> Held {
        Held::of(self.value, self.unit)
            .against(self.limits)
            .known_within(self.uncertainty.map(Figure::from))
            .above_noise(self.figures.noise_floor.map(Figure::from))
            .signed(self.figures.pair.is_some())
    }

    /// The station of a bar whose figure is the judged one; nothing on other checks.
    #[must_use]
    pub fn judged_station(&self) -> Option<&StationFigures> {
        self.figures.stations.iter().find(|station| {
            Some(station.value) == self.value
                && Some(station.limits) == self.limits
                && Some(station.uncertainty) == self.uncertainty
        })
    }
}

/// An answer given to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// The attempt it was given in.
    pub attempt: Seq,
    /// The answer.
    pub text: String,
    /// When it was given.
    pub at: Wall,
    /// Who gave it.
    pub by: Option<Name>,
}

/// Figures beside the judged one; what does not apply is `None` or empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Highest minus lowest.
    pub max_minus_min: Option<Figure>,
    /// Width of the minimum zone.
    pub minimum_zone: Option<Figure>,
    /// Range of the residuals from the least-squares plane, to a thousandth of a picometre.
    pub least_squares: Option<Figure>,
    /// Rise of the least-squares plane over the largest measuring diameter, likewise.
    pub tilt: Option<Figure>,
    /// The slope of that plane, microradians.
    pub slope_urad: Option<f64>,
    /// Where the high side lies, degrees from the index mark.
    pub high_side_deg: Option<f64>,
    /// How well that is known, degrees, k = 2.
    pub high_side_u_deg: Option<f64>,
    /// What a perfect part would show with this gauge.
    pub noise_floor: Option<Length>,
    /// Mean of the readings.
    pub mean: Option<Figure>,
    /// Positions that touch the upper plane of the minimum zone.
    pub contacts_upper: Vec<u32>,
    /// Positions that touch the lower plane.
    pub contacts_lower: Vec<u32>,
    /// Closure minus position 0.
    pub closure: Option<Figure>,
    /// Closing minus opening touch on the master.
    pub zero_walk: Option<Figure>,
    /// What the master would have shown at the mean of the judged touches of a length.
    pub zero: Option<Figure>,
    /// What of a length is judged.
    pub judged: Option<SizeJudged>,
    /// What was taken off a length to bring it to 20 °C.
    pub to_20_c: Option<Figure>,
    /// Mean of the outermost circle minus mean of the innermost.
    pub dish: Option<Figure>,
    /// How many times larger a saddle could be than what the touches show of it.
    pub saddle_factor: Option<f64>,
    /// The waves of a turn, rising.
    pub harmonics: Vec<Lobe>,
    /// Half the total reading of the first wave.
    pub eccentricity: Option<Figure>,
    /// Where the axis lies, degrees from the index mark.
    pub axis_deg: Option<f64>,
    /// Range of what mean and first wave leave of a turn.
    pub out_of_round: Option<Figure>,
    /// Total reading of the turn as it was read, where waves above the fifteenth were left out of
    /// the judged one.
    pub unfiltered: Option<Figure>,
    /// The stations of a bar.
    pub stations: Vec<StationFigures>,
    /// The axis through the stations of a bar.
    pub axis: Option<AxisFigures>,
    /// Total readings predicted along the bar, not measured.
    pub predicted: Vec<Predicted>,
    /// The difference of a pair and what it does.
    pub pair: Option<PairFigures>,
    /// Change of diameter over distance along the axis.
    pub rate: Option<f64>,
    /// The angle between axis and side that belongs to the rate, degrees.
    pub half_angle_deg: Option<f64>,
    /// What has to come off at each position to bring the face to its plane.
    pub take_off: Vec<(u32, Figure)>,
    /// What is left of the length when that is done.
    pub leaves: Option<Figure>,
    /// What the wheel took off since the attempt before.
    pub took_off: Option<TookOff>,
}

/// One wave of a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lobe {
    /// Waves in one turn.
    pub order: u32,
    /// Half its peak-to-valley, to a thousandth of a picometre.
    pub amplitude: Figure,
    /// Its first high spot, degrees from the index mark.
    pub high_deg: f64,
}

/// What one station of a bar shows.
#[derive(Debug, Clone, PartialEq)]
pub struct StationFigures {
    /// The distance from the nose face.
    pub at: Length,
    /// The figure that is judged: of one seating the total reading, of several the spindle's part.
    pub value: Figure,
    /// What it was held against.
    pub limits: Limits,
    /// Expanded uncertainty, k = 2.
    pub uncertainty: Length,
    /// What the job's rule says of it by itself.
    pub word: Word,
    /// The total reading of each seating, in order.
    pub seatings: Vec<Figure>,
    /// Half the total reading of the first wave of the figure that is judged.
    pub eccentricity: Option<Figure>,
    /// Where the high reading lies, degrees.
    pub high_side_deg: Option<f64>,
    /// Where the axis lies, degrees.
    pub axis_deg: Option<f64>,
    /// Eccentricity of the bar itself, where it was split from the spindle, and where it lies when
    /// the bar stands at 0.
    pub bar: Option<(Figure, f64)>,
    /// How far the seatings disagree, and how far they may: of three the third and the first, of
    /// four the two pairs of opposite ones.
    pub repeat: Option<(Figure, Figure)>,
    /// Mean of the total readings of four seatings by their first waves: what a round bar put in by
    /// chance shows.
    pub mean_of_seatings: Option<Figure>,
    /// Mean of the total readings of the seatings as they were read.
    pub mean_of_totals: Option<Figure>,
    /// Total reading of the mean of the seatings, mark by mark: with what is not round in it.
    pub mean_sweep: Option<Figure>,
}

impl StationFigures {
    /// Its figure beside what it was held against, `unit` being that of the verdict.
    #[must_use]
    pub fn held(&self, unit: Unit) -> Held {
        Held::of(self.value, unit).against(self.limits).known_within(Figure::from(self.uncertainty))
    }
}

/// The axis through the stations of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisFigures {
    /// Whether it is the spindle's own; otherwise that of the bar as seated.
    pub of_spindle: bool,
    /// How far it is off the axis of rotation at the nose face.
    pub offset: Figure,
    /// Where to, degrees.
    pub offset_deg: f64,
    /// Its tilt, microradians.
    pub tilt_urad: f64,
    /// Where it leans to, away from the nose, degrees.
    pub tilt_deg: f64,
}

/// A total reading worked out for a place where none was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predicted {
    /// The distance from the nose face.
    pub at: Length,
    /// Total reading by the first wave alone.
    pub value: Figure,
    /// Expanded uncertainty, k = 2.
    pub uncertainty: Length,
    /// How many times the uncertainty of a station that is.
    pub factor: f64,
    /// Where the axis lies there, degrees.
    pub axis_deg: f64,
}

/// How sure it is which of two lengths is the longer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Longer {
    /// The difference is within its uncertainty.
    CannotSay,
    /// Within twice its uncertainty.
    Barely,
    /// Beyond that.
    Sure,
}

impl Longer {
    /// The word in the record.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::CannotSay => "cannot-say",
            Self::Barely => "barely",
            Self::Sure => "sure",
        }
    }
}

/// The difference of a pair and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct PairFigures {
    /// The two lengths.
    pub lengths: [Figure; 2],
    /// How sure it is which is the longer.
    pub longer: Longer,
    /// The difference the drawing or the bearings ask for.
    pub required: Option<Figure>,
    /// Preload with rings lying free, newtons: lower and upper end of its band, to two digits.
    pub preload_n: Option<(f64, f64)>,
    /// Load on each bearing now, left to right, and with the required difference, newtons.
    pub loads_n: Vec<(f64, f64)>,
    /// Minutes between the touches on the one and on the other.
    pub apart_min: Option<u32>,
}

/// What the wheel took off between two attempts.
#[derive(Debug, Clone, PartialEq)]
pub struct TookOff {
    /// At each position.
    pub at: Vec<(u32, Figure)>,
    /// Whether both attempts stood on the same zero: only then are the amounts more than their
    /// differences.
    pub same_zero: bool,
    /// How much more on one side than on the other, over the largest measuring diameter.
    pub tilt: Option<Figure>,
    /// The side it took more from, degrees.
    pub more_deg: Option<f64>,
}
