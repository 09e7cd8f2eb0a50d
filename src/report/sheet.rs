//! The sheet of a job: a printed code for each thing a scanner may ask for, with words under each.
//!
//! It is one HTML page for A4 and letter that loads nothing. Everything a person wrote is escaped, and a
//! text that is too long is cut, so that the layout holds.

use maud::{DOCTYPE, Markup, html};

use super::qr::picture;
use ::record::JobRecord;
use bench::plan::{Advance, Check, CheckAt, Direction, MasterUse, Part, Plan};
use bench::row::Stage;
use bench::words;
use quantity::Name;
use wire::code::{Action, Blocked, Code, JobTag, PersonTag, STRIP};
use wire::printable;

/// The most characters shown of a free text.
const SHOWN: usize = 160;

const STYLE: &str = "
@page { margin: 12mm }
* { box-sizing: border-box }
html { font: 10pt/1.35 'Helvetica Neue', Helvetica, Arial, sans-serif; color: #000; background: #fff }
body { margin: 0 auto; max-width: 192mm; padding: 0 0.5mm }
h1 { font-size: 20pt; margin: 0; line-height: 1.15 }
h2 { font-size: 12pt; margin: 4mm 0 1.5mm; padding-bottom: 1mm; border-bottom: 0.4mm solid #000; break-after: avoid }
h3 { font-size: 9.5pt; margin: 2mm 0 1mm; break-after: avoid }
p { margin: 0 }
bdi, p, h1, h2, h3, td { overflow-wrap: break-word }
header { display: flex; gap: 6mm; align-items: flex-start; justify-content: space-between }
header dl { display: grid; grid-template-columns: max-content 1fr; gap: 0.5mm 4mm; margin: 3mm 0 0 }
dt { color: #444 } dd { margin: 0; overflow-wrap: anywhere }
ol.how { margin: 4mm 0 0; padding-left: 5mm }
.cards { display: grid; grid-template-columns: repeat(3, 1fr); gap: 1.2mm 2.5mm }
.card { display: flex; gap: 1mm; break-inside: avoid; border: 0.2mm solid #999; border-radius: 1mm; padding: 0.4mm 1.5mm 0.4mm 0.4mm; align-items: center; min-height: 23mm }
.card svg { width: 22mm; height: 22mm; flex: none }
.card div { min-width: 0; flex: 1 }
.card strong { display: block; font-size: 9.5pt; line-height: 1.15 }
.card span { display: block; font-size: 7.4pt; line-height: 1.2 }
.four { grid-template-columns: repeat(4, 1fr) }
.four .card svg { width: 20mm; height: 20mm }
.typed { font-size: 8pt; margin-top: 1mm }
.code { font: 6pt/1.15 'DejaVu Sans Mono', Menlo, Consolas, monospace !important; color: #333; margin-top: 0.5mm; overflow-wrap: anywhere }
.strip { display: grid; grid-template-columns: repeat(7, 1fr); gap: 1.2mm 2.5mm }
.strip .card { flex-direction: column; gap: 0; padding: 0 0 1mm; text-align: center; min-height: 0 }
.strip .card svg { width: 21mm; height: 21mm }
.strip .card strong { font-size: 10.5pt }
section.whole { break-inside: avoid }
section.whole > p { margin-top: 1mm; font-size: 8pt }
.card .of { color: #444; line-height: 1.1 }
@media (max-width: 150mm) {
  body { padding: 0 3mm } header { flex-direction: column }
  .cards, .four { grid-template-columns: 1fr } .strip { grid-template-columns: repeat(3, 1fr) }
}
";

/// The sheet of a job as one HTML page, with a badge for each of some people.
#[must_use]
pub fn sheet(job: &JobRecord, people: &[Name]) -> String {
    let (plan, tag) = (&job.plan.plan, JobTag::of(&job.name));
    let sheet = Sheet { job, plan, tag };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                // Nothing is loaded, and no text of a person can run as code.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Codes of job " (cut(job.name.as_str())) }
                style { (maud::PreEscaped(STYLE)) }
            }
            body {
                (sheet.head())
                main {
                    (badges(people))
                    (sheet.checks())
                    (sheet.stack())
                    (actions())
                    (skips())
                    (dial())
                }
            }
        }
    };
    page.into_string()
}

struct Sheet<'s> {
    job: &'s JobRecord,
    plan: &'s Plan,
    tag: JobTag,
}

impl Sheet<'_> {
    fn head(&self) -> Markup {
        let job = self.job;
        let told = [("Serial", &job.serial), ("Customer", &job.customer), ("Opened by", &job.by)];
        html! {
            header {
                div {
                    h1 { "Job " bdi { (cut(job.name.as_str())) } }
                    dl {
                        @for (what, text) in told {
                            @if let Some(text) = text { dt { (what) } dd { bdi { (cut(text)) } } }
                        }
                        dt { "Plan" } dd { bdi { (cut(job.plan_name.as_str())) } }
                    }
                    ol.how {
                        li { "Scan the job. Every station that works on it does so once." }
                        li { "Scan a check, then touch its positions in order, 0 first." }
                        li { "One scan changes one thing. A scan that cannot be done changes nothing and leaves a note." }
                    }
                }
                (card(Code::Job(self.tag), "Use this job", &["The station works on it from now on."]))
            }
        }
    }

    /// One card after the other, in plan order: each names its part, so that no row is left half empty.
    fn checks(&self) -> Markup {
        html! {
            h2 { "Checks" }
            div.cards {
                @for (part, index) in self.plan.parts.iter().zip(0_u16..) {
                    @for (check, place) in part.checks.iter().zip(0_u16..) {
                        (self.check(part, check, CheckAt { part: index, check: place }))
                    }
                }
            }
        }
    }

    fn check(&self, part: &Part, check: &Check, at: CheckAt) -> Markup {
        let code = Code::Check { job: self.tag, at };
        let Some(ask) = check.measures.asks().filter(|_| check.traits().is_chosen()) else {
            let lines = about(check, self.plan);
            let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
            return card_of(code, part.name.as_str(), check.name.as_str(), &lines);
        };
        let name = words::target(part, check);
        let typed = format!("Its answer is typed: tenths confirm {} …", cut(&name));
        let mut lines = vec![ask.question.as_str()];
        if ask.answers.is_empty() {
            lines.push(&typed);
        }
        let answers = ask.answers.iter().zip(0..=u8::MAX);
        html! {
            (card_of(code, part.name.as_str(), check.name.as_str(), &lines))
            @for (text, answer) in answers {
                (card_of(Code::Answer { job: self.tag, at, answer }, &name, text, &["Answers the question."]))
            }
        }
    }

    fn stack(&self) -> Markup {
        let places: Vec<_> = self.plan.stack.iter().zip(0_u16..).collect();
        let named = |part: u16| {
            self.plan.parts.get(usize::from(part)).map_or_else(String::new, |p| p.name.to_string())
        };
        let list = |stage: Stage| {
            let marked = places.iter().filter(|(place, _)| place.marked);
            let marked: Vec<String> =
                marked.map(|(place, at)| format!("{} {}", at + 1, named(place.part))).collect();
            html! {
                div.cards {
                    @for (place, index) in places.iter().filter(|(place, _)| !place.marked) {
                        @let of = format!("place {}", index + 1);
                        @let name = named(place.part);
                        @if place.ways.is_empty() {
                            (card_of(Code::Stack { job: self.tag, stage, place: *index, way: None }, &of, &name, &["Either way round."]))
                        }
                        @for (way, number) in place.ways.iter().zip(0..=u8::MAX) {
                            (card_of(
                                Code::Stack { job: self.tag, stage, place: *index, way: Some(number) },
                                &of,
                                &name,
                                &[&format!("{way} towards the nose.")],
                            ))
                        }
                    }
                }
                @if !marked.is_empty() {
                    p.typed {
                        "Places " bdi { (cut(&marked.join(", "))) } ": where the mark stands is typed, "
                        span.code { "tenths stack " (stage.text()) " PART --towards-nose FACE --mark DEGREES" }
                    }
                }
            }
        };
        html! {
            @if !places.is_empty() {
                h2 { "The stack, from the nose inwards" }
                h3 { "As it comes apart" }
                (list(Stage::Found))
                h3 { "As it goes together" }
                (list(Stage::Built))
            }
        }
    }
}

/// A badge for each person, to be scanned here or cut out and carried.
fn badges(people: &[Name]) -> Markup {
    let line = "Works at the station from now on; touches and answers are theirs.";
    html! {
        @if !people.is_empty() {
            section.whole {
                h2 { "Who works here" }
                div.cards { @for person in people { (card(Code::Person(PersonTag::of(person)), person.as_str(), &[line])) } }
            }
        }
    }
}

fn actions() -> Markup {
    html! {
        h2 { "While measuring" }
        div.cards.four { @for action in Action::ALL { (card(Code::Action(action), title(action), &[does(action)])) } }
    }
}

fn skips() -> Markup {
    html! {
        section.whole {
            h2 { "This position cannot be touched" }
            div.strip { @for blocked in Blocked::ALL { (card(Code::Skip(blocked), blocked.why(), &[])) } }
            p { "Leaves the next position out and says why." }
        }
    }
}

fn dial() -> Markup {
    html! {
        section.whole {
            h2 { "Dial, read by eye: graduations" }
            div.strip { @for count in -STRIP..=STRIP { (card(Code::Value(count), &graduations(count), &[])) } }
            p { "Each scan is one touch: so many graduations of the active check's gauge from its zero." }
        }
    }
}

/// A minus sign for people: a typed hyphen is too short on paper.
fn graduations(count: i8) -> String {
    match count {
        0 => "0".to_owned(),
        1.. => format!("+{count}"),
        _ => format!("−{}", count.unsigned_abs()),
    }
}

fn card(code: Code, title: &str, lines: &[&str]) -> Markup {
    card_of(code, "", title, lines)
}

/// A code with its subject, its name and its effect.
fn card_of(code: Code, of: &str, title: &str, lines: &[&str]) -> Markup {
    let text = code.to_string();
    html! {
        div.card {
            @if let Some(picture) = picture(&text, &format!("code {text}")) { (picture) }
            div {
                @if !of.is_empty() { span.of { bdi { (cut(of)) } } }
                strong { bdi { (cut(title)) } }
                @for line in lines { span { bdi { (cut(line)) } } }
                span.code { (text) }
            }
        }
    }
}

const fn title(action: Action) -> &'static str {
    match action {
        Action::Next => "Next check",
        Action::Void => "Take back",
        Action::Stop => "Leave the check",
        Action::Master => "Master next",
        Action::Take => "Take now",
        Action::Again => "Again",
        Action::Cleaned => "Cleaned",
        Action::Ground => "Ground",
    }
}

