//! The sentences on gauges, masters and bars with a certificate.

use ::words::Calibration;
use judgement::Share;
use quantity::Name;

use crate::plan::{Check, MasterUse};
use crate::state::Attempt;

/// The remark about the calibration of the gauge of an attempt: past, or soon due.
#[must_use]
pub fn of_calibration(attempt: &Attempt) -> Option<String> {
    let gauge = attempt.gauge()?;
    let due = Calibration::at(gauge.calibration_due?, attempt.began_at)?;
    Some(certified(&gauge.name, due))
}

/// The remark about the master that a check names: not in the register, or its certificate is past its date
/// or soon will be.
#[must_use]
pub fn of_the_master(check: &Check, attempt: &Attempt) -> Option<String> {
    let name = check.master_name.as_ref().filter(|_| check.master != MasterUse::None)?;
    let Some(master) = &attempt.began.pin.master else {
        return Some(format!("{name} is not in the register: the size in the plan counts."));
    };
    Some(certified(name, Calibration::at(master.due?, attempt.began_at)?))
}

fn certified(name: &Name, due: Calibration) -> String {
    match due {
        Calibration::Past(_) => format!("{name} {}: the verdict will be withheld.", due.words()),
        Calibration::Soon(_) => format!("{name} {}.", due.words()),
    }
}

/// The same about the bar that a check names.
#[must_use]
pub fn of_the_bar(attempt: &Attempt) -> Option<String> {
    let bar = attempt.began.pin.bar.as_ref()?;
    Some(certified(&bar.name, Calibration::at(bar.due?, attempt.began_at)?))
}

/// Where a share of the uncertainty of an attempt comes from, where it is a piece of the register.
#[must_use]
pub fn source_of(attempt: &Attempt, share: Share) -> Option<String> {
    let pin = &attempt.began.pin;
    let known = pin.master.as_ref().filter(|master| master.uncertainty.is_some());
    let master = known.map(|one| ("master", &one.name, &one.serial));
    let bar = pin.bar.as_ref().map(|one| ("bar", &one.name, &one.serial));
    let found = [(Share::Master, master), (Share::Bar, bar)].into_iter();
    let (what, name, serial) = found.filter(|(of, _)| *of == share).find_map(|(_, piece)| piece)?;
    let serial = serial.as_ref().map_or_else(String::new, |serial| format!(" ({serial})"));
    Some(format!("{what} {name}{serial} of the register"))
}

/// The masters and bars of some attempts whose certificates had run out when they were touched.
pub(crate) fn of_pieces(attempts: &[&Attempt]) -> Vec<String> {
    let past = |attempt: &&Attempt| {
        let pin = &attempt.began.pin;
        let master = pin.master.as_ref().map(|one| ("master", &one.name, one.due));
        let bar = pin.bar.as_ref().map(|one| ("bar", &one.name, one.due));
        let began = attempt.began_at;
        let out = [master, bar]
            .into_iter()
            .flatten()
            .filter(move |(.., due)| due.is_some_and(|due| began >= due));
        out.map(|(what, name, _)| format!("The certificate of the {what} {name} had run out."))
            .collect::<Vec<String>>()
    };
    let mut told: Vec<String> = attempts.iter().flat_map(past).collect();
    told.dedup();
    told
}
