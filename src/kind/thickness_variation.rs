//! Thickness variation over an anvil.

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

/// Thickness variation has no settings of its own: touches over an anvil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThicknessVariation;

impl ThicknessVariation {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::Round, Reads::Touches);
        let setting = setting::read(keys, &Self::TRAITS, goes, Usual::FACE);
        let judged = limits::upper(keys, Self::TRAITS.word);
        touched(keys, &Self::TRAITS, setting, judged, Some(Self))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "thickness-variation",
        about: "Largest minus smallest local thickness over an anvil.",
        named: "thickness variation",
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
        wedge: Wedge::WhichFace(
            "A thickness does not tell which face to grind: measure it on the plate.",
        ),
        cannot_prove: |setup| match setup {
            Holding::Anvil => None,
            Holding::Plate | Holding::Supports => Some((
                "thickness is read over an anvil right under the stylus",
                "write setup = \"anvil\", or measures = \"parallelism\" on the plate",
            )),
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

impl Kind for ThicknessVariation {
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