const fn does(action: Action) -> &'static str {
    match action {
        Action::Next => "The first check of the plan that has no verdict.",
        Action::Void => "The newest touch no longer counts; it is kept.",
        Action::Stop => "Short of its last position it counts as incomplete.",
        Action::Master => "The next reading is the master.",
        Action::Take => "One reading of a gauge that is asked or streams.",
        Action::Again => "Measure again, the same metal: tries are combined.",
        Action::Cleaned => "Measure again, it was dirty: the one before is set aside.",
        Action::Ground => "Measure again, new metal: the latest counts.",
    }
}

/// What a check is and how it is touched.
fn about(check: &Check, plan: &Plan) -> Vec<String> {
    if let Some(asks) = check.measures.asks() {
        let mut lines = vec![asks.question];
        lines.extend(limit(check));
        lines.push("Its value is typed: tenths record.".to_owned());
        return lines;
    }
    let made_of = check.measures.made_of();
    if !made_of.is_empty() {
        let names = made_of.iter().filter_map(|at| plan.at(*at));
        let names: Vec<_> = names.map(|(part, check)| words::target(part, check)).collect();
        let mut lines = vec![format!("{} of {}", check.traits().word, names.join(", "))];
        lines.extend(limit(check));
        return lines;
    }
    let gauge = check.gauge.as_ref().map_or_else(String::new, |gauge| format!(", gauge {gauge}"));
    let mut lines = vec![format!("{}{gauge}", check.traits().word)];
    if check.touches_in_all() > 0 {
        lines.push(touches(check));
    }
    lines.extend(limit(check));
    if check.advance == Advance::Auto {
        lines.push("Goes on by itself when it conforms.".to_owned());
    }
    lines
}

