//! The properties of a kind of check: all that other code may ask about it.

use quantity::{Figure, Length, Name};

use super::Measures;
use super::check::{Check, Holding};
use super::difference::Arrangement;
use super::entry::Column;
use super::face;
use super::judged::Judged;
use super::keys::About;
use super::layout::Layout;
use super::length::Size;
use super::plan::{CheckAt, Part};
use super::run_in::Course;
use super::series::{Beside, Series};
use super::step::Step;

/// One kind of check, with its own settings in a plan beside gauge, touches and limits.
///
/// No function has a default: whoever adds a kind answers every question.
pub trait Kind {
    /// What holds for every check of this kind.
    fn traits(&self) -> &'static Traits;
    /// Where its readings are taken.
    fn layout(&self) -> Layout<'_>;
    /// What a plan says of it beside gauge, touches and limits.
    fn own(&self) -> Own<'_>;
    /// The figure with its uncertainty, remarks and reasons.
    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged;
    /// The figure before the last touch, where more touches can make it larger but never smaller.
    fn so_far(&self, of: &Series<'_>) -> Option<Figure>;
}

/// What a plan says of one check beside gauge, touches and limits.
#[derive(Debug)]
pub struct Own<'a> {
    /// The question to a person, where it is answered and not touched.
    pub asks: Option<Asks>,
    /// The other checks that it names; its verdict uses their results.
    pub names: Vec<CheckAt>,
    /// The checks that it is worked out from, in the order that its figure needs; empty where it is touched
    /// or answered.
    pub made_of: Vec<CheckAt>,
    /// What those have to have in common.
    pub together: Together,
    /// How the bearings sit between which its rings lie, where the plan says so.
    pub arrangement: Option<Arrangement>,
    /// How its readings are brought to 20 °C, where they are sizes.
    pub size: Option<&'a Size>,
    /// The standard uncertainty of its master, where the plan states it.
    pub master_u: Option<Length>,
    /// The thermometer that fills it, where it is a temperature that one writes down.
    pub thermometer: Option<&'a Name>,
    /// What a log of it is kept by, where it is logged while it runs.
    pub log: Option<&'a Course>,
}

impl Own<'_> {
    /// A check that is touched and has nothing of the kind.
    pub(crate) const NOTHING: Self = Self {
        asks: None,
        names: Vec::new(),
        made_of: Vec::new(),
        together: Together::Nothing,
        arrangement: None,
        size: None,
        master_u: None,
        thermometer: None,
        log: None,
    };
}

impl Measures {
    /// The value of [`Kind::judge`] alone; of a range without all that is said beside it, which costs far
    /// more than the range itself.
    #[must_use]
    pub fn figure(&self, of: &Series<'_>, known: &dyn Beside) -> Option<Figure> {
        let is_range = matches!(self.traits().sum, Sum::Range);
        if is_range { face::range_alone(of) } else { self.judge(of, known).value }
    }

    /// What it asks a person, where it is answered and not touched.
    #[must_use]
    pub fn asks(&self) -> Option<Asks> {
        self.own().asks
    }

    /// The checks that it is worked out from; empty where it is touched or answered.
    #[must_use]
    pub fn made_of(&self) -> Vec<CheckAt> {
        self.own().made_of
    }
}

/// What the checks have to have in common that another one is worked out from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Together {
    /// Nothing.
    Nothing,
    /// One master in one sitting: its size and what heat does to both then cancel.
    OneSitting,
    /// Nothing but 20 °C: each is brought there by itself, so its material has to be stated.
    AtTwenty,
}

/// What an answered check asks for: a chosen answer or a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asks {
    /// The question.
    pub question: String,
    /// The possible answers, any where empty; empty where a value is written down.
    pub answers: Vec<String>,
    /// The answers that conform; where empty the answer is recorded and not judged.
    pub good: Vec<String>,
    /// The unit of a number, as text.
    pub unit: Option<String>,
    /// The columns of a table of a few values, where that is what is written down.
    pub columns: Option<[Column; 2]>,
}

