//! Requests that replace touches: values keyed in, readings taken back, positions left out, the master.

use crate::state::watched::OF;
use quantity::{Length, Name, Quoted, Unit, with_a_point};

use crate::draft::{Answer, Draft};
use crate::fact::row::{AlertKind, Body, Ending, Question, Source, State};
use crate::fact::seq::Seq;
use crate::plan::MasterUse;
use crate::reply::{Done, Refusal};
use crate::request::door::keyed_unit;
use crate::request::touch::Incoming;
use crate::series::Touch;
use crate::state::Attempt;
use crate::words;

impl Draft<'_> {
    /// `enter VALUE…`: takes all values or none.
    pub(crate) fn enter(
        &mut self,
        station: &Name,
        values: &[String],
        graduation: Option<&str>,
    ) -> Answer {
        let active = self.active(station).ok_or_else(|| {
            Refusal::input(
                format!("no check is active at {station}"),
                "begin with `tenths measure PART/CHECK`",
            )
        })?;
        let gauge = self
            .attempt(active)
            .and_then(|(_, _, state)| state.gauge().cloned())
            .ok_or_else(|| {
                Refusal::input(
                    "no gauge measures this check",
                    "answer with `tenths confirm` or write down with `tenths record`",
                )
            })?;
        let values = self.keyed_values(active, values, graduation)?;
        let now_at = self.bar_stands_at(active);
        let (told, many) = (self.keyed_too_coarsely(active).is_some(), values.len());
        let mut readings = Vec::new();
        for (text, value) in values {
            let touch = self.expected(active);
            if touch == Touch::Sweep {
                return Err(Refusal::input(
                    "this turn is swept: its samples come from the gauge; nothing was entered",
                    "tap its marks with the pedal or `tenths take`, or key in --high and --low, or --total, of a check with positions",
                ));
            }
            if let Touch::Seat { deg, .. } = touch {
                return Err(words::enters_past_a_seating(&text, readings.len(), (now_at, deg)));
            }
            if touch == Touch::Nothing {
                let open = match readings.len() {
                    0 => "no touch is".to_owned(),
                    1 => "1 touch is".to_owned(),
                    many => format!("{many} touches are"),
                };
                return Err(Refusal::input(
                    format!(
                        "{} keyed, and {open} still open; nothing was entered",
                        values_told(many)
                    ),
                    "key in only what is still open; see `tenths status`",
                ));
            }
            self.refuse_keyed(active, (&text, graduation.is_some()), value)?;
            let incoming = Incoming {
                gauge: gauge.name.clone(),
                source: Source::Keyed,
                value,
                text,
                measured_at: None,
            };
            readings.push(self.touch(active, &incoming, touch));
        }
        let over = self.expected(active) == Touch::Nothing;
        if let Some(step) = self.keyed_too_coarsely(active).filter(|_| over && !told) {
            return Err(Refusal::input(
                format!("keyed to {step}, which is too coarse for the limit; nothing was entered"),
                "key every digit the gauge shows, zeros too: 0.00010, not 0.0001",
            ));
        }
        Ok(Done::Entered { readings, measuring: self.stands(station)? })
    }

    /// The step in which an attempt was keyed, where it has fewer digits than the gauge shows and that costs the
    /// verdict.
    fn keyed_too_coarsely(&self, attempt: Seq) -> Option<String> {
        let (_, job, state) = self.attempt(attempt)?;
        let (_, check) = job.check_of(&state)?;
        let (step, fine) = (state.keyed_coarser()?, state.gauge()?.resolution.length);
        let coarse = |step| judgement::too_coarse(step, check.half_width());
        let unit = check.unit;
        (coarse(step) && !coarse(fine)).then(|| format!("{} {unit}", ::words::size(step, unit)))
    }

    /// Where the mark of the bar of an attempt stands at the moment, degrees.
    fn bar_stands_at(&self, attempt: Seq) -> u32 {
        let found = self.attempt(attempt);
        let deg = found.and_then(|(_, job, state)| {
            let (_, check) = job.check_of(&state)?;
            check.seating_deg(state.seating())
        });
        deg.unwrap_or(0)
    }

    /// A person reports a seating of the bar, or takes that back. It is not a reading.
    pub(crate) fn seated(&mut self, station: &Name, seating: u32, taken_back: bool) -> Answer {
        let active = self.stands(station).ok().and_then(|_| self.active(station));
        let Some(attempt) = active else {
            return Err(Refusal::input("the check is gone", "see `tenths status`"));
        };
        self.push(Body::Seated { attempt, seating, taken_back });
        self.clear_for(attempt, AlertKind::NotSeated);
        self.foot_is_over(station);
        let deg = self
            .attempt(attempt)
            .and_then(|(_, job, state)| job.check_of(&state)?.1.seating_deg(seating));
        let measuring = self.stands(station)?;
        Ok(Done::Seated { seating, deg: deg.unwrap_or(0), taken_back, measuring })
    }

    /// Keyed values, each exact: a number in the gauge's unit, a number with its unit, or a count of
    /// graduations.
    pub(crate) fn keyed_values(
        &self,
        active: Seq,
        values: &[String],
        graduation: Option<&str>,
    ) -> Result<Vec<(String, Quoted)>, Refusal> {
        keyed(values, graduation, |text| self.keyed_value(active, text))
    }

    /// One keyed value; without a unit it is in the unit of the gauge.
    pub(crate) fn keyed_value(&self, active: Seq, text: &str) -> Result<Quoted, Refusal> {
        let found = self.attempt(active);
        let unit = found.as_ref().and_then(|(_, job, state)| {
            let (_, check) = job.check_of(state)?;
            Some(keyed_unit(check, state.gauge()?, text))
        });
        let unit = unit.transpose()?;
        Quoted::parse_with_unit(text, unit).map_err(|error| {
            let taken_as = unit.map_or("the gauge's unit", Unit::symbol);
            Refusal::input(
                format!("{error}; nothing was entered"),
                format!("write a decimal number; without a unit it is taken as {taken_as}"),
            )
        })
    }

    /// `void [ID]`.
    pub(crate) fn void(&mut self, station: &Name, id: Option<Seq>, why: Option<&str>) -> Answer {
        if id.is_none()
            && let Some(active) = self.active(station)
            && let Some((_, job, state)) = self.attempt(active)
            && state.just_seated().is_some()
        {
            // The last thing done was a word of the person, not a touch.
            let before = state.seated_before();
            drop((job, state));
            return self.seated(station, before, true);
        }
        let (attempt, reading, position) = match id {
            Some(id) => self.reading_to_void(id)?,
            None => self.newest_that_counts(station)?,
        };
        let why = why.unwrap_or("taken back").to_owned();
        if self.is_swept(attempt) {
            return self.void_turn(station, attempt, &why);
        }
        self.push(Body::Marked { reading, attempt: Some(attempt), state: State::Void, why });
        let over = self.attempt(attempt).is_some_and(|(_, _, state)| state.ending.is_some());
        if over {
            self.settle(attempt);
        } else {
            self.hint(attempt);
        }
        Ok(Done::Voided { reading, position, measuring: self.measuring(station) })
    }

    fn reading_to_void(&self, id: Seq) -> Result<(Seq, Seq, Option<u32>), Refusal> {
        let within = |of: Seq, state: &Attempt| {
            // They are in the order of their numbers.
            let at = state.readings.binary_search_by_key(&id, |touched| touched.id).ok()?;
            Some((of, state.readings[at].state, state.readings[at].position))
        };
        // Usually it is in an attempt on a screen.
        let mut shown = self.bench.stations.values().filter_map(|station| station.attempt);
        let found = shown.find_map(|of| within(of, self.bench.attempt(of)?.2));
        let mut all = self.bench.jobs.values().flat_map(|job| &job.attempts);
        let found = found.or_else(|| all.find_map(|(of, state)| within(*of, state)));
        match found {
            None => Err(Refusal::input(
                format!("no reading {id} in an open job"),
                "`tenths readings` shows the numbers; a closed job is reopened with `tenths job reopen NAME`",
            )),
            Some((_, State::Void, _)) => Err(Refusal::input(
                format!("reading {id} is taken back already"),
                "touch its position again to fill it",
            )),
            Some((_, state, _)) if !state.counts() => Err(Refusal::input(
                format!("reading {id} is {} and does not count anyway", state.text()),
                "only readings that count can be taken back",
            )),
            Some((attempt, _, position)) => Ok((attempt, id, position)),
        }
    }

    fn newest_that_counts(&self, station: &Name) -> Result<(Seq, Seq, Option<u32>), Refusal> {
        let active = self.active(station);
        let newest = active.and_then(|active| {
            let (_, _, state) = self.attempt(active)?;
            let touched = state.readings.iter().rev().find(|touched| touched.state.counts())?;
            Some((active, touched.id, touched.position))
        });
        newest.ok_or_else(|| {
            Refusal::input(
                format!("there is no reading to take back at {station}"),
                "name one: `tenths void ID`; `tenths readings` shows the numbers",
            )
        })
    }

    /// `skip [POSITION] --why TEXT`.
    pub(crate) fn skip(&mut self, station: &Name, position: Option<u32>, why: &str) -> Answer {
        let refuse = |text: String| Refusal::input(text, "see `tenths status` for what is open");
        let active = self
            .active(station)
            .ok_or_else(|| refuse(format!("no check is active at {station}")))?;
        let Some((_, job, state)) = self.attempt(active) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        if self.is_swept(active) {
            return Err(refuse(
                "a turn is swept as a whole; no part of it can be left out".to_owned(),
            ));
        }
        let total = job.check_of(&state).map_or(0, |(_, check)| check.total());
        let next = match self.expected(active) {
            Touch::Position(next) => Some(next),
            Touch::Sweep
            | Touch::Master
            | Touch::Seat { .. }
            | Touch::Middle
            | Touch::Closure
            | Touch::Asked(_)
            | Touch::Answer
            | Touch::Nothing => None,
        };
        let position = position
            .or(next)
            .ok_or_else(|| refuse("no position is open; name the one to leave out".to_owned()))?;
        if crate::state::watched::is_kept_for_dials(why) {
            return Err(refuse(format!(
                "the reason {why:?} is kept for watched dials; use other words"
            )));
        }
        if position >= total {
            return Err(refuse(format!(
                "there is no position {position}; they run 0 to {}",
                total.saturating_sub(1)
            )));
        }
        if state.settled(position) {
            return Err(refuse(format!("position {position} is filled or left out already")));
        }
        if state.at(position).is_some() {
            let (touches, of) = (state.touches_at(position), state.touches());
            let has = format!("position {position} has {touches} of its {of} touches already");
            return Err(Refusal::input(
                has,
                "take them back first with `tenths void`, or touch it to the end",
            ));
        }
        let over = state.ending.is_some();
        let was_asked_for = state.asked == Some(Question::Touch(position));
        drop((job, state));
        let why = why.to_owned();
        self.push(Body::Skipped { attempt: active, position, why });
        if was_asked_for {
            // A touch that answers the question would fill a position that is left out.
            self.push(Body::Asked { attempt: active, question: None });
        }
        if over {
            self.settle(active);
        } else if self.expected(active) == Touch::Nothing {
            self.end(active, Ending::Complete);
        }
        Ok(Done::Skipped { position, measuring: self.stands(station)? })
    }

    /// `master [GAUGE]`: the next reading is the master.
    pub(crate) fn master(&mut self, station: &Name, gauge: Option<&str>) -> Answer {
        let refuse = |text: String| Refusal::input(text, "begin a check with a master first");
        let active = self
            .active(station)
            .ok_or_else(|| refuse(format!("no check is active at {station}")))?;
        let Some((_, job, state)) = self.attempt(active) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        let Some((_, check)) = job.check_of(&state) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        if let Some(own) = &check.gauge
            && gauge.is_some_and(|gauge| gauge != own.as_str())
        {
            return Err(refuse(format!("{} is measured with {own}", check.name)));
        }
        if check.master == MasterUse::None || state.ending.is_some() {
            return Err(refuse(format!("{} asks for no master now", check.name)));
        }
        self.push(Body::MasterNext { attempt: active });
        Ok(Done::MasterNext { measuring: self.stands(station)? })
    }
}

