//! What happens in the demo: an invented shop rebuilds a boring spindle, from the first sweep to
//! the last bar.

use std::io;

use super::stage::Stage;
use wire::GaugeState;

/// Diameters of the taper from a bore gauge's logger, in millimetres; the plan's stations are in
/// inches.
const DIAMETERS: &str = "Job;Part;Check;Pos;Value;Unit\r\n\
    BS-118;spindle;taper;0;44,451;mm\r\n\
    BS-118;spindle;taper;1;51,859;mm\r\n\
    BS-118;spindle;taper;2;59,268;mm\r\n";

/// Plays it from the opening of the job to the proof of its verdicts.
pub(super) fn play(stage: &mut Stage) -> io::Result<()> {
    as_received(stage)?;
    teardown(stage)?;
    a_file_from_a_logger(stage)?;
    the_bearings(stage)?;
    a_face_that_passes(stage)?;
    a_face_that_is_reground(stage)?;
    a_pair_of_spacers(stage)?;
    the_shield(stage)?;
    assembly(stage)?;
    an_unplugged_gauge(stage)?;
    run_in(stage)?;
    final_inspection(stage)?;
    hand_over(stage)?;
    stage.tell("The verdicts of the job, and the proof that each follows from its readings.")?;
    stage.command_on_screen(&["verdicts", "BS-118"])?;
    stage.command(&["verify"])
}

/// Types a command with its arguments on one line.
fn say(stage: &Stage, line: &str) -> io::Result<()> {
    stage.command(&line.split(' ').collect::<Vec<_>>())
}

fn as_received(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "A boring spindle is on the bench, power locked out, turned by hand only. The gauges here \
         are pretended; the service, the record and every answer are real.",
    )?;
    stage.command(&[
        "job",
        "open",
        "BS-118",
        "--plan",
        "rebuild",
        "--serial",
        "7-0442",
        "--customer",
        "Tarn Lane Tools",
        "--complaint",
        "chatter marks above 3000 rpm",
        "--asked",
        "new bearings, runout of the nose within a tenth",
    ])?;
    stage.attach("crate.png", "spindle", "as it came out of the crate")?;
    stage.tell(
        "As it came in: one turn of the nose pilot read at its marks, then a test bar near the \
         nose and 3 in out.",
    )?;
    say(stage, "measure as-received/pilot")?;
    say(
        stage,
        "enter -0.00006 -0.00006 -0.00004 0.00002 0.00009 0.00009 0.00001 -0.00005 -0.00006",
    )?;
    stage.hear("verdict")?;
    say(stage, "measure as-received/bar")?;
    say(
        stage,
        "enter -0.00007 -0.00006 -0.00002 0.00003 0.00007 0.00006 0.00002 -0.00003 \
         -0.00020 -0.00024 -0.00014 0.00004 0.00020 0.00024 0.00014 -0.00004",
    )?;
    stage.hear("verdict")?;
    stage.tell("End float: pushed and pulled three times each, read at rest.")?;
    say(stage, "measure as-received/float")?;
    say(stage, "enter 0.00000 0.00061 0.00001 0.00060 0.00000 0.00061")?;
    stage.hear("verdict")?;
    say(stage, "record as-received/drag 0.9")
}

fn teardown(stage: &Stage) -> io::Result<()> {
    stage.tell("It comes apart: what sat where, which way round, where the marks stood.")?;
    say(stage, "stack found shield --towards-nose lip")?;
    say(stage, "stack found front-pair --towards-nose front --mark 0 --serial F-201")?;
    say(stage, "stack found inner-spacer --towards-nose face-b --mark 90")?;
    say(stage, "stack found outer-spacer")?;
    say(stage, "stack found rear-pair --towards-nose back --mark 180 --serial F-202")?;
    say(stage, "record front-pair/serial F-201")?;
    stage.command(&["decide", "spindle", "kept", "--why", "taper and seats are good"])?;
    stage.command(&["decide", "front-pair", "replaced", "--why", "pitted on the thrust side"])
}

