//! A diameter between two points, at angles in one plane or several, brought to 20 °C.

use judgement::{Budget, Known, Limits, Part, Share};
use num_rational::Ratio;
use quantity::{Figure, Length, Unit};
use words::{Bound, fine, fine_with_doubt};

use super::check::{Holding, Reads};
use super::figures::{DiameterFigures, PlaneFigures, Side};
use super::judged::{Judged, SaidOf, Saying};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, MUST, ReadCheck, described, limits, touched};
use super::layout::{Layout, Rows};
use super::length::{self, Size};
use super::series::{Beside, Series, Stand};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, touch_again, was_ground,
};

/// More planes are taken for a slip of the pen.
const MOST_PLANES: i64 = 20;

/// A diameter further outside its limits than so many times their width was read against another ring
/// (common practice, no source).
pub(crate) const WRONG_RING: i64 = 10;

/// A diameter between two points.
#[derive(Debug, Clone, PartialEq)]
pub struct Diameter {
    /// Where it is measured.
    pub side: Side,
    /// In how many planes.
    pub planes: u32,
    /// How it is brought to 20 °C.
    pub size: Size,
}

impl Diameter {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::InRows, Reads::Touches);
        let usual = Usual { holding: Some(Holding::Supports), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, goes, usual);
        keys.must_have("side", "write side = \"bore\" or side = \"outside\"");
        let side = keys.one_of("side", &Side::ALL.map(|one| (one.text(), one)));
        let planes = keys.integer("planes", 1..=MOST_PLANES);
        let planes = planes.and_then(|at| u32::try_from(at.value).ok()).unwrap_or(1);
        if let Some(setting) = &setting {
            doubtful_angles(keys, setting.positions);
        }
        let size = length::size_of(keys);
        let own = side.map(|side| Self { side: side.value, planes, size });
        touched(keys, &Self::TRAITS, setting, limits::band(keys, Self::TRAITS.word), own)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "diameter",
        about: "Mean diameter between two points, against a master where one is touched.",
        named: "diameter",
        keys: &[
            &described! {
                "side" = "`\"bore\"` or `\"outside\"`", MUST;
                "planes" = "in how many planes it is measured, each at `positions` angles over half "
                    "a turn", "`1`";
            },
            length::SIZE_KEYS,
        ],
        by: By::Touches,
        step: None,
        held: Some("at rest, between two points"),
        round: "plane",
        goes_round: false,
        turns: false,
        sizes: true,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Anvil | Holding::Supports => None,
            Holding::Turning => Some((
                "a stylus beside a turning part sees the radius and its runout",
                "measure diameters on the part at rest: leave setup out",
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

impl Kind for Diameter {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        // Right across, half a turn on is the same diameter.
        Layout::Rows(Rows {
            count: self.planes,
            turn_deg: 180,
            word: Self::TRAITS.round,
            anew: None,
        })
    }

    fn own(&self) -> Own<'_> {
        Own {
            names: self.size.temperatures.into_iter().flatten().collect(),
            size: Some(&self.size),
            master_u: self.size.master_u,
            ..Own::NOTHING
        }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        let mut judged = length::judged(of, &self.size, known);
        let form = Form::of(of, self.side, known);
        judged.says.extend(form.says(of.check.unit));
        judged.figures.diameter = Some(form.figures);
        let far = judged.value.zip(of.check.limits);
        let far = far.and_then(|(value, limits)| wrong_ring(value, limits, of.check.unit));
        judged.sayings.extend(far.map(|text| Saying { of: SaidOf::Mistaken, text }));
        judged
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// What the diameters show beside their mean.
struct Form {
    figures: DiameterFigures,
    /// The planes with the largest and with the smallest mean.
    apart: [u32; 2],
    /// The plane that is least round.
    least_round: u32,
}

impl Form {
    fn of(of: &Series<'_>, side: Side, known: &dyn Beside) -> Self {
        let planes = planes(of);
        let positions: Vec<u32> = of.sums.iter().map(|(position, _)| *position).collect();
        let stand = known.stand(&positions);
        let round = |plane: &&PlaneFigures| plane.out_of_round.unwrap_or(Figure::ZERO);
        let worst = planes.iter().rev().max_by_key(round);
        let out_of_round = worst.and_then(|plane| plane.out_of_round);
        let least_round = worst.map_or(1, |plane| plane.plane);
        let ends = [
            planes.iter().max_by_key(|plane| plane.mean),
            planes.iter().min_by_key(|plane| plane.mean),
        ];
        let apart = ends.map(|end| end.map_or(1, |plane| plane.plane));
        let between_planes = match ends {
            [Some(most), Some(least)] if planes.len() > 1 => Some(most.mean - least.mean),
            _ => None,
        };
        let bound = |budget: Budget| Bound(budget.expanded().uncertainty);
        let figures = DiameterFigures {
            side,
            out_of_round_u: out_of_round.map(|_| bound(of_half_a_difference(of, &stand))),
            between_planes_u: between_planes.map(|_| bound(of_two_means(of, &stand))),
            planes,
            out_of_round,
            between_planes,
        };
        Self { figures, apart, least_round }
    }

    fn says(&self, unit: Unit) -> Vec<String> {
        let figures = &self.figures;
        let mut says = Vec::new();
        if let Some((out, u)) = figures.out_of_round.zip(figures.out_of_round_u) {
            let [told, known] = fine_with_doubt(out, u.into(), unit);
            let in_plane = match figures.planes.len() {
                1 => String::new(),
                _ => format!(" of plane {}", self.least_round),
            };
            says.push(format!(
                "Out of round {told} ± {known}: half of what the diameters{in_plane} differ by. \
                 Between two points a three-lobed form does not show."
            ));
        }
        if let Some((apart, u)) = figures.between_planes.zip(figures.between_planes_u) {
            let [told, known] = fine_with_doubt(apart, u.into(), unit);
            let [large, small] = self.apart;
            says.push(if apart <= Figure::from(u) {
                format!("The planes are alike within {known}.")
            } else {
                format!("Plane {large} is larger than plane {small} by {told} ± {known}.")
            });
        }
        says
    }
}

/// Each plane that was touched.
fn planes(of: &Series<'_>) -> Vec<PlaneFigures> {
    let means = of.means();
    let one = |plane: u32| {
        let own = means.iter().filter(|(at, _)| of.check.circle_of(*at) == plane);
        let own: Vec<Figure> = own.map(|(_, diameter)| *diameter).collect();
        let count = i64::try_from(own.len()).ok().filter(|count| *count > 0)?;
        let sum = own.iter().fold(Figure::ZERO, |sum, one| sum + *one);
        let ends = own.iter().max().zip(own.iter().min()).filter(|_| count > 1);
        Some(PlaneFigures {
            plane: plane + 1,
            mean: sum / count,
            out_of_round: ends.map(|(most, least)| (*most - *least) / 2),
        })
    };
    (0..of.check.circles()).filter_map(one).collect()
}

/// Half the difference of two diameters: master and heat cancel, and so does the zero but for what it
/// walked between them.
fn of_half_a_difference(of: &Series<'_>, stand: &Stand) -> Budget {
    let two = Ratio::new(2, 4);
    let budget = Budget::default().weighing(of.scatter(), two).weighing(of.reading.remains(), two);
    of.with_returns(budget.weighing((Share::Walk, walked(stand)).into(), Ratio::new(1, 4)))
}

/// The difference of the means of two planes.
fn of_two_means(of: &Series<'_>, stand: &Stand) -> Budget {
    let touches = of.averaged.saturating_mul(of.check.positions);
    let budget =
        Budget::default().adding(of.reading.mean(touches), 2, 1).adding(of.reading.remains(), 2, 1);
    of.with_returns(budget.with(Share::Walk, walked(stand), 1, 1))
}

/// How far the zero may have moved between two touches.
fn walked(stand: &Stand) -> Part {
    let doubt = i64::try_from(stand.doubt.ceil()).unwrap_or(i64::MAX);
    let walk = stand.walk.farthest.abs().max(Length::from_picometres(doubt));
    Part::within(walk, Known::Stated)
}

/// The question where a size is further out than a part can be that was made to these limits.
fn wrong_ring(value: Figure, limits: Limits, unit: Unit) -> Option<String> {
    let out = outside(value, limits).filter(|out| *out > limits.half_width() * 2 * WRONG_RING)?;
    Some(format!(
        "It is {} {unit} outside its limits, more than a wrong fit comes to: was the gauge set on \
         another ring, or is the size of the ring written wrong?",
        fine(out, unit)
    ))
}

/// How far a figure lies outside its limits; `None` where it lies inside.
pub(crate) fn outside(value: Figure, limits: Limits) -> Option<Figure> {
    let out = match limits {
        Limits::Max(max) => value - Figure::from(max),
        Limits::Min(min) => Figure::from(min) - value,
        Limits::Band { min, max } => (value - Figure::from(max)).max(Figure::from(min) - value),
    };
    (out > Figure::ZERO).then_some(out)
}

/// Warns of angles that show no form.
fn doubtful_angles(keys: &impl Keys, angles: u32) {
    let text = match angles {
        1 => "one angle in a plane shows nothing of its form",
        2 => "two angles in a plane show nothing of an oval that lies at 45 degrees to them",
        _ => return,
    };
    let hint = "three see at least three quarters of an oval, wherever it lies: positions = 3";
    keys.warning(keys.line_of("positions"), text, hint);
}
