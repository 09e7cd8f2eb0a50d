//! `traps = { wild = 8, heat = 0.2 }`: how large something must be before it is asked about or withholds a
//! verdict.

use judgement::{Times, Traps};
use num_rational::Ratio;

use super::{At, Keys, decimal};

/// A threshold: its key, from when on it speaks, its place, and the smallest and largest factor that makes
/// sense, in hundredths.
type Threshold = (&'static str, &'static str, fn(&mut Traps) -> &mut Times, [u32; 2]);

const THRESHOLDS: [Threshold; 11] = [
    (
        "wild",
        "a touch further off all others than max(T, `wild`·u) is asked for again",
        |traps| &mut traps.wild,
        [200, 6000],
    ),
    (
        "spread",
        "three touches on one spot that span more than `spread`·s are made anew; for other numbers of \
         touches in proportion",
        |traps| &mut traps.spread,
        [200, 6000],
    ),
    (
        "returns",
        "position 0 or the master further off than max(`returns`·√2·s, 2·q) did not come back",
        |traps| &mut traps.returns,
        [100, 3000],
    ),
    (
        "drift",
        "a last touch of one surface further off the first than `drift`·s shows a drift",
        |traps| &mut traps.drift,
        [100, 5000],
    ),
    (
        "bow",
        "a middle touch further off the line between the two than `bow`·s shows that the drift is not even",
        |traps| &mut traps.bow,
        [100, 5000],
    ),
    (
        "heat",
        "more heat than `heat`·T withholds a length; a rate that comes to more in five minutes calls",
        |traps| &mut traps.heat,
        [1, 100],
    ),
    (
        "wrong_part",
        "a size further off its nominal than `wrong_part`·T, and 0.002 in, may be another part",
        |traps| &mut traps.wrong_part,
        [100, 100_000],
    ),
    (
        "dirt",
        "high minus low that changes by more than max(T/4, `dirt`·u) when the part is set back half a turn \
         is dirt",
        |traps| &mut traps.dirt,
        [100, 5000],
    ),
    (
        "tries",
        "tries that differ at a position by more than max(T/2, `tries`·u) are not of the same metal",
        |traps| &mut traps.tries,
        [200, 6000],
    ),
    (
        "seatings",
        "seatings of a bar further apart than `seatings`·σ moved",
        |traps| &mut traps.seatings,
        [100, 5000],
    ),
    (
        "turned",
        "high and low that change places after the wheel are asked about where both ranges are wider than \
         `turned`·q",
        |traps| &mut traps.turned,
        [100, 10_000],
    ),
];

/// A threshold in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trap {
    /// Its key in the table `traps`.
    pub key: &'static str,
    /// From when on it speaks. u is the standard uncertainty of a reading, s the scatter of a touch on one
    /// spot, q the step of the gauge, T the tolerance.
    pub says: &'static str,
    /// The factor where the plan says nothing.
    pub usual: String,
    /// The smallest and the largest factor that may be written.
    pub range: [String; 2],
}

/// All thresholds in words.
#[must_use]
pub fn in_words() -> Vec<Trap> {
    let mut usual = Traps::default();
    let word = |(key, says, place, range): Threshold| Trap {
        key,
        says,
        usual: shown(place(&mut usual).hundredths()),
        range: range.map(shown),
    };
    THRESHOLDS.into_iter().map(word).collect()
}

/// Reads the thresholds of a check; what is not written is usual.
pub(super) fn read(keys: &impl Keys) -> Traps {
    let mut traps = Traps::default();
    let Some(own) = keys.table("traps") else { return traps };
    for (key, _, place, range) in THRESHOLDS {
        if let Some(times) = factor(&own, key, range) {
            *place(&mut traps) = times;
        }
    }
    own.finish();
    traps
}

/// A factor with at most two decimal places.
fn factor(keys: &impl Keys, key: &str, range: [u32; 2]) -> Option<Times> {
    let At { value, line } = keys.parsed_literal(key, decimal)?;
    let hundredths = value * Ratio::from_integer(100);
    let whole = hundredths.is_integer().then(|| u32::try_from(hundredths.to_integer()).ok());
    let [least, most] = range;
    let found = whole.flatten().filter(|whole| (least..=most).contains(whole));
    if found.is_none() {
        let usual = {
            let mut usual = Traps::default();
            let at = THRESHOLDS.iter().find(|(other, ..)| *other == key);
            at.map_or_else(String::new, |(_, _, place, _)| shown(place(&mut usual).hundredths()))
        };
        let text = format!("{key} should be {} to {}", shown(least), shown(most));
        keys.error(line, text, format!("with at most two decimal places; {usual} is usual"));
    }
    found.map(Times::of_hundredths)
}

/// `4.7`
fn shown(hundredths: u32) -> String {
    let text = format!("{}.{:02}", hundredths / 100, hundredths % 100);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
