//! The job, check by check: its attempts, the one that stands, and those before it.

use jiff::tz::TimeZone;

use super::facts::JobFacts;
use ::record::VerdictRecord;
use bench::plan::{Check, CheckAt, Part};
use bench::row::AttemptReason;
use bench::verdict::Verdict;
use bench::{Attempt, Job, Seq};
use judgement::Word;
use quantity::{Figure, Name, Unit};

/// A job, prepared for the report.
pub(super) struct Model<'a> {
    pub(super) facts: &'a JobFacts,
    pub(super) unit: Unit,
    pub(super) zone: &'a TimeZone,
    /// Whether the samples of swept turns are listed.
    pub(super) samples: bool,
    /// Every check of the plan, in its order.
    pub(super) items: Vec<Item<'a>>,
}

/// One characteristic.
pub(super) struct Item<'a> {
    pub(super) part: &'a Part,
    pub(super) check: &'a Check,
    /// Whether it only says how the spindle came in: it is the "as found" side of another check.
    pub(super) found_side: bool,
    /// The attempts on the part as it is now, in order.
    pub(super) goes: Vec<Go<'a>>,
    /// Attempts on parts that were replaced since.
    pub(super) old: Vec<Go<'a>>,
}

/// One attempt.
pub(super) struct Go<'a> {
    pub(super) id: Seq,
    pub(super) attempt: &'a Attempt,
    /// The check as this attempt measured it: for a swept turn, with a position for each sample.
    pub(super) check: &'a Check,
    pub(super) record: Option<&'a VerdictRecord>,
    /// The height that counts at each position: the means that the verdict holds.
    pub(super) heights: Vec<(u32, Figure)>,
}

impl<'a> Model<'a> {
    pub(super) fn of(facts: &'a JobFacts, unit: Unit, zone: &'a TimeZone) -> Self {
        let plan = &facts.record.plan.plan;
        let item = |at: CheckAt| {
            let (part, check) = plan.at(at)?;
            let (old, goes) = goes(facts, at, check);
            let found_side = plan.is_found_side(at);
            Some(Item { part, check, found_side, goes, old })
        };
        let items = plan.places().filter_map(item).collect();
        Self { facts, unit, zone, samples: false, items }
    }

    pub(super) fn name(&self) -> &'a str {
        self.facts.record.name.as_str()
    }

    /// The checks that have a verdict, with the attempt that stands.
    pub(super) fn judged(&self) -> impl Iterator<Item = (&Item<'a>, &Go<'a>, &'a VerdictRecord)> {
        self.items.iter().filter_map(|item| {
            let go = item.standing()?;
            Some((item, go, go.record?))
        })
    }

    /// Everybody whose touches or answers a verdict uses, in order, also those of combined tries and of
    /// both lengths of a difference.
    pub(super) fn hands(&self, go: &Go<'a>) -> Vec<&'a Name> {
        let attempts = &self.facts.state.attempts;
        let rests_on = go.record.map_or(&[][..], |record| &record.verdict.combined);
        let others = rests_on.iter().filter_map(|id| attempts.get(id));
        let mut hands: Vec<&Name> = Vec::new();
        for hand in others.flat_map(|attempt| attempt.hands()).chain(go.attempt.hands()) {
            if !hands.contains(&hand) {
                hands.push(hand);
            }
        }
        hands
    }

    /// Every attempt that was begun.
    pub(super) fn every_go(&self) -> impl Iterator<Item = (&Item<'a>, &Go<'a>)> {
        self.items
            .iter()
            .flat_map(|item| item.old.iter().chain(&item.goes).map(move |go| (item, go)))
    }
}

/// The attempts on replaced pieces, and those on the present one.
fn goes<'a>(facts: &'a JobFacts, at: CheckAt, check: &'a Check) -> (Vec<Go<'a>>, Vec<Go<'a>>) {
    let state: &Job = &facts.state;
    let (mut old, mut present) = (Vec::new(), Vec::new());
    for (id, attempt) in state.attempts_at(at) {
        let record = facts.verdicts.iter().find(|record| record.verdict.attempt == id);
        let verdict = record.map(|record| &*record.verdict);
        let check = state.check_of(attempt).map_or(check, |(_, check)| check);
        let heights = heights(attempt, verdict);
        let go = Go { id, attempt, check, record, heights };
        if state.same_piece(at.part, id, state.attempt_to_come()) {
            present.push(go);
        } else {
            old.push(go);
        }
    }
    (old, present)
}

/// The height that counts at each position, as in the verdict on the attempt. For a swept turn these are
/// its samples; an attempt without a verdict has only its readings.
fn heights(attempt: &Attempt, verdict: Option<&Verdict>) -> Vec<(u32, Figure)> {
    let means = verdict.map_or(&[][..], |verdict| &verdict.means);
    if !means.is_empty() {
        return means.iter().map(|mean| (mean.position, mean.value)).collect();
    }
    let own = |position| Some((position, attempt.mean_at(position)?));
    (0..attempt.past_highest()).filter_map(own).collect()
}

