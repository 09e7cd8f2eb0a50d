//! A reading that a check cannot use is refused, or stored without counting, with the reason.

use crate::event::Command;
use crate::fact::row::{AlertKind, State};
use crate::plan::Size;
use crate::setup::GaugeSetup;
use crate::tests::kit::{Kit, face, inch, name};
use judgement::Limits;

/// A face under way, with the plate gauge changed as said.
fn with_gauge(change: impl Fn(&mut GaugeSetup)) -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.gauges.entry(name("plate")).and_modify(change);
    kit.measure("ring/face").unwrap();
    kit
}

fn enter(kit: &mut Kit, value: &str, graduation: Option<&str>) -> Result<(), String> {
    let values = vec![value.to_owned()];
    let graduation = graduation.map(str::to_owned);
    let done = kit.ask(Command::Enter { values, graduation });
    done.map(|_| ()).map_err(|refused| refused.text)
}

#[test]
fn a_stylus_near_either_stop_is_no_reading() {
    // A travel of 0.02 in: within a 20th of it, 0.001 in, of either stop.
    let sent = |value: &str| {
        let mut kit = with_gauge(|gauge| gauge.travel = Some((inch("-0.01"), inch("0.01"))));
        kit.send(&[value]);
        (kit.states()[0], kit.alerts(AlertKind::EndOfTravel))
    };
    let near = vec!["plate is near its stop. Re-set it.".to_owned()];
    for value in ["-0.01", "-0.00905", "-0.009", "0.009", "0.00905", "0.01"] {
        assert_eq!(sent(value), (State::Suspect, near.clone()), "{value}");
    }
    for value in ["-0.00899", "0", "0.00899"] {
        assert_eq!(sent(value), (State::Placed, Vec::new()), "{value}");
    }
    for value in ["-0.01001", "0.01001"] {
        let beyond = format!("{value} in is beyond the travel of plate. Not placed.");
        assert_eq!(sent(value), (State::Suspect, vec![beyond]), "{value}");
    }
}

#[test]
fn a_value_keyed_in_the_other_unit_is_refused_save_of_a_dial_that_stands_in() {
    let mut kit = with_gauge(|_| ());
    assert_eq!(
        enter(&mut kit, "0.001 mm", None),
        Err("0.001 mm is in mm, and plate is read in in; nothing was entered".to_owned())
    );
    enter(&mut kit, "1", Some("0.001 mm")).unwrap();
}

#[test]
fn what_is_keyed_goes_in_the_steps_that_the_gauge_or_the_eye_can_tell() {
    let finer = |text: &str| {
        let shown = "finer than plate shows, which goes in steps of 0.00001 in";
        Err(format!("{text} is {shown}; nothing was entered"))
    };
    let mut kit = with_gauge(|_| ());
    assert_eq!(enter(&mut kit, "0.000005", None), finer("0.000005"));
    // A dial of the same graduation is read to a tenth of it.
    enter(&mut kit, "0.5", Some("0.00001 in")).unwrap();
    assert_eq!(enter(&mut kit, "0.5", Some("0.000001 in")), finer("0.5 of 0.000001 in"));
}

#[test]
fn half_a_graduation_is_shown_with_its_half() {
    let mut kit = with_gauge(|_| ());
    enter(&mut kit, "1.5", Some("0.0001 in")).unwrap();
    enter(&mut kit, "2.0", Some("0.0001 in")).unwrap();
    let shown: Vec<_> = kit.readings().iter().map(|(_, one)| one.value.to_string()).collect();
    assert_eq!(shown, ["0.00015 in", "0.0002 in"]);
}

#[test]
fn a_size_off_by_the_ratio_of_inch_and_millimetre_is_told_as_that() {
    // A 1.5 in ring in millimetres taken as inches, and the reverse: 38.1, and 1.5 / 25.4 = 0.05906.
    for value in ["38.1", "0.05906"] {
        let mut check = face("length");
        check.measures = Size::default().into();
        check.limits = Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") });
        let mut kit = Kit::new(vec![check]);
        kit.measure("ring/length").unwrap();
        kit.send(&[value]);
        assert_eq!(kit.states(), [State::Suspect]);
        let mixed = format!("plate sent {value} in: inch and millimetre mixed?");
        assert_eq!(kit.alerts(AlertKind::UnitMixed), [mixed]);
        let refused = enter(&mut kit, value, None).unwrap_err();
        let keyed = format!("{value}: inch and millimetre look mixed; nothing was entered");
        assert_eq!(refused, keyed);
    }
}
