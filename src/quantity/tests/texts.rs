//! Names, words, times, and names that are close to a mistyped one.

use super::*;

#[test]
fn a_name_is_as_long_as_it_may_be_and_no_longer() {
    for length in [1, 63, 64] {
        let text = "é".repeat(length);
        assert_eq!(Name::new(&text).map(|name| name.to_string()), Ok(text));
    }
    assert_eq!(Name::new(&"é".repeat(65)), Err(NameError::TooLong));
    assert_eq!(Name::new(""), Err(NameError::Empty));
}

#[test]
fn a_name_holds_nothing_that_steers_reorders_or_hides() {
    // Unicode's controls of direction (Bidi_Control), its separators of lines and paragraphs, and what
    // has no width (Default_Ignorable_Code_Point of the block General Punctuation).
    let bidi = ['\u{61c}', '\u{200e}', '\u{200f}'];
    let ranges = ('\u{200b}'..='\u{200d}')
        .chain('\u{2028}'..='\u{202e}')
        .chain('\u{2060}'..='\u{2064}')
        .chain('\u{2066}'..='\u{2069}');
    let controls = ('\0'..='\u{1f}').chain('\u{7f}'..='\u{9f}');
    for letter in bidi.into_iter().chain(ranges).chain(controls).chain(['/', '\u{feff}']) {
        let text = format!("a{letter}b");
        assert_eq!(Name::new(&text), Err(NameError::Forbidden), "{text:?}");
    }
    for blank in [' ', '\u{a0}', '\u{2003}', '\u{3000}'] {
        for text in [format!("{blank}a"), format!("a{blank}")] {
            assert_eq!(Name::new(&text), Err(NameError::Forbidden), "{text:?}");
        }
        assert!(Name::new(&format!("a{blank}b")).is_ok(), "{blank:?} inside");
    }
    for text in ["a", "inner spacer", "Spindel-7 \u{d8}40", "\u{5d0}\u{5d1}", "-", "."] {
        assert!(Name::new(text).is_ok(), "{text}");
    }
}

#[test]
fn a_stored_name_is_checked_again() {
    let name = Name::new("face-a").unwrap();
    let stored = serde_json::to_string(&name).unwrap();
    assert_eq!(stored, "\"face-a\"");
    assert_eq!(serde_json::from_str::<Name>(&stored).unwrap(), name);
    for (bad, why) in [
        ("\"a/b\"", "a name may hold no slash, no control character and no blank at an end"),
        ("\"\"", "a name may not be empty"),
    ] {
        assert_eq!(serde_json::from_str::<Name>(bad).unwrap_err().to_string(), why);
    }
    assert_eq!(std::borrow::Borrow::<str>::borrow(&name), name.as_str());
}

#[expect(unreachable_pub, reason = "a choice is described for other rooms")]
mod choice {
    crate::worded! {
        /// A choice for this test.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
        pub enum Way {
            /// There.
            Out = "out",
            /// And
            /// back.
            #[default]
            OutAndBack = "out-and-back",
        }
    }
}

use choice::Way;

#[test]
fn a_choice_has_one_word_each_way() {
    assert_eq!(Way::ALL, [Way::Out, Way::OutAndBack]);
    assert_eq!(Way::WORDS, [("out", " There."), ("out-and-back", " And back.")]);
    for way in Way::ALL {
        assert_eq!(Way::parse(way.text()), Some(way));
        let stored = serde_json::to_string(&way).unwrap();
        assert_eq!(stored, format!("\"{}\"", way.text()));
        assert_eq!(serde_json::from_str::<Way>(&stored).unwrap(), way);
    }
    assert_eq!(Way::default(), Way::OutAndBack);
    for other in ["", "Out", "out ", "back"] {
        assert_eq!(Way::parse(other), None, "{other:?}");
    }
    let told = serde_json::from_str::<Way>("\"in\"").unwrap_err().to_string();
    assert!(told.starts_with("unknown variant `in`, expected `out` or `out-and-back`"), "{told}");
    // A word with an escape in it is read from an owned text.
    assert_eq!(serde_json::from_str::<Way>("\"o\\u0075t\"").unwrap(), Way::Out);
    assert!(serde_json::from_str::<Way>("7").is_err());
}

proptest! {
    #[test]
    fn a_time_is_printed_to_the_millisecond_below_and_reads_as_that(
        micros in 0_i64..4_000_000_000_000_000,
    ) {
        let text = Wall::from_micros(micros).to_string();
        prop_assert_eq!(text.len(), "2027-03-01T12:30:00.250Z".len());
        let again = Wall::parse(&text).unwrap();
        prop_assert_eq!(again.micros(), micros - micros % 1000, "{}", text);
        let sentence = Wall::from_micros(micros).to_the_second();
        prop_assert_eq!(sentence.replace(' ', "T") + &text[19..], text);
    }
}

