//! What happens in the demo: an invented shop rebuilds the wheelhead spindle of a grinder.

use std::io;

use super::stage::Stage;

/// Four lengths from a height gauge's logger, in millimetres; the plan's limits are in inches.
const LENGTHS: &str = "Job;Part;Check;Pos;Value;Unit\r\n\
    WH-118;outer-spacer;length;0;38,1012;mm\r\n\
    WH-118;outer-spacer;length;1;38,1009;mm\r\n\
    WH-118;outer-spacer;length;2;38,1011;mm\r\n\
    WH-118;outer-spacer;length;3;38,1012;mm\r\n";

/// Plays it from the opening of the job to the table of verdicts.
pub(super) fn play(stage: &mut Stage) -> io::Result<()> {
    opening(stage)?;
    a_face_that_passes(stage)?;
    a_face_that_is_reground(stage)?;
    too_close_to_call(stage)?;
    an_unplugged_gauge(stage)?;
    a_file_from_a_logger(stage)?;
    stage.tell("The verdicts of the job, and the proof that each follows from its readings.")?;
    stage.command_on_screen(&["verdicts", "WH-118"])?;
    stage.command(&["verify"])
}

fn opening(stage: &Stage) -> io::Result<()> {
    stage.tell(
        "A wheelhead spindle is on the bench, power locked out. Its rings are measured on the \
         surface plate with an indicator that reads 0.00001 in. The gauge here is pretended; the \
         service, the record and every answer are real.",
    )?;
    stage.command(&["job", "open", "WH-118", "--plan", "wheelhead", "--serial", "7-0442"])
}

fn a_face_that_passes(stage: &Stage) -> io::Result<()> {
    stage.tell("The inner spacer: eight touches round the ring, then position 0 again.")?;
    stage.command(&["measure", "inner-spacer/face-a"])?;
    stage.touch(&[
        "+0.00001", "+0.00000", "-0.00002", "-0.00003", "-0.00002", "+0.00000", "+0.00001",
        "+0.00002", "+0.00001",
    ])?;
    stage.hear("verdict")
}

fn a_face_that_is_reground(stage: &Stage) -> io::Result<()> {
    stage.tell("The dirt shield. This one leans.")?;
    stage.command(&["measure", "dirt-shield/face-a"])?;
    stage.touch(&[
        "+0.00006", "+0.00013", "+0.00011", "+0.00003", "-0.00006", "-0.00013", "-0.00011",
        "-0.00003", "+0.00007",
    ])?;
    stage.hear("verdict")?;
    stage.tell("Wiped, set back half a turn round: the high and the low spot once more.")?;
    stage.touch(&["+0.00012", "-0.00012"])?;
    stage.hear("half-turn")?;
    stage.tell("So it is ground, cleaned and demagnetised, and measured again.")?;
    stage.command(&["remeasure", "ground"])?;
    stage.touch(&[
        "+0.00002", "+0.00003", "+0.00003", "+0.00001", "-0.00001", "-0.00002", "-0.00001",
        "+0.00000", "+0.00002",
    ])?;
    stage.hear("verdict")
}

fn too_close_to_call(stage: &Stage) -> io::Result<()> {
    stage.tell("The outer spacer. A touch slips on the chamfer and is taken back.")?;
    stage.command(&["measure", "outer-spacer/face-a"])?;
    stage.touch(&["+0.00000", "+0.00003", "+0.00005", "+0.00131"])?;
    stage.hear("out-so-far")?;
    stage.command(&["void", "--why", "slipped on the chamfer"])?;
    stage.touch(&["+0.00004", "+0.00001", "-0.00002", "-0.00004", "-0.00003", "+0.00001"])?;
    stage.hear("verdict")?;
    stage.tell(
        "Too close to call is no pass: the owner may take it off a little more, or measure again \
         with a finer gauge.",
    )
}

fn an_unplugged_gauge(stage: &mut Stage) -> io::Result<()> {
    stage.tell("The nut face. Somebody trips over the cable.")?;
    stage.command(&["measure", "nut/face"])?;
    stage.touch(&["+0.00002", "+0.00004", "+0.00005", "+0.00003"])?;
    stage.plate.unplug()?;
    stage.hear("gauge-lost")?;
    stage.plate.plug()?;
    let shared: &Stage = stage;
    shared.until("the gauge to come back", || shared.gauge_is("live"))?;
    stage.hear("cleared")?;
    stage.tell("It goes on where it was.")?;
    stage.command(&["measure", "nut/face"])?;
    stage.touch(&["+0.00000", "-0.00003", "-0.00004", "-0.00002", "+0.00002"])?;
    stage.hear("verdict")
}

fn a_file_from_a_logger(stage: &Stage) -> io::Result<()> {
    stage.tell("The height gauge has no cable; its logger writes files, with a decimal comma.")?;
    stage.drop_file("lengths.csv", LENGTHS)?;
    stage.hear("verdict")
}
