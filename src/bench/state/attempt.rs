//! One attempt at a check, and what can be asked of its readings.

use crate::plan::MOST_POSITIONS;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::fact::row::{AttemptBegan, Ending, Question, Shown, State};
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::plan::Taps;
use crate::plan::{Check, MasterUse};
use crate::setup::GaugeSetup;
use crate::state::logged::Logged;
use quantity::{Figure, Length, Name, Quoted, Wall};

/// A position that was left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The row that records it.
    pub row: Seq,
    /// Why.
    pub why: String,
    /// Who left it out.
    pub by: Option<Name>,
    /// When.
    pub at: Wall,
}

/// One attempt at a check.
#[derive(Debug, Clone, PartialEq)]
pub struct Attempt {
    /// How it began.
    pub began: AttemptBegan,
    /// When it began.
    pub began_at: Wall,
    /// The readings of this attempt, in order of arrival.
    pub readings: Vec<Touched>,
    /// For each position the index of the reading that fills it; as long as the highest filled
    /// position needs. It follows from `readings`, and is kept so that a touch takes the same time
    /// however long the attempt is.
    pub(super) filled: Vec<Option<usize>>,
    /// How often each position is to be touched.
    touches: u32,
    /// How many touches are taken; at each position at most as many as it needs.
    taken: u32,
    /// The first touch by anybody but the hand that it was begun for. It follows from `readings`, too.
    another_hand: Option<Seq>,
    /// Whether any reading was keyed in. It follows from `readings`, too.
    any_keyed: bool,
    /// The touches that count at each position that was touched more than once, as indices into
    /// `readings`, which they follow from.
    pub(super) beside: BTreeMap<u32, Vec<usize>>,
    /// Positions at which a touch was taken back, whether or not they were filled again since.
    pub(super) taken_back: BTreeSet<u32>,
    /// Positions at which a touch that was taken back counts again, beside the newer one.
    pub recalled: BTreeSet<u32>,
    /// Positions left out, with the reason.
    pub skipped: BTreeMap<u32, LeftOut>,
    /// How it ended.
    pub ending: Option<Ending>,
    /// The touch a person is asked for.
    pub asked: Option<Question>,
    /// The row that asks it.
    pub(super) asked_in: Option<Seq>,
    /// Questions that were put, so that none is put twice.
    pub put: Vec<Question>,
    /// The next reading is the master.
    pub master_next: bool,
    /// The seatings of a bar that a person has reported, each with its row, newest last.
    pub(super) seated: Vec<(Seq, u32)>,
    /// Marks of a turn were tapped, and the turn is not whole yet.
    pub turn_under_way: bool,
    /// The log of a run-in, from its first step on.
    pub log: Option<Logged>,
    /// The answer or value given.
    pub answer: Option<String>,
    /// Who gave it.
    pub answered_by: Option<Name>,
    /// When it was given.
    pub answered_at: Option<Wall>,
    /// The row that holds it.
    pub answered_in: Option<Seq>,
    /// Its newest verdict.
    pub verdict: Option<(Seq, Arc<Verdict>)>,
    /// The newest sweep, and the check as it was swept: with a position for each sample.
    pub(super) swept: Option<(Arc<Taps>, Arc<Check>)>,
    /// The check with the master or the bar as the register had it when the attempt began.
    pub(super) pinned: Option<Arc<Check>>,
}

/// A reading of an attempt, as it counts now.
#[derive(Debug, Clone, PartialEq)]
pub struct Touched {
    /// Its number.
    pub id: Seq,
    /// Its value.
    pub value: Quoted,
    /// What it counts as.
    pub state: State,
    /// What it counted as when it arrived.
    pub arrived_as: State,
    /// Its position.
    pub position: Option<u32>,
    /// The dropped file it came from.
    pub from_file: Option<Seq>,
    /// It was keyed in.
    pub keyed: bool,
    /// The graduation it counts, where a dial was keyed in by its graduations.
    pub graduation: Option<Length>,
    /// When it was stored, microseconds of the monotonic clock.
    pub mono_us: u64,
    /// When it was measured: the time a file states, otherwise when it arrived.
    pub at: Wall,
    /// Who touched.
    pub by: Option<Name>,
}