fn a_file_from_a_logger(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "The taper. The bore gauge has no cable; its logger writes files, in millimetres and with \
         a decimal comma.",
    )?;
    stage.drop_file("drop", "taper.csv", DIAMETERS)?;
    stage.hear("verdict")
}

fn the_bearings(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "The new bearings. Bores against a setting ring, the offset of their faces under load, twice, and whether \
         the two are alike; then how the first one sits on its seat.",
    )?;
    for (bearing, bore) in [
        ("front-1", "enter 0.00000 -0.00005 -0.00006 -0.00005 0.00000"),
        ("front-2", "enter 0.00000 -0.00006 -0.00006 -0.00007 0.00001"),
    ] {
        say(stage, &format!("measure {bearing}/bore"))?;
        say(stage, bore)?;
        stage.hear("verdict")?;
        say(stage, &format!("measure {bearing}/offset"))?;
        say(
            stage,
            "enter 0.00000 0.00004 0.00005 0.00004 0.00005 0.00004 0.00005 0.00005 0.00004 0.00000",
        )?;
        stage.hear("verdict")?;
    }
    say(stage, "measure set/bores")?;
    say(stage, "measure set/offsets")?;
    say(stage, "measure spindle/seat")?;
    say(stage, "enter 0.00000 -0.00004 -0.00004 -0.00003 0.00000")?;
    stage.hear("verdict")?;
    say(stage, "measure fits/front")?;
    stage.hear("verdict")?;
    stage.tell("Where the first bearing runs highest: what goes on after it is set opposite.")?;
    say(stage, "stack spot front-1 --high 30 --amount 0.00004in")
}

fn a_face_that_passes(stage: &Stage) -> io::Result<()> {
    stage.tell("The inner spacer: which face is it? Then eight touches, and position 0 again.")?;
    say(stage, "confirm inner-spacer/mark face-a")?;
    stage.hear("verdict")?;
    say(stage, "measure inner-spacer/face-a")?;
    stage.touch(&[
        "+0.00001", "+0.00000", "-0.00002", "-0.00003", "-0.00002", "+0.00000", "+0.00001",
        "+0.00002", "+0.00001",
    ])?;
    stage.hear("verdict")
}

fn a_face_that_is_reground(stage: &Stage) -> io::Result<()> {
    stage.tell("The outer spacer. This one leans.")?;
    say(stage, "measure outer-spacer/face-a")?;
    stage.touch(&[
        "+0.00006", "+0.00013", "+0.00011", "+0.00003", "-0.00006", "-0.00013", "-0.00011",
        "-0.00003", "+0.00007",
    ])?;
    stage.hear("verdict")?;
    stage.tell("Wiped, set back half a turn round: the high and the low spot once more.")?;
    stage.touch(&["+0.00012", "-0.00012"])?;
    stage.hear("half-turn")?;
    stage.tell("So it is ground, cleaned and demagnetised, and measured again.")?;
    stage.command(&["remeasure", "ground", "--remark", "face b down, chuck 2"])?;
    stage.touch(&[
        "-0.00018", "-0.00017", "-0.00017", "-0.00019", "-0.00021", "-0.00022", "-0.00021",
        "-0.00020", "-0.00018",
    ])?;
    stage.hear("verdict")
}

