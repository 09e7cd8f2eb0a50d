//! The face offset of a bearing under load: how far the face of its inner ring stands proud of that of its
//! outer ring, on the side of the spacer.

use judgement::{Budget, Known, Named, Part, Reason, Share, TouchedLength};
use quantity::{Figure, Length, Unit};
use words::{Stated, Thousandth, fine, significant, size};

use super::check::{Holding, Reads};
use super::difference::newtons;
use super::figures::{Figures, OffsetFigures};
use super::judged::{Judged, SaidOf, Saying};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, MUST, ReadCheck, described, limits, positive, touched};
use super::layout::{Layout, Rows};
use super::length;
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

/// An offset that does not come back to this is not claimed: 0.2 µm (common practice, no source).
const COMES_BACK_TO: Length = Length::from_picometres(200_000);

/// More rounds are taken for a slip of the pen.
const MOST_ROUNDS: i64 = 10;

/// The face offset of a bearing.
#[derive(Debug, Clone, PartialEq)]
pub struct FaceOffset {
    /// The load on the inner ring, newtons.
    pub load_n: f64,
    /// How often the load is put on anew and all places are touched.
    pub rounds: u32,
    /// What the means of two rounds may differ by.
    pub repeat: Length,
    /// The standard uncertainty of the piece that the gauge is set on.
    pub master_u: Option<Length>,
}

impl FaceOffset {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::InRows, Reads::Touches);
        let usual = Usual { holding: Some(Holding::Plate), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, goes, usual);
        if let Some(setting) = setting.as_ref().filter(|setting| setting.positions < 3) {
            let text = format!("{} places do not average a face that runs out", setting.positions);
            keys.warning(keys.line_of("positions"), text, "touch it at 3 or 4 places");
        }
        keys.must_have(
            "load",
            "write load = \"200 N\", say: the preload that the bearing will have",
        );
        let load = keys.parsed_literal("load", newtons);
        let rounds = keys.integer("rounds", 1..=MOST_ROUNDS).map_or(2, |rounds| rounds.value);
        if rounds == 1 {
            let text = "one round does not show whether the offset comes back";
            keys.warning(
                keys.line_of("rounds"),
                text,
                "write rounds = 2, with the load put on anew",
            );
        }
        let rounds = u32::try_from(rounds).unwrap_or(1);
        let repeat = positive(keys, "repeat").map_or(COMES_BACK_TO, |found| found.value.length);
        let master_u = length::master_u(keys);
        let own = load.map(|load| Self { load_n: load.value, rounds, repeat, master_u });
        touched(keys, &Self::TRAITS, setting, limits::band(keys, "face offset"), own)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "face-offset",
        about: "How far the inner face of a bearing stands proud of the outer one under load.",
        named: "face offset under load",
        keys: &[&described! {
            "load" = "what presses on the inner ring: `\"200 N\"`, the preload it will have", MUST;
            "rounds" = "how often the load is put on anew and all places are touched", "`2`";
            "repeat" = "what the means of two rounds may differ by", "`\"0.2 um\"`";
        }],
        by: By::Touches,
        step: None,
        held: Some("on the outer ring, the inner ring under load"),
        round: "round",
        goes_round: false,
        turns: false,
        sizes: true,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Anvil | Holding::Supports => None,
            Holding::Turning => Some((
                "a part that turns under a fixed stylus shows its runout",
                "leave setup out: the gauge stands on the face of the outer ring",
            )),
        },
        spoiled: Spoiled::ByItsOwn,
        bar: Bar::None,
        sum: Sum::Mean,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for FaceOffset {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        let anew = Some("load off and on again");
        Layout::Rows(Rows { count: self.rounds, turn_deg: 360, word: Self::TRAITS.round, anew })
    }

    fn own(&self) -> Own<'_> {
        Own { master_u: self.master_u, ..Own::NOTHING }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        self.judged(of, known)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

