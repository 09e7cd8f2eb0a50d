//! A dropped file: all of it is taken, or nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use gauge::{FileRow, Tag};
use quantity::{Name, Stamp};

use crate::draft::Draft;
use crate::event::DroppedFile;
use crate::fact::row::{AlertKind, AttemptReason, Body, Ending, FileSeen, Source, Subject};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt};
use crate::reply::Notice;
use crate::request::door::unfit;
use crate::request::measure::Begin;
use crate::request::touch::Incoming;
use crate::series::{Touch, middle_due, next_position};
use crate::setup::Setup;
use crate::state::{Attempt, Bench, Job, Touched};
use crate::words;

/// The most bad rows that are named; further ones are only counted.
const NAMED: usize = 100;

/// The most places that are named where a file was taken already.
const PLACES_NAMED: usize = 5;

/// Where the rows with one tag go.
type Target = (Seq, CheckAt);

impl Bench {
    /// The places that the rows of a file go to. Where the file or its name gives job, part and check, they
    /// are as spelled there, so that they stay the same while jobs are closed and opened again. Otherwise
    /// they are the active check, with its attempt; `None` where none is active.
    #[must_use]
    pub fn places_of(&self, setup: &Setup, file: &DroppedFile) -> Option<Vec<String>> {
        if !file.to_active {
            return Some(file.rows.tags.iter().map(spelled).collect());
        }
        let places = Draft::new(self, setup, Stamp::default()).places(file);
        let text = |(place, attempt): (String, Option<u32>)| match attempt {
            Some(attempt) => format!("{place}\n{attempt}"),
            None => place,
        };
        Some(places.into_iter().map(text).collect()).filter(|places: &Vec<_>| !places.is_empty())
    }
}

/// A tag as spelled in its file. The letter case of the job does not matter.
fn spelled(tag: &Tag) -> String {
    let text = |part: &Option<String>| part.clone().unwrap_or_default();
    let job = text(&tag.job).to_ascii_lowercase();
    format!("{job}\n{}\n{}", text(&tag.part), text(&tag.check))
}