fn a_pair_of_spacers(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "Both lengths in one sitting against one master, once rings and master are as warm as each \
         other: inner, outer, outer, inner.",
    )?;
    say(stage, "record temperature/rings 20.6")?;
    say(stage, "record temperature/master 20.6")?;
    say(stage, "measure inner-spacer/length")?;
    stage.touch(&["+0.00000", "-0.00031", "-0.00032"])?;
    say(stage, "measure outer-spacer/length")?;
    stage.touch(&[
        "+0.00000", "-0.00017", "-0.00018", "-0.00018", "-0.00019", "-0.00017", "+0.00000",
    ])?;
    stage.hear("verdict")?;
    say(stage, "measure inner-spacer/length")?;
    stage.touch(&["-0.00031", "-0.00030", "-0.00031", "+0.00001"])?;
    stage.hear("verdict")?;
    say(stage, "measure spacers/match")?;
    stage.hear("pair")?;
    stage
        .tell("The outer ring is longer than the pair may differ. It is ground, and the pair taken again.")?;
    say(stage, "remeasure ground outer-spacer/length")?;
    stage.touch(&[
        "+0.00000", "-0.00029", "-0.00030", "-0.00030", "-0.00031", "-0.00029", "+0.00000",
    ])?;
    stage.hear("verdict")?;
    say(stage, "measure spacers/match")?;
    stage.hear("pair")?;
    stage.tell(
        "The wheel changed the outer ring, so its face counts no longer. It is measured again: the \
         same metal as the new length.",
    )?;
    say(stage, "measure outer-spacer/face-a")?;
    stage.touch(&[
        "+0.00001", "+0.00001", "+0.00000", "-0.00001", "-0.00002", "-0.00002", "-0.00001",
        "+0.00000", "+0.00001",
    ])?;
    stage.hear("verdict")
}

fn the_shield(stage: &Stage) -> io::Result<()> {
    stage
        .tell("The dirt shield on two circles. A touch slips on the chamfer and is taken back.")?;
    say(stage, "measure shield/flat")?;
    stage.touch(&["+0.00000", "+0.00002", "+0.00003", "+0.00131"])?;
    stage.hear("out-so-far")?;
    stage.command(&["void", "--why", "slipped on the chamfer"])?;
    stage.touch(&[
        "+0.00001", "-0.00002", "-0.00001", "+0.00001", "+0.00001", "+0.00001", "+0.00003",
        "+0.00004", "+0.00001", "-0.00003", "-0.00002", "+0.00001", "+0.00002", "+0.00000",
    ])?;
    stage.hear("verdict")?;
    stage.tell("Its thickness, over the anvil.")?;
    say(stage, "measure shield/thickness")?;
    stage.touch(&[
        "+0.00000", "+0.00004", "+0.00006", "+0.00004", "+0.00000", "-0.00003", "-0.00003",
        "-0.00001", "+0.00001",
    ])?;
    stage.hear("verdict")?;
    stage.tell(
        "Too close to call is no pass: the owner may measure again with a finer gauge, or take it \
         off a little more.",
    )
}

fn assembly(stage: &Stage) -> io::Result<()> {
    stage
        .tell("It goes together. What is the wrong way round is refused before the nut goes on.")?;
    say(stage, "stack built shield --towards-nose lip")?;
    stage.tell(
        "Its thickness is undecided. The owner is asked, and his word stands in the record.",
    )?;
    stage.command(&[
        "stack",
        "built",
        "shield",
        "--towards-nose",
        "lip",
        "--why",
        "the owner takes it as it is, by telephone",
    ])?;
    say(stage, "stack built front-pair --towards-nose front --mark 5 --serial F-201")?;
    say(stage, "stack built inner-spacer --towards-nose face-a --mark 90")?;
    say(stage, "stack built inner-spacer --towards-nose face-b --mark 90")?;
    say(stage, "stack built outer-spacer")?;
    say(stage, "record nut/torque 45")?;
    stage.command(&["confirm", "rear-pair/dots", "high-spot dot"])?;
    stage.hear("verdict")?;
    say(stage, "stack built rear-pair --towards-nose back --mark 0 --serial F-202")?;
    say(stage, "record nut/torque 45")?;
    say(stage, "record nut/slot 7")
}

fn an_unplugged_gauge(stage: &mut Stage) -> io::Result<()> {
    stage.tell("The nut face, turned by hand. Somebody trips over the cable.")?;
    say(stage, "measure nut/face")?;
    stage.touch(&["+0.00002", "+0.00004", "+0.00005", "+0.00003"])?;
    stage.plate.unplug()?;
    stage.hear("gauge-lost")?;
    stage.plate.plug()?;
    let shared: &Stage = stage;
    shared.until("the gauge to come back", || shared.gauge_is(GaugeState::Live))?;
    stage.hear("cleared")?;
    stage.tell("It goes on where it was.")?;
    stage.touch(&["+0.00000", "-0.00003", "-0.00004", "-0.00002"])?;
    stage.hear("verdict")
}

