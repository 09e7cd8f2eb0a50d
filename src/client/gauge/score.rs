//! Works out the line setting and the profile from what was heard. Bytes and times in, findings out; nothing is
//! opened here.

use std::collections::BTreeSet;
use std::sync::Arc;

use ::gauge::{Capture, GaugeLine, GaugeOnLine, Kind, LineSetup, Profile, Sign};
use quantity::{Quoted, Unit};

/// Bytes, and when they arrived, in microseconds since the port was opened.
pub(super) type Bytes = Vec<(u64, Vec<u8>)>;

/// Data bits, parity and stop bits of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Bits {
    pub(super) data: u8,
    pub(super) parity: &'static str,
    pub(super) stop: u8,
}

const EIGHT: Bits = Bits { data: 8, parity: "none", stop: 1 };

/// How well one profile reads what arrived.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) profile: Arc<Profile>,
    /// Frames with a value.
    pub(super) readings: u64,
    /// Known frames without a value: blank, error.
    pub(super) others: u64,
    pub(super) damaged: u64,
    /// The values.
    pub(super) values: Vec<Quoted>,
    /// The channels that were seen.
    pub(super) channels: BTreeSet<String>,
    /// A frame to show, in printable form.
    pub(super) example: String,
}

impl Fit {
    /// Whether every frame is read and some have a value.
    pub(super) const fn is_whole(&self) -> bool {
        self.readings > 0 && self.damaged == 0
    }
}

/// What was heard at one speed.
#[derive(Debug, Clone)]
pub(super) struct Heard {
    pub(super) bits: Bits,
    /// The profiles that read every frame, best first; all equally good ones are listed.
    pub(super) whole: Vec<Fit>,
    /// The best of the other profiles.
    pub(super) partly: Option<Fit>,
}

/// The share of bytes with their high bit set, in per cent.
pub(super) fn high_per_cent(bytes: &Bytes) -> usize {
    let all: Vec<u8> = bytes.iter().flat_map(|(_, part)| part.iter().copied()).collect();
    let high = all.iter().filter(|byte| **byte >= 0x80).count();
    (100 * high).checked_div(all.len()).unwrap_or(0)
}

/// The bits of a line that was read as 8 bits without parity. Seven bits and a parity bit, or seven bits and a second
/// stop bit, take as long as eight bits; the eighth bit then shows which it is.
pub(super) fn bits_of(bytes: &Bytes) -> Bits {
    let all = || bytes.iter().flat_map(|(_, part)| part.iter().copied());
    // With more than one high byte in five it is no text of eight bits.
    if high_per_cent(bytes) <= 20 {
        return EIGHT;
    }
    let count = all().count();
    // A line joined in the middle, or a knock on the cable, spoils a byte or two.
    let nearly = |fits: fn(u8) -> bool| all().filter(|byte| fits(*byte)).count() * 20 >= count * 19;
    if nearly(|byte| byte >= 0x80) {
        Bits { data: 7, parity: "none", stop: 2 }
    } else if nearly(|byte| byte.count_ones() % 2 == 0) {
        Bits { data: 7, parity: "even", stop: 1 }
    } else if nearly(|byte| byte.count_ones() % 2 == 1) {
        Bits { data: 7, parity: "odd", stop: 1 }
    } else {
        EIGHT
    }
}

/// Reads what arrived with every profile.
/// `is_line`: whether it is a serial line, which may have seven bits.
pub(super) fn heard(
    bytes: &Bytes,
    until_us: u64,
    profiles: &[Arc<Profile>],
    is_line: bool,
) -> Heard {
    let bits = if is_line { bits_of(bytes) } else { EIGHT };
    let mut bytes = bytes.clone();
    if bits.data == 7 {
        bytes.iter_mut().flat_map(|(_, part)| part.iter_mut()).for_each(|byte| *byte &= 0x7f);
    }
    let fits: Vec<Fit> = profiles.iter().map(|p| fit(&bytes, until_us, p)).collect();
    let best = fits.iter().filter(|fit| fit.is_whole()).map(Fit::rank).max();
    let whole = fits.iter().filter(|fit| fit.is_whole() && Some(fit.rank()) == best).cloned();
    let partly = fits.iter().filter(|fit| fit.readings > 0 && fit.damaged > 0);
    let partly = partly.max_by_key(|fit| fit.readings).cloned();
    Heard { bits, whole: whole.collect(), partly }
}

impl Fit {
    /// The more values, the better.
    const fn rank(&self) -> u64 {
        self.readings
    }
}