impl Attempt {
    /// An attempt without a touch; each position is to be touched this often.
    pub(super) fn new(began: AttemptBegan, began_at: Wall, touches: u32) -> Self {
        Self {
            began,
            began_at,
            readings: Vec::new(),
            filled: Vec::new(),
            touches: touches.max(1),
            taken: 0,
            another_hand: None,
            any_keyed: false,
            beside: BTreeMap::new(),
            taken_back: BTreeSet::new(),
            recalled: BTreeSet::new(),
            skipped: BTreeMap::new(),
            ending: None,
            asked: None,
            asked_in: None,
            put: Vec::new(),
            master_next: false,
            seated: Vec::new(),
            turn_under_way: false,
            log: None,
            answer: None,
            answered_by: None,
            answered_at: None,
            answered_in: None,
            verdict: None,
            swept: None,
            pinned: None,
        }
    }

    /// Standard uncertainty of where a swept turn's samples lie, degrees; `None` where none was
    /// swept.
    #[must_use]
    pub fn tap_uncertainty_deg(&self) -> Option<f64> {
        self.swept.as_ref().map(|(taps, _)| taps.uncertainty_deg())
    }

    /// Whether it is a run-in under way.
    #[must_use]
    pub fn runs(&self) -> bool {
        let log = self.log.as_ref().filter(|_| self.ending.is_none());
        log.is_some_and(|logged| logged.log.ended().is_none())
    }

    /// When the marks of its turn were tapped, where it was swept.
    #[must_use]
    pub fn taps(&self) -> Option<&Taps> {
        self.swept.as_ref().map(|(taps, _)| &**taps)
    }

    /// The check as this attempt measured it, where that differs from the plan.
    pub(super) fn own_check(&self) -> Option<&Check> {
        // A turn that was taken back leaves the check as in the plan.
        let swept = self.swept.as_ref().filter(|_| !self.filled.is_empty());
        swept.map(|(_, check)| &**check).or(self.pinned.as_deref())
    }

    /// A turn was swept: its samples follow.
    pub(super) fn sweep(&mut self, taps: &Arc<Taps>, check: &Check) {
        let own = Arc::new(taps.check_to_fill(check));
        self.swept = Some((Arc::clone(taps), own));
        self.turn_under_way = false;
    }

    /// A person reported a seating of the bar, or took that back.
    pub(super) fn seat(&mut self, said: Seq, seating: u32, taken_back: bool) {
        if taken_back {
            self.seated.pop();
        } else {
            self.seated.push((said, seating));
        }
    }

    /// The present seating of the bar, counted from 0: the one reported last. Nobody has to report the
    /// first.
    #[must_use]
    pub fn seating(&self) -> u32 {
        self.seated.last().map_or(0, |(_, seating)| *seating)
    }

    /// The seating of the bar before the one reported last.
    #[must_use]
    pub fn seated_before(&self) -> u32 {
        self.seated.iter().rev().nth(1).map_or(0, |(_, seating)| *seating)
    }

    /// The row of the newest seating, where nothing that counts was touched since.
    #[must_use]
    pub fn just_seated(&self) -> Option<Seq> {
        let said = self.seated.last().map(|(said, _)| *said)?;
        let since = self.readings.iter().any(|one| one.state.counts() && one.id > said);
        (!since).then_some(said)
    }

    /// The readings that count as the given state, in order of arrival.
    pub fn in_state(&self, state: State) -> impl DoubleEndedIterator<Item = &Touched> + Clone {
        self.readings.iter().filter(move |touched| touched.state == state)
    }

    /// Everybody who made a touch that counts, or gave the answer, in order.
    #[must_use]
    pub fn hands(&self) -> Vec<&Name> {
        let touched = self.readings.iter().filter(|touched| touched.state.counts());
        let mut hands: Vec<&Name> = Vec::new();
        for hand in touched.filter_map(|touched| touched.by.as_ref()).chain(&self.answered_by) {
            if !hands.contains(&hand) {
                hands.push(hand);
            }
        }
        hands
    }

