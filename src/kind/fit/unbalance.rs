//! What a part that is loose on its shaft can do to the balance: an estimate, never judged.
//!
//! A part of mass m that sits off the axis by e has the unbalance U = m·e. In a clearance it may sit off by
//! half of it. The permissible residual unbalance of a rotor of mass M at the angular speed ω is
//! `U_per = e_per·M` with `e_per·ω = G`, the balance grade (ISO 21940-11, formula from memory).

use std::f64::consts::PI;

use num_rational::Ratio;
use quantity::{Figure, Unit};
use words::{Thousandth, ThousandthUp, significant};

use crate::figures::{Estimate, UnbalanceFigures};
use crate::keys::{At, Keys, decimal};

/// A part that may be loose on its shaft, and the rotor it turns with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Loose {
    /// Its mass, grams.
    mass_g: f64,
    /// The mass of the whole rotor, grams.
    rotor_mass_g: f64,
    /// Turns a minute.
    speed_rpm: f64,
    /// The balance grade, millimetres a second.
    grade_mm_s: f64,
}

const KEYS: [&str; 4] = ["mass", "rotor_mass", "speed", "balance_grade"];

impl Loose {
    /// Reads the four keys, which go together.
    pub(super) fn read(keys: &impl Keys) -> Option<Self> {
        let mass = keys.parsed_literal("mass", grams);
        let rotor = keys.parsed_literal("rotor_mass", grams);
        let speed = keys.parsed_literal("speed", |text| {
            amount(text, &[("rpm", 1.0), ("1/min", 1.0), ("", 1.0)], "a speed such as \"8000 rpm\"")
        });
        let grade = keys.parsed_literal("balance_grade", |text| {
            let number = text.trim().strip_prefix(['G', 'g']).unwrap_or(text);
            amount(number, &[("mm/s", 1.0), ("", 1.0)], "a balance grade such as \"G 2.5\"")
        });
        let given = KEYS.iter().find(|key| keys.has(key));
        if let (Some(given), Some(missing)) = (given, KEYS.iter().find(|key| !keys.has(key))) {
            let text = format!("{given} is given without {missing}");
            let hint = "the estimate of the unbalance needs mass = \"350 g\", rotor_mass = \"12 kg\", \
                        speed = \"8000 rpm\" and balance_grade = \"G 2.5\", say";
            keys.error(keys.line_of(given), text, hint);
        }
        let found = Self {
            mass_g: mass?.value,
            rotor_mass_g: rotor.as_ref()?.value,
            speed_rpm: speed?.value,
            grade_mm_s: grade?.value,
        };
        if found.mass_g > found.rotor_mass_g {
            let text = "the part is heavier than the rotor that it belongs to";
            keys.error(line(rotor), text, "rotor_mass is that of all that turns");
        }
        Some(found)
    }

    /// The estimate for a clearance with its uncertainty; `None` where nothing says that it is loose.
    pub(super) fn unbalance(&self, clearance: Figure, u: Figure) -> Option<UnbalanceFigures> {
        if clearance <= u {
            return None;
        }
        // Picometres to millimetres.
        let half_mm = |clearance: Figure| clearance.to_f64() / 1e9 / 2.0;
        Some(UnbalanceFigures {
            label: Estimate::Estimate,
            can_cause_g_mm: ThousandthUp::of(self.mass_g * half_mm(clearance)),
            at_most_g_mm: ThousandthUp::of(self.mass_g * half_mm(clearance + u)),
            permitted_g_mm: Thousandth::of(self.permitted_g_mm()),
            grade_mm_s: Thousandth::of(self.grade_mm_s),
            speed_rpm: Thousandth::of(self.speed_rpm),
            mass_g: Thousandth::of(self.mass_g),
            rotor_mass_g: Thousandth::of(self.rotor_mass_g),
        })
    }

    /// What the grade permits the rotor, gram millimetres.
    fn permitted_g_mm(&self) -> f64 {
        let radians_a_second = 2.0 * PI * self.speed_rpm / 60.0;
        self.grade_mm_s / radians_a_second * self.rotor_mass_g
    }
}

fn line<T>(at: Option<At<T>>) -> u32 {
    at.map_or(0, |at| at.line)
}

/// The estimate in words, which call it one.
pub(super) fn told(of: &UnbalanceFigures) -> String {
    let number = |number: f64| significant(number, 2);
    let beside =
        if of.at_most_g_mm.get() > of.permitted_g_mm.get() { "more than" } else { "beside" };
    format!(
        "An estimate, not judged: loose by that much, its {} g can cause an unbalance of {} g·mm \
         (at most {}), {beside} the {} g·mm that G {} permits the rotor of {} kg at {} rpm.",
        significant(of.mass_g.get(), 4),
        number(of.can_cause_g_mm.get()),
        number(of.at_most_g_mm.get()),
        number(of.permitted_g_mm.get()),
        significant(of.grade_mm_s.get(), 3),
        significant(of.rotor_mass_g.get() / 1000.0, 4),
        significant(of.speed_rpm.get(), 6),
    )
}

/// A mass above zero: `350 g`, `12 kg`.
fn grams(text: &str) -> Result<f64, String> {
    amount(text, &[("kg", 1000.0), ("g", 1.0)], "a mass such as \"350 g\" or \"12 kg\"")
}

/// A number above zero in one of these units, each with its factor.
fn amount(text: &str, units: &[(&str, f64)], what: &str) -> Result<f64, String> {
    let text = text.trim();
    let wrong = || format!("\"{text}\" is not {what}");
    let (number, factor) = units
        .iter()
        .find_map(|(unit, factor)| Some((text.strip_suffix(unit)?.trim_end(), factor)))
        .ok_or_else(wrong)?;
    let number = decimal(number).map_err(|_| wrong())?;
    if number <= Ratio::from_integer(0) {
        return Err(wrong());
    }
    let unit = Unit::Millimetre.picometres();
    // A ratio as a float, by way of a figure.
    let plain = Figure::new(*number.numer(), *number.denom()) * unit;
    Ok(plain.to_f64() / Figure::new(i128::from(unit), 1).to_f64() * factor)
}