/// Reads what arrived with the code that the service uses for a line.
fn fit(bytes: &Bytes, until_us: u64, profile: &Arc<Profile>) -> Fit {
    let channels: Vec<Option<String>> = if profile.has_channel() {
        (0..10).map(|channel| Some(channel.to_string())).collect()
    } else {
        vec![None]
    };
    let gauges = channels.iter().cloned().map(gauge).collect();
    let mut line = GaugeLine::new(LineSetup { profile: Arc::clone(profile), gauges });
    let mut outcomes = Vec::new();
    line.opened(0);
    for (at_us, part) in bytes {
        while let Some(wake_us) = line.wake_at().filter(|wake_us| wake_us < at_us) {
            line.tick(wake_us, &mut outcomes);
        }
        line.feed(part, *at_us, &mut outcomes);
    }
    while let Some(wake_us) = line.wake_at().filter(|wake_us| *wake_us <= until_us) {
        line.tick(wake_us, &mut outcomes);
    }
    let mut fit = Fit {
        profile: Arc::clone(profile),
        readings: 0,
        others: 0,
        damaged: 0,
        values: Vec::new(),
        channels: BTreeSet::new(),
        example: String::new(),
    };
    for outcome in outcomes {
        match outcome.kind {
            Kind::Reading { value, .. } => {
                fit.readings += 1;
                fit.values.push(value);
                fit.channels.extend(channels.get(outcome.gauge).cloned().flatten());
                fit.example = outcome.text;
            }
            Kind::Damaged(_) => fit.damaged += 1,
            Kind::Foreign(_) => fit.others += 1,
            Kind::Resync | Kind::Muted { .. } | Kind::Idle => {}
        }
    }
    fit
}

/// A gauge that accepts everything. Its step does not matter here: it only decides which readings are marked as
/// having an unusual number of places.
fn gauge(channel: Option<String>) -> GaugeOnLine {
    let step = Quoted::parse("0.00001", Unit::Inch).expect("a length");
    GaugeOnLine {
        channel,
        unit: None,
        resolution: step,
        scale: Some(step),
        sign: Sign::Plus,
        repeat_us: 0,
        max_rate: 0,
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::all_profiles;

    fn spaced(frames: &[&str]) -> Bytes {
        let at = |index: u64| 200_000 + index * 500_000;
        frames
            .iter()
            .zip(0..)
            .map(|(frame, index)| (at(index), frame.as_bytes().to_vec()))
            .collect()
    }

    fn with_bits(bytes: &Bytes, change: impl Fn(u8) -> u8) -> Bytes {
        let part = |part: &Vec<u8>| part.iter().map(|byte| change(*byte)).collect();
        bytes.iter().map(|(at, bytes)| (*at, part(bytes))).collect()
    }

    fn named(bytes: &Bytes) -> (Bits, Vec<String>) {
        let heard = heard(bytes, 60_000_000, &all_profiles(None), true);
        (heard.bits, heard.whole.iter().map(|fit| fit.profile.name.clone()).collect())
    }

    #[test]
    fn each_shape_is_told_from_the_others() {
        for (frames, profile) in [
            (["+0.00012\r", "-0.00003\r", " 0.00000\r"], "signed-decimal"),
            (["1:+00012.345\r", "2:-00000.005\r", "1:+00000.000\r"], "channel-value"),
            (["   1.23450 in \r\n", "-  0.00010 in\r\n", "+31.3570 mm\r\n"], "value-unit"),
            (["+000124\r", "-000003\r", "+000000\r"], "counts"),
            (["+12,345\r", "-0,003\r", "0,000 mm\r"], "decimal-comma"),
            (
                [
                    "No. 1\r\nH = +25.4012 mm\r\n====\r\n",
                    "No. 2\r\nH = -0.0012 mm\r\n====\r\n",
                    "No. 3\r\nH = +25.4010 mm\r\n====\r\n",
                ],
                "height-block",
            ),
            (["A5000012351C\r", "A5800012351C\r", "A5001234532C\r"], "packed-hex"),
        ] {
            let (bits, names) = named(&spaced(&frames));
            assert_eq!((bits, names), (EIGHT, vec![profile.to_owned()]), "{frames:?}");
        }
    }

    #[test]
    fn the_eighth_bit_tells_seven_bits_and_their_parity() {
        let plain = spaced(&["+0.00012\r", "-0.00307\r", "+0.01125\r"]);
        let ones = |byte: u8| u8::try_from(byte.count_ones()).unwrap();
        let even = |byte: u8| byte | ((ones(byte) & 1) << 7);
        let odd = |byte: u8| byte | ((ones(byte) & 1 ^ 1) << 7);
        for (bytes, bits) in [
            (with_bits(&plain, even), Bits { data: 7, parity: "even", stop: 1 }),
            (with_bits(&plain, odd), Bits { data: 7, parity: "odd", stop: 1 }),
            (with_bits(&plain, |byte| byte | 0x80), Bits { data: 7, parity: "none", stop: 2 }),
        ] {
            assert!(high_per_cent(&bytes) > 20);
            assert_eq!(named(&bytes), (bits, vec!["signed-decimal".to_owned()]));
        }
    }

    #[test]
    fn rubbish_fits_nothing() {
        let noise: Vec<u8> = (0..4000_u32)
            .map(|at| (at.wrapping_mul(2_654_435_761) >> 23).to_le_bytes()[0])
            .collect();
        let heard = heard(&vec![(100_000, noise)], 60_000_000, &all_profiles(None), true);
        assert!(heard.whole.is_empty());
    }

    #[test]
    fn channels_that_were_seen_are_named() {
        let bytes = spaced(&["1:+00012.345\r", "4:-00000.005\r", "1:+00000.000\r"]);
        let heard = heard(&bytes, 60_000_000, &all_profiles(None), true);
        let channels: Vec<_> = heard.whole[0].channels.iter().cloned().collect();
        assert_eq!(channels, ["1", "4"]);
    }
}
