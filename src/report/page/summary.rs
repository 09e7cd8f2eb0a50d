//! The first page, for a customer who has a minute: what was found, what was done, what it is now, and what could not
//! be measured. How the spindle came in is told as what it was; only what stands now is marked.

use maud::{Markup, html};

use super::card;
use super::facts::JobFacts;
use super::front;
use super::model::{Item, Model};
use super::pairs;
use super::text::{self, free, mark, minus};
use crate::comparison::model::{Characteristic, InJob, Model as Compared};
use crate::metal_words;
use ::record::VerdictRecord;
use bench::fate::Fate;
use bench::plan::Part;
use bench::row::Outcome;
use bench::words::card::outcome_words;
use judgement::Word;

/// The most parts in the table; the annex has them all.
const MOST_PARTS: usize = 6;
/// The most rows of both tables: with more they and the signatures do not stand on one page.
const MOST_ROWS: usize = 14;
/// The most checks that are named in one sentence.
const MOST_NAMED: usize = 6;
/// The most characters of what somebody wrote; the annex has it whole.
const BRIEF: usize = 140;

pub(super) fn section(model: &Model<'_>, earlier: &[JobFacts]) -> Markup {
    html! {
        section aria-labelledby="summary" {
            h2 #summary { "Summary" }
            (front::brief(model))
            p.sum { (now(model)) }
            (as_received(model))
            @let parts = Parts::of(model);
            (parts.section(model))
            (found_and_final(model, earlier, MOST_ROWS - parts.told.len().min(MOST_PARTS)))
            (not_measured(model))
        }
    }
}

/// A text that somebody wrote, as much of it as a summary has room for.
pub(super) fn brief(said: &str) -> Markup {
    if said.chars().count() <= BRIEF {
        return free(said);
    }
    let short: String = said.chars().take(BRIEF).collect();
    html! { (free(&format!("{}…", short.trim_end()))) }
}

/// Names, the first of them, and how many more there are.
fn named(names: &[String]) -> String {
    let mut told = names.iter().take(MOST_NAMED).cloned().collect::<Vec<_>>().join(", ");
    if names.len() > MOST_NAMED {
        told = format!("{told} and {} more", names.len() - MOST_NAMED);
    }
    told
}

fn name_of(item: &Item<'_>) -> String {
    format!("{}/{}", item.part.name, item.check.name)
}

/// The words in the order in which they are counted.
const COUNTED: [Word; 4] =
    [Word::Conforms, Word::DoesNotConform, Word::Undecided, Word::Incomplete];

/// How many checks had each result; those that only say how it came in are not among them.
fn now(model: &Model<'_>) -> Markup {
    let of_now = model.judged().filter(|(item, ..)| !item.found_side);
    let records: Vec<&VerdictRecord> = of_now.map(|(_, _, record)| record).collect();
    let count = |word: Word| records.iter().filter(|record| record.verdict.word == word).count();
    let told: Vec<(Word, usize)> =
        COUNTED.into_iter().map(|word| (word, count(word))).filter(|(_, many)| *many > 0).collect();
    html! {
        @if model.judged().next().is_none() {
            "No check of this job has a verdict."
        } @else if records.is_empty() {
            "Only what it was like when it came in was measured."
        } @else {
            (records.len()) " " (if records.len() == 1 { "check has" } else { "checks have" })
            " a verdict: "
            @for (index, (word, many)) in told.iter().enumerate() {
                @if index > 0 { ", " }
                (mark(*word)) " " (many)
            }
            "."
            @let gone = records.iter().filter(|record| metal_words(record.standing).is_some()).count();
            @if gone > 0 {
                " " strong { (gone) (if gone == 1 { " of them rests" } else { " of them rest" }) " on metal that has changed since and stands no longer." }
            }
        }
    }
}

/// How the spindle came in, as what it was.
fn as_received(model: &Model<'_>) -> Markup {
    let came: Vec<_> = model.judged().filter(|(item, ..)| item.found_side).collect();
    let of = |is: fn(Word) -> bool| -> Vec<String> {
        let those = came.iter().filter(|(_, _, record)| is(record.verdict.word));
        those.map(|(item, ..)| name_of(item)).collect()
    };
    let out = of(|word| word == Word::DoesNotConform);
    let unsure = of(|word| matches!(word, Word::Undecided | Word::Incomplete));
    let many = |count: usize| format!("{count} of {}", came.len());
    html! {
        @if !came.is_empty() {
            p {
                "As it came in, "
                @if !out.is_empty() { (many(out.len())) " did not conform: " (free(&named(&out))) }
                @if !out.is_empty() && !unsure.is_empty() { "; " }
                @if !unsure.is_empty() { (many(unsure.len())) " could not be decided: " (free(&named(&unsure))) }
                @if out.is_empty() && unsure.is_empty() { (many(came.len())) " conformed" }
                "."
            }
        }
    }
}

