//! The log of a run-in and its keys, and tables of entries: what must hold whatever was written down.

use super::written::{changed, found, good};
use super::*;
use crate::entry::{Column, Rows};
use crate::run_in::{Course, Live, Log, Noted, Place, STANDS, Speed, SpeedBegan, degrees, minutes};
use crate::{Entry, RunIn};
use judgement::{Reason, Word};
use proptest::prelude::*;
use quantity::Other;

const MINUTE: u64 = 60_000;

fn celsius(tenths: i64) -> Length {
    Length::from_picometres(tenths * 100_000_000)
}

/// One step of ten minutes; front and rear are watched.
fn run_in() -> Course {
    let place = |name: &str| Place { name: name.to_owned(), thermometer: Name::new("probe").ok() };
    Course {
        steps: vec![Speed { rpm: 2000, ms: 10 * MINUTE }],
        places: vec![place("front"), place("rear"), place("room")],
        max: None,
        rate: Some(celsius(20)),
        steady: None,
        ceiling: celsius(1200),
        gap_ms: Some(2 * MINUTE),
        frozen_ms: 10 * MINUTE,
        u: Some(celsius(3)),
    }
}

/// A log of ten minutes with these readings: place, seconds, tenths of a degree.
fn log(readings: &[(u16, u64, i64)]) -> Log {
    let speed = |step, after_ms| SpeedBegan { step, after_ms };
    let mut log = Log { speeds: vec![speed(0, 0), speed(STANDS, 10 * MINUTE)], ..Log::default() };
    for (place, seconds, tenths) in readings {
        log.add(Noted { place: *place, after_ms: seconds * 1000, value: celsius(*tenths) });
    }
    log
}

fn judge(run_in: &Course, log: Log) -> Judged {
    let unit = Unit::Other(Other::CELSIUS);
    let limits = Some(Limits::Max(celsius(150)));
    let check =
        Check { unit, limits, positions: 0, closure: false, ..check(RunIn(run_in.clone())) };
    let room = Room { log: Some(log), ..Room::default() };
    check.measures.judge(&series(&check, &[]), &room)
}

/// Readings of three places, each at a time of its own, so that their order in a log is not free.
fn readings() -> impl Strategy<Value = Vec<(u16, u64, i64)>> {
    proptest::collection::btree_map(0_u64..600, (0_u16..3, 150_i64..400), 1..40)
        .prop_map(|all| all.into_iter().map(|(at, (place, tenths))| (place, at, tenths)).collect())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    /// Keyed in late or early, a log is the same.
    #[test]
    fn a_log_does_not_depend_on_the_order_in_which_it_was_written_down(
        (some, order) in readings().prop_flat_map(|all| {
            (Just(all.clone()), Just(all).prop_shuffle())
        }),
    ) {
        prop_assert_eq!(log(&some), log(&order));
    }

    /// Everything warmer by as much: the same rise, reasons and gaps.
    #[test]
    fn a_rise_does_not_depend_on_where_degrees_are_counted_from(some in readings(), by in -300_i64..300) {
        let warmer: Vec<_> = some.iter().map(|(place, at, tenths)| (*place, *at, tenths + by)).collect();
        let (one, other) = (judge(&run_in(), log(&some)), judge(&run_in(), log(&warmer)));
        prop_assert_eq!((one.value, &one.reasons), (other.value, &other.reasons));
        let [one, other] = [one, other].map(|found| found.figures.run_in.unwrap());
        prop_assert_eq!((one.place, one.after_min, one.gaps), (other.place, other.after_min, other.gaps));
    }

    /// The two places exchanged by name and readings: the same rise at the other name, where one leads.
    #[test]
    fn a_rise_does_not_depend_on_the_order_of_the_places(some in readings()) {
        let mut turned = run_in();
        turned.places.swap(0, 1);
        let other = |place: u16| if place == 2 { 2 } else { 1 - place };
        let exchanged: Vec<_> =
            some.iter().map(|(place, at, tenths)| (other(*place), *at, *tenths)).collect();
        let (one, two) = (judge(&run_in(), log(&some)), judge(&turned, log(&exchanged)));
        prop_assert_eq!((one.value, one.reasons), (two.value, two.reasons));
        let [one, two] = [one.figures, two.figures].map(|figures| figures.run_in.unwrap());
        prop_assert_eq!((one.place, one.after_min, one.room), (two.place, two.after_min, two.room));
    }

    /// By a plain loop over all pairs of a reading and the room before it.
    #[test]
    fn a_rise_is_the_largest_of_all_above_the_room_of_that_moment(some in readings()) {
        let rooms: Vec<_> = some.iter().filter(|one| one.0 == 2).collect();
        let room_at = |at: u64| {
            rooms.iter().rfind(|one| one.1 <= at).or(rooms.first()).map(|one| one.2)
        };
        let rises = some.iter().filter(|one| one.0 < 2).filter_map(|one| Some(one.2 - room_at(one.1)?));
        let expected = rises.max().map(|tenths| Figure::from(celsius(tenths)));
        prop_assert_eq!(judge(&run_in(), log(&some)).value, expected);
    }
}

