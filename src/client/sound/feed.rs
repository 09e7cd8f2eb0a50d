//! Which tone the lines of the feed lead to: at most one for lines that arrive together, so that the end of a check
//! gives one tone, whatever follows from it.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use ::bench::row::{AlertKind, Level};
use wire::{AlertLine, FeedLine, Happening, VerdictLine};

use super::hear::{asked_after, ending_word, is_refusal, stops};
use super::tone::Tone;

/// Lines about a check that arrive this soon after its tone belong to that tone.
const TOGETHER: Duration = Duration::from_secs(2);

/// Part and check of a job.
type Ring = (String, String, String);

/// What was heard so far.
#[derive(Debug, Default)]
pub(crate) struct FeedHearing {
    /// Lines that have arrived and were not heard yet.
    lines: Vec<FeedLine>,
    /// For each check: the attempt, the tone that was heard at its end, and when.
    told: BTreeMap<Ring, (Option<u32>, Tone, Instant)>,
    /// Alerts to stop for that nobody has seen yet.
    stops: BTreeSet<u64>,
}

impl FeedHearing {
    /// A line has arrived.
    pub(crate) fn line(&mut self, line: FeedLine) {
        self.lines.push(line);
    }

    /// Whether there is an alert to stop for that nobody has seen.
    pub(crate) fn stops(&self) -> bool {
        !self.stops.is_empty()
    }

    /// The tone for the lines that arrived together.
    pub(crate) fn hear(&mut self, now: Instant) -> Option<Tone> {
        let lines = std::mem::take(&mut self.lines);
        if self.hear_stops(&lines) {
            return Some(Tone::Stop);
        }
        let rings: BTreeSet<Ring> = lines.iter().filter_map(ring_of).collect();
        let ends = rings.into_iter().filter_map(|ring| self.end(&lines, ring, now));
        let loudest = ends.max_by_key(|tone| urgency(*tone));
        let refused = lines.iter().filter_map(raised).any(|alert| is_refusal(alert.kind));
        loudest.or(refused.then_some(Tone::Refused))
    }

    /// Follows the alerts to stop for. Returns whether there is a new one that is not over yet.
    fn hear_stops(&mut self, lines: &[FeedLine]) -> bool {
        let before = self.stops.clone();
        for line in lines {
            let Some(alert) = &line.alert else { continue };
            match line.event {
                Happening::Raised if stops(alert.level, alert.kind) => {
                    self.stops.insert(alert.id);
                }
                Happening::Seen | Happening::Cleared => drop(self.stops.remove(&alert.id)),
                Happening::Raised | Happening::Verdict | Happening::Damaged => {}
            }
        }
        self.stops.difference(&before).next().is_some()
    }

    /// The tone at the end of a check; it is heard once.
    fn end(&mut self, lines: &[FeedLine], ring: Ring, now: Instant) -> Option<Tone> {
        let about = || lines.iter().filter(|line| ring_of(line).as_ref() == Some(&ring));
        let verdict = about().filter_map(|line| line.verdict.as_ref()).next_back();
        let alerts = || about().filter_map(raised).filter(|alert| calls(alert));
        let is_out = |alert: &AlertLine| alert.kind == AlertKind::Out;
        let tone = if alerts().any(|alert| !is_out(alert)) {
            let out = alerts().any(is_out).then_some(Tone::Out);
            let ended = verdict.and_then(ending).or(out);
            ended.map_or(Tone::Question, asked_after)
        } else if let Some(verdict) = verdict {
            ending(verdict)?
        } else if alerts().next().is_some() {
            Tone::Out
        } else {
            return None;
        };
        let attempt = verdict.map(|verdict| verdict.attempt);
        let again = self.told.get(&ring).is_some_and(|(of, told, at)| {
            let this = attempt.is_none() || of.is_none() || *of == attempt;
            let same = attempt.is_some() && *of == attempt && *told == tone;
            same || (this && now.saturating_duration_since(*at) < TOGETHER)
        });
        if again {
            return None;
        }
        self.told.insert(ring, (attempt, tone, now));
        Some(tone)
    }
}

/// Whether an alert calls for a person.
fn calls(alert: &AlertLine) -> bool {
    alert.level == Level::Interrupt
}

/// The alert that a line raises.
fn raised(line: &FeedLine) -> Option<&AlertLine> {
    line.alert.as_ref().filter(|_| line.event == Happening::Raised)
}

fn ring_of(line: &FeedLine) -> Option<Ring> {
    if let Some(verdict) = &line.verdict {
        return Some((verdict.job.clone(), verdict.part.clone(), verdict.check.clone()));
    }
    let alert = raised(line)?;
    Some((alert.job.clone()?, alert.part.clone()?, alert.check.clone()?))
}

fn ending(verdict: &VerdictLine) -> Option<Tone> {
    let rules = (verdict.simple, verdict.guarded);
    ending_word(verdict.verdict, !verdict.reasons.is_empty(), rules)
}

