//! What to do about an alert, and about a reason that withholds a verdict: for `tenths explain` and the
//! documentation. The sentence of an alert itself says what is seen; this says what helps.

use judgement::Reason;

use crate::fact::row::AlertKind;

const OF_ALERTS: [(AlertKind, &str); 51] = [
    (
        AlertKind::Out,
        "Look where it is out: mostly tilt, a single place, or all round. Wipe part and plate and measure \
             `again`; if it stays, it is the metal: grind, then `tenths remeasure ground`.",
    ),
    (
        AlertKind::Undecided,
        "Measure `again`: tries at the same metal are combined, and U falls. Stating or proving the gauge \
             lowers it, too. The reason, if there is one, says what withholds it.",
    ),
    (
        AlertKind::OutSoFar,
        "Nothing yet: it comes before the last touch, so that you can stop early.",
    ),
    (
        AlertKind::WildTouch,
        "Lift, wipe, touch that position once more. If it stays, it is the part.",
    ),
    (
        AlertKind::MostlyTilt,
        "Lift the part, wipe it and the plate, set it back half a turn round, and touch the two positions \
             that are named: dirt goes away, a wedge turns with the part.",
    ),
    (
        AlertKind::HalfTurn,
        "It says whether it was dirt or a wedge. Dirt: measure `cleaned`. A wedge: grind it.",
    ),
    (
        AlertKind::NotClosed,
        "Touch position 0, or the master, once more. If it still differs, something moved: tighten stand and \
             stylus, let the part cool, go round again.",
    ),
    (
        AlertKind::Overdue,
        "Have it calibrated and write the new day into `calibration_due`, or use another gauge.",
    ),
    (
        AlertKind::UnitMixed,
        "Set the gauge to the unit that its `unit` in bench.toml says. Nothing of it was taken.",
    ),
    (AlertKind::EndOfTravel, "Set the gauge down so that it reads near the middle of its travel."),
    (
        AlertKind::TooCoarse,
        "Use a gauge whose step is at most a quarter of the limit: with this one a part may fail, never pass.",
    ),
    (
        AlertKind::OwnReturn,
        "The steps of this gauge are too coarse to see its own return. Use a finer one.",
    ),
    (
        AlertKind::GaugeLost,
        "Look at plug and cable; `tenths gauge list` shows the ports and who may open them, `tenths doctor` \
             names the rest. It is taken up again by itself.",
    ),
    (
        AlertKind::DamagedFrames,
        "Compare baud, parity and profile with the gauge: `tenths gauge listen PORT` tries every setting.",
    ),
    (
        AlertKind::Flooding,
        "Free the button, or set the gauge to send only when it is pressed; a stream needs \
             `capture = \"settle\"`.",
    ),
    (AlertKind::BatteryLow, "Change the battery before the next job."),
    (
        AlertKind::FileRefused,
        "Read `FILE.why` beside it: it names every bad line. Correct the file and put it there again.",
    ),
    (AlertKind::FolderLost, "Make the folder again, or mend its name under `[[drop]]`."),
    (
        AlertKind::Unclaimed,
        "A reading came while nothing, or another gauge, was to be measured. It is kept and fills no \
             position: begin the check, and touch again.",
    ),
    (
        AlertKind::StorageFailing,
        "Make room on the disk, or mend it. Nothing is taken until it can be stored; what was \
             acknowledged is there.",
    ),
    (AlertKind::SpaceLow, "Make room on the disk of the state folder."),
    (
        AlertKind::WrongPart,
        "Look whether it is the right part and the right face. If it is, go on.",
    ),
    (
        AlertKind::Warm,
        "Let part and master lie side by side on the plate until they no longer change.",
    ),
    (
        AlertKind::Thermometer,
        "Look at its plug, its probe and its unit; `tenths gauge listen PORT` shows what it sends.",
    ),
    (
        AlertKind::TooWarm,
        "Bring the spindle to rest as your shop does it, and let it cool. Nothing here stops a machine.",
    ),
    (
        AlertKind::RisingFast,
        "Bring the speed down as your shop does it, and look for grease, preload and cooling.",
    ),
    (
        AlertKind::SensorLost,
        "Look at the sensor and its cable; until it is heard, key the value in.",
    ),
    (
        AlertKind::SensorFrozen,
        "Touch the probe with a warm hand: it has to follow. If it does not, use another.",
    ),
    (AlertKind::StepDue, "Go on: `tenths run-in step` once the spindle runs at the next speed."),
    (AlertKind::LogGap, "Go on if the spindle was watched; the verdict says what the gap hides."),
    (
        AlertKind::Pair,
        "It says what the difference does to the preload: grind the longer one, or exchange them.",
    ),
    (AlertKind::Regrind, "Compare what the wheel took with what was wanted, before the next pass."),
    (
        AlertKind::WasGround,
        "If it was ground, say so: `tenths remeasure ground`. If not, look for dirt.",
    ),
    (
        AlertKind::PastFlat,
        "Look whether the ring was turned round. If not, the wheel took more than the tilt.",
    ),
    (
        AlertKind::Stack,
        "Do what it names: the part that comes next, its way, its mark, or a check that is still open.",
    ),
    (AlertKind::Scan, "Scan a code of this job's sheet; a reason in words has to be typed."),
    (
        AlertKind::DeviceLost,
        "Look at the plug of pedal or scanner; `tenths doctor` says who may open it.",
    ),
    (AlertKind::Pedal, "Lift the foot, free the pedal, look at its cable."),
    (
        AlertKind::Foot,
        "It says why the foot came to nothing: hold still, set the stylus down, begin a check.",
    ),
    (AlertKind::StreamStopped, "Switch the gauge on again, or look at its battery and cable."),
    (
        AlertKind::NotSeated,
        "Seat the bar, then say so: `tenths take`, a tap, or the space bar of `watch`.",
    ),
    (AlertKind::TurnLost, "Bring mark 0 under the stylus and begin the turn again."),
    (
        AlertKind::RecordDamaged,
        "`tenths verify` names the places. The rest goes on; stop the service and `tenths restore` the last good \
             copy when the job allows it.",
    ),
    (
        AlertKind::SetupChanged,
        "Begin the check again: touches before and after the change do not go together.",
    ),
    (
        AlertKind::EndedElsewhere,
        "Ask the person at the other station; then `tenths measure` the check.",
    ),
    (
        AlertKind::ReloadRefused,
        "`tenths config check` names every mistake. Mend them, then `tenths reload`.",
    ),
    (AlertKind::SocketLost, "Restart the service; what it has stored stays."),
    (
        AlertKind::RecordBegun,
        "If there was a record before, the state folder is another one: see `tenths doctor`.",
    ),
    (AlertKind::NotProven, "Do what the proof names, then `tenths prove GAUGE` again."),
    (
        AlertKind::CheckMasterOff,
        "Wipe block and stylus and prove it again. If it stays off, have the gauge looked at.",
    ),
    (
        AlertKind::RowsLost,
        "Somebody put an older copy in the record's place, or a log was damaged: look for the newer file \
             before you go on.",
    ),
];

