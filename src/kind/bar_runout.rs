//! A test bar read at stations along it.

mod keys;
mod run;
mod split;

use judgement::{Named, Part, TurnShares};
use quantity::{Figure, Length};

pub(crate) use self::keys::MOST_STATIONS;
use self::keys::bar_of;
use self::run::{runout, seating_of};
use super::Measures;
use super::check::{Check, Holding, Reads, Surface};
use super::judged::Judged;
use super::keys::setting::{self, Goes, Usual};
use super::keys::{CheckLines, Keys, MUST, ReadCheck, bar_name, described, proof, touched};
use super::layout::{BarStation, Layout, Seatings};
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

/// A test bar read at stations along it. Positions run round a station first, then along the bar, then
/// through the seatings.
#[derive(Debug, Clone, PartialEq)]
pub struct BarRun {
    /// The stations in rising order, at least one.
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
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::RoundStations, Reads::Touches);
        let usual = Usual { holding: Some(Holding::Turning), surface: Surface::Outside };
        let setting = setting::read(keys, &Self::TRAITS, goes, usual);
        let (bar, judged, stations) = match bar_of(keys) {
            Some((bar, judged, stations)) => (Some(bar), Some(judged), stations),
            None => (None, None, Vec::new()),
        };
        let bar_name = bar_name(keys);
        let (check, lines) = touched(keys, &Self::TRAITS, setting, judged, bar)?;
        Some((Check { bar_name, ..check }, CheckLines { stations, ..lines }))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "bar-runout",
        about: "Total readings of a test bar at stations along it.",
        named: "runout of a test bar",
        keys: &[&described! {
            "stations" = "the places along the bar from the nose outwards: `[{ at = \"0.25 in\", "
                "tolerance = \"0.0001 in\" }, …]`", MUST;
            "stations.at" = "its distance from the nose face", MUST;
            "stations.tolerance" = "its limit", MUST;
            "stations.seating" = "standard uncertainty of one seating there, per axis",
                "that of the check, else 0.00001 in, assumed";
            "seatings" = "`1`, `3` (0, 180 and 0 degrees again) or `4` (quarter turns). Before "
                "each after the first nothing is taken until somebody says that the bar is seated",
                "`1`";
            "predict" = "distances at which it is worked out, not measured: `[\"6 in\"]`", "";
            "stand" = "standard uncertainty of the stand, a length",
                "nothing, and the verdict says \"assumed\"";
            "seating" = "standard uncertainty of one seating at each station, per axis",
                "0.00001 in, assumed";
            "bar" = "standard uncertainty of the bar's own total reading, a length", "nothing";
            "bar_name" = "in place of `bar`: the bar's name in `tenths register`", "";
        }],
        by: By::Touches,
        step: None,
        held: None,
        round: "turn",
        goes_round: true,
        turns: true,
        sizes: false,
        between: None,
        setting: Setting::OffsetOfCircle,
        wedge: Wedge::Untold,
        cannot_prove: proof::only_turning,
        spoiled: Spoiled::ByAny,
        bar: Bar::Read,
        sum: Sum::Stations,
        drawing: Drawing::Bar,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };
}

impl Measures {
    /// For each station, by its place: how well the bar is known when seated once, where that is more than
    /// a quarter of the limit; `touch` is the scatter of touches on one spot.
    #[must_use]
    pub fn too_wide(&self, touch: Named) -> Vec<(usize, Length)> {
        let Layout::Stations(bar) = self.layout() else { return Vec::new() };
        if bar.seatings != Seatings::One {
            return Vec::new();
        }
        let [stand, own] = [bar.stand, bar.bar].map(Part::stated);
        let one = |(index, station): (usize, &BarStation)| {
            let seating = Part::stated(seating_of(station));
            let known =
                TurnShares { touch, stand, seating, bar: own }.budget().expanded().uncertainty;
            let wide = Figure::from(known) * 4 > station.limits.half_width();
            wide.then_some((index, known))
        };
        bar.stations.iter().enumerate().filter_map(one).collect()
    }
}

impl Kind for BarRun {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Stations(self)
    }

    fn own(&self) -> Own<'_> {
        Own::NOTHING
    }

    fn judge(&self, of: &Series<'_>, _known: &dyn Beside) -> Judged {
        runout(of, self)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}