impl Draft<'_> {
    /// Decides a complete file.
    pub(crate) fn file(&mut self, before: &Bench, file: &DroppedFile) {
        if file.known {
            self.clear_about(Some(&about(file)), AlertKind::FileRefused);
            return;
        }
        let why = if file.seen.why.is_empty() {
            self.taken_already(file)
                .or_else(|| self.changed_below(file))
                .or_else(|| self.proved_meanwhile(file))
        } else {
            Some(file.seen.why.clone())
        };
        if let Some(why) = why {
            self.refuse_file(file, &why);
            return;
        }
        let faults = self.take_file(file);
        if faults.is_empty() {
            return;
        }
        self.give_up(before);
        let mut why: Vec<String> =
            faults.into_iter().map(|(line, what)| format!("line {line}: {what}")).collect();
        let more = why.len().saturating_sub(NAMED);
        // A longer list of rows that do not parse was cut before, and says so.
        if more > 0 && file.bad.len() <= NAMED {
            why.truncate(NAMED);
            why.push(format!("and {more} more rows"));
        }
        self.refuse_file(file, &why.join("\n"));
    }

    /// While a gauge is being proved, none of its readings goes to a check, not even from a file.
    fn proved_meanwhile(&self, file: &DroppedFile) -> Option<String> {
        let (station, _) = self.proving_of(&file.gauge)?;
        Some(format!(
            "{gauge} is being proved at {station}; write the file again when that is over",
            gauge = file.gauge
        ))
    }

    /// The message where the same bytes were already taken for the same places.
    fn taken_already(&self, file: &DroppedFile) -> Option<String> {
        let same = file.same.as_ref()?;
        let from = if (&same.drop, &same.name) == (&file.seen.drop, &file.seen.name) {
            "this file".to_owned()
        } else {
            path_of(&same.drop, &same.name)
        };
        let places = self.places(file);
        let mut went: Vec<&str> = places.keys().map(String::as_str).collect();
        let more = went.len().saturating_sub(PLACES_NAMED);
        went.truncate(PLACES_NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let went =
            if went.is_empty() { String::new() } else { format!(" for {}", went.join(", ")) };
        Some(format!(
            "the same bytes were taken from {from} at {}{went}{more}; where it was measured again \
             and gave the same values, let the logger write the time, or key them in with \
             `tenths enter`",
            same.at
        ))
    }

    /// The message where this file no longer has rows that an unfinished attempt took from it.
    fn changed_below(&self, file: &DroppedFile) -> Option<String> {
        let given =
            |touched: &Touched| touched.from_file.is_some_and(|from| file.before.contains(&from));
        if file.before.is_empty() {
            return None;
        }
        for tag in &file.rows.tags {
            let Ok((job, at)) = self.target_of(file, tag) else { continue };
            let state = self.bench.jobs.get(&job)?;
            let Some((_, attempt)) = state.newest_at(at) else { continue };
            if attempt.ending.is_none() && attempt.readings.iter().any(given) {
                let (part, check) = state.opened.plan.plan.at(at)?;
                let place = format!("{}/{}", part.name, check.name);
                return Some(format!(
                    "rows that were taken from this file before have changed or are gone, and \
                     attempt {} of {place} goes on with them; put new rows below the old ones, or \
                     begin anew with `tenths remeasure again {}` and drop the file again",
                    attempt.began.number,
                    words::typed(&place)
                ));
            }
        }
        None
    }

    /// The places that the rows of a file go to, each once and in order, with the attempt where only the
    /// active check gives the place. Rows whose place is not known are left out.
    fn places(&self, file: &DroppedFile) -> BTreeMap<String, Option<u32>> {
        let station = self.setup.station_of(&file.gauge).filter(|_| file.to_active);
        let active = station.and_then(|station| self.attempt(self.active(station)?));
        let active = active.map(|(.., attempt)| attempt.began.number);
        let place = |tag: &Tag| {
            let (id, at) = self.target_of(file, tag).ok()?;
            let job = self.bench.jobs.get(&id)?;
            let (part, check) = job.opened.plan.plan.at(at)?;
            Some((format!("{} {}/{}", job.opened.name, part.name, check.name), active))
        };
        file.rows.tags.iter().filter_map(place).collect()
    }

    /// Takes every row. Returns the rows that cannot be taken, each with its line, in order.
    fn take_file(&mut self, file: &DroppedFile) -> Vec<(u32, String)> {
        let id = self.push(Body::FileTaken(Arc::new(file.seen.clone())));
        let targets: Vec<Result<Target, String>> =
            file.rows.tags.iter().map(|tag| self.target_of(file, tag)).collect();
        let new = usize::try_from(file.given_before).unwrap_or(usize::MAX);
        let mut faults: Vec<(u32, String)> =
            file.bad.iter().map(|fault| (fault.line, fault.what.clone())).collect();
        if faults.len() > NAMED {
            return faults;
        }
        let (mut touched, mut going_on) = (BTreeSet::new(), None);
        let mut rows = 0_u32;
        self.rows_to_come(file.rows.rows.len().saturating_sub(new));
        for row in file.rows.rows.iter().skip(new) {
            let target = usize::try_from(row.tag).ok().and_then(|tag| targets.get(tag));
            let taken = match target {
                Some(Ok(target)) => self.take_row((file, id), *target, row, &mut going_on),
                Some(Err(why)) => Err(why.clone()),
                None => Err("names no job".to_owned()),
            };
            match taken {
                Ok(attempt) => {
                    touched.insert(attempt);
                    rows += 1;
                }
                Err(why) => faults.push((row.line, why)),
            }
        }
        if faults.is_empty() {
            self.end_filled(&touched);
            self.clear_about(Some(&about(file)), AlertKind::FileRefused);
            let (drop, name) = (file.seen.drop.clone(), file.seen.name.clone());
            self.notice(Notice::FileTaken { drop, name, rows });
        }
        faults.sort_by_key(|(line, _)| *line);
        faults
    }

    /// Ends an attempt when the file fills its last position, closed or not.
    fn end_filled(&mut self, touched: &BTreeSet<Seq>) {
        for &id in touched {
            let full = self.attempt(id).is_some_and(|(_, job, state)| {
                state.ending.is_none()
                    && job.check_of(&state).is_some_and(|(_, check)| state.open_touches(check) == 0)
            });
            let logged = self.attempt(id).is_some_and(|(.., state)| state.log.is_some());
            if logged {
                self.end_log_of_file(id);
            } else if full {
                self.end(id, Ending::Complete);
            } else if self.attempt(id).is_some_and(|(.., state)| state.ending.is_none()) {
                self.hint(id);
            }
        }
    }

    /// The check that the rows of a tag belong to.
    fn target_of(&self, file: &DroppedFile, tag: &Tag) -> Result<Target, String> {
        if file.to_active {
            let station = self.setup.station_of(&file.gauge);
            let active = station.and_then(|station| self.active(station));
            let found = active.and_then(|active| {
                let (job, _, state) = self.attempt(active)?;
                Some((job, state.began.check))
            });
            return found
                .ok_or_else(|| format!("no check is active for gauge {}", file.gauge))
                .and_then(|target| self.right_gauge(file, target));
        }
        let (Some(job), Some(part), Some(check)) = (&tag.job, &tag.part, &tag.check) else {
            return Err("job, part or check is missing".to_owned());
        };
        let Some((id, state)) = self.bench.job_named(job) else {
            return Err(if file.closed_jobs.contains(job) {
                format!("job {job} is closed")
            } else {
                format!("there is no job {job}")
            });
        };
        let at = state.opened.plan.plan.find(part, check);
        let at = at.ok_or_else(|| format!("job {job} has no check {part}/{check}"))?;
        self.right_gauge(file, (id, at))
    }

    fn right_gauge(&self, file: &DroppedFile, target: Target) -> Result<Target, String> {
        let (job, at) = target;
        let state = self.bench.jobs.get(&job);
        let check = state.and_then(|state| state.opened.plan.plan.at(at)).map(|(_, check)| check);
        match check {
            Some(check) if check.gauge.as_ref() == Some(&file.gauge) => Ok(target),
            Some(check) if logs_with(check, &file.gauge) => Ok(target),
            Some(check) => Err(match &check.gauge {
                Some(gauge) => format!(
                    "{} is measured with {gauge}, this folder is for {}",
                    check.name, file.gauge
                ),
                None => format!("{} is not measured with a gauge", check.name),
            }),
            None => Err("there is no such check".to_owned()),
        }
    }

    /// Takes a row. A row before it that went to the same check and left an attempt unfinished gives the
    /// attempt: only the readings of that attempt have changed since.
    fn take_row(
        &mut self,
        (file, seen): (&DroppedFile, Seq),
        target: Target,
        row: &FileRow,
        going_on: &mut Option<(Target, Seq)>,
    ) -> Result<Seq, String> {
        self.right_unit(file, row)?;
        if self.is_logged(target) {
            return self.log_row((&file.gauge, seen), target, row);
        }
        let attempt = match *going_on {
            Some((before, attempt)) if before == target => attempt,
            _ => self.attempt_for_row(target)?,
        };
        *going_on = Some((target, attempt));
        let touch = self.touch_for_row((target.0, attempt), row)?;
        let incoming = Incoming {
            gauge: file.gauge.clone(),
            source: Source::Drop { file: seen, line: row.line },
            value: row.value,
            text: row.text(&file.bytes).into_owned(),
            measured_at: row.time,
        };
        self.place(attempt, incoming, touch);
        if self.row_ends((target.0, attempt)) {
            self.end(attempt, Ending::Complete);
            *going_on = None;
        }
        Ok(attempt)
    }

    /// Whether a log is kept of the check.
    fn is_logged(&self, (job, at): Target) -> bool {
        let job = self.bench.jobs.get(&job);
        let check = job.and_then(|job| job.opened.plan.plan.at(at));
        check.is_some_and(|(_, check)| check.measures.own().log.is_some())
    }

    /// Refuses a value that is not in the unit of the gauge.
    fn right_unit(&self, file: &DroppedFile, row: &FileRow) -> Result<(), String> {
        let unit = self.setup.gauges.get(&file.gauge).and_then(|gauge| gauge.unit);
        match unit.filter(|unit| *unit != row.value.unit) {
            Some(unit) => Err(format!(
                "the value is in {}, gauge {} gives {unit}",
                row.value.unit, file.gauge
            )),
            None => Ok(()),
        }
    }

    /// The attempt that a row goes to: the unfinished one, otherwise a new one.
    fn attempt_for_row(&mut self, (job, at): Target) -> Result<Seq, String> {
        let newest = self.bench.jobs.get(&job).and_then(|state| {
            let (id, attempt) = state.newest_at(at)?;
            let hole = crate::request::measure::has_hole(state, attempt)
                && self.changed_since(attempt).is_empty();
            let ending = attempt.ending.map(|over| if hole { Ending::Stopped } else { over });
            Some((id, ending, (attempt.began.reason, state.metal_changed_at(at))))
        });
        let reason = match newest {
            Some((id, ending, (_, true))) => {
                // An attempt on metal that is gone is not continued.
                if ending.is_none() {
                    self.end(id, Ending::Stopped);
                }
                AttemptReason::Ground
            }
            Some((id, None, _)) => return Ok(id),
            Some((_, Some(Ending::Stopped), (reason, _))) => reason,
            Some((_, Some(Ending::Complete), _)) => AttemptReason::Again,
            None => AttemptReason::First,
        };
        let shown = newest.and_then(|(id, ..)| self.station_showing(id));
        let began = self.begin_attempt(job, at, Begin::same(reason, None));
        let began = began.map_err(|refusal| refusal.text)?;
        if let Some(station) = shown {
            self.show(&station, Some(began));
        }
        Ok(began)
    }

    /// The touch that a row stands for. Its value must be one that the gauge can reach and the part can
    /// have.
    fn touch_for_row(&self, (job, id): (Seq, Seq), row: &FileRow) -> Result<Touch, String> {
        let (job, state) = self.of_job(job, id).ok_or("the attempt is gone")?;
        let (_, check) = job.check_of(state).ok_or("the check is gone")?;
        let touch = touch_at(check, state, row)?;
        let unfit =
            state.gauge().and_then(|gauge| unfit(gauge, Some((check, state, touch)), row.value));
        unfit.map_or(Ok(touch), |(_, why)| Err(why))
    }

    /// An attempt of a job.
    fn of_job(&self, job: Seq, id: Seq) -> Option<(&Job, &Attempt)> {
        let job = self.bench.jobs.get(&job)?;
        Some((job, job.attempts.get(&id)?))
    }

    /// Whether no more rows of a file can go to this attempt.
    fn row_ends(&self, (job, id): (Seq, Seq)) -> bool {
        self.of_job(job, id).is_some_and(|(job, state)| {
            job.check_of(state).is_some_and(|(_, check)| {
                state.open_touches(check) == 0 && (!check.closure || state.closure().is_some())
            })
        })
    }

    fn refuse_file(&mut self, file: &DroppedFile, why: &str) {
        let seen = FileSeen { why: why.to_owned(), ..file.seen.clone() };
        let first = why.lines().next().unwrap_or_default();
        let more = why.lines().count().saturating_sub(1);
        let more = if more > 0 { format!(" ({more} more)") } else { String::new() };
        let text = format!("{} refused, nothing taken: {first}{more}", seen.name);
        let (drop, name) = (seen.drop.clone(), seen.name.clone());
        self.push(Body::FileRefused(Arc::new(seen)));
        let about = about(file);
        self.clear_about(Some(&about), AlertKind::FileRefused);
        self.raise_about(Some(about), AlertKind::FileRefused, text);
        self.notice(Notice::FileRefused { drop, name, why: why.to_owned() });
    }
}

