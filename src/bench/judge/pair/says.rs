//! The sentences about a pair.

use ::words::Thousandth;

use ::words::{decimal, fine, with_doubt};
use quantity::{Figure, Name};

use crate::fact::verdict::{Longer, PairFigures};
use crate::judge::pair::{Found, Half, ONE_SITTING_MIN, Offsets};
use crate::plan::{Arrangement, Warm, number};

impl Found<'_> {
    /// All sentences, the most important first.
    pub(super) fn says(&self, figures: &PairFigures, grind: bool) -> Vec<String> {
        let mut says = vec![self.which_is_longer()];
        says.extend(self.direction());
        says.extend(figures.preload_n.map(preload));
        if grind {
            says.extend(self.grinding());
        }
        says.extend(self.one_sitting());
        says.extend(self.temperatures());
        says
    }

    /// The rings by name: the parts, or the checks where both are on one part.
    pub(super) fn names(&self) -> [String; 2] {
        let [first, second] = &self.halves;
        if first.part == second.part {
            [first.target.clone(), second.target.clone()]
        } else {
            [first.part.to_string(), second.part.to_string()]
        }
    }

    fn longer_one(&self) -> String {
        let [first, second] = self.names();
        if self.value > Figure::ZERO { first } else { second }
    }

    fn which_is_longer(&self) -> String {
        match self.longer {
            Longer::CannotSay => "Cannot say which is longer.".to_owned(),
            Longer::Barely => format!("{} is longer, barely.", self.longer_one()),
            Longer::Sure => format!("{} is longer.", self.longer_one()),
        }
    }

    /// What the difference does to the preload, compared with the required difference.
    fn direction(&self) -> Option<String> {
        let arrangement = self.pair.arrangement?;
        if arrangement == Arrangement::Tandem {
            let shared = match self.required.filter(|required| *required != Figure::ZERO) {
                None => "equal lengths share the load".to_owned(),
                // The faces of the bearings are not flush: with this difference the load is shared.
                Some(required) => {
                    let [first, second] = self.names();
                    let (longer, other) =
                        if required > Figure::ZERO { (first, second) } else { (second, first) };
                    let by = fine(required.abs(), self.check.unit);
                    format!("the load is shared with {longer} longer than {other} by {by}")
                }
            };
            return Some(format!("Tandem: the lengths change no preload; {shared}."));
        }
        let more = -self.change().unwrap_or(-self.value);
        if more.abs() <= Figure::from(self.uncertainty()) {
            return None;
        }
        let adds = (more * self.squeeze()?) > Figure::ZERO;
        let effect = if adds { "adds preload" } else { "takes preload off" };
        let way = arrangement.text();
        Some(match self.required.filter(|required| *required != Figure::ZERO) {
            None => format!("{} longer in {way}: {effect}.", self.longer_one()),
            Some(required) => {
                let [first, second] = self.names();
                let side = if more > Figure::ZERO { "over" } else { "short of" };
                format!(
                    "{first} minus {second} is {} {side} the {} it has to be; in {way} that {effect}.",
                    self.worked_to(more),
                    self.as_required(required),
                )
            }
        })
    }

    /// Which ring to shorten and by how much. The change is c = required − present, both of first minus
    /// second: c above zero shortens the second, c below zero the first. A face offset says how far the
    /// inner face stands proud of the outer face, on the side of the rings. With offsets the rule holds
    /// back to back and face to face alike: whichever way the bearings are squeezed, the faces of the outer
    /// rings stand further apart than those of the inner rings by the sum of both offsets.
    fn grinding(&self) -> Vec<String> {
        let Some(change) = self.change() else { return Vec::new() };
        if change.abs() <= Figure::from(self.uncertainty()) {
            return Vec::new();
        }
        let shorten = |change: Figure| {
            let [first, second] = self.names();
            let ring = if change > Figure::ZERO { second } else { first };
            format!("{ring} by ")
        };
        // When both are ground to one length, the present difference is gone: all of the required one is
        // left.
        let then = self.required.filter(|required| *required != Figure::ZERO);
        let then = then.map_or_else(String::new, |left| {
            format!(", then {}{}", shorten(left), self.as_required(left.abs()))
        });
        vec![
            format!("Shorten {}{}.", shorten(change), self.worked_to(change)),
            format!(
                "Grind both in one set-up to the shorter{then}; never the bearings themselves."
            ),
        ]
    }

    /// An amount to work to, rounded to the step of the coarser gauge, with its U.
    fn worked_to(&self, amount: Figure) -> String {
        let step = self.halves.iter().map(Half::step).max().unwrap_or_default();
        with_doubt(amount.abs(), Figure::from(self.uncertainty()), step, self.check.unit)
    }

    /// The required difference: with all its digits where the plan states it, to a millionth of an inch
    /// where it is a mean of offsets.
    fn as_required(&self, required: Figure) -> String {
        let unit = self.check.unit;
        if self.offsets.is_some() { fine(required, unit) } else { decimal(required, unit) }
    }

    fn one_sitting(&self) -> Vec<String> {
        let mut says = Vec::new();
        let [first, second] = self.names();
        if let Some(minutes) = self.apart_min.filter(|minutes| *minutes > ONE_SITTING_MIN) {
            says.push(format!(
                "{first} and {second} were measured {minutes} minutes apart; measure them in one sitting."
            ));
        }
        let [one, other] = &self.halves;
        let unmastered = one.against().is_none() && one.gauge() != other.gauge();
        if one.against() != other.against() || unmastered {
            says.push(format!("{first} and {second} were not against one master."));
        }
        says
    }

    fn temperatures(&self) -> Vec<String> {
        let mut says = Vec::new();
        let known = |half: &crate::judge::pair::Half| matches!(half.warm, Warm::Known(..));
        let asked = |half: &crate::judge::pair::Half| !matches!(half.warm, Warm::NotAsked);
        if self.halves.iter().all(known) {
            says.push("Both lengths are at 20 °C.".to_owned());
        } else if self.halves.iter().any(asked) {
            says.push(
                "Not at 20 °C: the temperatures of both lengths are needed for that.".to_owned(),
            );
        }
        says.extend(self.assumed());
        says.extend(self.offsets.iter().filter_map(Offsets::count_as_exact));
        for half in self.halves.iter().filter(|half| half.assumed) {
            let gauge = half.gauge().map_or("the gauge", Name::as_str);
            says.push(format!("The uncertainty of {gauge} is assumed, not stated."));
        }
        says.dedup();
        says
    }
}

