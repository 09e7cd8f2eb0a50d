//! What happens beside a proof: at other stations, with other gauges, with what is no touch of it.

use super::{
    ProvingNow, all, ask, begin, command, enter, give_up, kept, newest, press_all, prove, proving,
    standing,
};
use crate::event::{Command, Event, Frame, Request};
use crate::fact::row::{AlertKind, AttemptReason, Source, State};
use crate::plan::Check;
use crate::reply::{Done, Refusal};
use crate::setup::{GaugeKind, StationSetup};
use crate::state::ProofTouch;
use crate::tests::kit::{Kit, face, gauge, inch, name};
use quantity::{Quoted, Unit};

use super::LIFTS;

fn frame(gauge: &str, value: &str) -> Frame {
    Frame {
        gauge: name(gauge),
        value: Quoted::parse(value, Unit::Inch).unwrap(),
        text: value.to_owned(),
        repeat: false,
        odd: None,
        low_battery: false,
    }
}

/// Two stations, each with its own gauge: the face is measured with the height gauge at the second.
fn two_stations() -> Kit {
    let with = |check: &str, gauge: &str| Check { gauge: Some(name(gauge)), ..face(check) };
    let mut kit = Kit::new(vec![with("face", "plate"), with("length", "height")]);
    let station =
        |of: &str, gauge: &str| StationSetup { name: name(of), gauges: vec![name(gauge)] };
    kit.setup.stations = vec![station("bench", "plate"), station("column", "height")];
    kit
}

/// Asks at a station.
fn at(kit: &mut Kit, station: &str, command: Command) -> Result<Done, Refusal> {
    let request = Request { station: Some(station.to_owned()), by: None, login: None, command };
    kit.event(&Event::Request(request)).reply.unwrap()
}

fn prove_at(kit: &mut Kit, station: &str, gauge: &str) -> Result<ProvingNow, Refusal> {
    let gauge = gauge.to_owned();
    let command = Command::Prove { gauge, step: None, blocks: None, step_only: false };
    at(kit, station, command).map(standing)
}

fn measure(target: &str) -> Command {
    Command::Measure { target: target.to_owned(), remark: None }
}

#[test]
fn the_other_station_goes_on_measuring() {
    let mut kit = two_stations();
    at(&mut kit, "column", Command::JobUse { name: "j1".to_owned() }).unwrap();
    at(&mut kit, "column", measure("ring/length")).unwrap();
    prove_at(&mut kit, "bench", "plate").unwrap();
    for reading in &all(LIFTS, 101, 1)[..3] {
        kit.press(reading);
        kit.frame("height", "0.00100", false);
    }
    let placed: Vec<Option<u32>> = kept(&kit, &name("height"))
        .into_iter()
        .map(|(attempt, state, position)| {
            assert_eq!((attempt.is_some(), state), (true, State::Placed));
            position
        })
        .collect();
    assert_eq!(placed, [Some(0), Some(1), Some(2)]);
    let stopped = at(&mut kit, "column", Command::Stop);
    assert!(matches!(stopped, Ok(Done::Stopped { .. })), "only the bench is taken: {stopped:?}");
    assert_eq!(proving(&kit).unwrap().touches.len(), 3);
}

#[test]
fn a_gauge_is_proved_where_it_is() {
    let mut kit = two_stations();
    let refused = prove_at(&mut kit, "column", "plate").unwrap_err();
    assert_eq!(refused.text, "plate does not belong to this station");
    // Nobody has to say where it is.
    begin(&mut kit);
    // Two gauges at two places are proved at the same time, and no lift goes to the other.
    prove_at(&mut kit, "column", "height").unwrap();
    for reading in all(LIFTS, 101, 1) {
        kit.press(&reading);
        kit.frame("height", &reading, false);
    }
    for gauge in ["plate", "height"] {
        let proofs = kit.bench.shop.proofs(&name(gauge));
        assert_eq!(proofs.len(), 1);
        assert!(proofs[0].proved.is_good());
        let its = &proofs[0].proved.readings;
        let readings = kit.readings();
        let own = readings.iter().filter(|(id, _)| its.contains(id));
        assert!(own.clone().all(|(_, reading)| reading.gauge == name(gauge)));
        assert_eq!(own.count(), 12);
    }
}

