use proptest::prelude::*;

use super::*;
use config::parse_profile;
use quantity::Quoted;

fn tag() -> impl Strategy<Value = JobTag> {
    (0_u64..1 << 40).prop_map(JobTag)
}

fn at() -> impl Strategy<Value = CheckAt> {
    (any::<u16>(), any::<u16>()).prop_map(|(part, check)| CheckAt { part, check })
}

fn code() -> impl Strategy<Value = Code> {
    let stage = prop_oneof![Just(Stage::Found), Just(Stage::Built)];
    prop_oneof![
        tag().prop_map(Code::Job),
        (tag(), at()).prop_map(|(job, at)| Code::Check { job, at }),
        proptest::sample::select(&Action::ALL[..]).prop_map(Code::Action),
        proptest::sample::select(&Blocked::ALL[..]).prop_map(Code::Skip),
        (tag(), at(), any::<u8>()).prop_map(|(job, at, answer)| Code::Answer { job, at, answer }),
        (-STRIP..=STRIP).prop_map(Code::Value),
        (0_u64..1 << 40).prop_map(|bits| Code::Person(PersonTag(bits))),
        (tag(), stage, any::<u16>(), proptest::option::of(any::<u8>()))
            .prop_map(|(job, stage, place, way)| Code::Stack { job, stage, place, way }),
    ]
}

proptest! {
    #[test]
    fn what_is_printed_is_read_back(code in code()) {
        let text = code.to_string();
        prop_assert_eq!(Code::parse(&text), Ok(code));
        // The alphanumeric mode of ISO/IEC 18004, so that the printed code is small.
        prop_assert!(text.bytes().all(|byte| b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:".contains(&byte)));
        prop_assert!(text.len() <= 32, "{}", text);
    }

    #[test]
    fn one_changed_character_is_refused(code in code(), place in 0_usize..32, by in 33_u8..127) {
        let mut bytes = code.to_string().into_bytes();
        let place = place % bytes.len();
        prop_assume!(bytes[place] != by);
        bytes[place] = by;
        prop_assert!(Code::parse(std::str::from_utf8(&bytes).unwrap()).is_err());
    }

    #[test]
    fn two_neighbours_that_changed_places_are_refused(code in code(), place in 0_usize..32) {
        let mut bytes = code.to_string().into_bytes();
        let place = place % (bytes.len() - 1);
        prop_assume!(bytes[place] != bytes[place + 1]);
        bytes.swap(place, place + 1);
        prop_assert!(Code::parse(std::str::from_utf8(&bytes).unwrap()).is_err());
    }

    #[test]
    fn any_text_is_looked_at(text in "\\PC{0,80}") {
        if let Ok(code) = Code::parse(&text) {
            prop_assert_eq!(code.to_string(), text);
        }
    }

    #[test]
    fn a_number_with_or_without_a_unit_is_no_code(
        text in "[+\\- ]?[0-9]{1,6}(\\.[0-9]{1,6})?( ?(in|mm|um|IN|\"))?( ?LB)?",
    ) {
        prop_assert_eq!(Code::parse(&text), Err(CodeError::Foreign));
    }

    #[test]
    fn no_profile_takes_a_code_for_a_value(code in code()) {
        let text = code.to_string();
        for profile in PROFILES.iter() {
            let read = profile.describe(text.as_bytes());
            prop_assert!(read.starts_with("damaged"), "{}: {} reads {}", profile.name, text, read);
        }
        prop_assert!(Quoted::parse_with_unit(&text, Some(quantity::Unit::Inch)).is_err());
    }
}

static PROFILES: std::sync::LazyLock<Vec<gauge::Profile>> = std::sync::LazyLock::new(profiles);

/// The profiles that come with the program.
fn profiles() -> Vec<gauge::Profile> {
    let folder =
        std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("config/profiles");
    let files = folder.read_dir().unwrap().map(|entry| entry.unwrap().path());
    let read = |path: std::path::PathBuf| {
        let text = std::fs::read_to_string(&path).unwrap();
        parse_profile(&text, path.to_str().unwrap()).unwrap()
    };
    let profiles: Vec<_> = files.map(read).collect();
    assert!(profiles.len() >= 5);
    profiles
}

#[test]
fn no_frame_of_a_profile_is_a_code() {
    let folder =
        std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("config/profiles");
    let mut frames = 0;
    for entry in folder.read_dir().unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        let table: toml::Table = text.parse().unwrap();
        for frame in table["examples"].as_table().unwrap().keys() {
            assert_eq!(Code::parse(frame), Err(CodeError::Foreign), "{frame}");
            frames += 1;
        }
    }
    assert!(frames > 30, "{frames}");
}

/// Sheets on the wall must stay good: these texts may never change their meaning.
#[test]
fn printed_codes_keep_their_meaning() {
    let job = JobTag::of(&Name::new("J-1042").unwrap());
    let at = CheckAt { part: 3, check: 12 };
    let printed = [
        Code::Job(job),
        Code::Check { job, at },
        Code::Action(Action::Next),
        Code::Skip(Blocked::Etch),
        Code::Answer { job, at, answer: 1 },
        Code::Value(-3),
        Code::Stack { job, stage: Stage::Built, place: 4, way: Some(0) },
        Code::Person(PersonTag::of(&Name::new("Zoë Ångström").unwrap())),
    ]
    .map(|code| code.to_string());
    assert_eq!(printed, PRINTED);
}

const PRINTED: [&str; 8] = [
    "$J-PMJC3P5F-5D",
    "$C-PMJC3P5F-3-12-W4",
    "$A-NEXT-ZB",
    "$S-ETCH-56",
    "$Q-PMJC3P5F-3-12-1-2D",
    "$V-M3-B7",
    "$P-PMJC3P5F-B-4-0-NG",
    "$B-PQCP1T3Z-CT",
];

/// A badge stands for a name, letter for letter, whoever else is there.
#[test]
fn every_name_has_a_badge_of_its_own() {
    let names =
        ["Ada", "ada", "A da", "Zoë", "Zoe", "M. Weber", "M.Weber", "王", "O'Neil", "1", "2"];
    let tags: std::collections::BTreeSet<PersonTag> =
        names.iter().map(|name| PersonTag::of(&Name::new(name).unwrap())).collect();
    assert_eq!(tags.len(), names.len());
    // What a badge stands for is never what a sheet's job stands for.
    let same = Name::new("Ada").unwrap();
    assert_ne!(PersonTag::of(&same).to_string(), JobTag::of(&same).to_string());
}

#[test]
fn what_is_no_code_is_said() {
    for text in ["", "$", "+0.00012", "J-1042", "$A", "ISP-2024/7", " $A-NEXT", "\u{1b}[2J"] {
        assert!(Code::parse(text).is_err(), "{text:?}");
    }
    let next = Code::Action(Action::Next).to_string();
    assert_eq!(Code::parse(&next.to_lowercase()), Err(CodeError::Damaged));
    assert_eq!(Code::parse(&format!("{next} ")), Err(CodeError::Foreign));
    assert_eq!(Code::parse(&"$".repeat(65)), Err(CodeError::Foreign));
    // Whole, but with words that this version does not know, or spelled another way.
    for body in ["A-DANCE", "V-P11", "V-M0", "V-P03", "C-00000000-01-2", "P-00000000-B-1-2-3"] {
        let text = format!("${body}-{}", check_characters(body));
        assert_eq!(Code::parse(&text), Err(CodeError::Unknown), "{text}");
    }
}
