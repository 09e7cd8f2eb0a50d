//! Flatness of a face.

use quantity::Figure;

use super::check::{Holding, Reads};
use super::face;
use super::judged::Judged;
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, ReadCheck, limits, proof, touched};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

/// Flatness has no settings of its own: touches over the plate, or on three supports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flatness;

impl Flatness {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::RoundOnRadii, Reads::Touches);
        let setting = setting::read(keys, &Self::TRAITS, goes, Usual::FACE);
        let judged = limits::upper(keys, Self::TRAITS.word);
        touched(keys, &Self::TRAITS, setting, judged, Some(Self))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "flatness",
        about: "Width of the minimum zone of the heights.",
        named: "flatness (minimum zone)",
        keys: &[],
        by: By::Touches,
        step: None,
        held: None,
        round: "circle",
        goes_round: true,
        turns: false,
        sizes: false,
        between: Some("a saddle"),
        setting: Setting::Plane,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Supports => None,
            Holding::Anvil => Some((
                "a thickness includes the opposite face: a ring bent alike on both faces shows nothing",
                "write setup = \"plate\" or \"supports\"",
            )),
            Holding::Turning => Some(proof::AT_REST),
        },
        spoiled: Spoiled::OnItsFace,
        bar: Bar::None,
        sum: Sum::Zone,
        drawing: Drawing::Ring,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for Flatness {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Circles
    }

    fn own(&self) -> Own<'_> {
        Own::NOTHING
    }

    fn judge(&self, of: &Series<'_>, _known: &dyn Beside) -> Judged {
        face::flatness(of)
    }

    fn so_far(&self, of: &Series<'_>) -> Option<Figure> {
        face::zone(of).map(|zone| of.mean_of(zone.width))
    }
}
