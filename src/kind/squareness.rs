//! Squareness of a face to the axis it turns about.

use judgement::{Budget, Part, Reason, TurnShares};
use quantity::{Figure, Length};

use super::check::{Holding, Reads};
use super::circle::stated_or_nothing;
use super::face;
use super::judged::Judged;
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, ReadCheck, described, limits, proof, touched, uncertainty};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

/// A face that turns under a stylus, which is moved from radius to radius with one zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Squareness {
    /// Standard uncertainty of the stand, with its travel from radius to radius; zero where the plan states
    /// none.
    pub stand: Length,
}

impl Squareness {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::RoundOnRadii, Reads::Touches);
        let usual = Usual { holding: Some(Holding::Turning), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, goes, usual);
        if setting.as_ref().is_some_and(|setting| setting.radii.len() == 1) {
            let line = keys.line_of(if keys.has("radius") { "radius" } else { "radii" });
            let text = "one radius may fail squareness, never pass it: a cone or a dish shows nothing \
                        there";
            keys.warning(line, text, "write radii = [\"1 in\", \"1.5 in\"], say");
        }
        let judged = limits::upper(keys, Self::TRAITS.word);
        let stand = uncertainty(keys, "stand");
        touched(keys, &Self::TRAITS, setting, judged, Some(Self { stand }))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "squareness",
        about: "Largest minus smallest height of a turning face, on all radii together.",
        named: "squareness of a face to its axis",
        keys: &[&described! {
            "stand" = "standard uncertainty of the stand and of its way from radius to radius, a "
                "length", "nothing, and the verdict says \"assumed\"";
        }],
        by: By::Touches,
        step: None,
        held: None,
        round: "circle",
        goes_round: true,
        turns: true,
        sizes: false,
        between: Some("a saddle"),
        setting: Setting::Offset,
        wedge: Wedge::Untold,
        cannot_prove: proof::only_turning,
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Range,
        drawing: Drawing::Ring,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };

    /// `k·√(2·touch² + stand²)`, with how far off the return to position 0 was.
    fn budget(self, of: &Series<'_>) -> Budget {
        let nothing = Part::stated(Length::ZERO);
        let (touch, stand) = (of.noise_part(), stated_or_nothing(self.stand));
        let made_of = TurnShares { touch, stand, seating: nothing, bar: nothing };
        of.with_returns(made_of.budget())
    }
}

impl Kind for Squareness {
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
        let mut judged = face::range(of, self.budget(of));
        let touched = |ring: &u32| of.sums.iter().any(|(at, _)| of.check.circle_of(*at) == *ring);
        let radii = (0..of.check.circles()).filter(touched).count();
        judged.reasons.extend((radii < 2).then_some(Reason::OneRadius));
        judged
    }

    fn so_far(&self, of: &Series<'_>) -> Option<Figure> {
        of.max_minus_min()
    }
}
