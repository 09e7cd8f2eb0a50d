//! What everybody may ask of a kind of check.

use judgement::Part as Share;
use quantity::{Figure, Length};

use super::check::{Check, Holding};
use super::difference::Arrangement;
use super::judged::Judged;
use super::layout::Layout;
use super::length::Size;
use super::measures::Measures;
use super::plan::{CheckAt, Part};
use super::series::{Beside, Series};

/// One kind of check, with what a plan says of it beside gauge, touches and limits.
///
/// Nothing here has an answer of its own: whoever adds a kind answers every question.
pub trait Kind {
    /// What holds for every check of this kind.
    fn traits(&self) -> &'static Traits;
    /// Where its readings are taken.
    fn layout(&self) -> Layout<'_>;
    /// What it asks a person, where it is answered and not touched.
    fn asks(&self) -> Option<Asks>;
    /// The other checks that it names: its verdict rests on what stands there.
    fn names(&self) -> Vec<CheckAt>;
    /// The two checks that it is worked out from: the first minus the second.
    fn halves(&self) -> Option<[CheckAt; 2]>;
    /// How the bearings sit that its rings keep apart, where the plan says it.
    fn arrangement(&self) -> Option<Arrangement>;
    /// How its readings are brought to 20 °C, where they are sizes.
    fn size(&self) -> Option<&Size>;
    /// Of each station by its place what the bar seated once is known to, where that is more than a
    /// quarter of the limit; `touch` is how far touches on one spot scatter.
    fn too_wide(&self, touch: Share) -> Vec<(usize, Length)>;
    /// The figure with all that is told of it.
    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged;
    /// The figure by itself, without all that is told of it.
    fn alone(&self, of: &Series<'_>, known: &dyn Beside) -> Option<Figure>;
    /// The figure so far, before the last touch, where more touches can make it larger and never
    /// smaller.
    fn so_far(&self, of: &Series<'_>) -> Option<Figure>;
}

/// What a check that is answered asks for, be it a chosen answer or a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asks {
    /// What is asked.
    pub question: String,
    /// The answers that may be given, any where empty; none where a value is written down.
    pub answers: Vec<String>,
    /// Those that conform; where empty the answer is kept and not judged.
    pub good: Vec<String>,
    /// The unit of a number, as text.
    pub unit: Option<String>,
}

/// What holds for every check of a kind.
#[derive(Debug)]
pub struct Traits {
    /// Its word in a plan, in the record and on published lines.
    pub word: &'static str,
    /// What that means.
    pub about: &'static str,
    /// What a page calls it.
    pub named: &'static str,
    /// How it comes to its figure.
    pub by: By,
    /// How it is read, where no set-up of a part tells it.
    pub held: Option<&'static str>,
    /// Touches on a face or a turn make it, of which fewer than seven pass nothing.
    pub goes_round: bool,
    /// It is read while the part turns under a fixed stylus.
    pub turns: bool,
    /// Its readings are sizes, told apart from heights of a surface: one reading says something, and a
    /// master is usual.
    pub sizes: bool,
    /// What may lie unseen between the touches of a circle; `None` where nothing is said of it.
    pub between: Option<&'static str>,
    /// What a setting of gauge or supports changes between two tries without changing the figure.
    pub setting: Setting,
    /// What is said of a face that is out of its limit and may have to be ground.
    pub wedge: Wedge,
    /// Why a set-up cannot prove it, and what to write; `None` where it can.
    pub cannot_prove: fn(Holding) -> Option<(&'static str, &'static str)>,
    /// Which grind on the part takes the metal that it measured.
    pub spoiled: Spoiled,
    /// What it has to do with a test bar.
    pub bar: Bar,
    /// How its figure is written out, for whoever works it out again by hand.
    pub sum: Sum,
    /// What is drawn of it.
    pub drawing: Drawing,
    /// Why new metal is not averaged with old, given `PART/CHECK` and both.
    pub other_metal: fn(&str, (&Part, &Check)) -> String,
    /// How a finished check is done once more, given `PART/CHECK` as it is typed.
    pub once_more: fn(&str) -> String,
}

/// Two are the same where they have the same word.
impl PartialEq for Traits {
    fn eq(&self, other: &Self) -> bool {
        self.word == other.word
    }
}

impl Eq for Traits {}

/// On a line stands its word.
impl serde::Serialize for Traits {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.word)
    }
}

impl<'de> serde::Deserialize<'de> for &'static Traits {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let word = <std::borrow::Cow<'de, str>>::deserialize(from)?;
        let none = || serde::de::Error::custom(format!("there is no kind of check {word:?}"));
        Measures::parse(&word).ok_or_else(none)
    }
}

