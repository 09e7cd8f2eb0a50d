//! How a bore sits on its seat: the difference of two diameters, each at 20 °C.

mod unbalance;

use judgement::{Budget, Limits};
use num_rational::Ratio;
use quantity::{Figure, Unit};
use words::fine;

pub(crate) use self::unbalance::Loose;

use super::diameter::{WRONG_RING, outside};
use super::figures::{Figures, FitFigures, Sits};
use super::judged::{Judged, SaidOf, Saying};
use super::keys::{Keys, MUST, ReadCheck, described, limits, untouched};
use super::layout::Layout;
use super::other::Other;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::traits::{Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge};

/// A bore on its seat.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The diameter of the bore.
    pub bore: CheckAt,
    /// The diameter of the seat.
    pub seat: CheckAt,
    /// What the part with the bore does to the balance where it is loose.
    pub(crate) loose: Option<Loose>,
}

impl Fit {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let bore = diameter(keys, "bore", "bearing-1/bore");
        let seat = diameter(keys, "seat", "shaft/seat-1");
        if let Some((bore, seat)) = bore.zip(seat)
            && bore == seat
        {
            let text = "bore and seat are the same check";
            keys.error(keys.line_of("seat"), text, "name the diameter of the other part");
        }
        let loose = Loose::read(keys);
        let judged = limits::band(keys, Self::TRAITS.word);
        let own = bore.zip(seat).map(|(bore, seat)| Self { bore, seat, loose });
        untouched(keys, &Self::TRAITS, (judged, None), own)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "fit",
        about: "A bore minus its seat: clearance above zero, interference below.",
        named: "fit of a bore on its seat",
        keys: &[&described! {
            "bore" = "a check of diameter with its `material`: `\"bearing-1/bore\"`", MUST;
            "seat" = "the diameter it sits on: `\"shaft/seat-1\"`", MUST;
            "min" = "the smallest clearance; interference is below zero: `\"-0.008 mm\"`", MUST;
            "max" = "the largest one", MUST;
            "mass" = "of a spacer that may be loose: `\"350 g\"`; with the next three an "
                "estimate of the unbalance, not judged", "";
            "rotor_mass" = "of all that turns: `\"12 kg\"`", "";
            "speed" = "`\"8000 rpm\"`", "";
            "balance_grade" = "`\"G 2.5\"`", "";
        }],
        by: By::Lengths,
        step: None,
        held: Some("from two measured diameters"),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |_| None,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::Minus,
        drawing: Drawing::None,
        other_metal: |target, _| format!("bore or seat of {target} was ground or replaced since"),
        once_more: |_| {
            "it is worked out from two diameters: measure one of them again first".to_owned()
        },
    };
}

impl Kind for Fit {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        let both = vec![self.bore, self.seat];
        Own { names: both.clone(), made_of: both, together: Together::AtTwenty, ..Own::NOTHING }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        let tolerance = of.check.limits.map(Limits::half_width);
        match [self.bore, self.seat].map(|at| known.other(at, tolerance)) {
            [Ok(bore), Ok(seat)] => Both { bore, seat }.judged(self, of),
            [Err(why), _] | [_, Err(why)] => {
                Judged { says: vec![why], rests_on: Some(Vec::new()), ..Judged::default() }
            }
        }
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// The two diameters.
struct Both<'a> {
    bore: Other<'a>,
    seat: Other<'a>,
}

