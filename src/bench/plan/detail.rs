//! What a check needs beyond touches, limits and a gauge.

use num_rational::Ratio;

use crate::plan::CheckAt;
use judgement::Limits;
use quantity::Length;

/// What a check needs beyond touches, limits and a gauge; which one follows from what it measures.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Detail {
    /// Nothing.
    #[default]
    Plain,
    /// A length.
    Length(Size),
    /// A turn of a surface that belongs to the part.
    Turn(Turn),
    /// A test bar in the taper.
    Bar(BarRun),
    /// The difference of two lengths.
    Pair(Pair),
    /// Diameters along an axis.
    Taper(Taper),
    /// A question with a chosen answer.
    Confirm(Ask),
    /// A value without tolerance.
    Entry(Entry),
}

impl Detail {
    /// What a difference is made of.
    #[must_use]
    pub const fn pair(&self) -> Option<&Pair> {
        if let Self::Pair(pair) = self { Some(pair) } else { None }
    }
}

/// What of a length is judged, and how it is brought to 20 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// What is held against the limits.
    pub judge: SizeJudged,
    /// The entries that hold the temperatures of part and master, in degrees Celsius; without them
    /// the length is as measured.
    pub temperatures: Option<[CheckAt; 2]>,
    /// Expansion of part and master, per degree Celsius.
    pub expansions: [Ratio<i128>; 2],
    /// Standard uncertainty of the size of the master; `None` where the plan does not state it.
    pub master_u: Option<Length>,
    /// Standard uncertainty of the difference of the temperatures of part and master, degrees
    /// Celsius; likewise.
    pub between_c: Option<Ratio<i128>>,
    /// How far both may be from 20 °C, degrees Celsius; likewise.
    pub off_20_c: Option<Ratio<i128>>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius; likewise.
    pub expansion_u: Option<Ratio<i128>>,
}

quantity::worded! {
    /// What of a length is held against the limits.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum SizeJudged {
        /// The mean of its touches.
        #[default]
        Mean = "mean",
        /// The touch that lies nearest to a limit, or farthest past one.
        EveryTouch = "every-touch",
    }
}

/// Expansion of steel per degree Celsius: 11.5e-6, textbook values run from 9.9e-6 to 13.0e-6.
#[must_use]
pub fn steel() -> Ratio<i128> {
    Ratio::new(115, 10_000_000)
}

impl Default for Size {
    fn default() -> Self {
        Self {
            judge: SizeJudged::Mean,
            temperatures: None,
            expansions: [steel(), steel()],
            master_u: None,
            between_c: None,
            off_20_c: None,
            expansion_u: None,
        }
    }
}

/// How a turn is read, and what adds to its uncertainty beside the gauge; all standard
/// uncertainties, zero where nothing of the kind takes part.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Turn {
    /// Only the total reading of the turn is keyed in: no angle, no waves.
    pub total_only: bool,
    /// The turn passes under the stylus in one go instead of being touched position by position.
    pub swept: Option<Swept>,
    /// Of the stand.
    pub stand: Length,
    /// Of one seating, per axis.
    pub seating: Length,
    /// Of the total reading of the bar itself.
    pub bar: Length,
}

/// A turn that passes under the stylus in one go, while the gauge sends without pause.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Swept {
    /// Marks that a person taps in one turn, evenly spread and beginning with the index mark. With
    /// one mark the hand's speed is taken as constant, and no angle is believed.
    pub marks: u32,
    /// Where each sample lies on the metal, degrees; none in a plan, all of them in an attempt that
    /// was swept.
    pub angles_deg: Vec<f64>,
}

impl Swept {
    /// Whether marks were tapped on the way round, so that angles can be believed.
    #[must_use]
    pub const fn knows_angles(&self) -> bool {
        self.marks > 1
    }
}

/// How often a bar is put in its taper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seatings {
    /// Once: what is seen is spindle and bar together.
    One,
    /// At 0, at 180 and at 0 again: split where the third repeats the first.
    Three,
    /// Quarter turns: the mean is the spindle's.
    Four,
}

impl Seatings {
    /// How many there are.
    #[must_use]
    pub const fn count(self) -> u32 {
        match self {
            Self::One => 1,
            Self::Three => 3,
            Self::Four => 4,
        }
    }

    /// Where the bar's own mark stands against the spindle's, seating by seating, degrees.
    #[must_use]
    pub const fn angles_deg(self) -> &'static [u32] {
        match self {
            Self::One => &[0],
            Self::Three => &[0, 180, 0],
            Self::Four => &[0, 90, 180, 270],
        }
    }
}

