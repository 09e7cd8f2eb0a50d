//! Parallelism of a face to the plate that the other face lies on.

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

/// Parallelism has no settings of its own: touches over the plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Parallelism;

impl Parallelism {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::RoundOnRadii, Reads::Touches);
        let setting = setting::read(keys, &Self::TRAITS, goes, Usual::FACE);
        let judged = limits::upper(keys, Self::TRAITS.word);
        touched(keys, &Self::TRAITS, setting, judged, Some(Self))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "parallelism",
        about: "Largest minus smallest height over the plate.",
        named: "parallelism to the plate",
        keys: &[],
        by: By::Touches,
        step: None,
        held: None,
        round: "circle",
        goes_round: true,
        turns: false,
        sizes: false,
        between: Some("a saddle"),
        setting: Setting::Offset,
        wedge: Wedge::OnThePlate,
        cannot_prove: |setup| match setup {
            Holding::Plate => None,
            Holding::Anvil => Some((
                "over an anvil a reading is the local thickness, not a height above the plate",
                "write measures = \"thickness-variation\", or setup = \"plate\"",
            )),
            Holding::Supports => Some(proof::ON_SUPPORTS),
            Holding::Turning => Some(proof::AT_REST),
        },
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Range,
        drawing: Drawing::Ring,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for Parallelism {
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
        face::range(of, face::range_doubt(of))
    }

    fn so_far(&self, of: &Series<'_>) -> Option<Figure> {
        of.max_minus_min()
    }
}