/// What is told of a part.
struct PartNow<'m, 'a> {
    part: &'a Part,
    fate: Option<Fate<'m>>,
    /// Its checks, without those that only say how the spindle came in.
    items: Vec<&'m Item<'a>>,
}

impl PartNow<'_, '_> {
    fn standing(&self) -> impl Iterator<Item = (&Item<'_>, &VerdictRecord)> {
        self.items.iter().filter_map(|item| Some((*item, item.standing()?.record?)))
    }

    /// Whether there is nothing to tell of it but that all its checks conformed and conform.
    fn is_as_it_came(&self) -> bool {
        let kept = self.fate.as_ref().is_none_or(|fate| fate.outcome == Outcome::Kept);
        let good = |item: &&Item<'_>| {
            item.first_word() == Some(Word::Conforms)
                && item.standing().and_then(|go| go.record).is_some_and(stands)
        };
        kept && self.items.iter().all(|item| !item.is_judged() || good(item))
    }
}

/// Whether a verdict conforms, on metal that is still there.
fn stands(record: &VerdictRecord) -> bool {
    record.verdict.word == Word::Conforms && metal_words(record.standing).is_none()
}

/// The parts of a job.
struct Parts<'m, 'a> {
    /// Each that something was found at or done to.
    told: Vec<PartNow<'m, 'a>>,
    /// The others.
    quiet: Vec<String>,
}

impl<'m, 'a> Parts<'m, 'a> {
    fn of(model: &'m Model<'a>) -> Self {
        let state = &model.facts.state;
        let all = (0_u16..).zip(&state.opened.plan.plan.parts).map(|(index, part)| {
            let own =
                model.items.iter().filter(|item| item.part.name == part.name && !item.found_side);
            PartNow { part, fate: Fate::of(state, index), items: own.collect() }
        });
        let touched = |one: &PartNow<'_, '_>| {
            one.fate.is_some() || one.items.iter().any(|item| item.standing().is_some())
        };
        let (quiet, told): (Vec<_>, Vec<_>) = all.filter(touched).partition(PartNow::is_as_it_came);
        let quiet = quiet.iter().map(|one| one.part.name.to_string()).collect();
        Self { told, quiet }
    }

    fn section(&self, model: &Model<'_>) -> Markup {
        let Self { told, quiet } = self;
        html! {
            @if !told.is_empty() {
                h3 { "Found, done, now" }
                div.wide tabindex="0" { table.stack.tight {
                    thead { tr {
                        th scope="col" { "Part" } th scope="col" { "Found" }
                        th scope="col" { "Done" } th scope="col" { "Now" }
                    } }
                    tbody { @for one in told.iter().take(MOST_PARTS) { tr {
                        th scope="row" { (free(one.part.name.as_str())) }
                        td data-label="Found" { (card::found(model, one.part, MOST_NAMED)) }
                        td data-label="Done" { (done(model, one)) }
                        td data-label="Now" { (part_now(one)) }
                    } } }
                } }
                @if told.len() > MOST_PARTS { p { (told.len() - MOST_PARTS) " more parts stand in the annex." } }
            }
            @if !quiet.is_empty() { p { "In order as found, all checks conform: " (free(&named(quiet))) "." } }
        }
    }
}

/// What was done to a part, and why.
fn done(model: &Model<'_>, one: &PartNow<'_, '_>) -> Markup {
    let Some(fate) = &one.fate else { return html! { "—" } };
    let replaced = model.facts.record.replaced.iter().rev().find(|own| own.part == one.part.name);
    let replaced = replaced.filter(|_| fate.outcome == Outcome::Replaced && fate.done.is_some());
    let why = replaced.map(|own| own.why.as_str()).or(fate.why());
    html! {
        (outcome_words(fate))
        @if let Some(to_do) = fate.to_do.filter(|to_do| fate.outcome != *to_do) { ", to be " (to_do.text()) }
        @if let Some(why) = why { ": " (brief(why)) }
    }
}