fn about(file: &DroppedFile) -> Subject {
    Subject::File { drop: file.seen.drop.clone(), name: file.seen.name.clone() }
}

fn path_of(drop: &Name, name: &str) -> String {
    format!("{drop}/{name}")
}

/// Which touch of an attempt a row stands for.
fn touch_at(check: &Check, state: &Attempt, row: &FileRow) -> Result<Touch, String> {
    if check.swept().is_some() {
        return Err(format!("the turn of {} is swept, not read from a file", check.name));
    }
    let open = next_position(check, state);
    match (row.position, open) {
        (Some(position), _) if position >= check.total() => {
            Err(format!("there is no position {position}; they run 0 to {}", check.total() - 1))
        }
        (Some(0) | None, None) if check.closure => Ok(Touch::Closure),
        // A file may lack the touch in the middle, so only its position tells of one.
        (Some(0), Some(_)) if middle_due(check, state) == Some(Touch::Middle) => Ok(Touch::Middle),
        (Some(position), _) if state.settled(position) => {
            Err(format!("position {position} is filled already"))
        }
        (Some(position), _) | (None, Some(position)) => Ok(Touch::Position(position)),
        (None, None) => Err("every position is filled already".to_owned()),
    }
}

/// Whether a log of the check takes what this thermometer sends.
fn logs_with(check: &Check, gauge: &Name) -> bool {
    let log = check.measures.own().log;
    log.is_some_and(|log| log.places.iter().any(|one| one.thermometer.as_ref() == Some(gauge)))
}
