//! The register: gauges, masters, blocks and bars are written down, or put out of use.

use std::sync::Arc;

use quantity::{Length, Name, Quoted, Unit, Wall};

use crate::draft::{Answer, Draft};
use crate::event::RegisterAsked;
use crate::fact::row::{Body, Equipment, PinnedBar, PinnedMaster, Registered};
use crate::plan::{Check, MasterUse};
use crate::reply::{Done, Refusal};

/// A day, in microseconds.
const DAY_US: i64 = 86_400_000_000;

/// A size in the register and one in the plan that differ by more than this part of it are not of one
/// master (common practice, no source).
const ANOTHER: i64 = 1000;

/// A test bar that runs out by more than a millimetre is a slip of the pen (common practice, no source).
const MOST_RUNOUT: Length = Length::from_picometres(1_000_000_000);

impl Draft<'_> {
    /// `register gauge|master|block|bar NAME`.
    pub(crate) fn register(&mut self, asked: &RegisterAsked) -> Answer {
        let RegisterAsked { what, .. } = *asked;
        let name = registered_name(&asked.name)?;
        if what == Equipment::Gauge && !self.setup.gauges.contains_key(&name) {
            let names: Vec<&str> = self.setup.gauges.keys().map(Name::as_str).collect();
            return Err(Refusal::input(
                format!("there is no gauge {name:?} on this bench", name = name.as_str()),
                format!("bench.toml has: {}", names.join(", ")),
            ));
        }
        let before = self.bench.shop.registered(name.as_str()).cloned();
        if let Some(other) = before.as_ref().filter(|before| before.what != what) {
            return Err(Refusal::input(
                format!("{name} is registered as a {} already", other.what.text()),
                "take another name, or put that one out of use with `tenths register retire`",
            ));
        }
        // Another serial number is another piece: nothing of the one before is known of it. One that is
        // given for the first time is written down beside what is known.
        let given = |text: &Option<String>| text.as_ref().map(|text| text.trim().to_owned());
        let serial = given(&asked.serial).filter(|serial| !serial.is_empty());
        let is_it = |before: &Registered| {
            serial.is_none() || before.serial.is_none() || before.serial == serial
        };
        let before = before.filter(is_it);
        let kept = before.as_ref();
        let size = asked.size.as_deref().map(|text| size(text, self.setup.unit)).transpose()?;
        let size = size.or_else(|| kept.and_then(|kept| kept.size));
        if asked.runout.is_some() && what != Equipment::Bar {
            let hint = "write --size for what is long or thick";
            return Err(Refusal::input("only a bar has a run-out", hint));
        }
        let runout =
            asked.runout.as_deref().map(|text| runout(text, self.setup.unit)).transpose()?;
        let runout = runout.or_else(|| kept.and_then(|kept| kept.runout));
        let unit = runout.or(size).map_or(self.setup.unit, |size| size.unit);
        let uncertainty = uncertainty(asked, unit)?;
        let uncertainty = uncertainty.or_else(|| kept.and_then(|kept| kept.uncertainty));
        if let (Some(size), Some(u)) = (size, uncertainty) {
            believed(size, u)?;
        }
        let dated = asked.dated.as_deref().map(|text| day(text, "the date")).transpose()?;
        let due = asked.due.as_deref().map(|text| day(text, "the next date")).transpose()?;
        let dated =
            dated.map(|(text, _)| text).or_else(|| kept.and_then(|kept| kept.dated.clone()));
        let due = due
            .map(|(_, at)| Wall::from_micros(at.micros().saturating_add(DAY_US)))
            .or_else(|| kept.and_then(|kept| kept.due));
        if let (Some(dated), Some(due)) = (dated.as_deref(), due) {
            in_order(&name, dated, due)?;
        }
        let certificate =
            given(&asked.certificate).or_else(|| kept.and_then(|kept| kept.certificate.clone()));
        let serial = serial.or_else(|| kept.and_then(|kept| kept.serial.clone()));
        let retired = None;
        let entry = Registered {
            what,
            name,
            serial,
            certificate,
            dated,
            due,
            size,
            runout,
            uncertainty,
            retired,
        };
        Ok(self.enter_in_the_register(entry))
    }

    /// `register retire NAME --why TEXT`.
    pub(crate) fn retire(&mut self, name: &str, why: &str) -> Answer {
        let Some(entry) = self.bench.shop.registered(name).cloned() else {
            let text = format!("nothing in use is registered as {name:?}");
            return Err(Refusal::input(text, "`tenths register` lists what is"));
        };
        if why.trim().is_empty() {
            return Err(Refusal::input("the reason is empty", "say why: --why \"dropped\""));
        }
        Ok(self.enter_in_the_register(Registered { retired: Some(why.trim().to_owned()), ..entry }))
    }

    fn enter_in_the_register(&mut self, entry: Registered) -> Done {
        let entry = Arc::new(entry);
        let id = self.push(Body::Registered(Arc::clone(&entry)));
        if entry.what == Equipment::Gauge {
            self.follow_gauges();
            self.follow_proved_gauges();
        }
        Done::Registered { id, entry }
    }

    /// The master that a check names, as the register has it now; `None` where it names none, or names one
    /// that only the plan knows.
    pub(crate) fn master_of(&self, check: &Check) -> Result<Option<PinnedMaster>, Refusal> {
        let Some(name) = check.master_name.as_ref().filter(|_| check.master != MasterUse::None)
        else {
            return Ok(None);
        };
        let entry = self.bench.shop.equipment(name.as_str(), Equipment::Master);
        let entry = entry.or_else(|| self.bench.shop.equipment(name.as_str(), Equipment::Block));
        let sized = entry.and_then(|entry| Some((entry, entry.size?.length)));
        let Some((entry, size)) = sized else {
            let hint = format!("write it down: tenths register master {name} --size \"1.5000 in\"");
            return match (check.master_size, entry) {
                // What the plan says of it counts.
                (Some(_), _) => Ok(None),
                (None, Some(_)) => {
                    Err(Refusal::input(format!("the register has no size of master {name}"), hint))
                }
                (None, None) => {
                    Err(Refusal::input(format!("master {name} is not in the register"), hint))
                }
            };
        };
        let off = |planned: Length| planned.checked_sub(size).unwrap_or(planned).abs();
        let another = |planned: &Length| {
            off(*planned).picometres().saturating_mul(ANOTHER) > size.picometres().abs()
        };
        if let Some(planned) = check.master_size.filter(another) {
            let [planned, size] = [planned, size].map(|one| ::words::size(one, check.unit));
            return Err(Refusal::input(
                format!(
                    "the plan means a master of {planned} {unit} for {}, and the register has {name} as \
                     {size} {unit}",
                    check.name,
                    unit = check.unit
                ),
                "correct the size in the register, or the master_name in the plan",
            ));
        }
        let (name, serial) = (name.clone(), entry.serial.clone());
        Ok(Some(PinnedMaster {
            name,
            serial,
            size,
            uncertainty: entry.uncertainty,
            due: entry.due,
        }))
    }
}