/// What to do about alerts of a kind.
#[must_use]
pub fn remedy_of_alert(one: AlertKind) -> &'static str {
    OF_ALERTS.iter().find(|(of, _)| *of == one).map_or("", |(_, remedy)| *remedy)
}

const OF_REASONS: [(Reason, &str); 24] = [
    (
        Reason::TooFewPositions,
        "Plan 8 positions or more, or a dial that is watched all the way round.",
    ),
    (Reason::OneRadius, "Touch a second radius: `radii` in the plan."),
    (Reason::GaugeTooCoarse, "Use a gauge whose step is at most a quarter of the limit."),
    (Reason::NotClosed, "Go round again; tighten stand and stylus, and let the part cool first."),
    (
        Reason::ZeroMoved,
        "Touch the master again and measure once more: zero, stand or temperature moved.",
    ),
    (
        Reason::Warm,
        "Wait until part and master are as warm as each other; the verdict says when that is.",
    ),
    (Reason::UnitMixed, "Set the gauge to its unit and measure `again`."),
    (Reason::Overdue, "Have the gauge calibrated, or use another one."),
    (
        Reason::TriesDiffer,
        "Wipe, look for a burr, demagnetise, measure `again`; if it was ground, say `ground`.",
    ),
    (Reason::TouchesDiffer, "Lift and set down more evenly; measure `again`."),
    (Reason::CannotProve, "Choose the set-up that shows it; for a bar three or four seatings."),
    (Reason::NotMastered, "Measure `again` and begin with the master."),
    (Reason::Apart, "Measure both lengths within 30 minutes, then the difference."),
    (Reason::SeatingMoved, "Wipe bar and taper, seat it again, measure `again`."),
    (Reason::NearNoise, "Measure `again`: the mean of tries has less noise."),
    (Reason::GapInTurn, "Turn slower, or use a gauge that sends more often."),
    (Reason::SeatDoubted, "Wipe and measure `again` in a new seating."),
    (Reason::Unproven, "`tenths prove GAUGE`, then measure `again`."),
    (Reason::DoesNotComeBack, "Let it settle under the load, and look for what sticks or slips."),
    (Reason::NotSteady, "Let it run on until it is steady, then end it."),
    (Reason::CutShort, "Run the step its whole time, in a new run-in."),
    (Reason::GapInLog, "Run it again with the sensor heard all the time."),
    (Reason::SensorFrozen, "Use another sensor and run it again."),
    (
        Reason::RoomUnknown,
        "Write the room's temperature down: `tenths record PART/CHECK room=21.0`.",
    ),
];

/// What to do about a reason that withholds a verdict.
#[must_use]
pub fn remedy_of_reason(one: Reason) -> &'static str {
    OF_REASONS.iter().find(|(of, _)| *of == one).map_or("", |(_, remedy)| *remedy)
}

#[cfg(test)]
mod tests;
