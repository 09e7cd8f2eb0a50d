//! Diameters along an axis.

use num_rational::Ratio;
use quantity::Length;

use super::difference::Arrangement;
use super::layout::Layout;
use super::plan::CheckAt;
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

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

impl Taper {
    pub(crate) const TRAITS: Traits = Traits {
        word: "taper",
        about: "Change of diameter along the axis, against the drawing's rate.",
        named: "taper",
        by: By::Touches,
        held: Some("at rest, diameters along the axis"),
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
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
        Layout::Along(&self.stations)
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