impl Draft<'_> {
    /// The test bar that a check names, as the register has it now; `None` where it names none.
    pub(crate) fn bar_of(&self, check: &Check) -> Result<Option<PinnedBar>, Refusal> {
        let Some(name) = check.bar_name.as_ref() else { return Ok(None) };
        let hint = format!("write it down: tenths register bar {name} --runout \"0.00002 in\"");
        let Some(entry) = self.bench.shop.equipment(name.as_str(), Equipment::Bar) else {
            return Err(Refusal::input(format!("bar {name} is not in the register"), hint));
        };
        if entry.runout.is_none() && entry.uncertainty.is_none() {
            let text = format!("the register does not say how true bar {name} is");
            return Err(Refusal::input(text, hint));
        }
        Ok(Some(PinnedBar {
            name: name.clone(),
            serial: entry.serial.clone(),
            runout: entry.runout.map(|runout| runout.length),
            uncertainty: entry.uncertainty,
            due: entry.due,
        }))
    }
}

fn registered_name(text: &str) -> Result<Name, Refusal> {
    Name::new(text.trim()).map_err(|error| {
        let hint = "a short name as it stands on the box: ring-1500, b-1001";
        Refusal::input(format!("{text:?} is no name: {error}"), hint)
    })
}

/// A size as a person says it; without a unit it is in the unit of the bench.
fn size(text: &str, unit: Unit) -> Result<Quoted, Refusal> {
    let hint = "write the size of the certificate: --size \"1.500012 in\"";
    let size = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the size: {error}"), hint))?;
    if size.length <= Length::ZERO {
        return Err(Refusal::input(format!("a size of {text} is no size"), hint));
    }
    Ok(size)
}