/// A test bar read at stations along it. Positions run round a station, stations along the bar,
/// seatings last.
#[derive(Debug, Clone, PartialEq)]
pub struct BarRun {
    /// At least one, rising.
    pub stations: Vec<BarStation>,
    /// How often the bar is put in.
    pub seatings: Seatings,
    /// Distances from the nose at which the total reading is predicted.
    pub predict: Vec<Length>,
    /// Standard uncertainty of the stand.
    pub stand: Length,
    /// Standard uncertainty of the bar's own total reading.
    pub bar: Length,
}

/// One place along a bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BarStation {
    /// The distance from the nose face.
    pub at: Length,
    /// The largest total reading allowed there.
    pub limits: Limits,
    /// Standard uncertainty of one seating there, per axis.
    pub seating: Length,
}

/// Two lengths and what their difference does.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The length checks: the first minus the second is judged.
    pub of: [CheckAt; 2],
    /// How the bearings sit that the rings keep apart; the first length is then that of the ring
    /// between the outer rings.
    pub arrangement: Option<Arrangement>,
    /// Preload of each bearing, newtons, and its deflection there.
    pub preload: Option<(f64, Length)>,
    /// Entries with the face offsets of the bearings on either side; required of the difference is
    /// the mean of the left ones plus the mean of the right ones.
    pub offsets: Option<[Vec<CheckAt>; 2]>,
    /// Standard uncertainty of one offset; `None` where the plan does not state it.
    pub offset_u: Option<Length>,
    /// Standard uncertainty of the difference of the two temperatures, degrees Celsius.
    pub between_c: Ratio<i128>,
    /// How far the rings may be from 20 °C, degrees Celsius.
    pub off_20_c: Ratio<i128>,
    /// Expansion of the rings, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius.
    pub expansion_u: Ratio<i128>,
    /// What of these nobody stated, so that it is assumed.
    pub assumed: NotStated,
}

/// What of the heat in a difference nobody stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NotStated {
    /// How unlike the rings are in temperature.
    pub between: bool,
    /// How far they are off 20 °C.
    pub off_20: bool,
    /// How unlike they are in expansion.
    pub expansion: bool,
}

impl NotStated {
    /// Nothing was stated.
    pub const ALL: Self = Self { between: true, off_20: true, expansion: true };
}

/// How two bearings or sets sit against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// Back to back: a longer outer ring adds preload.
    BackToBack,
    /// Face to face: a longer outer ring takes preload off.
    FaceToFace,
    /// Tandem: the length of the rings changes no preload, they share the load when equal.
    Tandem,
}

impl Arrangement {
    /// The word in a plan.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::BackToBack => "back-to-back",
            Self::FaceToFace => "face-to-face",
            Self::Tandem => "tandem",
        }
    }
}

/// Diameters along an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    /// Change of diameter over distance along the axis that the drawing asks for, positive where
    /// the diameter grows with the distance.
    pub rate: Ratio<i128>,
    /// Distances along the axis, at least two, rising; position k is touched at the k-th.
    pub stations: Vec<Length>,
    /// Standard uncertainty of each distance: on a cone it moves the diameter by the rate times that.
    pub station_u: Length,
}

/// A question with a chosen answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// What is asked.
    pub question: String,
    /// The answers that may be given; any where empty.
    pub answers: Vec<String>,
    /// Those that conform; where empty the answer is kept and not judged.
    pub good: Vec<String>,
}

/// A value without tolerance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What is asked.
    pub question: String,
    /// The unit of a number, as text.
    pub unit: Option<String>,
}

/// What a check that is answered asks for, be it a chosen answer or a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asks {
    /// What is asked.
    pub question: String,
    /// The answers that may be given; empty where a value is written down.
    pub answers: Vec<String>,
    /// The unit of a number, as text.
    pub unit: Option<String>,
}

impl Detail {
    /// What is asked for, where the check is answered and not touched.
    #[must_use]
    pub fn asks(&self) -> Option<Asks> {
        let (question, answers, unit) = match self {
            Self::Confirm(ask) => (&ask.question, ask.answers.clone(), None),
            Self::Entry(entry) => (&entry.question, Vec::new(), entry.unit.clone()),
            Self::Plain
            | Self::Length(_)
            | Self::Turn(_)
            | Self::Bar(_)
            | Self::Taper(_)
            | Self::Pair(_) => return None,
        };
        Some(Asks { question: question.clone(), answers, unit })
    }
}
