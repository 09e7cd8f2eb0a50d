//! What people write on the card of a job: what was said when it came in, what becomes of parts, serial
//! numbers, signatures.

use std::sync::Arc;

use quantity::Name;

use crate::draft::{Answer, Draft};
use crate::event::{Command, Request};
use crate::fact::row::{Body, IntakeItem, JobField, JobOpened, Lack, Outcome, Role, Signed};
use crate::fact::seq::Seq;
use crate::fate::Fate;
use crate::gate;
use crate::plan::CheckAt;
use crate::reply::{Done, Edit, Refusal};
use crate::request::answers::part_named;
use crate::state::row::Row;
use crate::state::{Bench, Job};
use crate::words::{self, card};

/// The most characters of what was said when a job came in, and of a reason.
const LONGEST: usize = 2000;
/// The most characters of a serial number, or of a customer.
const LONGEST_LINE: usize = 100;
/// Why a job has another rule than its plan from the beginning.
pub(crate) const AGREED_AT_OPENING: &str = "agreed when the job was opened";

impl Draft<'_> {
    /// `job intake NAME`.
    pub(crate) fn job_intake(&mut self, name: &str, told: &[(IntakeItem, String)]) -> Answer {
        let (job, name) = self.open_job(name)?;
        if told.is_empty() {
            let text = "there is nothing to write down";
            return Err(Refusal::input(text, "add `--complaint`, `--asked` or `--limits`"));
        }
        let told = told_well(told)?;
        let what = told.iter().map(|(what, _)| *what).collect();
        self.write_told(job, told);
        Ok(Done::Told { name, told: what })
    }

    /// `job edit NAME`: a new fact beside what was written first.
    pub(crate) fn job_edit(&mut self, command: &Command) -> Answer {
        let Command::JobEdit { name, edits, why, found } = command else {
            return Err(Refusal::input("nothing to correct", "see `tenths job edit --help`"));
        };
        let (job, state, _) = self.open_or_closed(name, found.as_ref())?;
        if edits.is_empty() {
            let text = "there is nothing to correct";
            return Err(Refusal::input(text, "add `--serial` or `--customer`"));
        }
        let why = why.as_deref().map(str::trim).filter(|why| !why.is_empty());
        let why = why.map(|why| reason(why, "")).transpose()?;
        let mut done = Vec::new();
        for (what, text) in edits {
            let now = one_line(*what, text)?;
            let was = state.head(*what).map(str::to_owned);
            // The same words again correct nothing.
            if was.as_deref() != Some(&now) {
                let (what, text, why) = (*what, now.clone(), why.clone());
                self.push(Body::JobEdited { job, what, text, why });
                done.push(Edit { what, was, now });
            }
        }
        let name = state.opened.name.clone();
        if done.is_empty() {
            let text = format!("job {name} has that already; nothing was corrected");
            return Err(Refusal::input(
                text,
                format!("see `tenths job show {}`", words::typed(name.as_str())),
            ));
        }
        Ok(Done::Edited { name, edits: done })
    }

    /// Writes down what was said; the same words as before are not written twice.
    pub(crate) fn write_told(&mut self, job: Seq, told: Vec<(IntakeItem, String)>) {
        for (what, text) in told {
            let known = self.bench.jobs.get(&job).and_then(|job| job.card.told.get(&what));
            if known != Some(&text) {
                self.push(Body::Intake { job, what, text });
            }
        }
    }

    /// `decide PART kept|reground|replaced`.
    pub(crate) fn decide(&mut self, at: &Name, part: &str, outcome: Outcome, why: &str) -> Answer {
        let (job, state) = self.job_of(at)?;
        let (index, name) = part_named(&state, part)?;
        let why = reason(why, "nothing is decided without a reason")?;
        contradicts_nothing(&state, (index, &name), outcome)?;
        self.push(Body::Decided { job, part: index, outcome, why });
        let after = self.bench.jobs.get(&job).map(Arc::clone);
        let mind = after.and_then(|job| card::to_do(&Fate::of(&job, index)?, name.as_str()));
        Ok(Done::Decided { part: name, outcome, mind })
    }

    /// `serial PART NUMBER`.
    pub(crate) fn serial(&mut self, at: &Name, part: &str, serial: &str) -> Answer {
        let (job, state) = self.job_of(at)?;
        let (index, name) = part_named(&state, part)?;
        let serial = one_line(JobField::Serial, serial)?;
        let before = state.serial_of(index).map(str::to_owned);
        if before.as_ref() != Some(&serial) {
            self.push(Body::Serial { job, part: index, serial: serial.clone() });
        }
        let before = before.filter(|before| *before != serial);
        Ok(Done::Serial { part: name, serial, before })
    }

    /// `sign JOB ROLE` and `checked JOB`.
    pub(crate) fn sign(&mut self, request: &Request) -> Answer {
        let Command::Sign { job: name, role, why, known: Some(known) } = &request.command else {
            return Err(Refusal::input("nothing to sign", "see `tenths sign --help`"));
        };
        let (job, state, is_open) = self.open_or_closed(name, known.closed.as_ref())?;
        let by = self.signer(request, *role)?;
        let name = &state.opened.name;
        let lacking = gate::before_closing(&state);
        let typed = words::typed(name.as_str());
        let command =
            format!("tenths sign {typed} {} --by {}", role.text(), words::typed(by.as_str()));
        let what = format!("job {name} is not signed as {}", role.text());
        let why = if is_open {
            let told = gate::told_of_a_part(&state, &lacking, None);
            Self::gate(told, (&what, &command), why.as_deref())?
        } else {
            why.as_deref().map(str::trim).filter(|why| !why.is_empty()).map(str::to_owned)
        };
        let of = state.card.changed;
        let (seal, sealed) = &known.seal;
        if *sealed < of {
            return Err(Refusal {
                exit: 3,
                text: format!("{what}: what was measured last is not in the record yet"),
                hint: Some("`tenths status` says what is wrong with it; sign again then".into()),
            });
        }
        let mind = minded(&state, (*role, &by), &lacking);
        let (seal, role) = (seal.clone(), *role);
        let signed = Signed { role, seal: seal.clone(), of, lacking, why };
        self.by = Some(by.clone());
        self.push(Body::Signed { job, signed: Arc::new(signed) });
        Ok(Done::Signed { job, role, by, seal, mind })
    }

    /// A job by its name, with the rows of a closed one, and whether it is open.
    fn open_or_closed(
        &self,
        name: &str,
        closed: Option<&Arc<Vec<Row>>>,
    ) -> Result<(Seq, Arc<Job>, bool), Refusal> {
        let closed = closed.filter(|_| self.bench.job_named(name).is_none());
        let opened = |rows: &Arc<Vec<Row>>| {
            let first = rows.iter().find(|row| matches!(row.body, Body::JobOpened(_)))?.seq;
            Some((first, Bench::rebuilt_job(rows.iter(), first)?, false))
        };
        if let Some(found) = closed.and_then(opened) {
            return Ok(found);
        }
        let (job, name) = self.open_job(name)?;
        let state = self.bench.jobs.get(&job).map(Arc::clone);
        let gone = || Refusal::input(format!("no job is named {name}"), "see `tenths job list`");
        Ok((job, state.ok_or_else(gone)?, true))
    }

    /// Who signs. A customer is named: nobody at the bench is one.
    fn signer(&self, request: &Request, role: Role) -> Result<Name, Refusal> {
        let named = role != Role::Accepted || request.by.is_some();
        self.by.clone().filter(|_| named).ok_or_else(|| {
            let text = match role {
                Role::Measured => "it is not known who measured the job",
                Role::Checked => "it is not known who checked the job",
                Role::Accepted => "it is not known who accepts the job",
            };
            Refusal::input(text, "say it with `--by NAME`")
        })
    }
}

