//! Pairs of rings: their difference, its effect on the preload, and lengths at 20 °C. The series are
//! invented; expected figures come from an independent program in exact or float arithmetic, or are worked
//! out beside them.

use std::sync::Arc;

use num_rational::Ratio;

use crate::event::{Command, Event, Frame};
use crate::fact::row::AttemptReason;
use crate::fact::verdict::{Longer, PairFigures, Verdict};
use crate::plan::{
    Arrangement, Check, CheckAt, Entry, MasterUse, Measures, NotStated, Pair, Part, PartKind, Size,
    SizeJudged, steel,
};
use crate::setup::GaugeKind;
use crate::tests::kit::{Kit, face, inch, name};
use judgement::{Known, Limits, Reason, Word};
use quantity::{Figure, Length, Quoted, Unit};

const MINUTE: u64 = 60_000_000;

fn um(text: &str) -> Length {
    Length::parse(text, Unit::Micrometre).unwrap()
}

/// Four touches between two on a master.
fn length(gauge: &str, master: &str) -> Check {
    let size = inch(master).picometres();
    let limit = |off: i64| Length::from_picometres(size + off * 25_400_000);
    Check {
        gauge: Some(name(gauge)),
        positions: 4,
        radii: Vec::new(),
        limits: Some(Limits::Band { min: limit(-1), max: limit(1) }),
        nominal: Some(inch(master)),
        master: MasterUse::Both,
        master_size: Some(inch(master)),
        measures: Measures::from(Size::default()),
        ..face("length")
    }
}

fn at(part: u16) -> CheckAt {
    CheckAt { part, check: 0 }
}

/// The first part minus the second, equal to a tenth, temperatures assumed.
fn pair() -> Pair {
    Pair {
        of: [at(0), at(1)],
        arrangement: Some(Arrangement::BackToBack),
        preload: Some((200.0, um("4"))),
        offsets: None,
        offset_u: Some(um("0")),
        between_c: Ratio::new(1, 5),
        off_20_c: Ratio::from_integer(1),
        expansion: steel(),
        expansion_u: Ratio::new(1, 1_000_000),
        assumed: NotStated::ALL,
    }
}

fn within(limit: &str) -> Limits {
    let max = inch(limit);
    Limits::Band { min: Length::from_picometres(-max.picometres()), max }
}

fn difference(pair: Pair, limits: Limits) -> Check {
    Check {
        gauge: None,
        positions: 0,
        radii: Vec::new(),
        limits: Some(limits),
        master: MasterUse::None,
        measures: Measures::from(pair),
        ..face("match")
    }
}

fn entry(check: &str, unit: &str) -> Check {
    Check {
        gauge: None,
        positions: 0,
        radii: Vec::new(),
        limits: None,
        measures: Measures::from(Entry {
            question: "What does it read?".to_owned(),
            unit: Some(unit.to_owned()).filter(|unit| !unit.is_empty()),
            thermometer: None,
            columns: None,
            u: None,
        }),
        ..face(check)
    }
}

fn part(part: &str, checks: Vec<Check>) -> Part {
    Part { name: name(part), kind: PartKind::Spacer, checks }
}

/// An outer and an inner ring and their difference, with further parts behind.
fn bench(outer: Check, inner: Check, difference: Check, more: Vec<Part>) -> Kit {
    let mut parts = vec![
        part("outer-spacer", vec![outer]),
        part("inner-spacer", vec![inner]),
        part("pair", vec![difference]),
    ];
    parts.extend(more);
    let mut kit = Kit::of(parts, Vec::new());
    let height = kit.setup.gauges.get_mut("height").unwrap();
    height.kind = GaugeKind::Height;
    height.unit = Some(Unit::Millimetre);
    height.resolution = Quoted::parse("0.0001", Unit::Millimetre).unwrap();
    height.uncertainty = Some(um("0.21"));
    kit
}

