//! A test bar read at stations along it.

use quantity::Length;

use super::difference::Arrangement;
use super::layout::Layout;
use super::layout::{BarStation, Seatings};
use super::plan::CheckAt;
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

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

impl BarRun {
    pub(crate) const TRAITS: Traits = Traits {
        word: "bar-runout",
        about: "Total readings of a test bar at stations along it.",
        named: "runout of a test bar",
        by: By::Touches,
        held: None,
        goes_round: true,
        turns: true,
        sizes: false,
        between: None,
        setting: Setting::OffsetOfCircle,
        wedge: Wedge::Untold,
        spoiled: Spoiled::ByAny,
        bar: Bar::Read,
        sum: Sum::Stations,
        drawing: Drawing::Bar,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };
}

impl Kind for BarRun {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Stations(&self.stations, self.seatings)
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
