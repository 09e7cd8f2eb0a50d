//! One turn of a surface under a fixed stylus.

use quantity::Length;

use super::difference::Arrangement;
use super::layout::Layout;
use super::plan::CheckAt;
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

/// What adds to the uncertainty of a turn beside the gauge; all standard
/// uncertainties, zero where nothing of the kind takes part.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Turn {
    /// Of the stand.
    pub stand: Length,
    /// Of one seating, per axis.
    pub seating: Length,
    /// Of the total reading of the bar itself.
    pub bar: Length,
}

impl Turn {
    pub(crate) const TRAITS: Traits = Traits {
        word: "runout",
        about: "Total reading of one turn, or of several circles of it.",
        named: "runout of one turn",
        by: By::Touches,
        held: None,
        goes_round: true,
        turns: true,
        sizes: false,
        between: Some("an oval"),
        setting: Setting::OffsetOfCircle,
        wedge: Wedge::Untold,
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Circles,
        drawing: Drawing::Circles,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };
}

impl Kind for Turn {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Circles
    }

    fn asks(&self) -> Option<Asks> {
        None
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

    fn itself(&self) -> &dyn std::any::Any {
        self
    }
}
