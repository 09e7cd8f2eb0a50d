//! The difference of two lengths and what it does.

use judgement::Part;
use num_rational::Ratio;
use quantity::{Figure, Length};

use super::judged::Judged;
use super::layout::Layout;
use super::length::Size;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::traits::{Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge};

/// Two lengths and what their difference does.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The length checks: the first minus the second is judged.
    pub of: [CheckAt; 2],
    /// How the bearings sit that the rings keep apart; the first length is then that of the ring
    /// between the outer rings.
    pub arrangement: Option<Arrangement>,
    /// Preload of each bearing, newtons, and its deflection there.
    pub preload: Option<(f64, Length)>,
    /// Entries with the face offsets of the bearings on either side; required of the difference is
    /// the mean of the left ones plus the mean of the right ones.
    pub offsets: Option<[Vec<CheckAt>; 2]>,
    /// Standard uncertainty of one offset; `None` where the plan does not state it.
    pub offset_u: Option<Length>,
    /// Standard uncertainty of the difference of the two temperatures, degrees Celsius.
    pub between_c: Ratio<i128>,
    /// How far the rings may be from 20 °C, degrees Celsius.
    pub off_20_c: Ratio<i128>,
    /// Expansion of the rings, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius.
    pub expansion_u: Ratio<i128>,
    /// What of these nobody stated, so that it is assumed.
    pub assumed: NotStated,
}

/// What of the heat in a difference nobody stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NotStated {
    /// How unlike the rings are in temperature.
    pub between: bool,
    /// How far they are off 20 °C.
    pub off_20: bool,
    /// How unlike they are in expansion.
    pub expansion: bool,
}

impl NotStated {
    /// Nothing was stated.
    pub const ALL: Self = Self { between: true, off_20: true, expansion: true };
}

/// How two bearings or sets sit against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// Back to back: a longer outer ring adds preload.
    BackToBack,
    /// Face to face: a longer outer ring takes preload off.
    FaceToFace,
    /// Tandem: the length of the rings changes no preload, they share the load when equal.
    Tandem,
}

impl Arrangement {
    /// The word in a plan.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::BackToBack => "back-to-back",
            Self::FaceToFace => "face-to-face",
            Self::Tandem => "tandem",
        }
    }
}

impl Pair {
    pub(crate) const TRAITS: Traits = Traits {
        word: "difference",
        about: "One mean length minus another.",
        named: "difference of two lengths",
        by: By::Lengths,
        held: Some("from two measured lengths"),
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::Minus,
        drawing: Drawing::None,
        other_metal: |target, _| format!("a ring of {target} was ground or replaced since"),
        once_more: |_| {
            "it is worked out from two lengths: measure one of them again first".to_owned()
        },
    };
}

impl Kind for Pair {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn asks(&self) -> Option<Asks> {
        None
    }

    fn names(&self) -> Vec<CheckAt> {
        self.of.into_iter().chain(self.offsets.iter().flatten().flatten().copied()).collect()
    }

    fn halves(&self) -> Option<[CheckAt; 2]> {
        Some(self.of)
    }

    fn arrangement(&self) -> Option<Arrangement> {
        self.arrangement
    }

    fn size(&self) -> Option<&Size> {
        None
    }

    fn too_wide(&self, _touch: Part) -> Vec<(usize, Length)> {
        Vec::new()
    }

    fn judge(&self, _of: &Series<'_>, known: &dyn Beside) -> Judged {
        known.difference(self)
    }

    fn alone(&self, of: &Series<'_>, known: &dyn Beside) -> Option<Figure> {
        self.judge(of, known).value
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}
