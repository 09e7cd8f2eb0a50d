//! What a station shows now, for a tablet at the bench: in parts, each with a name, so that only what changes is sent.
//! Every word comes from `report::screen`, as on the screen of `watch`.

use axum::response::Html;
use maud::{Markup, html};
use report::Ink;
use report::screen::{self as words, Call};
use wire::{Next, View, ViewCheck, ViewProof, ViewVerdict, printable};

use crate::routes::Site;
use crate::sheet::{Place, begun, free, sheet};
use crate::source::Told;
use crate::{plot, ring, url};

/// The names of the parts, in their order on the page.
pub(crate) const PARTS: [&str; 6] = ["title", "value", "call", "ring", "alerts", "gauges"];

/// The parts of a screen.
pub(crate) type Parts = [String; PARTS.len()];

/// The page of a station; where there are several and none is named, a list of them.
pub(crate) fn start(site: &Site, station: Option<&str>) -> Result<Html<String>, Told> {
    let stations = site.source.stations();
    let station = match (&stations, station) {
        (Ok(stations), None) if stations.len() != 1 => return Ok(chooser(site, stations)),
        (Ok(stations), None) => stations[0].clone(),
        (Ok(stations), Some(station)) if stations.iter().any(|one| one == station) => {
            station.to_owned()
        }
        (Ok(stations), Some(station)) => {
            return Err(Told {
                wrong: crate::source::Wrong::NotThere,
                text: format!("there is no station {station:?}"),
                hint: Some(format!("there are: {}", stations.join(", "))),
            });
        }
        // The page is there also while the service is away: it comes back by itself.
        (Err(_), station) => station.unwrap_or_default().to_owned(),
    };
    let seen = match stations {
        Ok(_) => site.source.follow(&station).next().map(|seen| seen.view),
        Err(told) => Err(told),
    };
    Ok(shown(site, &station, seen))
}

fn chooser(site: &Site, stations: &[String]) -> Html<String> {
    let body = html! {
        main #main.office tabindex="-1" {
            h1 { "Stations" }
            @if stations.is_empty() {
                p { "There is no station to follow here. The record is under " a href="/jobs" { "Jobs" } "." }
            } @else {
                ul.stations { @for one in stations {
                    li { a href=(url::asked("/", &[("station", Some(one))])) { (free(one)) } }
                } }
            }
        }
    };
    sheet(site, Place::Elsewhere, "Stations", &body)
}

fn shown(site: &Site, station: &str, seen: Result<View, Told>) -> Html<String> {
    let live = url::asked("/live", &[("station", Some(station))]);
    let now = clock();
    let (parts, away) = match seen {
        Ok(view) => (parts(&view, 0), None),
        Err(told) => (nothing(), Some(begun(&told.text))),
    };
    let title = if station.is_empty() { "Bench".to_owned() } else { station.to_owned() };
    let [title_part, value, call, ring, alerts, gauges] = parts.map(maud::PreEscaped);
    let body = html! {
        main #main.bench.lost[away.is_some()] tabindex="-1" data-live=(live) {
            noscript { p.still { "Not live: this is how it was at " (now) ". It is loaded anew every 5 seconds." } }
            section #lost.loss aria-live="assertive" {
                h2 #lost-what { @if away.is_some() { "The service is away" } @else { "Connection lost" } }
                p #lost-why { @match &away { Some(text) => (printable(text)), None => "Nothing here is live." } }
                p #lost-since {}
            }
            h1 #part-title.title { (title_part) }
            div.face {
                section #part-value.value aria-label="Value" { (value) }
                section #part-call.call aria-label="What to do" { (call) }
                section #part-ring.ring aria-label="Positions" { (ring) }
            }
            section #part-alerts.alerts aria-label="Alerts" { (alerts) }
            footer.gauges {
                p #part-gauges { (gauges) }
                p.heard { span #state { "As it was at" } " " time #clock { (now) } }
            }
            p #said.unseen role="status" {}
        }
    };
    sheet(site, Place::Bench, &title, &body)
}