fn send_mm(kit: &mut Kit, values: &[&str]) {
    for value in values {
        kit.event(&Event::Frame(Frame {
            gauge: name("height"),
            value: Quoted::parse(value, Unit::Millimetre).unwrap(),
            text: (*value).to_owned(),
            repeat: false,
            odd: None,
            low_battery: false,
        }));
    }
}

fn take(kit: &mut Kit, target: &str, values: &[&str]) {
    kit.measure(target).unwrap();
    kit.send(values);
}

const INNER: [&str; 6] = ["1.23450", "1.23450", "1.23452", "1.23451", "1.23449", "1.23450"];

const OUTER: [&str; 6] = ["31.3563", "31.3569", "31.3573", "31.3571", "31.3567", "31.3563"];
/// Four tenths of a micrometre more.
const LONGER: [&str; 6] = ["31.3563", "31.3573", "31.3577", "31.3575", "31.3571", "31.3563"];

/// The pair in two units, up to the difference.
fn two_units(pair: Pair) -> Kit {
    two_units_of(pair, &OUTER)
}

fn two_units_of(pair: Pair, outer: &[&str]) -> Kit {
    let check = difference(pair, within("0.0001"));
    let mut kit = bench(length("height", "1.2345"), length("plate", "1.2345"), check, Vec::new());
    take(&mut kit, "inner-spacer/length", &INNER);
    kit.measure("outer-spacer/length").unwrap();
    send_mm(&mut kit, outer);
    kit
}

fn again(kit: &mut Kit, target: &str, reason: AttemptReason) {
    let target = Some(target.to_owned());
    kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap();
}

fn judged(kit: &mut Kit) -> Arc<Verdict> {
    kit.measure("pair/match").unwrap();
    kit.verdict()
}

fn figures(verdict: &Verdict) -> &PairFigures {
    verdict.figures.pair.as_ref().unwrap()
}

fn says(verdict: &Verdict, sentence: &str) -> bool {
    verdict.advice.iter().any(|one| one == sentence)
}

fn speaks_of(verdict: &Verdict, words: &str) -> bool {
    verdict.advice.iter().any(|one| one.contains(words))
}

const BAND: &str = "Preload about 190 to 250 N, rings lying free; nut and fit add to this; an \
                    estimate from F ~ deflection^1.5 with a constant contact angle.";

/// U of the pair in two units, worked out with a pocket calculator in µm²: s² = 0.0232258 of both
/// gauges, four touches and two on the master each: 2·0.0232258·(1/4 + 1/2) = 0.0348386; the rest
/// 0.21² − s² and 0.21336² − s²: 0.0431710; heat (31.357·0.0023)² + 0.031357² = 0.0061847. Their sum
/// 0.0841943, the root 0.290163, twice that.
const EXPANDED: &str = "0.580";

#[test]
fn a_pair_in_two_units_cannot_be_told_apart() {
    let verdict = judged(&mut two_units(pair()));
    assert_eq!(verdict.word, Word::Conforms);
    // Means 31.357 and 31.356427 mm, exactly.
    assert_eq!(verdict.value, Some(Figure::from(um("0.573"))));
    let expanded = Figure::from(verdict.uncertainty.unwrap());
    assert_eq!(expanded.fixed(Unit::Micrometre, 3), EXPANDED);
    let figures = figures(&verdict);
    assert_eq!((figures.longer, figures.required), (Longer::CannotSay, Some(Figure::ZERO)));
    // 200·((8 + 0.573 ∓ 0.580)/8)^1.5 = 199.7 and 244.8 N.
    assert_eq!(figures.preload_n, Some([190.0, 250.0].map(Into::into)));
    assert!(figures.loads_n.is_empty());
    assert_eq!(figures.apart_min, Some(1));
    assert!(verdict.known == Known::Assumed && verdict.reasons.is_empty());
    let expected = [
        "Cannot say which is longer.",
        BAND,
        "Assumed: 0.2 °C between the rings, 1 °C off 20 °C, expansions alike to 1e-6 per °C.",
    ];
    assert_eq!(&verdict.advice[..3], &expected);
    assert!(!speaks_of(&verdict, "horten"), "nothing is ground that conforms");
    let verdict = judged(&mut two_units_of(pair(), &LONGER));
    assert!(says(&verdict, "outer-spacer is longer, barely."), "{:?}", verdict.advice);
}

