//! A length, against a master where one is touched, brought to 20 °C.

use num_rational::Ratio;
use quantity::Length;

use super::difference::Arrangement;
use super::layout::Layout;
use super::plan::CheckAt;
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

/// What of a length is judged, and how it is brought to 20 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// What is held against the limits.
    pub judge: SizeJudged,
    /// The entries that hold the temperatures of part and master, in degrees Celsius; without them
    /// the length is as measured.
    pub temperatures: Option<[CheckAt; 2]>,
    /// Expansion of part and master, per degree Celsius.
    pub expansions: [Ratio<i128>; 2],
    /// Standard uncertainty of the size of the master; `None` where the plan does not state it.
    pub master_u: Option<Length>,
    /// Standard uncertainty of the difference of the temperatures of part and master, degrees
    /// Celsius; likewise.
    pub between_c: Option<Ratio<i128>>,
    /// How far both may be from 20 °C, degrees Celsius; likewise.
    pub off_20_c: Option<Ratio<i128>>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius; likewise.
    pub expansion_u: Option<Ratio<i128>>,
}

quantity::worded! {
    /// What of a length is held against the limits.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum SizeJudged {
        /// The mean of its touches.
        #[default]
        Mean = "mean",
        /// The touch that lies nearest to a limit, or farthest past one.
        EveryTouch = "every-touch",
    }
}

/// Expansion of steel per degree Celsius: 11.5e-6, textbook values run from 9.9e-6 to 13.0e-6.
#[must_use]
pub fn steel() -> Ratio<i128> {
    Ratio::new(115, 10_000_000)
}

impl Default for Size {
    fn default() -> Self {
        Self {
            judge: SizeJudged::Mean,
            temperatures: None,
            expansions: [steel(), steel()],
            master_u: None,
            between_c: None,
            off_20_c: None,
            expansion_u: None,
        }
    }
}

impl Size {
    pub(crate) const TRAITS: Traits = Traits {
        word: "length",
        about: "Mean distance of the touched face, against a master where one is touched.",
        named: "length",
        by: By::Touches,
        held: None,
        goes_round: false,
        turns: false,
        sizes: true,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Mean,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for Size {
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
        self.temperatures.into_iter().flatten().collect()
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