#[test]
fn no_check_begins_or_goes_on_where_a_gauge_is_proved() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    begin(&mut kit);
    let values = || "0.001".to_owned();
    let commands = [
        measure("ring/face"),
        Command::Stop,
        Command::Next,
        Command::Remeasure { reason: AttemptReason::Again, target: None, remark: None },
        Command::Skip { position: None, why: "chipped".to_owned() },
        Command::Master { gauge: None },
        Command::EnterTotal { value: values(), graduation: None },
        Command::EnterHighLow { high: values(), low: values(), graduation: None },
        Command::Tapped { tapped: 1 },
    ];
    for command in commands {
        let told = format!("{command:?}");
        let before = kit.rows.len();
        let refused = kit.ask(command).unwrap_err();
        assert!(refused.text.starts_with("plate is being proved at bench"), "{told}: {refused:?}");
        let hint = refused.hint.unwrap();
        assert!(hint.contains("tenths prove plate --stop"), "{told}: {hint}");
        assert_eq!(kit.rows.len(), before);
    }
    let again = ask(&mut kit, command(None)).unwrap_err();
    assert!(again.text.contains("already: 0 of 12 touches are taken"), "{again:?}");
    // What is no matter of a check goes on.
    kit.ask(Command::Note { job: "j1".to_owned(), text: "dry".to_owned(), closed: None }).unwrap();
    give_up(&mut kit, None);
    kit.press("0.00100");
    assert_eq!(kept(&kit, &name("plate"))[0].1, State::Placed, "the ring goes on");
}

#[test]
fn another_gauge_of_the_station_is_not_taken_for_the_one_that_is_proved() {
    let mut kit = Kit::new(vec![face("face")]);
    begin(&mut kit);
    kit.press("0.00001");
    kit.frame("height", "0.00500", false);
    assert_eq!(proving(&kit).unwrap().touches.len(), 1);
    assert_eq!(kept(&kit, &name("height")), [(None, State::Unclaimed, None)]);
    // A foot on the pedal takes what the proved gauge shows, and nothing else.
    let before = kit.rows.len();
    let other = ask(&mut kit, Command::Take { frame: Some(frame("height", "0.00500")) });
    let refused = other.unwrap_err();
    assert!(refused.text.contains("height is not being proved"), "{refused:?}");
    assert_eq!(kit.rows.len(), before);
    let now = ask(&mut kit, Command::Take { frame: Some(frame("plate", "0.00002")) }).unwrap();
    assert_eq!((now.readings.len(), now.proving.unwrap().touches.len()), (1, 2));
    assert!(ask(&mut kit, Command::Take { frame: None }).is_err());
}

#[test]
fn what_was_not_meant_as_a_lift_is_kept_and_is_none() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.gauges.get_mut(&name("plate")).unwrap().travel = Some((inch("-0.01"), inch("0.01")));
    begin(&mut kit);
    kit.press("0.00001");
    // The same press twice, a reading at the stop, one in another unit, one that nobody asked for.
    kit.frame("plate", "0.00001", true);
    kit.press("0.00990");
    let odd = Some(gauge_odd());
    kit.event(&Event::Frame(Frame { odd, ..frame("plate", "0.00100") }));
    kit.event(&Event::Unasked(frame("plate", "0.00001")));
    let states: Vec<State> = kit.states();
    let kept = [State::Placed, State::Repeat, State::Suspect, State::Suspect, State::Unclaimed];
    assert_eq!(states, kept);
    assert!(kit.readings().iter().skip(1).all(|(_, reading)| reading.position.is_none()));
    assert_eq!(proving(&kit).unwrap().next(), ProofTouch::Lift(1));
    let near = ask(&mut kit, Command::Take { frame: Some(frame("plate", "0.00990")) });
    assert!(near.unwrap_err().text.contains("plate is near its stop"));
    // A good lift ends what was said of the bad ones.
    assert_eq!(kit.alerts(AlertKind::EndOfTravel).len(), 1);
    kit.press("0.00001");
    assert!(kit.alerts(AlertKind::EndOfTravel).is_empty());
}

fn gauge_odd() -> ::gauge::Odd {
    ::gauge::Odd::Unit { got: Unit::Millimetre, expected: Unit::Inch }
}

#[test]
fn a_dial_is_proved_by_what_the_eye_reads() {
    let mut kit = Kit::new(vec![face("face")]);
    let mut dial = gauge("plate");
    dial.kind = GaugeKind::Dial;
    dial.resolution = Quoted::parse("0.0001", Unit::Inch).unwrap();
    (dial.uncertainty, dial.repeatability) = (None, None);
    kit.setup.gauges.insert(name("plate"), dial);
    ask(&mut kit, command(Some("0.005 in"))).unwrap();
    // Graduations of a tenth, read to half of one.
    let lifts = ["1", "1.5", "1", "1", "1.5", "1", "1", "0.5", "1", "1"];
    let values = lifts.into_iter().chain(["51", "1"]).map(str::to_owned).collect();
    let graduation = Some("0.0001 in".to_owned());
    let now = ask(&mut kit, Command::Enter { values, graduation }).unwrap();
    let proved = now.over.unwrap();
    assert!(proved.is_good(), "{proved:?}");
    // 51 − (10.5/10 + 1)/2 = 49.975 graduations.
    let step = proved.shows.as_ref().unwrap().step;
    assert_eq!(step * 1000, quantity::Figure::from(inch("4.9975")));
    // An eye that knows what it read before reads the same again.
    let dial = &kit.setup.gauges[&name("plate")];
    assert_eq!(kit.bench.known.witnesses(dial), []);
}