/// What it is held against, station by station where each has its own.
fn limit(check: &Check) -> Option<String> {
    let unit = check.unit;
    let told = |limits| format!("{}\u{a0}{unit}", ::words::limits(limits, unit));
    let stations = check.stations();
    if stations.len() > 1 {
        let each = stations
            .iter()
            .map(|one| format!("{} at {}", told(one.limits), ::words::size(one.at, unit)));
        return Some(format!("limit {}", each.collect::<Vec<_>>().join(", ")));
    }
    let aim = check.aim.map(|aim| format!(", aim {}", ::words::size(aim, unit)));
    Some(format!("limit {}{}", told(check.limits?), aim.unwrap_or_default()))
}

/// `master, 8 touches counter-clockwise, 0 again, master`.
fn touches(check: &Check) -> String {
    let round = match check.direction {
        Direction::CounterClockwise => " counter-clockwise",
        Direction::Clockwise => " clockwise",
    };
    let total = check.touches_in_all();
    let goes = total > 1 || check.swept().is_some();
    let round = if check.traits().goes_round && goes { round } else { "" };
    let touches =
        if total == 1 { "1 reading".to_owned() } else { format!("{total} touches{round}") };
    let (opening, closing) = match check.master {
        MasterUse::None => (false, false),
        MasterUse::Opening => (true, false),
        MasterUse::Both => (true, true),
    };
    let (touches, closes) = match check.swept() {
        Some(swept) => (format!("one turn{round}, tapped at {} marks", swept.marks), false),
        None => (touches, check.closure),
    };
    let steps = [
        opening.then(|| "master".to_owned()),
        Some(touches),
        closes.then(|| "0 again".to_owned()),
        closing.then(|| "master".to_owned()),
    ];
    steps.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A text from outside: control characters are made visible, and a text too long for the sheet is cut.
fn cut(text: &str) -> String {
    let shown = printable(text);
    if shown.chars().count() <= SHOWN {
        return shown;
    }
    let mut short: String = shown.chars().take(SHOWN).collect();
    short.push('…');
    short
}

#[cfg(test)]
mod tests;