impl Both<'_> {
    fn all(&self) -> [&Other<'_>; 2] {
        [&self.bore, &self.seat]
    }

    fn judged(&self, fit: &Fit, of: &Series<'_>) -> Judged {
        let (limits, unit) = (of.check.limits, of.check.unit);
        let value = self.bore.size() - self.seat.size();
        let common = self.bore.on_the_master_of(&self.seat);
        let budget = self.all().into_iter();
        let budget = budget.fold(Budget::default(), |budget, one| one.enter(budget, common));
        let u = budget.expanded().uncertainty;
        let sits = match value {
            small if small.abs() <= Figure::from(u) => Sits::CannotSay,
            large if large > Figure::ZERO => Sits::Clearance,
            _ => Sits::Interference,
        };
        let withheld = self.all().map(|one| one.withholds(value, u, limits));
        let mut sayings: Vec<Saying> = Vec::new();
        for (one, reasons) in self.all().into_iter().zip(&withheld) {
            sayings.extend(one.why(reasons));
        }
        let mut reasons: Vec<_> = withheld.into_iter().flatten().collect();
        reasons.sort_unstable();
        reasons.dedup();
        let for_each_c = self.for_each_c();
        let mut says = vec![told(value, sits, unit)];
        says.extend(self.heat(for_each_c, unit));
        // What is no basis for a verdict is none for an estimate.
        let loose = fit.loose.as_ref().filter(|_| reasons.is_empty());
        let unbalance = loose.and_then(|loose| loose.unbalance(value, u.into()));
        says.extend(unbalance.as_ref().map(unbalance::told));
        let far = limits.and_then(|limits| wrong_ring(value, limits, unit));
        sayings.extend(far.map(|text| Saying { of: SaidOf::Mistaken, text }));
        let figures = FitFigures {
            seat: self.seat.size(),
            bore: self.bore.size(),
            at_20_c: self.all().iter().all(|one| one.is_at_twenty()),
            sits,
            for_each_c,
        };
        Judged {
            value: Some(value),
            budget: Some(budget),
            limits,
            figures: Figures { fit: Some(figures), unbalance, ..Figures::default() },
            reasons,
            says,
            sayings,
            cautions: self.all().iter().flat_map(|one| one.told_cautions()).collect(),
            rests_on: Some(self.all().iter().flat_map(|one| one.attempts.clone()).collect()),
            ..Judged::default()
        }
    }

    /// How the clearance changes with each degree that both grow warmer: the sizes by their own expansions.
    fn for_each_c(&self) -> Option<Figure> {
        let grows = |one: &Other<'_>| {
            let expansion = one.check.measures.own().size?.expansions[0];
            let from = Ratio::from_integer(21);
            let still = Ratio::from_integer(20);
            judgement::too_long_by(one.size(), [from, still], [expansion, expansion])
        };
        let by = grows(&self.bore)? - grows(&self.seat)?;
        let same = |one: &Other<'_>| one.check.measures.own().size.map(|size| size.expansions[0]);
        (same(&self.bore) != same(&self.seat)).then_some(by)
    }

    fn heat(&self, for_each_c: Option<Figure>, unit: Unit) -> Vec<String> {
        let mut says = Vec::new();
        let cold: Vec<&str> = self
            .all()
            .into_iter()
            .filter(|one| !one.is_at_twenty())
            .map(|one| one.name.as_str())
            .collect();
        says.push(match cold[..] {
            [] => "Bore and seat are at 20 °C, each by its own temperature.".to_owned(),
            _ => format!("Not at 20 °C: the temperatures of {} are not known.", cold.join(" and ")),
        });
        let by = for_each_c.filter(|by| *by != Figure::ZERO);
        says.extend(by.map(|by| {
            let (way, most) = if by > Figure::ZERO { ("loosens", by) } else { ("tightens", -by) };
            let most = fine(most, unit);
            format!(
                "Of unlike metals: the fit {way} by {most} {unit} for each °C that both warm up."
            )
        }));
        says
    }
}

/// `Clearance of 0.00420 mm.`
fn told(value: Figure, sits: Sits, unit: Unit) -> String {
    let size = fine(value.abs(), unit);
    match sits {
        Sits::Clearance => format!("Clearance of {size} {unit}: the bore is larger."),
        Sits::Interference => format!("Interference of {size} {unit}: the seat is larger."),
        Sits::CannotSay => "Cannot say whether it is clearance or interference.".to_owned(),
    }
}

/// The question where a fit is further out than a wrong one can be.
fn wrong_ring(value: Figure, limits: Limits, unit: Unit) -> Option<String> {
    let out = outside(value, limits).filter(|out| *out > limits.half_width() * 2 * WRONG_RING)?;
    Some(format!(
        "The fit is {} {unit} outside its limits, more than a wrong one comes to: was one of the \
         gauges set on another ring, or is this the bore of another seat?",
        fine(out, unit)
    ))
}

/// One of the two diameters.
fn diameter(keys: &impl Keys, key: &str, example: &str) -> Option<CheckAt> {
    keys.must_have(key, &format!("write {key} = \"{example}\", say: a check of diameter"));
    let name = keys.string(key)?;
    Some(keys.check(&name, "diameter")?.at)
}