#[test]
fn a_gap_is_longer_than_the_plan_allows_and_counts_to_both_ends() {
    let gaps = |readings: &[(u16, u64, i64)]| -> Vec<(String, f64, f64)> {
        let all: Vec<_> = readings.iter().copied().chain([(2, 0, 200)]).collect();
        let found = judge(&run_in(), log(&all)).figures.run_in.unwrap().gaps;
        found.into_iter().map(|gap| (gap.place, gap.from_min.get(), gap.minutes.get())).collect()
    };
    let both = |seconds: &[u64]| -> Vec<(u16, u64, i64)> {
        seconds.iter().flat_map(|at| [(0, *at, 210), (1, *at, 210)]).collect()
    };
    assert!(gaps(&both(&[120, 240, 360, 480])).is_empty(), "two minutes are none, nor at the ends");
    let front = |from, long| ("front".to_owned(), from, long);
    let rear = |from, long| ("rear".to_owned(), from, long);
    // A second later: 121 s before the first, and 119 behind the last.
    assert_eq!(gaps(&both(&[121, 241, 361, 481])), [front(0.0, 2.017), rear(0.0, 2.017)]);
    assert_eq!(gaps(&both(&[119, 239, 359, 479])), [front(7.983, 2.017), rear(7.983, 2.017)]);
    // Nothing of the rear at all; what comes after the end fills none.
    let mut one: Vec<_> = both(&[120, 240, 360, 480]);
    one.retain(|(place, ..)| *place == 0);
    one.push((1, 700, 210));
    assert_eq!(gaps(&one), [rear(0.0, 10.0)]);
    // Twice at the same second is no gap of nothing.
    assert!(gaps(&both(&[120, 240, 240, 360, 480])).is_empty());
}

#[test]
fn while_it_is_under_way_it_has_neither_gaps_nor_an_end() {
    let mut running = log(&[(0, 0, 200)]);
    running.speeds.pop();
    assert_eq!(running.ended(), None);
    let live = |now_ms| running.live(&run_in(), now_ms);
    let of = |ran_ms| Some(Live { step: 0, ran_ms, of_ms: 10 * MINUTE });
    assert_eq!((live(0), live(90_000), live(u64::MAX)), (of(0), of(90_000), of(u64::MAX)));
    assert_eq!(running.ran(0), Some((0, 0)), "up to the newest word");
    assert!(judge(&run_in(), running).figures.run_in.unwrap().gaps.is_empty());
    let over = log(&[(0, 0, 200)]);
    assert_eq!((over.ended(), over.live(&run_in(), 0)), (Some(10 * MINUTE), None));
    assert_eq!((over.ran(0), over.ran(1)), (Some((0, 10 * MINUTE)), None));
}

/// A person is no clock: a second, one part in fifty, and of a short step no more than a quarter.
#[test]
fn a_step_may_be_as_much_shorter_as_a_hand_is_late() {
    for (asked_ms, least_ms) in
        [(600_000, 588_000), (50_000, 49_000), (20_000, 19_000), (2_000, 1_500), (4, 3)]
    {
        let run_in = Course {
            steps: vec![Speed { rpm: 1, ms: asked_ms }],
            gap_ms: Some(MINUTE * 60),
            ..run_in()
        };
        let short = |ran_ms: u64| {
            let mut log = log(&[(0, 0, 200), (1, 0, 200), (2, 0, 200)]);
            log.speeds[1].after_ms = ran_ms;
            judge(&run_in, log).reasons.contains(&Reason::CutShort)
        };
        assert!(!short(least_ms) && short(least_ms - 1), "{asked_ms}");
    }
}

#[test]
fn minutes_and_degrees_are_told_as_people_say_them() {
    for (ms, told) in [
        (0, "0 s"),
        (499, "0 s"),
        (500, "1 s"),
        (59_499, "59 s"),
        (59_500, "1 min"),
        (90_000, "1.5 min"),
        (597_000, "10 min"),
        (599_999, "10 min"),
        (6_000_000, "100 min"),
        (604_800_000, "10080 min"),
    ] {
        assert_eq!(minutes(ms), told, "{ms}");
    }
    for (tenths, told) in [(0, "0 °C"), (-5, "-0.5 °C"), (314, "31.4 °C"), (1200, "120 °C")] {
        assert_eq!(degrees(celsius(tenths)), told);
    }
}