    /// Who made the last touch that counts, or gave the answer.
    #[must_use]
    pub fn last_hand(&self) -> Option<&Name> {
        let touched = self.readings.iter().rfind(|touched| touched.state.counts());
        touched.map_or(self.answered_by.as_ref(), |touched| touched.by.as_ref())
    }

    /// How many readings count as the given state.
    #[must_use]
    pub fn count(&self, state: State) -> usize {
        self.in_state(state).count()
    }

    /// The reading that fills a position.
    #[must_use]
    pub fn at(&self, position: u32) -> Option<&Touched> {
        let index = self.filled.get(usize::try_from(position).ok()?)?;
        self.readings.get((*index)?)
    }

    /// One past the highest position that is filled.
    #[must_use]
    pub fn past_highest(&self) -> u32 {
        u32::try_from(self.filled.len()).unwrap_or(u32::MAX)
    }

    pub(super) fn fill(&mut self, touched: Touched) {
        self.any_keyed |= touched.keyed;
        let begun_for = self.began.shown.as_ref().and_then(|shown| shown.by.as_ref());
        if touched.by.as_ref() != begun_for {
            self.another_hand = self.another_hand.or(Some(touched.id));
        }
        if let (State::Placed, Some(position)) = (touched.state, touched.position)
            && position < MOST_POSITIONS
            && let Ok(at) = usize::try_from(position)
        {
            let before = self.needed_at(position);
            if self.filled.len() <= at {
                self.filled.resize(at + 1, None);
            }
            let index = self.readings.len();
            if let Some(first) = self.filled[at] {
                self.beside.entry(position).or_insert_with(|| vec![first]).push(index);
            }
            self.filled[at] = Some(index);
            self.readings.push(touched);
            self.taken += self.needed_at(position) - before;
        } else {
            self.readings.push(touched);
        }
    }

    /// Changes what a reading counts as: its position may be open now, or go back to an older touch.
    pub(crate) fn mark(&mut self, reading: Seq, state: State) {
        let Some(index) = self.readings.iter().rposition(|touched| touched.id == reading) else {
            return;
        };
        let back = self.readings[index].state == State::Void && state == State::Placed;
        let position = self.readings[index].position;
        let before = position.map_or(0, |position| self.needed_at(position));
        self.readings[index].state = state;
        let Some(position) = position else { return };
        if state == State::Void {
            self.taken_back.insert(position);
        }
        if back {
            self.recalled.insert(position);
        }
        let counts = self.readings[index].state == State::Placed;
        let Ok(at) = usize::try_from(position.min(MOST_POSITIONS)) else { return };
        if counts && self.filled.len() <= at && position < MOST_POSITIONS {
            self.filled.resize(at + 1, None);
        }
        if let Some(place) = self.filled.get_mut(at) {
            let alone = || place.iter().copied().collect();
            let mut all = self.beside.remove(&position).unwrap_or_else(alone);
            all.retain(|one| *one != index);
            if counts {
                all.push(index);
                all.sort_unstable();
            }
            *place = all.last().copied();
            if all.len() > 1 {
                self.beside.insert(position, all);
            }
            self.taken = self.taken - before + self.needed_at(position);
        }
        while self.filled.last() == Some(&None) {
            self.filled.pop();
        }
    }

    /// The gauge it is pinned to.
    #[must_use]
    pub fn gauge(&self) -> Option<&GaugeSetup> {
        self.began.pin.gauge.as_ref()
    }

    /// What the bench knew of its gauge in the hand that touched.
    #[must_use]
    pub fn shown(&self) -> Option<&Shown> {
        self.began.shown.as_deref().filter(|_| self.another_hand.is_none())
    }

    /// The length at a position.
    #[must_use]
    pub fn length_at(&self, position: u32) -> Option<Length> {
        self.at(position).map(|touched| touched.value.length)
    }