/// Which of two tones goes first when both are due.
const fn urgency(tone: Tone) -> u8 {
    match tone {
        Tone::Stop => 5,
        Tone::Out | Tone::OutAndAsked => 4,
        Tone::Question | Tone::Withheld => 3,
        Tone::InButClose => 2,
        Tone::In => 1,
        Tone::Taken | Tone::TakenBack | Tone::Refused => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::bench::row::Heard;
    use ::report::trial;
    use judgement::Word;
    use wire::Published;

    fn verdict(attempt: u32, word: &str) -> FeedLine {
        let word = Word::parse(word).unwrap();
        let mut verdict = trial::face_with(|verdict| {
            (verdict.word, verdict.simple, verdict.guarded) = (word, Some(word), Some(word));
        });
        verdict.attempt = attempt;
        line("verdict", None, Some(verdict.published()))
    }

    fn alert(event: &str, (id, level, kind): (u64, &str, &str)) -> FeedLine {
        let of = trial::face().published();
        let kind = AlertKind::parse(kind).unwrap();
        let in_ring = kind.nature().heard == Heard::Ring;
        let alert = AlertLine {
            bench: None,
            acked_caller: None,
            schema: "alert/1".to_owned(),
            id,
            at: String::new(),
            level: Level::parse(level).unwrap(),
            kind,
            job: in_ring.then_some(of.job),
            part: in_ring.then_some(of.part),
            check: in_ring.then_some(of.check),
            gauge: None,
            text: String::new(),
            cleared_at: None,
            acked_at: None,
            acked_by: None,
        };
        line(event, Some(alert), None)
    }

    fn line(event: &str, alert: Option<AlertLine>, verdict: Option<VerdictLine>) -> FeedLine {
        let (schema, at) = ("feed/1".to_owned(), String::new());
        FeedLine {
            schema,
            feed: String::new(),
            seq: 1,
            at,
            event: Happening::parse(event).unwrap(),
            alert,
            verdict,
            told: None,
            text: None,
        }
    }

    struct Ear(FeedHearing, Instant);

    impl Ear {
        fn hears(&mut self, after_s: u64, lines: &[FeedLine]) -> Option<Tone> {
            self.1 += Duration::from_secs(after_s);
            for line in lines {
                self.0.line(line.clone());
            }
            self.0.hear(self.1)
        }
    }

    fn ear() -> Ear {
        Ear(FeedHearing::default(), Instant::now())
    }

    const OUT: (u64, &str, &str) = (7, "interrupt", "out");
    const TILT: (u64, &str, &str) = (8, "interrupt", "mostly-tilt");

    #[test]
    fn a_ring_ends_on_one_tone() {
        let mut ear = ear();
        let bad = "does-not-conform";
        assert_eq!(ear.hears(0, &[verdict(1, bad), alert("raised", OUT)]), Some(Tone::Out));
        assert_eq!(ear.hears(1, &[alert("raised", TILT)]), None, "the rest of the same ring");
        assert_eq!(ear.hears(60, &[verdict(1, bad)]), None, "judged again, to the same");
        assert_eq!(ear.hears(5, &[verdict(1, "conforms")]), Some(Tone::In));
        assert_eq!(ear.hears(1, &[verdict(2, "conforms")]), Some(Tone::In), "another attempt");
        let tilted = [verdict(2, bad), alert("raised", OUT), alert("raised", TILT)];
        assert_eq!(ear.hears(60, &tilted), Some(Tone::OutAndAsked));
        assert_eq!(ear.hears(60, &[alert("raised", OUT)]), Some(Tone::Out), "verdicts not shown");
        assert_eq!(ear.hears(60, &[verdict(3, "incomplete")]), None);
        assert_eq!(
            ear.hears(60, &[alert("cleared", OUT), alert("raised", (9, "note", "undecided"))]),
            None
        );
    }

    #[test]
    fn what_makes_work_stop_calls_until_it_is_seen() {
        let mut ear = ear();
        let unit = (3, "interrupt", "unit-mixed");
        assert_eq!(
            ear.hears(0, &[verdict(1, "conforms"), alert("raised", unit)]),
            Some(Tone::Stop)
        );
        assert!(ear.0.stops());
        assert_eq!(ear.hears(1, &[alert("raised", (4, "log", "battery-low"))]), None);
        assert_eq!(ear.hears(1, &[alert("seen", unit)]), None);
        assert!(!ear.0.stops());
        let over = [
            alert("raised", (5, "interrupt", "unit-mixed")),
            alert("cleared", (5, "interrupt", "unit-mixed")),
        ];
        assert_eq!(ear.hears(1, &over), None, "over before anybody could hear it");
    }

    #[test]
    fn a_foot_on_nothing_is_a_buzz_and_other_notes_are_silent() {
        let mut ear = ear();
        assert_eq!(ear.hears(0, &[alert("raised", (1, "note", "foot"))]), Some(Tone::Refused));
        assert_eq!(ear.hears(0, &[alert("cleared", (1, "note", "foot"))]), None);
        assert_eq!(ear.hears(0, &[alert("raised", (2, "note", "gauge-lost"))]), None);
        assert_eq!(ear.hears(0, &[]), None);
    }
}