/// What was said, as it is stored.
pub(crate) fn told_well(
    told: &[(IntakeItem, String)],
) -> Result<Vec<(IntakeItem, String)>, Refusal> {
    let one = |(what, text): &(IntakeItem, String)| {
        let text = text.trim();
        if text.is_empty() || text.chars().count() > LONGEST {
            let named = card::told_words(*what);
            return Err(Refusal::input(
                format!("{named}: 1 to {LONGEST} characters are needed"),
                "a longer text belongs in a paper beside the job",
            ));
        }
        Ok((*what, text.to_owned()))
    };
    told.iter().map(one).collect()
}

/// A serial number or a customer as it is stored.
fn one_line(what: JobField, text: &str) -> Result<String, Refusal> {
    let text = text.trim();
    let plain = !text.chars().any(char::is_control);
    if !text.is_empty() && text.chars().count() <= LONGEST_LINE && plain {
        return Ok(text.to_owned());
    }
    let (named, hint) = match what {
        JobField::Serial => ("a serial number", "write it as it stands on the part"),
        JobField::Customer => ("a customer", "write the name as the report is to show it"),
    };
    Err(Refusal::input(format!("{named} is one line of 1 to {LONGEST_LINE} characters"), hint))
}

fn reason(why: &str, empty: &str) -> Result<String, Refusal> {
    let why = why.trim();
    if why.is_empty() {
        return Err(Refusal::input(empty, "add `--why \"seat fretted, within limits\"`, say"));
    }
    if why.chars().count() > LONGEST {
        let text = format!("a reason has {LONGEST} characters at most");
        return Err(Refusal::input(text, "shorten it"));
    }
    Ok(why.to_owned())
}

/// Refuses a decision that the record contradicts.
fn contradicts_nothing(
    job: &Job,
    (part, name): (u16, &Name),
    outcome: Outcome,
) -> Result<(), Refusal> {
    let Some(fate) = Fate::of(job, part).filter(|fate| fate.done.is_some()) else { return Ok(()) };
    let typed = words::typed(name.as_str());
    match (outcome, fate.outcome) {
        (Outcome::Kept, Outcome::Reground) => Err(Refusal::input(
            format!("{name} was ground in this job: it is reground, not kept as it was found"),
            format!("write what was done: `tenths decide {typed} reground --why TEXT`"),
        )),
        (Outcome::Kept | Outcome::Replaced, Outcome::Replaced) => Err(Refusal::input(
            format!("{name} was replaced by a new one already; the record has it with its reason"),
            "nothing has to be decided about it",
        )),
        (Outcome::Kept | Outcome::Reground | Outcome::Replaced, _) => Ok(()),
    }
}

/// What a reader of a signature has to know.
fn minded(job: &Job, (role, by): (Role, &Name), lacking: &[(CheckAt, Lack)]) -> Vec<String> {
    let lacking = Some(gate::told(job, lacking)).filter(|told| !told.is_empty());
    let lacking = lacking.map(|told| format!("It stands beside the signature that {told}."));
    let own = (role == Role::Checked).then(|| card::own_work(job, by)).flatten();
    let own = own.map(|own| format!("{by} {own}."));
    lacking.into_iter().chain(own).collect()
}

/// The rule of a job that was opened, where another one was agreed.
pub(crate) fn agreed(opened: &JobOpened, rule: Option<judgement::Rule>) -> Option<judgement::Rule> {
    rule.filter(|rule| *rule != opened.rule)
}
