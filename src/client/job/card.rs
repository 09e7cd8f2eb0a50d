//! What stands on the card of a job, and where it stands, for a person.

use std::fmt::Write as _;

use jiff::tz::TimeZone;

use ::bench::Job;
use ::bench::fate::Fate;
use ::bench::flow::Flow;
use ::bench::flow::words::{at_step_of_all, by_state};
use ::bench::words::card::{OF_AN_EARLIER_STATE, outcome_words, signed_words, told_words};
use ::record::{JobRecord, SignatureRecord};
use ::report::{day_and_time, lacking_words};
use quantity::Name;
use wire::printable;

/// Where the job stands: the step, what stands before the next one, the others by what they are.
pub(super) fn steps(flow: &Flow) -> String {
    let mut text = String::new();
    let mut line = |line: &str| writeln!(text, "{line}").expect("a String takes everything");
    line(&at_step_of_all(flow));
    if let Some(before) = &flow.hindered_by {
        line(&printable(before));
    }
    for state in by_state(flow) {
        line(&format!("  {state}"));
    }
    text
}

/// What was said when it came in, what became of its parts, who signed.
pub(super) fn card(job: &JobRecord, state: &Job, zone: &TimeZone) -> String {
    let mut text = String::new();
    let mut line = |line: &str| writeln!(text, "{}", printable(line)).expect("a String takes all");
    for one in &job.told {
        let at = day_and_time(one.at, zone);
        line(&format!(
            "{} ({at}{}): {}",
            told_words(one.what),
            by_words(one.by.as_ref()),
            one.text
        ));
    }
    for (index, part) in (0_u16..).zip(&state.opened.plan.plan.parts) {
        let fate = Fate::of(state, index);
        let serial = state.serial_of(index).map(|serial| format!("serial {serial}"));
        let outcome = fate.map(|fate| {
            let why = fate.why().map_or_else(String::new, |why| format!(": {why}"));
            format!("{}{why}", outcome_words(&fate))
        });
        let told: Vec<String> = [serial, outcome].into_iter().flatten().collect();
        if !told.is_empty() {
            line(&format!("{}: {}", part.name, told.join(", ")));
        }
    }
    for one in &job.signed {
        line(&signature(one, zone));
    }
    text
}

/// `checked by Ada on 2027-03-01 10:00, of an earlier state`.
fn signature(one: &SignatureRecord, zone: &TimeZone) -> String {
    let at = day_and_time(one.at, zone);
    let lacking = lacking_words(&one.lacking);
    let told = [
        Some(format!("{} {} on {at}", signed_words(one.role), one.by)),
        one.earlier.then(|| OF_AN_EARLIER_STATE.to_owned()),
        one.elsewhere.then(|| "on another bench".to_owned()),
        (!lacking.is_empty()).then(|| format!("although {lacking}")),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    let why = one.why.as_ref().map_or_else(String::new, |why| format!(": {why}"));
    told.join(", ") + &why
}

/// ` by M. Weber`, or nothing where the person is not known.
pub(super) fn by_words(by: Option<&Name>) -> String {
    by.map_or_else(String::new, |by| format!(" by {by}"))
}