/// The total reading of a bar, which may be zero.
fn runout(text: &str, unit: Unit) -> Result<Quoted, Refusal> {
    let hint = "write the total reading of its certificate: --runout \"0.00002 in\"";
    let runout = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the run-out: {error}"), hint))?;
    if runout.length < Length::ZERO {
        return Err(Refusal::input(format!("a run-out of {text} is less than zero"), hint));
    }
    if runout.length > MOST_RUNOUT {
        return Err(Refusal::input(
            format!("a bar with a run-out of {runout} tells nothing of a spindle"),
            "look at the point and the unit",
        ));
    }
    Ok(runout)
}

/// The standard uncertainty of the size: as it is given, or half of the expanded one of the certificate.
fn uncertainty(asked: &RegisterAsked, unit: Unit) -> Result<Option<Length>, Refusal> {
    let hint = "write --uncertainty \"0.000002 in\" (standard), or --expanded with the U of the \
                certificate for k = 2";
    let (text, halves) = match (&asked.uncertainty, &asked.expanded) {
        (None, None) => return Ok(None),
        (Some(_), Some(_)) => {
            let text = "a standard uncertainty and an expanded one are given";
            return Err(Refusal::input(text, hint));
        }
        (Some(text), None) => (text, 1),
        (None, Some(text)) => (text, 2),
    };
    let u = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the uncertainty: {error}"), hint))?;
    if u.length < Length::ZERO {
        return Err(Refusal::input(format!("an uncertainty of {text} is less than zero"), hint));
    }
    let picometres = u.length.picometres();
    Ok(Some(Length::from_picometres(picometres / halves + picometres % halves)))
}

/// An uncertainty that is a hundredth of the size at most.
fn believed(size: Quoted, u: Length) -> Result<(), Refusal> {
    if u.picometres().saturating_mul(100) <= size.length.picometres() {
        return Ok(());
    }
    let text =
        format!("an uncertainty of more than a hundredth of the size {size} cannot be meant");
    Err(Refusal::input(text, "look at the point and the unit of both"))
}

/// A next date behind the date of the certificate.
fn in_order(name: &Name, dated: &str, due: Wall) -> Result<(), Refusal> {
    let at = day(dated, "").ok().map(|(_, at)| at);
    if at.is_none_or(|at| due > at) {
        return Ok(());
    }
    Err(Refusal::input(
        format!("the next date of {name} lies before the date of its certificate, {dated}"),
        "the certificate is good from its date to the next one",
    ))
}

/// A day as a person says it, with its first moment.
fn day(text: &str, what: &str) -> Result<(String, Wall), Refusal> {
    let text = text.trim();
    let plain = text.len() == 10 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    let at = Wall::parse(text).ok().filter(|_| plain);
    at.map(|at| (text.to_owned(), at)).ok_or_else(|| {
        let hint = "write year, month and day: 2027-03-01";
        Refusal::input(format!("{what} {text:?} is no day"), hint)
    })
}