/// Keyed values, each exact: what `read` reads, or a count of graduations.
pub(crate) fn keyed(
    values: &[String],
    graduation: Option<&str>,
    read: impl Fn(&str) -> Result<Quoted, Refusal>,
) -> Result<Vec<(String, Quoted)>, Refusal> {
    let step = graduation.map(&read).transpose()?;
    let one = |text: &String| match (step, graduation) {
        (Some(step), Some(graduation)) => {
            let value = graduations(text, step).ok_or_else(|| no_count(text, graduation, step))?;
            // The record keeps the size of one graduation: the dial is judged by it.
            Ok((format!("{}{OF}{step}", text.trim()), value))
        }
        _ => Ok((text.clone(), read(text)?)),
    };
    values.iter().map(one).collect()
}

/// `1 value is`, `11 values are`
fn values_told(many: usize) -> String {
    if many == 1 { "1 value is".to_owned() } else { format!("{many} values are") }
}

fn no_count(text: &str, graduation: &str, step: Quoted) -> Refusal {
    let said = match with_a_point(text).filter(|point| graduations(point, step).is_some()) {
        Some(point) => {
            format!("{text:?} has a comma; write it with a decimal point: {point}")
        }
        None => format!("{text:?} is not a count of graduations"),
    };
    Refusal::input(
        format!("{said}; nothing was entered"),
        format!("write how many of {graduation}, with halves or tenths: 2, -1, 1.5"),
    )
}

/// A count of graduations, whole or with one decimal read between them by eye, as a value in the unit of
/// the graduation.
fn graduations(text: &str, step: Quoted) -> Option<Quoted> {
    let text = text.trim();
    let (whole, tenths) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let unsigned = whole.trim_start_matches(['+', '-']);
    if whole.len() > unsigned.len() + 1 || !digits(unsigned) || tenths.len() != 1 {
        return None;
    }
    let count: i64 = format!("{unsigned}{tenths}").parse().ok()?;
    let count = if whole.starts_with('-') { -count } else { count };
    let tenths = step.length.picometres().checked_mul(count)?;
    let length = Length::from_picometres((tenths % 10 == 0).then_some(tenths / 10)?);
    let places = step.places + u8::from(count % 10 != 0);
    Some(Quoted { length, places, ..step })
}