/// What holds for every check of a kind.
#[derive(Debug)]
pub struct Traits {
    /// Its word in a plan, in the record and on published lines.
    pub word: &'static str,
    /// What that word means.
    pub about: &'static str,
    /// Its name in a report.
    pub named: &'static str,
    /// The keys that only this kind has, or means in a way of its own.
    pub keys: &'static [&'static [About]],
    /// How it gets its figure.
    pub by: By,
    /// The step of the job that it belongs to, whatever the part is; `None` where that depends on the part.
    pub step: Option<Step>,
    /// How it is read, where the set-up of the part does not say that.
    pub held: Option<&'static str>,
    /// What each time round is called.
    pub round: &'static str,
    /// Whether it is made of touches on a face or a turn, where fewer than seven cannot pass.
    pub goes_round: bool,
    /// Whether it is read while the part turns under a fixed stylus.
    pub turns: bool,
    /// Whether its readings are sizes, not heights of a surface: a single reading says something, and a
    /// master is usual.
    pub sizes: bool,
    /// What the touches of a circle may miss between them; `None` where nothing is said about it.
    pub between: Option<&'static str>,
    /// What the setting of gauge or supports may change between two tries without changing the figure.
    pub setting: Setting,
    /// The remark about a face that is out of its limit and may have to be ground.
    pub wedge: Wedge,
    /// Why a set-up cannot prove it, and what to write; `None` where it can.
    pub cannot_prove: fn(Holding) -> Option<(&'static str, &'static str)>,
    /// Which grind on the part takes off the metal that it measured.
    pub spoiled: Spoiled,
    /// Its relation to a test bar.
    pub bar: Bar,
    /// How its figure is written out, so that a person can work it out again.
    pub sum: Sum,
    /// The picture of it.
    pub drawing: Drawing,
    /// Why new metal is not averaged with old; it takes `PART/CHECK` and the part and check.
    pub other_metal: fn(&str, (&Part, &Check)) -> String,
    /// How to do a finished check once more; it takes `PART/CHECK` as it is typed.
    pub once_more: fn(&str) -> String,
}

/// Two are equal where they have the same word.
impl PartialEq for Traits {
    fn eq(&self, other: &Self) -> bool {
        self.word == other.word
    }
}

impl Eq for Traits {}

/// It is written as its word.
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

/// How a check gets its figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// A gauge takes readings for it.
    Touches,
    /// It is worked out from other checks.
    Lengths,
    /// A person chooses an answer.
    Choice,
    /// A person writes down a value, or a few; judged where the plan has limits.
    Value,
    /// A log is kept for it while it runs.
    Log,
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

    /// Whether it is worked out from other checks: nobody touches or answers it, and it has no metal of its
    /// own.
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

    /// Whether a person writes down a value.
    #[must_use]
    pub fn is_written(&self) -> bool {
        self.by == By::Value
    }

    /// Whether it is a height of the part above what it stands on: dirt under it changes it, and a grind of
    /// any face makes it smaller.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.sizes && self.spoiled == Spoiled::ByAny
    }

    /// Whether it is made of heights of a face: advice on grinding then looks at the face below and at the
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

    /// Whether it reads a bar, so that bar and seatings have to be said of it.
    #[must_use]
    pub fn reads_a_bar(&self) -> bool {
        self.bar == Bar::Read
    }

    /// Whether each circle is judged by itself, and not all of a face together.
    #[must_use]
    pub fn by_circles(&self) -> bool {
        self.setting == Setting::OffsetOfCircle
    }
}

/// What the setting of gauge or supports may change between two tries without changing the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// Nothing: the figure depends on all of it.
    Nothing,
    /// The zero of the gauge, on each circle by itself.
    OffsetOfCircle,
    /// The zero of the gauge.
    Offset,
    /// Zero and tilt.
    Plane,
}

/// The remark about a face that is out of its limit and may have to be ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wedge {
    /// None: the figure does not show a wedge.
    Untold,
    /// The figure does not show which face to grind; the text says what to do.
    WhichFace(&'static str),
    /// On the plate it is a wedge or dirt; the wheel is to take most at the high side.
    OnThePlate,
}

/// Which grind on a part takes off the metal that a check measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spoiled {
    /// Any.
    ByAny,
    /// Any, except of another face.
    OnItsFace,
    /// Only a grind that was entered for this check.
    ByItsOwn,
    /// None.
    ByNone,
}

/// The relation of a check to a test bar.
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
    /// Highest minus lowest of the circle with the largest range.
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
    /// Mean of the readings one way minus that of the other.
    Ways,
}

/// The picture of a check.
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
    /// Temperatures over time, with the steps below.
    Curve,
}

/// A grind on the part took the metal.
pub(crate) fn was_ground(_: &str, (part, check): (&Part, &Check)) -> String {
    format!("{} was ground since {} was measured", part.name, check.name)
}

/// A grind on any part that turns with it took the metal.
pub(crate) fn shaft_was_ground(_: &str, (part, _): (&Part, &Check)) -> String {
    format!(
        "{}, the shaft, its housing or a part of the stack was ground or changed since",
        part.name
    )
}

/// Only a touched surface can be ground, cleaned or touched again.
pub(crate) fn touch_again(typed: &str) -> String {
    format!(
        "say why it is measured again: `tenths remeasure ground {typed}` (new metal), `cleaned` or `again`"
    )
}