impl<'a> Item<'a> {
    /// The newest attempt that has a verdict.
    pub(super) fn standing(&self) -> Option<&Go<'a>> {
        self.goes.iter().rev().find(|go| go.record.is_some())
    }

    /// The last complete attempt before metal was first taken off; `None` where none was.
    pub(super) fn before(&self) -> Option<&Go<'a>> {
        let ground = self.goes.iter().position(|go| go.reason() == AttemptReason::Ground)?;
        let complete =
            |verdict: &Verdict| verdict.value.is_some() && verdict.word != Word::Incomplete;
        let whole = |go: &&Go<'_>| go.record.is_some_and(|record| complete(&record.verdict));
        self.goes.get(ground..)?.iter().find(|go| go.record.is_some())?;
        self.goes.get(..ground)?.iter().rev().find(whole)
    }

    /// Its first complete verdict, on the piece that came.
    pub(super) fn first_word(&self) -> Option<Word> {
        let goes = self.old.iter().chain(&self.goes);
        let mut words = goes.filter_map(|go| go.record.map(|record| record.verdict.word));
        words.find(|word| *word != Word::Incomplete)
    }

    /// Whether a verdict is to be expected of it.
    pub(super) fn is_judged(&self) -> bool {
        self.check.traits().is_touched() || self.check.limits.is_some() || self.standing().is_some()
    }

    /// Whether it has neither a verdict nor an entry.
    pub(super) fn is_open(&self) -> bool {
        let answered = self.goes.iter().any(|go| go.attempt.answer.is_some());
        self.standing().is_none() && !answered
    }

    /// How many states of the metal were measured, up to the attempt that stands.
    pub(super) fn rounds(&self) -> usize {
        1 + self.goes.iter().filter(|go| go.reason() == AttemptReason::Ground).count()
    }

    /// Whether it is made of readings at angles.
    pub(super) fn is_face(&self) -> bool {
        self.check.traits().is_face()
    }
}

impl<'a> Go<'a> {
    /// The verdict on it.
    pub(super) fn verdict(&self) -> Option<&'a Verdict> {
        self.record.map(|record| &*record.verdict)
    }

    pub(super) fn reason(&self) -> AttemptReason {
        self.attempt.began.reason
    }

    /// Highest minus lowest of the heights that count.
    pub(super) fn range(&self) -> Option<Figure> {
        let (low, high) = self.lowest_and_highest()?;
        Some(high - low)
    }

    pub(super) fn lowest_and_highest(&self) -> Option<(Figure, Figure)> {
        let low = self.heights.iter().map(|(_, height)| *height).min()?;
        let high = self.heights.iter().map(|(_, height)| *height).max()?;
        Some((low, high))
    }

    /// The heights as they are drawn. On supports the least-squares plane is subtracted, because it only
    /// shows how the supports were screwed.
    pub(super) fn drawn(&self) -> Self {
        let heights = if self.check.tilt_is_the_parts() { None } else { self.after_plane() };
        let heights = heights.unwrap_or_else(|| self.heights.clone());
        Go { id: self.id, attempt: self.attempt, check: self.check, record: self.record, heights }
    }

    fn after_plane(&self) -> Option<Vec<(u32, Figure)>> {
        let place = |position: u32| {
            let angle = self.check.angle_deg(position).to_radians();
            let radius = Figure::from(self.check.radius(position)?).to_f64();
            Some([radius * angle.cos(), radius * angle.sin()])
        };
        let places = self.heights.iter().map(|(at, _)| place(*at)).collect::<Option<Vec<_>>>()?;
        let x: Vec<f64> = places.iter().map(|place| place[0]).collect();
        let y: Vec<f64> = places.iter().map(|place| place[1]).collect();
        let z: Vec<f64> = self.heights.iter().map(|(_, height)| height.to_f64()).collect();
        let cloud = geometry::Cloud::new(&x, &y, &z).ok()?;
        let plane = geometry::least_squares_of_cloud(&cloud).ok()?;
        let on_plane =
            |[x, y]: &[f64; 2]| plane.intercept + plane.slopes.x * x + plane.slopes.y * y;
        let left = places.iter().zip(&z).map(|(place, height)| height - on_plane(place));
        let whole = |left: f64| {
            // Rounded to a thousandth of a picometre: far finer than any shade.
            #[expect(clippy::cast_possible_truncation, reason = "far below 2^63 thousandths")]
            Figure::new((left * 1000.0).round() as i128, 1000)
        };
        Some(self.heights.iter().zip(left).map(|((at, _), left)| (*at, whole(left))).collect())
    }

    pub(super) fn height(&self, position: u32) -> Option<Figure> {
        let found = self.heights.binary_search_by_key(&position, |(at, _)| *at).ok()?;
        self.heights.get(found).map(|(_, height)| *height)
    }
}