/// The time on the clock of this machine.
pub(crate) fn clock() -> String {
    jiff::ZonedDateTime::now().strftime("%H:%M:%S").to_string()
}

fn nothing() -> Parts {
    Parts::default()
}

/// The parts of a screen that was seen so many milliseconds ago.
pub(crate) fn parts(view: &View, since_ms: u64) -> Parts {
    [title(view), value(view), call(view), picture(view), alerts(view), gauges(view, since_ms)]
        .map(Markup::into_string)
}

fn title(view: &View) -> Markup {
    let under = match (&view.proof, &view.check) {
        (None, Some(check)) => words::subtitle(check),
        _ => String::new(),
    };
    let step = words::step(view);
    html! {
        span.what { bdi { (words::title(view)) } }
        @if !under.is_empty() { span.how { bdi { (under) } } }
        @if !step.is_empty() { span.step { bdi { (step) } } }
        span.at { bdi { (words::place(view)) } }
    }
}

/// The live value in very large digits; nothing for a check that is answered.
fn value(view: &View) -> Markup {
    let answered = view.proof.is_none() && view.check.as_ref().is_some_and(|check| check.of == 0);
    let over = view.proof.as_ref().is_some_and(|proof| proof.end.is_some());
    if answered || over {
        return html! {};
    }
    let Some((number, unit)) = words::live_value(view) else {
        return html! { p.none { (words::no_value(view)) } };
    };
    let readable = words::is_readable(view);
    if !readable {
        return html! { p.gone { strong { (number) } " " bdi { (unit) } } };
    }
    // As much room as a sign takes, so that the value does not move when it gets one.
    let (sign, digits) = match number.strip_prefix(['-', '+']) {
        Some(digits) if number.starts_with('-') => ("−", digits),
        Some(digits) => ("+", digits),
        None => ("", number.as_str()),
    };
    let long = if digits.chars().count() > 8 { "digits long" } else { "digits" };
    html! {
        p.live-value {
            span class=(long) { span.plus { (sign) } (digits) }
            " " span.unit { bdi { (unit) } }
        }
    }
}

/// What was found and what to do: the verdict, the next touch, a question.
fn call(view: &View) -> Markup {
    if let Some(proof) = &view.proof {
        return proving(proof);
    }
    let Some(check) = &view.check else {
        let before = view.stands.as_ref().and_then(|stands| stands.hindered_by.as_deref());
        return html! {
            @if view.job.is_some() {
                p.next { "No check" }
                p.why { "No check is active. The next one without a verdict: " code { "tenths next" } }
            } @else {
                p.next { "No job" }
                p.why { "No job is in use: " code { "tenths job open NAME --plan PLAN" } }
            }
            @if let Some(before) = before { p.why { (free(before)) } }
        };
    };
    if let Some(verdict) = words::standing(check) {
        return html! {
            (judged(verdict))
            @if check.next != Next::Nothing { (next(check)) }
            @if !verdict.advice.is_empty() {
                ul.advice { @for said in &verdict.advice { li { (free(said)) } } }
            }
        };
    }
    if check.next == Next::Answer
        && let Some(question) = &check.asks.question
    {
        return html! {
            p.next.asked { (free(question)) }
            p.why { (printable(&check.asks.permitted())) }
            p.why { "Type: " code { (printable(&check.asks.command(&check.part, &check.name))) } }
        };
    }
    next(check)
}

/// The word of a verdict with its sign, and its figures.
fn judged(verdict: &ViewVerdict) -> Markup {
    let (word, ink) = words::verdict_word(verdict);
    let line = words::verdict_line(verdict);
    html! {
        div class={ "verdict " (class(ink)) } data-word=(verdict.verdict.text()) {
            p.word { (sign(ink)) span { (word) } }
            @if !line.is_empty() { p.line { bdi { (line) } } }
        }
    }
}