#[test]
fn a_time_needs_its_offset_and_a_date_is_its_first_moment() {
    let read = |text: &str| Wall::parse(text).map(Wall::micros);
    // Seconds as `date -u -d @1804043415` has them.
    let expected = Ok(1_804_043_415_000_000);
    for text in [
        "2027-03-03T03:10:15Z",
        " 2027-03-03T03:10:15.000000Z ",
        "2027-03-03T05:10:15+02:00",
        "2027-03-02T22:10:15-05:00",
        "2027-03-03 03:10:15Z",
    ] {
        assert_eq!(read(text), expected, "{text}");
    }
    assert_eq!(read("1970-01-02"), Ok(86_400_000_000));
    assert_eq!(read("1969-12-31"), Ok(-86_400_000_000));
    for text in
        ["", "2027-03-03T03:10:15", "2027-02-29", "20270301", "2027-3-1", "2027-03-01T", "12:00"]
    {
        assert_eq!(Wall::parse(text), Err(WallError(text.to_owned())), "{text}");
    }
    let told = WallError("soon".to_owned()).to_string();
    assert_eq!(told, "\"soon\" is not a time; write it as 2027-03-01T14:30:00Z or 2027-03-01");
    assert_eq!(Wall::from_micros(i64::MAX).to_string(), "0000-01-01T00:00:00.000Z");
}

#[test]
fn a_moment_before_by_both_clocks() {
    let now = Stamp { wall: Wall::from_micros(5_000_000), mono_us: 900_000 };
    let before = now.back_at(150_000);
    assert_eq!((before.wall.micros(), before.mono_us), (4_250_000, 150_000));
    assert_eq!(now.back_at(900_000), now);
    // A moment that is not before: the wall clock is not turned on.
    assert_eq!(now.back_at(2_000_000).wall, now.wall);
    let least = Stamp { wall: Wall::from_micros(i64::MIN), mono_us: u64::MAX };
    assert_eq!(least.back_at(0).wall.micros(), i64::MIN);
}

#[test]
fn bytes_are_two_digits_each() {
    let all: Vec<u8> = (0..=255).collect();
    let text = hexadecimal(&all);
    assert_eq!((text.len(), &text[..8], &text[504..]), (512, "00010203", "fcfdfeff"));
    for (byte, pair) in all.iter().zip(text.as_bytes().chunks(2)) {
        let pair = std::str::from_utf8(pair).unwrap();
        assert_eq!(u8::from_str_radix(pair, 16), Ok(*byte));
    }
    assert_eq!(hexadecimal(&[]), "");
}

/// All texts one letter away from a word: one dropped, changed, or put in.
fn one_slip(word: &str) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    let mut slips = Vec::new();
    for at in 0..=letters.len() {
        let (head, tail) = letters.split_at(at);
        let join = |middle: &str, tail: &[char]| {
            head.iter().chain(&middle.chars().collect::<Vec<_>>()).chain(tail).collect::<String>()
        };
        slips.push(join("q", tail));
        if let [_, rest @ ..] = tail {
            slips.push(join("", rest));
            slips.push(join("q", rest));
        }
    }
    slips
}

#[test]
fn every_slip_of_one_letter_is_offered_back() {
    let known = ["flatness", "runout", "face-a", "G2"].map(str::to_owned);
    for word in &known {
        for slip in one_slip(word) {
            let near = near::names(&slip.to_uppercase(), known.clone());
            // Of two letters one slip leaves nothing to go by but the other.
            assert!(near.contains(word), "{slip:?} for {word:?}: {near:?}");
        }
    }
}

#[test]
fn the_closest_come_first_and_three_at_most() {
    let known = ["face-c", "face-b", "face-a", "faces", "fence-a"].map(str::to_owned);
    assert_eq!(near::names("face-a", known.clone()), ["face-a", "face-b", "face-c"]);
    assert_eq!(near::names("face", known.clone()), ["faces", "face-a", "face-b"]);
    // A part of a long word is offered however much of it is missing; one letter is no part.
    let long = ["inner-spacer-of-the-front-bearing".to_owned()];
    assert_eq!(near::names("of", long.clone()), long);
    assert!(near::names("o", long.clone()).is_empty());
    assert!(near::names("", long).is_empty());
    // A quarter of the letters may be wrong, and one more.
    assert_eq!(near::names("abcdefgh", ["abcdexxx".to_owned()]), ["abcdexxx"]);
    assert!(near::names("abcdefgh", ["abcdxxxx".to_owned()]).is_empty());
    let hundred = "y".repeat(100);
    assert_eq!(near::names(&hundred, [hundred.clone()]), [hundred.as_str()]);
    assert!(near::names("wheel", [format!("wheal{hundred}")]).is_empty());
}
