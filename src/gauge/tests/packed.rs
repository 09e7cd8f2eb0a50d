//! Packed digits: every layout, and every wrong digit in it.

use super::*;

/// A layout made up here: a head, a sign, digits, their places, a unit, in an order that is drawn.
fn layout(order: &[usize], digits: usize, low_half_first: bool) -> Packed {
    let places: Vec<usize> = order.iter().copied().filter(|place| *place < digits + 5).collect();
    Packed {
        length: digits + 5 + (digits + 5) % 2,
        low_half_first,
        fixed: vec![(places[0], 10), (places[1], 5)],
        sign: places[2],
        plus: vec![0, 2],
        minus: vec![8],
        point: places[3],
        unit: Some((places[4], BTreeMap::from([(1, Unit::Inch), (2, Unit::Millimetre)]))),
        digits: places[5..].to_vec(),
    }
}

/// A frame of this layout, digit by digit.
fn frame(layout: &Packed, negative: bool, count: u32, places: u8, unit: u8) -> Vec<u8> {
    let mut nibbles = vec![0; layout.length];
    for (place, nibble) in &layout.fixed {
        nibbles[*place] = *nibble;
    }
    nibbles[layout.sign] = if negative { 8 } else { 2 };
    nibbles[layout.point] = places;
    nibbles[layout.unit.as_ref().unwrap().0] = unit;
    let width = layout.digits.len();
    for (place, digit) in layout.digits.iter().zip(format!("{count:0width$}").bytes()) {
        nibbles[*place] = digit - b'0';
    }
    nibbles
}

/// As it is sent: hexadecimal, halves changed over where the layout says so.
fn sent(layout: &Packed, nibbles: &[u8]) -> Vec<u8> {
    let digit = |nibble: &u8| b"0123456789ABCDEF"[usize::from(*nibble)];
    let mut text: Vec<u8> = nibbles.iter().map(digit).collect();
    if layout.low_half_first {
        text.chunks_mut(2).for_each(<[u8]>::reverse);
    }
    text
}

fn read(layout: &Packed, frame: &[u8]) -> String {
    profile(Content::Packed(layout.clone())).describe(frame)
}

proptest! {
    #[test]
    fn each_layout_reads_what_was_packed_and_no_wrong_digit(
        order in Just((0..13).collect::<Vec<usize>>()).prop_shuffle(),
        digits in 1_usize..=8,
        low_half_first in any::<bool>(),
        negative in any::<bool>(),
        count in any::<u32>(),
        places in 0_u8..=8,
        unit in 1_u8..=2,
        wrong in 0_u8..16,
    ) {
        let layout = layout(&order, digits, low_half_first);
        let count = count % 10_u32.pow(u32::try_from(digits).unwrap());
        let places = places.min(u8::try_from(digits).unwrap());
        let nibbles = frame(&layout, negative, count, places, unit);
        let text = sent(&layout, &nibbles);
        let shown = Quoted::from_count(i128::from(count), places, Unit::Micrometre);
        let number = shown.map_or_else(|_| String::new(), Quoted::number);
        let unit_text = if unit == 1 { "in" } else { "mm" };
        let sign = if negative && count > 0 { "-" } else { "" };
        if !number.is_empty() {
            prop_assert_eq!(read(&layout, &text), format!("{sign}{number} {unit_text}"));
            // Small letters and blanks at the ends are the same frame.
            let lower = [b" ", &text.to_ascii_lowercase()[..], b"  "].concat();
            prop_assert_eq!(read(&layout, &lower), read(&layout, &text));
        }
        // One digit after the other is exchanged for another one.
        for place in 0..digits + 5 {
            let mut other = nibbles.clone();
            other[place] = wrong;
            let fixed = layout.fixed.iter().find(|(at, _)| *at == place);
            let damage = match fixed {
                Some((_, nibble)) => (*nibble != wrong).then_some(Damage::FixedPart),
                None if place == layout.sign => (![0, 2, 8].contains(&wrong)).then_some(Damage::BadNibble),
                None if place == layout.point => (usize::from(wrong) > digits).then_some(Damage::BadNibble),
                None if layout.digits.contains(&place) => (wrong > 9).then_some(Damage::BadNibble),
                None => (![1, 2].contains(&wrong)).then_some(Damage::UnknownUnit),
            };
            let text = read(&layout, &sent(&layout, &other));
            match damage {
                Some(damage) => prop_assert_eq!(text, format!("damaged: {damage}"), "place {}", place),
                None => prop_assert!(!text.starts_with("damaged"), "{} at {}", text, place),
            }
        }
        // A digit more, one less, and one that is no digit.
        let not = format!("damaged: {}", Damage::NotThePattern);
        let strange = [&text[1..], b"G"].concat();
        for frame in [&text[1..], &[&text[..], b"0"].concat(), &strange] {
            prop_assert_eq!(read(&layout, frame), not.as_str());
        }
    }
}

#[test]
fn a_layout_that_reaches_beyond_its_frame_reads_nothing() {
    let order: Vec<usize> = (0..13).collect();
    let good = layout(&order, 3, false);
    let text = sent(&good, &frame(&good, false, 123, 2, 1));
    assert_eq!(read(&good, &text), "1.23 in");
    let beyond = [
        Packed { sign: 8, ..good.clone() },
        Packed { point: 8, ..good.clone() },
        Packed { digits: vec![5, 6, 8], ..good.clone() },
        Packed { fixed: vec![(8, 0)], ..good.clone() },
        Packed { unit: Some((8, BTreeMap::new())), ..good.clone() },
    ];
    for layout in beyond {
        assert_eq!(read(&layout, &text), format!("damaged: {}", Damage::NotThePattern));
    }
    let bare = Packed { unit: None, ..good };
    assert_eq!(read(&bare, &text), "1.23");
    let with = profile(Content::Packed(bare.clone()));
    assert!(!with.has_unit() && !with.has_channel() && !with.is_counts());
}
