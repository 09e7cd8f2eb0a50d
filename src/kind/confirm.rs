//! A question with a chosen answer.

use judgement::Part;
use quantity::{Figure, Length};

use super::difference::Arrangement;
use super::judged::Judged;
use super::layout::Layout;
use super::length::Size;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge, was_ground,
};

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

impl Ask {
    pub(crate) const TRAITS: Traits = Traits {
        word: "confirm",
        about: "A chosen answer to a question.",
        named: "answer",
        by: By::Choice,
        held: Some("looked at"),
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::None,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: |typed| {
            format!("a question is asked anew with `tenths remeasure again {typed}`")
        },
    };
}

impl Kind for Ask {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn asks(&self) -> Option<Asks> {
        let Self { question, answers, good } = self.clone();
        Some(Asks { question, answers, good, unit: None })
    }

    fn names(&self) -> Vec<CheckAt> {
        Vec::new()
    }

    fn halves(&self) -> Option<[CheckAt; 2]> {
        None
    }

    fn arrangement(&self) -> Option<Arrangement> {
        None
    }

    fn size(&self) -> Option<&Size> {
        None
    }

    fn too_wide(&self, _touch: Part) -> Vec<(usize, Length)> {
        Vec::new()
    }

    fn judge(&self, _of: &Series<'_>, _known: &dyn Beside) -> Judged {
        Judged::default()
    }

    fn alone(&self, _of: &Series<'_>, _known: &dyn Beside) -> Option<Figure> {
        None
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}