/// Thirty minutes of a logger beside the spindle: 20 °C, and 8 °C more with a time constant of six minutes.
fn temperatures() -> String {
    let mut rows = vec!["Time,Place,C".to_owned()];
    for minute in 0..=30_u32 {
        let warm = 20.0 + 8.0 * (1.0 - (-f64::from(minute) / 6.0).exp());
        rows.push(format!("2027-03-01T10:{minute:02}:00Z,0,{warm:.1}"));
        if minute % 10 == 0 {
            rows.push(format!("2027-03-01T10:{minute:02}:00Z,1,20.0"));
        }
    }
    rows.join("\n") + "\n"
}

fn run_in(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "It runs in, guards on, nobody near, a hand at the stop; each speed is set by a person. A logger held the \
         temperatures of half an hour; here its file comes at once.",
    )?;
    stage.drop_file("warm", "BS-118__run-in__log.csv", &temperatures())?;
    stage.hear("verdict")
}

fn final_inspection(stage: &Stage) -> io::Result<()> {
    stage
        .tell("The last sweep, and the test bar put in four times, a quarter turn on each time.")?;
    say(stage, "measure final/pilot")?;
    say(
        stage,
        "enter 0.00002 0.00002 0.00001 0.00001 -0.00002 -0.00002 -0.00001 -0.00001 0.00002",
    )?;
    stage.hear("verdict")?;
    say(stage, "measure final/nose-face")?;
    say(stage, "enter 0.00002 0.00000 -0.00002 -0.00003 -0.00001 0.00001 0.00001 0.00001")?;
    stage.hear("verdict")?;
    say(stage, "measure final/bar")?;
    for (turned, seating) in [
        "enter 0.00002 0.00002 0.00002 0.00000 -0.00002 -0.00002 -0.00002 0.00000 \
         0.00003 0.00006 0.00006 0.00002 -0.00003 -0.00006 -0.00006 -0.00002",
        "enter 0.00000 0.00002 0.00002 0.00001 0.00000 -0.00002 -0.00002 -0.00001 \
         -0.00001 0.00004 0.00006 0.00005 0.00001 -0.00004 -0.00006 -0.00005",
        "enter 0.00000 0.00001 0.00001 0.00001 0.00000 -0.00001 -0.00001 -0.00001 \
         -0.00001 0.00001 0.00003 0.00003 0.00001 -0.00001 -0.00003 -0.00003",
        "enter 0.00001 0.00001 0.00000 0.00000 -0.00001 -0.00001 0.00000 0.00000 \
         0.00002 0.00003 0.00002 0.00000 -0.00002 -0.00003 -0.00002 0.00000",
    ]
    .into_iter()
    .enumerate()
    {
        if turned > 0 {
            // Taken out, turned, seated: nothing is read before that is said.
            say(stage, "take")?;
        }
        say(stage, seating)?;
    }
    stage.hear("verdict")?;
    say(stage, "measure final/float")?;
    say(stage, "enter 0.00000 0.00021 0.00000 0.00020 0.00001 0.00021")?;
    stage.hear("verdict")?;
    say(stage, "record final/drag 0.6")?;
    say(stage, "record final/vibration 1000=0.4 2000=0.6")
}

fn hand_over(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "Where the job stands, and who signs for it. A check is undecided and the owner took it as it is: that stands \
         beside each signature.",
    )?;
    say(stage, "job show BS-118")?;
    stage.command(&["sign", "BS-118", "measured", "--by", "R. Aldous"])?;
    for (role, by) in [("measured", "R. Aldous"), ("checked", "M. Thorne")] {
        stage.command(&[
            "sign",
            "BS-118",
            role,
            "--by",
            by,
            "--why",
            "shield taken as it is by the owner",
        ])?;
    }
    Ok(())
}
