//! `traps = { wild = 8, heat = 0.2 }`: how large something must be before it is asked about or withholds a
//! verdict.

use judgement::{Times, Traps};
use num_rational::Ratio;

use super::{At, Keys, decimal};

/// A threshold: its key, its place, and the smallest and largest factor that makes sense, in hundredths.
type Threshold = (&'static str, fn(&mut Traps) -> &mut Times, [u32; 2]);

const THRESHOLDS: [Threshold; 11] = [
    ("wild", |traps| &mut traps.wild, [200, 6000]),
    ("spread", |traps| &mut traps.spread, [200, 6000]),
    ("returns", |traps| &mut traps.returns, [100, 3000]),
    ("drift", |traps| &mut traps.drift, [100, 5000]),
    ("bow", |traps| &mut traps.bow, [100, 5000]),
    ("heat", |traps| &mut traps.heat, [1, 100]),
    ("wrong_part", |traps| &mut traps.wrong_part, [100, 100_000]),
    ("dirt", |traps| &mut traps.dirt, [100, 5000]),
    ("tries", |traps| &mut traps.tries, [200, 6000]),
    ("seatings", |traps| &mut traps.seatings, [100, 5000]),
    ("turned", |traps| &mut traps.turned, [100, 10_000]),
];

/// Reads the thresholds of a check; what is not written is usual.
pub(super) fn read(keys: &impl Keys) -> Traps {
    let mut traps = Traps::default();
    let Some(own) = keys.table("traps") else { return traps };
    for (key, place, range) in THRESHOLDS {
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
            at.map_or_else(String::new, |(_, place, _)| shown(place(&mut usual).hundredths()))
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