    /// The touches at a position that were taken back, newest first. All readings are searched only where
    /// there is one.
    pub fn taken_back_at(&self, position: u32) -> impl Iterator<Item = &Touched> {
        let any = self.taken_back.contains(&position);
        self.readings
            .iter()
            .rev()
            .filter(move |one| {
                let here = any && one.position == Some(position);
                here && one.state == State::Void && one.arrived_as == State::Placed
            })
            .take(if any { usize::MAX } else { 0 })
    }

    /// How often each position is to be touched.
    #[must_use]
    pub const fn touches(&self) -> u32 {
        self.touches
    }

    /// How many touches at a position count.
    #[must_use]
    pub fn touches_at(&self, position: u32) -> u32 {
        self.beside.get(&position).map_or_else(
            || u32::from(self.at(position).is_some()),
            |all| u32::try_from(all.len()).unwrap_or(u32::MAX),
        )
    }

    /// The same, without those beyond what the position needs.
    fn needed_at(&self, position: u32) -> u32 {
        self.touches_at(position).min(self.touches)
    }

    /// The touches at a position since the question after it was put, in order.
    pub fn since_asked(&self, position: u32) -> impl Iterator<Item = &Touched> {
        let asked = self.asked_in;
        self.all_at(position).filter(move |touched| asked.is_none_or(|asked| touched.id > asked))
    }

    /// The mean of the touches at a position that count.
    #[must_use]
    pub fn mean_at(&self, position: u32) -> Option<Figure> {
        let Some(all) = self.beside.get(&position) else {
            return self.length_at(position).map(Figure::from);
        };
        let lengths: Vec<Length> =
            all.iter().filter_map(|index| Some(self.readings.get(*index)?.value.length)).collect();
        Figure::mean(&lengths)
    }

    /// The touches at a position that count, in order of arrival.
    pub fn all_at(&self, position: u32) -> impl Iterator<Item = &Touched> {
        let many = self.beside.get(&position);
        let all = many.into_iter().flatten().filter_map(|index| self.readings.get(*index));
        all.chain(self.at(position).filter(|_| many.is_none()))
    }

    /// Whether a position that is touched anew has some of its touches and still needs others.
    #[must_use]
    pub fn is_partly_answered(&self) -> bool {
        let Some(Question::Touch(position)) = self.asked else { return false };
        let new = u32::try_from(self.since_asked(position).count()).unwrap_or(u32::MAX);
        (1..self.touches).contains(&new)
    }

    /// Whether a position is touched as often as it needs, or left out.
    #[must_use]
    pub fn settled(&self, position: u32) -> bool {
        self.skipped.contains_key(&position) || self.is_full(position)
    }

    /// Whether a position is touched as often as it needs.
    #[must_use]
    pub fn is_full(&self, position: u32) -> bool {
        self.touches_at(position) >= self.touches
    }

    /// Touches that the positions of the check still need, those left out apart. A position is only left
    /// out before its first touch.
    #[must_use]
    pub fn open_touches(&self, check: &Check) -> u32 {
        let skipped = u32::try_from(self.skipped.len()).unwrap_or(u32::MAX);
        let skipped = skipped.saturating_mul(self.touches);
        let all = check.total().saturating_mul(self.touches);
        all.saturating_sub(self.taken()).saturating_sub(skipped)
    }

    /// Whether any of its readings came from a dropped file.
    #[must_use]
    pub fn from_file(&self) -> bool {
        self.readings.iter().any(|touched| touched.from_file.is_some())
    }

    /// How many touches count, at each position at most as many as it needs.
    #[must_use]
    pub const fn taken(&self) -> u32 {
        self.taken
    }

    /// Whether the closure was taken back and not touched again since.
    #[must_use]
    pub fn closure_taken_back(&self) -> bool {
        self.closure().is_none()
            && self.readings.iter().any(|touched| touched.arrived_as == State::Closure)
    }

    /// Whether anything was read or left out for it.
    #[must_use]
    pub fn is_touched(&self) -> bool {
        !self.readings.is_empty() || !self.skipped.is_empty()
    }

