//! Correcting lengths to 20 °C, the reference temperature for lengths (ISO 1; from memory).

use num_rational::Ratio;

use quantity::Figure;

/// The lowest and highest temperature accepted, in degrees Celsius. A room in degrees Fahrenheit is
/// above them, and so is a lost decimal point (common practice, no source).
const BELIEVED: [i128; 2] = [0, 50];

/// The accepted ways of writing the unit.
const CELSIUS: [&str; 7] = ["", "C", "c", "°C", "degC", "deg C", "Celsius"];

/// Reads degrees Celsius exactly: `21.4`, `21.4 C` or `21.4 °C`. `None` for any other text, more
/// than six decimal places, and temperatures below 0 or above 50.
#[must_use]
pub fn celsius(text: &str) -> Option<Ratio<i128>> {
    let text = text.trim();
    let text = text.strip_prefix('+').unwrap_or(text);
    let end = text.find(|one: char| !one.is_ascii_digit() && one != '.').unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let (whole, fraction) = number.split_once('.').unwrap_or((number, ""));
    let short = whole.len() <= 3 && fraction.len() <= 6;
    if !short || !CELSIUS.contains(&unit.trim()) {
        return None;
    }
    // A text without digits or with a second point fails here.
    let count: i128 = format!("{whole}{fraction}").parse().ok()?;
    let degrees = Ratio::new(count, 10_i128.checked_pow(u32::try_from(fraction.len()).ok()?)?);
    let [low, high] = BELIEVED.map(Ratio::from_integer);
    (low..=high).contains(&degrees).then_some(degrees)
}

/// By how much a part of this length reads too long against a master when neither is at 20 °C:
/// `L·[α_p·(T_p − 20) − α_m·(T_m − 20)]`, exactly. Each pair is part first, then master; temperatures in
/// degrees Celsius, expansions per degree Celsius. `None` where the result does not fit into 127 bits,
/// which takes far more digits than anybody measures.
#[must_use]
pub fn too_long_by(
    length: Figure,
    temperatures: [Ratio<i128>; 2],
    expansions: [Ratio<i128>; 2],
) -> Option<Figure> {
    let [part, master] = [0, 1]
        .map(|which: usize| expansions[which] * (temperatures[which] - Ratio::from_integer(20)));
    let share = part - master;
    let product = Ratio::new(length.numerator(), *share.denom());
    let numerator = product.numer().checked_mul(*share.numer())?;
    let denominator = product.denom().checked_mul(length.denominator())?;
    // Leaves room for subtracting the result later.
    length.numerator().checked_mul(denominator)?;
    Some(Figure::new(numerator, denominator))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Length, Unit};

    fn steel() -> [Ratio<i128>; 2] {
        [Ratio::new(115, 10_000_000); 2]
    }

    fn inch(text: &str) -> Figure {
        Figure::from(Length::parse(text, Unit::Inch).unwrap())
    }

    #[test]
    fn degrees_are_read_exactly() {
        for text in
            ["21.4", "21.4 C", "21.4C", "21.4 °C", " +21.40 c ", "21.4 degC", "21.4 Celsius"]
        {
            assert_eq!(celsius(text), Some(Ratio::new(107, 5)), "{text:?}");
        }
        for text in [
            "",
            "C",
            "70 F",
            "68",
            "214",
            "-1",
            "2.1.4",
            "2e1",
            ".",
            "21.4 K",
            "C 21",
            "21,4",
            "20.1234567",
        ] {
            assert_eq!(celsius(text), None, "{text:?}");
        }
    }

    #[test]
    fn two_inches_of_steel_seven_fahrenheit_warm() {
        // Rule of thumb of the trade, 6.4 millionths per inch and degree Fahrenheit: 0.000089 in.
        // Exactly: 2 in · 11.5e-6 · 35/9 °C = 161/1 800 000 in.
        let warm = Ratio::from_integer(20) + Ratio::new(35, 9);
        let off = too_long_by(inch("2"), [warm, Ratio::from_integer(20)], steel()).unwrap();
        assert_eq!(off, inch("161") / 1_800_000);
        assert_eq!(off.fixed(Unit::Inch, 6), "0.000089");
    }

    #[test]
    fn only_the_difference_counts_where_both_are_warm() {
        // 2 in of steel at 26.5 °C on a steel master at 20.5 °C: 2 · 11.5e-6 · 6 = 0.000138 in.
        let temperatures = ["26.5", "20.5"].map(|text| celsius(text).unwrap());
        assert_eq!(too_long_by(inch("2"), temperatures, steel()), Some(inch("0.000138")));
        // A carbide master, 4e-6: 2·(11.5e-6·6.5 − 4e-6·0.5) = 0.0001455 in.
        let carbide = [Ratio::new(115, 10_000_000), Ratio::new(4, 1_000_000)];
        assert_eq!(too_long_by(inch("2"), temperatures, carbide), Some(inch("0.0001455")));
    }

    #[test]
    fn ten_metres_and_many_digits_fit() {
        let length = Figure::new(10_000_000_000_001 * 997, 997 * 3);
        let temperatures = ["26.512345", "20.512344"].map(|text| celsius(text).unwrap());
        let odd = Ratio::new(11_534_567, 1_000_000_000_000);
        let off = too_long_by(length, temperatures, [odd; 2]).unwrap();
        let (share, temperature) = (11_534_567_i128, 6_000_001_i128);
        let exact = Ratio::new(length.numerator(), length.denominator() * 10_i128.pow(18))
            * Ratio::from_integer(share * temperature);
        assert_eq!(off, Figure::new(*exact.numer(), *exact.denom()));
        let beyond = Figure::new(i128::MAX / 3, 1);
        assert_eq!(too_long_by(beyond, temperatures, [odd; 2]), None);
    }
}