/// What stands of the checks of a part.
fn part_now(one: &PartNow<'_, '_>) -> Markup {
    let good = one.standing().filter(|(_, record)| stands(record)).count();
    let other: Vec<_> = one.standing().filter(|(_, record)| !stands(record)).collect();
    let open =
        one.items.iter().filter(|item| item.is_judged() && item.standing().is_none()).count();
    html! {
        @for (at, (item, record)) in other.iter().take(MOST_NAMED).enumerate() {
            @if at > 0 { ", " }
            (free(item.check.name.as_str())) " "
            @match metal_words(record.standing) {
                Some(gone) => { "stands no longer (" (gone) ")" }
                None => (mark(record.verdict.word)),
            }
        }
        @if other.len() > MOST_NAMED { " and " (other.len() - MOST_NAMED) " more" }
        @if good > 0 {
            @if !other.is_empty() { "; " }
            strong.v.in { (good) (if good == 1 { " conforms" } else { " conform" }) }
        }
        @if open > 0 {
            @if good + other.len() > 0 { "; " }
            (open) " not measured"
        }
        @if good + other.len() + open == 0 { "—" }
    }
}

/// Every figure that was found and is another one now, side by side.
fn found_and_final(model: &Model<'_>, earlier: &[JobFacts], most: usize) -> Markup {
    let before = &earlier[earlier.len().saturating_sub(1)..];
    let compared = Compared::of(before.iter().chain([model.facts]).collect(), &[]);
    let now = before.len();
    let changed = |one: &&Characteristic| one.in_job(now).is_some_and(|job| job.found().is_some());
    let rows: Vec<_> = compared.characteristics.iter().filter(changed).collect();
    html! {
        @if !rows.is_empty() {
            h3 { "Found and final" }
            div.wide tabindex="0" { table.stack.tight {
                thead { tr {
                    th scope="col" { "Lengths in " (model.unit.plural()) }
                    th.n scope="col" { "Limit" } th.n scope="col" { "Found" }
                    th.n scope="col" { "Final" } th.n scope="col" { "± U" } th scope="col" { "Now" }
                } }
                tbody { @for one in rows.iter().take(most) {
                    @if let Some(job) = one.in_job(now) { (pair(model, one, job)) }
                } }
            } }
            @if rows.len() > most { p { (rows.len() - most) " more stand in the annex." } }
        }
    }
}

fn pair(model: &Model<'_>, one: &Characteristic, job: &InJob) -> Markup {
    let stands = job.standing();
    let [limit, spread] = job.limit_and_spread(model.unit);
    let judged = stands.and_then(|found| found.judged.as_ref());
    html! {
        tr {
            th scope="row" { (pairs::name(model, one)) }
            td.n data-label="Limit" { (minus(&limit)) }
            td.n data-label="Found" { (pairs::figure(model, job.found())) }
            td.n data-label="Final" { (pairs::figure(model, stands)) }
            td.n data-label="± U" { (spread) }
            td data-label="Now" { @match judged {
                Some(judged) => @match metal_words(judged.standing) {
                    Some(gone) => { "stands no longer: " (gone) }
                    None => (mark(judged.word)),
                },
                None => "–",
            } }
        }
    }
}

/// What the job does not say.
fn not_measured(model: &Model<'_>) -> Markup {
    let open: Vec<String> = model.items.iter().filter(|item| item.is_open()).map(name_of).collect();
    let unsure: Vec<String> = model
        .judged()
        .filter(|(item, _, record)| !item.found_side && is_unsure(record))
        .map(|(item, _, record)| format!("{}, {}", name_of(item), why_unsure(record)))
        .collect();
    html! {
        h3 { "What could not be measured" }
        ul.tight {
            @if !unsure.is_empty() { li { "Not decided: " (free(&named(&unsure))) "." } }
            @if !open.is_empty() { li { "Not measured: " (free(&named(&open))) "." } }
            @if unsure.is_empty() && open.is_empty() { li { "Every check of the plan has a verdict or an entry." } }
            li { "Nothing is said beyond these checks, and nothing of behaviour at speed or when warm that no check names. A verdict is no permission to run." }
        }
    }
}

fn is_unsure(record: &VerdictRecord) -> bool {
    matches!(record.verdict.word, Word::Undecided | Word::Incomplete)
}

fn why_unsure(record: &VerdictRecord) -> &'static str {
    match record.verdict.reasons.first() {
        _ if record.verdict.word == Word::Incomplete => "stopped before its last position",
        Some(reason) => text::reason(*reason),
        None => "the limit lies within ± U of the figure",
    }
}
