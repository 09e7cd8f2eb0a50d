//! Units of figures that are no lengths: vibration, drag, torque, balance, noise, temperature.

/// A unit that is no length, by its place in the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Other(u8);

/// Each unit as it is printed, then as else it is written. Blanks, dots in the middle and the sign of a
/// degree are not looked at.
const KNOWN: [(&str, &[&str]); 50] = [
    ("C", &["degC", "celsius"]),
    ("K", &[]),
    ("F", &["degF"]),
    ("rpm", &["1/min", "min-1", "r/min"]),
    ("Hz", &[]),
    ("mm/s", &[]),
    ("um/s", &["µm/s", "μm/s"]),
    ("in/s", &["ips"]),
    ("m/s", &[]),
    ("m/s2", &["m/s²", "m/s^2"]),
    ("mm/s2", &["mm/s²", "mm/s^2"]),
    ("g", &[]),
    ("gE", &[]),
    ("mg", &[]),
    ("kg", &[]),
    ("oz", &[]),
    ("gmm", &[]),
    ("gcm", &[]),
    ("ozin", &["oz-in", "inoz", "in-oz"]),
    ("gmm/kg", &[]),
    ("N", &[]),
    ("mN", &[]),
    ("kN", &[]),
    ("daN", &[]),
    ("lbf", &["lb"]),
    ("ozf", &[]),
    ("kgf", &[]),
    ("Nm", &[]),
    ("Ncm", &[]),
    ("Nmm", &[]),
    ("mNm", &[]),
    ("inlb", &["in-lb", "inlbf", "lbin", "lb-in"]),
    ("ftlb", &["ft-lb", "ftlbf", "lbft", "lb-ft"]),
    ("dB", &[]),
    ("dBA", &["dB(A)"]),
    ("bar", &[]),
    ("kPa", &[]),
    ("MPa", &[]),
    ("psi", &[]),
    ("l/min", &[]),
    ("ml/min", &[]),
    ("A", &[]),
    ("mA", &[]),
    ("V", &[]),
    ("mV", &[]),
    ("W", &[]),
    ("kW", &[]),
    ("MOhm", &["MΩ"]),
    ("s", &[]),
    ("%", &["percent"]),
];

/// What a spelling is compared by.
fn bare(text: &str) -> String {
    let left_out = |c: &char| c.is_whitespace() || matches!(c, '°' | '·' | '⋅' | '*');
    text.chars().filter(|c| !left_out(c)).collect()
}

impl Other {
    /// A degree Celsius.
    pub const CELSIUS: Self = Self(0);

    /// As it is printed.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        KNOWN[self.0 as usize].0
    }

    /// Each of them as it is printed.
    pub fn symbols() -> impl Iterator<Item = &'static str> {
        KNOWN.iter().map(|(symbol, _)| *symbol)
    }

    /// Reads one as people write it. The letter case counts only where another unit differs in nothing
    /// else: `mN` is no `MN`, and `mm/S` is `mm/s`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let bare = bare(text);
        let find = |same: &dyn Fn(&str) -> bool| {
            let found =
                KNOWN.iter().position(|(one, others)| same(one) || others.iter().any(|o| same(o)));
            found.and_then(|at| u8::try_from(at).ok()).map(Self)
        };
        find(&|one| one == bare).or_else(|| find(&|one| one.eq_ignore_ascii_case(&bare)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Unit;

    #[test]
    fn a_unit_is_read_as_people_write_it() {
        for (text, symbol) in [
            ("mm/s", "mm/s"),
            ("N·m", "Nm"),
            ("N m", "Nm"),
            ("°C", "C"),
            ("degC", "C"),
            ("c", "C"),
            ("in-lb", "inlb"),
            ("ft lb", "ftlb"),
            ("IPS", "in/s"),
            ("dB(A)", "dBA"),
            ("mN", "mN"),
            ("g", "g"),
            ("gE", "gE"),
            ("m/s²", "m/s2"),
        ] {
            assert_eq!(Other::parse(text).map(Other::symbol), Some(symbol), "{text}");
        }
        for text in ["", "mm", "in", "furlong", "mm/s x"] {
            assert_eq!(Other::parse(text), None, "{text}");
        }
        assert_eq!(Unit::parse("N"), None, "no length is stated in newtons");
        assert_eq!(Unit::parse_any("um"), Some(Unit::Micrometre));
    }

    #[test]
    fn every_unit_is_stored_by_its_symbol_and_told_apart_by_it() {
        let all: Vec<&str> = Other::symbols().collect();
        for symbol in &all {
            let unit = Unit::parse_any(symbol).unwrap();
            assert_eq!(unit.symbol(), *symbol);
            assert_eq!(all.iter().filter(|other| *other == symbol).count(), 1);
            assert_eq!(unit.shown_in(Unit::Inch), unit, "it is not converted");
        }
        assert_eq!(Unit::Inch.shown_in(Unit::Millimetre), Unit::Millimetre);
    }
}