fn next(check: &ViewCheck) -> Markup {
    let why = check.why.as_deref().or(check.place.as_deref()).map(printable);
    let held = why.as_deref().and_then(|why| words::held_up(check, why));
    html! {
        p.next { bdi { (printable(&check.next_words)) } }
        @match (held, &why) {
            (Some((call, rest)), _) => {
                p.held { bdi { (call) } }
                @if !rest.is_empty() { p.why { bdi { (rest) } } }
            }
            (None, Some(why)) => p.why { bdi { (why) } },
            (None, None) => {}
        }
    }
}

fn proving(proof: &ViewProof) -> Markup {
    if let Some(end) = &proof.end {
        let (word, ink) = words::proof_word(end);
        return html! {
            div class={ "verdict " (class(ink)) } { p.word { (sign(ink)) span { (word) } } }
            p.why { (free(&end.text)) }
        };
    }
    html! {
        p.next { (printable(&proof.next_words)) }
        p.why { (free(&proof.why)) }
        @if !proof.lifts.is_empty() {
            ol.lifts { @for lift in &proof.lifts { li { (printable(lift.split(' ').next().unwrap_or_default())) } } }
        }
    }
}

fn picture(view: &View) -> Markup {
    let check = view.check.as_ref().filter(|_| view.proof.is_none());
    match check {
        Some(check) if check.run_in.is_some() => {
            check.run_in.as_ref().map_or_else(|| html! {}, plot::curve)
        }
        Some(check) if check.of > 0 => ring::ring(check),
        Some(_) | None => html! {},
    }
}

/// The most alerts on the screen; the rest is under Alerts.
const MOST_ALERTS: usize = 3;

fn alerts(view: &View) -> Markup {
    let calls: Vec<Call> = words::calls(view);
    html! {
        @if !calls.is_empty() {
            ul { @for call in calls.iter().take(MOST_ALERTS) {
                li class=(class(call.ink)) { (bell(call.ink)) bdi { (call.text.trim_start_matches("!! ")) } }
            } }
            @if calls.len() > MOST_ALERTS {
                p { "and " (calls.len() - MOST_ALERTS) " more" }
            }
        }
    }
}

fn gauges(view: &View, since_ms: u64) -> Markup {
    html! { bdi { (words::gauge_ages(view, since_ms)) } }
}

/// The class of a colour; a shape says the same.
pub(crate) const fn class(ink: Ink) -> &'static str {
    match ink {
        Ink::Green => "in",
        Ink::Red => "out",
        Ink::Yellow => "open",
    }
}

/// A sign with the meaning of a colour: a tick, a cross, a question mark.
pub(crate) fn sign(ink: Ink) -> Markup {
    let path = match ink {
        Ink::Green => "M5 17 L13 25 L27 7",
        Ink::Red => "M7 7 L25 25 M25 7 L7 25",
        Ink::Yellow => "M10 11 C10 4.5 22 4.5 22 11 C22 16 16 15.5 16 20.5 M16 26 v.4",
    };
    html! { svg.mark viewBox="0 0 32 32" aria-hidden="true" { path d=(path) {} } }
}

/// An alert to stop for is a full triangle, another one a hollow one.
fn bell(ink: Ink) -> Markup {
    html! {
        svg.bell viewBox="0 0 32 32" aria-hidden="true" {
            path.edge d="M16 4 L30 28 H2 Z" {}
            path.bar d="M16 12 v8 M16 24.4 v.4" {}
        }
        @if ink == Ink::Red { span.unseen { "Urgent: " } }
    }
}

/// What a reader who cannot see the screen is told when it changes.
pub(crate) fn said(view: &View) -> String {
    if let Some(proof) = &view.proof {
        return proof.end.as_ref().map_or_else(
            || printable(&proof.next_words),
            |end| format!("{}. {}", words::proof_word(end).0, printable(&end.text)),
        );
    }
    let Some(check) = &view.check else { return String::new() };
    match words::standing(check) {
        Some(verdict) => {
            let (word, _) = words::verdict_word(verdict);
            format!("{word}. {}", words::verdict_line(verdict))
        }
        None => printable(&check.next_words),
    }
}