#[test]
fn the_uncertainty_is_the_whole_budget_to_the_picometre() {
    let verdict = judged(&mut two_units(pair()));
    // 0.21 µm and 0.0000084 in, s 0.000006 in; four touches and two on the master each; 31.357 mm of
    // steel.
    let (height, plate, scatter): (u128, u128, u128) = (210_000, 213_360, 152_400);
    // 4·(s²/4 + s²/2 + u² − s²) of each.
    let readings = 4 * (height * height + plate * plate) - 2 * scatter * scatter;
    // Parts of (L·11.5e-6·0.2)² and (L·1e-6)², times 4·10^12: L·2.3e-6 and L·1e-6.
    let length: u128 = 31_357_000_000;
    let heat = 4 * (length * length * 23 * 23 / 100 + length * length);
    let four_u_squared = readings * 1_000_000_000_000 + heat;
    let found = u128::from(verdict.uncertainty.unwrap().picometres().unsigned_abs());
    assert!(found * found * 1_000_000_000_000 >= four_u_squared, "rounded up");
    assert!((found - 1) * (found - 1) * 1_000_000_000_000 < four_u_squared, "by less than one");
}

#[test]
fn two_tries_count_together_and_the_zero_lies_on_the_line_between_both_masters() {
    let mut kit = two_units(pair());
    // The zero walks by two hundred-thousandths: at the mean of the touches it stands at one.
    again(&mut kit, "inner-spacer/length", AttemptReason::Again);
    kit.send(&["1.23450", "1.23453", "1.23455", "1.23454", "1.23452", "1.23452"]);
    let length = kit.verdict();
    let verdict = judged(&mut kit);
    // First try 1.234505, second 1.234535 - 0.00001: mean 1.234515 in.
    assert_eq!(figures(&verdict).lengths[1], Figure::from(inch("1.234515")));
    assert_eq!(length.value, Some(figures(&verdict).lengths[1]), "the length says the same");
    // Eight touches and four on the master: s²/8 is below q²/12 = 0.0053763 µm², s²/4 = 0.0058065
    // above; of the walk half of 0.508/2 µm, over √3: 0.0053763. With the rest as above 0.0833334.
    let expanded = Figure::from(verdict.uncertainty.unwrap());
    assert_eq!(expanded.fixed(Unit::Micrometre, 3), "0.577");
}

#[test]
fn the_sign_follows_the_arrangement() {
    for (arrangement, sentence, band) in [
        // 200·((8 + 0.973 ∓ 0.580)/8)^1.5 = 215 and 261 N.
        (Arrangement::BackToBack, "outer-spacer longer in back-to-back: adds preload.", (210, 270)),
        // 200·((8 - 0.973 ∓ 0.580)/8)^1.5 = 145 and 185 N.
        (
            Arrangement::FaceToFace,
            "outer-spacer longer in face-to-face: takes preload off.",
            (140, 190),
        ),
    ] {
        let pair = Pair { arrangement: Some(arrangement), ..pair() };
        let verdict = judged(&mut two_units_of(pair, &LONGER));
        assert!(says(&verdict, sentence), "{:?}", verdict.advice);
        let band = [band.0, band.1].map(|newtons| f64::from(newtons).into());
        assert_eq!(figures(&verdict).preload_n, Some(band));
    }
    let tandem = Pair { arrangement: Some(Arrangement::Tandem), ..pair() };
    let verdict = judged(&mut two_units(tandem));
    assert_eq!(figures(&verdict).preload_n, None);
    let sentence = "Tandem: the lengths change no preload; equal lengths share the load.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    assert!(!speaks_of(&verdict, " N,"));
}