#[cfg(feature = "schemas")]
impl schemars::JsonSchema for Traits {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Measures".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        quantity::schema_of_words(Measures::WORDS)
    }
}

/// How a check comes to its figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// A gauge takes readings for it.
    Touches,
    /// It is worked out from two other checks.
    Lengths,
    /// A person chooses an answer.
    Choice,
    /// A person writes down a value, which is not judged.
    Value,
}

impl Traits {
    /// Its word.
    #[must_use]
    pub const fn text(&self) -> &'static str {
        self.word
    }

    /// Whether a gauge takes readings for it.
    #[must_use]
    pub fn is_touched(&self) -> bool {
        self.by == By::Touches
    }

    /// Whether it is worked out from other checks: nobody touches or answers it, and it has no metal of
    /// its own.
    #[must_use]
    pub fn is_worked_out(&self) -> bool {
        self.by == By::Lengths
    }

    /// Whether a person answers it, by a choice or a value.
    #[must_use]
    pub fn is_answered(&self) -> bool {
        self.is_chosen() || self.is_written()
    }

    /// Whether a person chooses an answer.
    #[must_use]
    pub fn is_chosen(&self) -> bool {
        self.by == By::Choice
    }

    /// Whether a person writes down a value, which is not judged.
    #[must_use]
    pub fn is_written(&self) -> bool {
        self.by == By::Value
    }

    /// Whether heights of a face make it: what is said of grinding it looks at the face below and at the
    /// length of the part.
    #[must_use]
    pub fn is_face(&self) -> bool {
        self.drawing == Drawing::Ring
    }

    /// Whether the figure of one circle is one highest minus one lowest reading.
    #[must_use]
    pub const fn is_range(&self) -> bool {
        matches!(self.sum, Sum::Range | Sum::Circles)
    }

    /// Whether each circle is judged by itself, and not all of a face together.
    #[must_use]
    pub fn by_circles(&self) -> bool {
        self.setting == Setting::OffsetOfCircle
    }
}

/// What a setting of gauge or supports changes between two tries without changing the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// Nothing: the figure needs it.
    Nothing,
    /// The zero of the gauge, on each circle by itself.
    OffsetOfCircle,
    /// The zero of the gauge.
    Offset,
    /// Zero and tilt.
    Plane,
}

/// What is said of a face that is out of its limit and may have to be ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wedge {
    /// Nothing: the figure tells of no wedge.
    Untold,
    /// That it does not tell which face to grind, with what to do.
    WhichFace(&'static str),
    /// On the plate it is a wedge or dirt; the high side is where the wheel is to take most.
    OnThePlate,
}

/// Which grind on a part takes the metal that a check measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spoiled {
    /// Any.
    ByAny,
    /// Any but one of another face.
    OnItsFace,
    /// Only one that is told of this check.
    ByItsOwn,
    /// None.
    ByNone,
}

/// What a check has to do with a test bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bar {
    /// Nothing.
    None,
    /// It reads a bar that sits in a taper: a bar is not ground.
    Read,
    /// It measures a taper that a bar may sit in.
    Carried,
}

/// How a figure is written out from its readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sum {
    /// Not at all.
    None,
    /// Highest minus lowest.
    Range,
    /// Highest minus lowest of the circle that shows most.
    Circles,
    /// The first waves of the seatings at each station.
    Stations,
    /// The planes of the minimum zone.
    Zone,
    /// The mean above the master.
    Mean,
    /// One length minus the other.
    Minus,
    /// A rate over a distance.
    Rate,
}

/// What is drawn of a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawing {
    /// Nothing.
    None,
    /// The ring from above with its heights.
    Ring,
    /// Each circle, magnified.
    Circles,
    /// A test bar along its axis.
    Bar,
}

/// A grind on the part took the metal.
pub(crate) fn was_ground(_: &str, (part, check): (&Part, &Check)) -> String {
    format!("{} was ground since {} was measured", part.name, check.name)
}

/// A grind on anything that turns with it took the metal.
pub(crate) fn shaft_was_ground(_: &str, (part, _): (&Part, &Check)) -> String {
    format!(
        "{}, the shaft, its housing or a part of the stack was ground or changed since",
        part.name
    )
}

/// Only what is touched can be ground, cleaned or touched again.
pub(crate) fn touch_again(typed: &str) -> String {
    format!(
        "say why it is measured again: `tenths remeasure ground {typed}` (new metal), `cleaned` or `again`"
    )
}