    /// The step of readings that were keyed in: the coarsest graduation that was counted, otherwise one in
    /// the last place of the value with the most places. It is coarser than the gauge's own step where a
    /// dial is read. `None` without keyed readings, or where only whole numbers were typed.
    #[must_use]
    pub fn keyed_step(&self) -> Option<Length> {
        if !self.any_keyed {
            return None;
        }
        let keyed = || self.readings.iter().filter(|one| one.keyed && one.state.counts());
        let typed = |touched: &Touched| {
            let Quoted { unit, places, .. } = touched.value;
            let step = Quoted::from_count(1, places, unit).ok().filter(|_| places > 0)?;
            Some(step.length)
        };
        let plain = keyed().filter(|one| one.graduation.is_none()).filter_map(typed).min();
        self.graduations().max(plain)
    }

    /// The coarsest graduation that was counted, where a dial was read so.
    #[must_use]
    pub fn graduations(&self) -> Option<Length> {
        if !self.any_keyed {
            return None;
        }
        let counts = self.readings.iter().filter(|one| one.keyed && one.state.counts());
        counts.filter_map(|one| one.graduation).max()
    }

    /// The step in which readings were keyed, where it is coarser than the gauge shows and nobody said that
    /// a dial was read by its graduations.
    #[must_use]
    pub fn keyed_coarser(&self) -> Option<Length> {
        let own = self.gauge()?.resolution.length;
        let by_eye = self.graduations().is_some();
        self.keyed_step().filter(|step| *step > own && !by_eye)
    }

    /// The newest closure that counts.
    #[must_use]
    pub fn closure_touch(&self) -> Option<&Touched> {
        self.in_state(State::Closure).next_back()
    }

    /// What it showed: [`Self::closure_touch`].
    #[must_use]
    pub fn closure(&self) -> Option<Length> {
        self.closure_touch().map(|touched| touched.value.length)
    }

    /// The newest touch of position 0 half way round.
    #[must_use]
    pub fn middle_touch(&self) -> Option<&Touched> {
        self.in_state(State::Middle).next_back()
    }

    /// The newest master touch before the first position, or the very first one.
    #[must_use]
    pub fn opening_touch(&self) -> Option<&Touched> {
        let first = self.in_state(State::Placed).map(|touched| touched.id).min();
        let before = |touched: &&Touched| first.is_none_or(|first| touched.id < first);
        let last = self.in_state(State::Placed).map(|touched| touched.id).max();
        // A touch after the last position is not an opening: the walk would always be zero.
        let late = || self.in_state(State::Master).next().filter(|late| Some(late.id) < last);
        self.in_state(State::Master).rfind(before).or_else(late)
    }

    /// What the master showed at the opening: [`Self::opening_touch`].
    #[must_use]
    pub fn opening(&self) -> Option<Length> {
        self.opening_touch().map(|touched| touched.value.length)
    }

    /// Whether the master was touched after every position.
    #[must_use]
    pub fn closing_master(&self) -> bool {
        let last = self.in_state(State::Placed).map(|touched| touched.id).max();
        last.is_some_and(|last| self.in_state(State::Master).any(|touched| touched.id > last))
    }

    /// Whether the series is over without the closing touch on the master: it was taken back, or position 0
    /// came back off before it.
    #[must_use]
    pub fn closing_missing(&self, check: &Check) -> bool {
        check.master == MasterUse::Both
            && self.ending == Some(Ending::Complete)
            && self.closing().is_none()
            && !self.from_file()
    }

    /// The newest master touch after a position was touched.
    #[must_use]
    pub fn closing_touch(&self) -> Option<&Touched> {
        let first = self.in_state(State::Placed).map(|touched| touched.id).min()?;
        self.in_state(State::Master).rfind(|touched| touched.id > first)
    }

    /// What the master showed at the closing: [`Self::closing_touch`].
    #[must_use]
    pub fn closing(&self) -> Option<Length> {
        self.closing_touch().map(|touched| touched.value.length)
    }
}