/// Both rings on the plate, no master, each touch as given.
fn plain(difference: Check, outer: &str, inner: &str, more: Vec<Part>) -> Kit {
    let check = |nominal: &str| Check { master: MasterUse::None, ..length("plate", nominal) };
    let mut kit = bench(check("1.0000"), check("1.0000"), difference, more);
    take(&mut kit, "outer-spacer/length", &[outer; 4]);
    take(&mut kit, "inner-spacer/length", &[inner; 4]);
    kit
}

#[test]
fn how_sure_it_is_which_is_longer() {
    // U = 2·√(2·0.1524²/4 + 2·(0.21336² − 0.1524²) + (25.4 mm·2.3e-6)² + (25.4 mm·1e-6)²) = 0.491 µm
    // = 0.0000193 in.
    for (outer, longer, sentence) in [
        ("1.00001", Longer::CannotSay, "Cannot say which is longer."),
        ("1.00002", Longer::Barely, "outer-spacer is longer, barely."),
        ("1.00003", Longer::Barely, "outer-spacer is longer, barely."),
        ("1.00004", Longer::Sure, "outer-spacer is longer."),
        ("0.99996", Longer::Sure, "inner-spacer is longer."),
    ] {
        let check = difference(pair(), within("0.0001"));
        let verdict = judged(&mut plain(check, outer, "1.00000", Vec::new()));
        let expanded = Figure::from(verdict.uncertainty.unwrap());
        assert_eq!(expanded.fixed(Unit::Inch, 7), "0.0000193");
        assert_eq!(figures(&verdict).longer, longer, "{outer}");
        assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    }
}

#[test]
fn a_ring_is_shortened_where_it_is_sure() {
    let mut kit = plain(difference(pair(), within("0.0001")), "1.00015", "1.00000", Vec::new());
    let verdict = judged(&mut kit);
    assert_eq!(verdict.word, Word::DoesNotConform);
    assert!(says(&verdict, "Shorten outer-spacer by 0.00015 ± 0.00002."), "{:?}", verdict.advice);
    let set_up = "Grind both in one set-up to the shorter; never the bearings themselves.";
    assert!(says(&verdict, set_up), "{:?}", verdict.advice);
    // With a required difference of 0.0002 the inner one is too long by half a tenth.
    let mut check = difference(pair(), Limits::Band { min: inch("0.00019"), max: inch("0.00021") });
    check.nominal = Some(inch("0.0002"));
    let verdict = judged(&mut plain(check, "1.00015", "1.00000", Vec::new()));
    assert_eq!(figures(&verdict).required, Some(Figure::from(inch("0.0002"))));
    assert!(says(&verdict, "Shorten inner-spacer by 0.00005 ± 0.00002."), "{:?}", verdict.advice);
    let set_up = "Grind both in one set-up to the shorter, then inner-spacer by 0.0002; never \
                  the bearings themselves.";
    assert!(says(&verdict, set_up), "{:?}", verdict.advice);
    let short = "outer-spacer minus inner-spacer is 0.00005 ± 0.00002 short of the 0.0002 it has to be; \
                 in back-to-back that takes preload off.";
    assert!(says(&verdict, short), "{:?}", verdict.advice);
}

#[test]
fn a_single_limit_is_meant_both_ways() {
    let check = difference(pair(), Limits::Max(inch("0.0001")));
    let verdict = judged(&mut plain(check, "0.99980", "1.00000", Vec::new()));
    assert_eq!(verdict.limits, Some(within("0.0001")));
    assert_eq!(verdict.word, Word::DoesNotConform);
}

fn record(kit: &mut Kit, target: &str, value: &str) {
    kit.ask(Command::Record { target: target.to_owned(), value: value.to_owned() }).unwrap();
}

mod coverage;
mod offsets;
mod sittings;
mod warm;