impl FaceOffset {
    fn judged(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        let rounds = rounds(of);
        let ends = rounds.iter().max().zip(rounds.iter().min()).filter(|_| rounds.len() > 1);
        let apart = ends.map(|(most, least)| *most - *least);
        let offset = OffsetFigures {
            load_n: Thousandth::of(self.load_n),
            rounds,
            repeats_within: apart,
            may_differ: Stated(self.repeat),
        };
        let figures = Figures {
            mean: of.mean(),
            max_minus_min: of.max_minus_min(),
            closure: of.closure.map(Figure::from),
            zero_walk: of.zero_walk.map(Figure::from),
            offset: Some(offset),
            ..Figures::default()
        };
        let Some(value) = of.mean() else {
            return Judged { limits: of.check.limits, figures, ..Judged::default() };
        };
        let positions: Vec<u32> = of.sums.iter().map(|(position, _)| *position).collect();
        let stand = known.stand(&positions);
        let touches = u32::try_from(positions.len()).unwrap_or(u32::MAX);
        let one = TouchedLength {
            reading: of.reading,
            touches: of.averaged.saturating_mul(touches),
            masters: stand.masters,
            zero: stand.doubt,
            master: stand.zero.map(|_| of.check.master_u()),
        };
        let beside = self.comes_back(apart);
        let budget = judgement::of_size_by_itself(Budget::default(), one).adding(beside, 1, 1);
        let budget = of.with_returns(budget);
        let mut reasons = Vec::new();
        if let Some(limits) = of.check.limits {
            let moved = stand.walk.withholds(value, budget.expanded().uncertainty, limits);
            reasons.extend(moved.then_some(Reason::ZeroMoved));
        }
        let far = apart.filter(|apart| *apart > Figure::from(self.repeat));
        reasons.extend(far.map(|_| Reason::DoesNotComeBack));
        Judged {
            value: Some(value),
            budget: Some(budget),
            beside: vec![beside],
            limits: of.check.limits,
            figures: Figures { zero: stand.zero, ..figures },
            reasons,
            says: self.says(apart, of.check.unit),
            sayings: far.map(|apart| self.does_not(apart, of.check.unit)).into_iter().collect(),
            ..Judged::default()
        }
    }

    /// What the bearing itself adds, since it need not seat the same each time: the distance that it was
    /// allowed, which two rounds alone could not show to be less, or the one it showed.
    fn comes_back(&self, apart: Option<Figure>) -> Named {
        let shown = apart.map_or(0, Figure::ceil);
        let shown = Length::from_picometres(i64::try_from(shown).unwrap_or(i64::MAX));
        let within = Part::within(self.repeat.max(shown), Known::Stated);
        Named::of(Share::Seating, within)
    }

    fn load(&self) -> String {
        format!("{} N", significant(self.load_n, 4))
    }

    fn says(&self, apart: Option<Figure>, unit: Unit) -> Vec<String> {
        let load = self.load();
        let may = size(self.repeat, unit);
        let says = match apart {
            None => format!("Under {load}; one round does not show whether it comes back."),
            Some(apart) if apart <= Figure::from(self.repeat) => {
                let apart = fine(apart, unit);
                format!("Under {load}; it comes back within {apart} {unit}, {may} is allowed.")
            }
            Some(_) => format!("Under {load}."),
        };
        vec![says]
    }

    fn does_not(&self, apart: Figure, unit: Unit) -> Saying {
        let text = format!(
            "It does not come back: the rounds differ by {} {unit}, {} is allowed. Turn the bearing \
             under load until it settles, look for dirt, and take it again.",
            fine(apart, unit),
            size(self.repeat, unit)
        );
        Saying { of: SaidOf::Because(Reason::DoesNotComeBack), text }
    }
}

/// The mean of each round that was touched.
fn rounds(of: &Series<'_>) -> Vec<Figure> {
    let means = of.means();
    let one = |round: u32| {
        let own = means.iter().filter(|(at, _)| of.check.circle_of(*at) == round);
        let own: Vec<Figure> = own.map(|(_, height)| *height).collect();
        let count = i64::try_from(own.len()).ok().filter(|count| *count > 0)?;
        Some(own.into_iter().fold(Figure::ZERO, |sum, one| sum + one) / count)
    };
    (0..of.check.circles()).filter_map(one).collect()
}
