//! A value without tolerance.

use quantity::{Figure, Name};

use super::judged::Judged;
use super::keys::{self, Keys, ReadCheck, limits, untouched};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge, was_ground,
};

/// A value without tolerance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The question.
    pub question: String,
    /// The unit of a number, as text.
    pub unit: Option<String>,
    /// The thermometer that writes it down.
    pub thermometer: Option<Name>,
}

impl Entry {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let unit = keys.string("unit").map(|unit| unit.value);
        let thermometer = keys.parsed("thermometer", Name::new);
        let celsius = |unit: &String| judgement::celsius(&format!("20 {unit}")).is_some();
        if let Some(at) = &thermometer
            && !unit.as_ref().is_some_and(celsius)
        {
            let text = "a thermometer writes down degrees Celsius";
            keys.error(at.line, text, "write unit = \"C\" at this entry");
        }
        let thermometer = thermometer.map(|at| at.value);
        let entry =
            keys::question(keys).map(|asked| Self { question: asked.value, unit, thermometer });
        let unjudged = limits::Judged::nothing(keys);
        untouched(keys, &Self::TRAITS, (Some(unjudged), None), entry)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "entry",
        about: "A value without tolerance.",
        named: "entry",
        by: By::Value,
        step: None,
        held: Some(""),
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |_| None,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::None,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: |typed| {
            format!("a value is simply recorded again: `tenths record {typed} VALUE`")
        },
    };
}

impl Kind for Entry {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        let Self { question, unit, .. } = self.clone();
        Own {
            asks: Some(Asks { question, answers: Vec::new(), good: Vec::new(), unit }),
            names: Vec::new(),
            made_of: Vec::new(),
            together: Together::Nothing,
            arrangement: None,
            size: None,
            thermometer: self.thermometer.as_ref(),
        }
    }

    fn judge(&self, _of: &Series<'_>, _known: &dyn Beside) -> Judged {
        Judged::default()
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}