const RUN_IN: &str = "name = \"run-in\"\nsteps = [{ speed = 1000, minutes = 20 }]\n\
                      places = [{ name = \"front\", thermometer = \"probe\" }]\nmax_rise = \"25 C\"\n";

#[test]
fn the_keys_of_a_run_in_are_read_with_what_they_mean() {
    let text = format!(
        "{RUN_IN}max = \"60 C\"\nmax_rate = 2\nuncertainty = \"0.3 C\"\ngap = 0.5\nfrozen = 2.5\n\
         ceiling = \"90 C\"\nroom_thermometer = \"air\"\nsteady = {{ change = \"0.5 C\", minutes = 15 }}\n"
    );
    let check = good("run-in", &text);
    assert_eq!(check.limits, Some(Limits::Max(celsius(250))));
    let RunIn(own) = check.measures.told();
    assert_eq!(own.steps, [Speed { rpm: 1000, ms: 20 * MINUTE }]);
    assert_eq!((own.room(), own.place(0), own.place(1), own.place(2)), (1, "front", "room", ""));
    assert_eq!(own.places[1].thermometer, Name::new("air").ok());
    assert_eq!(
        (own.max, own.rate, own.u),
        (Some(celsius(600)), Some(celsius(20)), Some(celsius(3)))
    );
    assert_eq!((own.gap_of(0), own.frozen_ms, own.ceiling), (30_000, 150_000, celsius(900)));
    assert_eq!(own.kept_every(0), 15_000, "twice in a gap");
    assert_eq!(own.steady, Some((celsius(5), 15 * MINUTE)));
    let RunIn(plain) = good("run-in", RUN_IN).measures.told();
    assert_eq!((plain.gap_of(0), plain.gap_of(1)), (2 * MINUTE, 15 * MINUTE), "sent, and keyed in");
    assert_eq!((plain.frozen_ms, plain.ceiling), (10 * MINUTE, celsius(1200)));
}

#[test]
fn what_cannot_be_meant_in_a_run_in_is_said_with_its_key() {
    for (key, said) in [
        ("steps", "steps is missing"),
        ("places", "places is missing"),
        ("max_rise", "max_rise is missing"),
        ("steps = []", "steps should be 1 to 20"),
        ("places = []", "places should be 1 to 20"),
        ("steps = [{ speed = -1000, minutes = 20 }]", "speed"),
        ("steps = [{ speed = 0, minutes = 20 }]", "speed"),
        ("steps = [{ speed = 1000, minutes = 0 }]", "minutes is no number of minutes above zero"),
        ("steps = [{ speed = 1000, minutes = -3 }]", "minutes is no number of minutes above zero"),
        ("steps = [{ speed = 1000, minutes = 0.00001 }]", "minutes is no number of minutes above"),
        ("steps = [{ speed = 1000, minutes = 10081 }]", "above zero, a week at most"),
        ("steps = [{ speed = 1000, minutes = 1e13 }]", "above zero, a week at most"),
        ("steps = [{ speed = 1000, minutes = 1e300 }]", "is not a decimal number"),
        ("steps = [{ speed = 1000, minutes = nan }]", "minutes"),
        ("steps = [{ speed = 1000, minutes = inf }]", "minutes"),
        ("steps = [{ speed = 1000 }]", "minutes is missing"),
        ("places = [{ name = \"room\" }]", "there is a place room already"),
        ("places = [{ name = \"a\" }, { name = \"a\" }]", "there is a place a already"),
        ("max_rise = \"25 mm\"", "\"25 mm\" is not in C"),
        ("max_rise = \"warm\"", "is not in C"),
        ("max_rise = \"-25 C\"", "max_rise is not above zero"),
        ("max_rise = 0", "max_rise is not above zero"),
        ("max = \"0 C\"", "max is not above zero"),
        ("max_rate = \"-2 C\"", "max_rate is not above zero"),
        ("uncertainty = \"0 C\"", "uncertainty is not above zero"),
        ("max = \"120 C\"", "max is not below the ceiling"),
        ("gap = 0", "gap is no number of minutes above zero"),
        ("frozen = -1", "frozen is no number of minutes above zero"),
        ("steady = { change = \"0.5 C\" }", "minutes is missing"),
        ("steady = { change = \"-0.5 C\", minutes = 15 }", "change is not above zero"),
    ] {
        found("run-in", &changed(RUN_IN, &[key]), said);
    }
}