#[test]
fn the_pedal_and_the_hand_may_take_turns() {
    let mut kit = Kit::new(vec![face("face")]);
    begin(&mut kit);
    for (nth, reading) in all(LIFTS, 101, 1).iter().enumerate() {
        match nth % 3 {
            0 => kit.press(reading),
            1 => {
                enter(&mut kit, &[reading.as_str()]).unwrap();
            }
            _ => {
                let frame = Some(frame("plate", reading));
                ask(&mut kit, Command::Take { frame }).unwrap();
            }
        }
    }
    assert!(newest(&kit).is_good());
    let keyed = |(_, reading): &&(_, crate::fact::row::Reading)| reading.source == Source::Keyed;
    assert_eq!(kit.readings().iter().filter(keyed).count(), 4);
}

#[test]
fn a_step_longer_than_the_travel_is_refused_before_the_first_lift() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.gauges.get_mut(&name("plate")).unwrap().travel = Some((inch("-0.01"), inch("0.01")));
    for (step, good) in [("0.02", false), ("0.0199", true)] {
        let asked = ask(&mut kit, command(Some(step)));
        assert_eq!(asked.is_ok(), good, "{step}: {asked:?}");
    }
    for (step, said) in [("0", "no step"), ("-0.001", "no step"), ("5 stones", "the step:")] {
        let mut kit = Kit::new(vec![face("face")]);
        let refused = ask(&mut kit, command(Some(step))).unwrap_err();
        assert!(refused.text.contains(said), "{step}: {refused:?}");
        assert!(refused.hint.unwrap().contains("--step"), "{step}");
    }
}

#[test]
fn a_name_that_is_not_a_gauges_is_answered_with_the_nearest() {
    let mut kit = Kit::new(vec![face("face")]);
    let prove = |kit: &mut Kit, gauge: &str| {
        let gauge = gauge.to_owned();
        ask(kit, Command::Prove { gauge, step: None, blocks: None, step_only: false }).unwrap_err()
    };
    assert_eq!(prove(&mut kit, "plat").hint.unwrap(), "did you mean plate?");
    assert_eq!(prove(&mut kit, "micrometer").hint.unwrap(), "there are: height, plate");
}

#[test]
fn a_job_that_is_closed_on_the_way_takes_nothing_from_the_proof() {
    let mut kit = Kit::new(vec![face("face")]);
    begin(&mut kit);
    let readings = all(LIFTS, 101, 1);
    press_all(&mut kit, &readings[..6]);
    let why = Some("customer took it back".to_owned());
    kit.ask(Command::JobClose { name: None, why }).unwrap();
    press_all(&mut kit, &readings[6..]);
    assert!(newest(&kit).is_good());
    // Nothing is open now: the gauge can be proved all the same.
    assert!(prove(&mut kit, &readings).is_good());
}

/// A file of the gauge that is proved waits; once the proof is over it is taken as a whole.
#[test]
fn a_file_of_the_gauge_is_refused_until_the_proof_is_over() {
    let mut kit = Kit::new(vec![face("face")]);
    begin(&mut kit);
    press_all(&mut kit, &all(LIFTS, 101, 1)[..6]);
    let rows: Vec<(Option<u32>, &str)> = (0..8).map(|at| (Some(at), "0.00001")).collect();
    let file = || crate::tests::files::file("face", &rows);
    crate::tests::files::dropped(&mut kit, file());
    assert_eq!(kit.readings().len(), 6, "no row of it is a lift, or a touch");
    let refused = crate::tests::files::refused(&kit);
    assert!(
        refused[0].starts_with("plate is being proved at bench; write the file"),
        "{refused:?}"
    );
    press_all(&mut kit, &all(LIFTS, 101, 1)[6..]);
    assert!(newest(&kit).is_good());
    crate::tests::files::dropped(&mut kit, file());
    assert_eq!((kit.verdicts().len(), kit.verdict().taken), (1, 8));
}