impl Found<'_> {
    /// What was assumed about temperatures, and counted in the uncertainty.
    fn assumed(&self) -> Option<String> {
        let (pair, not) = (self.pair, self.pair.assumed);
        let all = [
            (not.between, format!("{} °C between the rings", number(pair.between_c))),
            (not.off_20, format!("{} °C off 20 °C", number(pair.off_20_c))),
            (not.expansion, "expansions alike to 1e-6 per °C".to_owned()),
        ];
        let said: Vec<String> =
            all.into_iter().filter(|(assumed, _)| *assumed).map(|(_, what)| what).collect();
        (!said.is_empty()).then(|| format!("Assumed: {}.", said.join(", ")))
    }
}

/// The range of the preload, in words that call it an estimate.
fn preload(band: [Thousandth; 2]) -> String {
    let [low, high] = band.map(Thousandth::get);
    let band = match (low > 0.0, high > 0.0) {
        (false, false) => "Unloaded".to_owned(),
        (false, true) => format!("Preload from none to about {high} N"),
        (true, _) if (high - low).abs() < 0.5 => format!("Preload about {low} N"),
        (true, _) => format!("Preload about {low} to {high} N"),
    };
    format!(
        "{band}, rings lying free; nut and fit add to this; an estimate from F ~ deflection^1.5 with a constant contact angle."
    )
}