const ENTRY: &str = "question = \"Vibration?\"\ncolumns = [\"speed rpm\", \"vibration mm/s\"]\n\
                     max = \"1.8 mm/s\"\nuncertainty = \"0.1 mm/s\"\n";

fn columns() -> [Column; 2] {
    good("entry", ENTRY).measures.told::<Entry>().columns.unwrap()
}

/// The verdict of a table of three rows, in whatever order: the worst is told, each has its own word.
#[test]
fn the_worst_row_of_a_table_leads_in_whatever_order_they_are() {
    let check = good("entry", ENTRY);
    let mut rows = ["500 rpm = 0.4 mm/s", "1000 rpm = 1.7 mm/s", "2000 rpm = 1.2 mm/s"];
    for _ in 0..3 {
        rows.rotate_left(1);
        let room = Room { written: Some(rows.join(", ")), ..Room::default() };
        let found = check.measures.judge(&series(&check, &[]), &room);
        assert_eq!(found.value, Some(Figure::from(Length::parse("1.7", check.unit).unwrap())));
        says(&found, "The worst row is at 1000 rpm.");
        // U is 0.2: within 1.6 conforms, 1.7 is nearer to the limit than that.
        let words: Vec<(String, Option<Word>)> =
            found.figures.rows.into_iter().map(|row| (row.at, row.verdict)).collect();
        for (at, word) in words {
            let expected = if at == "1000 rpm" { Word::Undecided } else { Word::Conforms };
            assert_eq!(word, Some(expected), "{at}");
        }
    }
}

#[test]
fn what_is_no_table_is_refused_with_the_row_that_is_wrong() {
    for (text, said) in [
        ("", "there is no row in it"),
        (" , ;", "there is no row in it"),
        ("1000", "\"1000\" is no row: it has no \"=\""),
        ("1000=", "\"\" is no number in mm/s"),
        ("=0.4", "\"\" is no number in rpm"),
        ("1000=NaN", "\"NaN\" is no number in mm/s"),
        ("1000=0.4 1000.0=0.5", "1000.0 rpm is there twice"),
        ("1000=0.4 +1000=0.5", "+1000 rpm is there twice"),
        ("1000=0.4=0.5", "is not in mm/s"),
        ("1000=0.4in", "\"0.4in\" is not in mm/s"),
        ("1000mm=0.4", "\"1000mm\" is not in rpm"),
        ("1000=1234567890123456", "is no number in mm/s"),
        ("1000=-", "\"-\" is no number in mm/s"),
        ("1000=1.2.3", "\"1.2.3\" is no number in mm/s"),
    ] {
        let error = Rows::typed(text, &columns()).unwrap_err();
        assert!(error.contains(said), "{text:?}: {error}");
    }
    let many = |count: u32| {
        let rows: Vec<String> = (1..=count).map(|at| format!("{at}=1")).collect();
        rows.join(" ")
    };
    assert_eq!(Rows::typed(&many(40), &columns()).unwrap().0.len(), 40);
    let error = Rows::typed(&many(41), &columns()).unwrap_err();
    assert_eq!(error, "these are 41 rows, and 40 are the most");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    /// What is typed, with units or without, apart or together, is stored as the same rows and read back.
    #[test]
    fn a_table_is_read_back_as_it_was_typed(
        rows in proptest::collection::btree_map(0_u32..9_000, -500_i32..500, 1..20),
        style in 0_usize..4,
    ) {
        let value = |hundredths: i32| format!("{:.2}", f64::from(hundredths) / 100.0);
        let one = |(at, hundredths): (&u32, &i32)| {
            let value = value(*hundredths);
            [format!("{at}={value}"), format!("{at}rpm={value}mm/s"),
             format!("{at} rpm = {value} mm/s"), format!("{at}= {value};")][style].clone()
        };
        let text = rows.iter().map(one).collect::<Vec<_>>().join(" ");
        let typed = Rows::typed(&text, &columns()).unwrap();
        let expected: Vec<(String, String)> =
            rows.iter().map(|(at, hundredths)| (at.to_string(), value(*hundredths))).collect();
        prop_assert_eq!(&typed.0, &expected);
        prop_assert_eq!(Rows::stored(&typed.text(&columns())), typed);
    }

    /// No text of a person stops the reader.
    #[test]
    fn any_text_is_a_table_or_a_sentence(text in "[0-9a-z =.,;+\\-eµ°\u{0}\u{1b}]{0,60}") {
        if let Err(said) = Rows::typed(&text, &columns()) {
            prop_assert!(!said.is_empty());
        }
        prop_assert!(Rows::stored(&text).0.len() <= text.len());
    }
}
