//! A comma where a point is expected, and keys without a character: never another value.

use super::*;

fn read(pattern: &str, frame: &str) -> Kind {
    let mut out = Vec::new();
    live(decimal(pattern), vec![gauge()]).feed(
        format!("{frame}\r").as_bytes(),
        1_000_000,
        &mut out,
    );
    let [only] = <[Outcome; 1]>::try_from(out).unwrap();
    only.kind
}

fn damage(pattern: &str, frame: &str) -> Damage {
    let Kind::Damaged(why) = read(pattern, frame) else { panic!("{pattern} reads {frame}") };
    why
}

const COMMA: &str = r"(?<sign>[+-]?)(?<whole>[0-9]+),(?<fraction>[0-9]+)";

#[test]
fn a_comma_is_the_point_where_the_profile_says_so() {
    for (pattern, frame) in
        [(COMMA, "-0,00012"), (r"(?<sign>[+-]?)(?<digits>[0-9]+,[0-9]+)", "-0,00012")]
    {
        let Kind::Reading { value, odd: None, .. } = read(pattern, frame) else {
            panic!("{pattern}")
        };
        assert_eq!(value.to_string(), "-0.00012 in");
    }
    for frame in ["0.00012", "1,234,567", "1,234.5", ",5", "5,", "12"] {
        damage(COMMA, frame);
    }
}

#[test]
fn a_whole_number_before_a_comma_is_no_value() {
    // Patterns that take a number wherever they find one: 0,5 is not 0, and 1,250 is not 1.
    for pattern in ["(?<digits>[0-9]+).*", "(?<sign>[+-]?)(?<whole>[0-9]+).*"] {
        for frame in ["0,5", "1,250", "12,"] {
            match frame {
                "12," => assert!(matches!(read(pattern, frame), Kind::Reading { .. })),
                _ => assert_eq!(damage(pattern, frame), Damage::NotThePattern, "{frame}"),
            }
        }
    }
    // Behind a fraction a comma parts what follows, as in a list.
    let list = r"(?<whole>[0-9]+)\.(?<fraction>[0-9]+),[0-9]";
    assert!(matches!(read(list, "0.00012,1"), Kind::Reading { .. }));
}

proptest! {
    /// A key without a character anywhere in a good frame leaves no value, and says what to do.
    #[test]
    fn a_key_without_a_character_damages_its_frame(place in 0_usize..9, frame in "[+-]0[.,]0001[0-9]") {
        let mut bytes = frame.into_bytes();
        bytes.insert(place.min(bytes.len()), NO_CHARACTER);
        let text = String::from_utf8(bytes).unwrap();
        for pattern in [COMMA, r"(?<sign>[+-]?)(?<whole>[0-9]+)\.(?<fraction>[0-9]+)"] {
            prop_assert_eq!(damage(pattern, &text), Damage::NoCharacter);
        }
    }
}
