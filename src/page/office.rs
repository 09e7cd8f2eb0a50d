//! Jobs, one job, and alerts, for the office: pages that work without a script and print well.

use axum::response::Html;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use report::{Table, job_pieces};
use wire::printable;

use crate::routes::Site;
use crate::sheet::{Place, free, sheet};
use crate::source::{JobAt, JobFound, Listed, Sought, Told};
use crate::url;

/// Jobs, with a form to search in them.
pub(crate) fn jobs(site: &Site, sought: &Sought, found: &Result<Listed, Told>) -> Html<String> {
    let body = html! {
        main #main.office tabindex="-1" {
            h1 { "Jobs" }
            (form(sought))
            @match found {
                Ok(found) => { (listed(found, "No such jobs.", |before| address(sought, Some(before)))) }
                Err(told) => { (refused(told)) }
            }
            @if sought.before.is_some() {
                p.pages { a href=(address(sought, None)) { "To the newest" } }
            }
        }
    };
    sheet(site, Place::Jobs, "Jobs", &body)
}

/// The address of a search.
fn address(sought: &Sought, before: Option<&str>) -> String {
    url::asked(
        "/jobs",
        &[
            ("name", sought.name.as_deref()),
            ("serial", sought.serial.as_deref()),
            ("customer", sought.customer.as_deref()),
            ("person", sought.person.as_deref()),
            ("since", sought.since.as_deref()),
            ("until", sought.until.as_deref()),
            ("state", sought.open.map(|open| if open { "open" } else { "closed" })),
            ("before", before),
        ],
    )
}

fn form(sought: &Sought) -> Markup {
    let text = |name: &str, label: &str, value: Option<&str>| {
        html! {
            div { label for=(name) { (label) } input type="text" id=(name) name=(name) value=(value.unwrap_or_default()) maxlength="100" autocomplete="off"; }
        }
    };
    let day = |name: &str, label: &str, value: Option<&str>| {
        html! {
            div { label for=(name) { (label) } input type="date" id=(name) name=(name) value=(value.unwrap_or_default()); }
        }
    };
    html! {
        form.search action="/jobs" method="get" role="search" {
            (text("name", "Name", sought.name.as_deref()))
            (text("serial", "Serial number", sought.serial.as_deref()))
            (text("customer", "Customer", sought.customer.as_deref()))
            (text("person", "Opened by", sought.person.as_deref()))
            (day("since", "From", sought.since.as_deref()))
            (day("until", "To", sought.until.as_deref()))
            div {
                label for="state" { "State" }
                select #state name="state" {
                    option value="" selected[sought.open.is_none()] { "open and closed" }
                    option value="open" selected[sought.open == Some(true)] { "open" }
                    option value="closed" selected[sought.open == Some(false)] { "closed" }
                }
            }
            div.go { button type="submit" { "Search" } a href="/jobs" { "All jobs" } }
        }
    }
}

/// The rows of a list, and the way to older ones.
fn listed(found: &Listed, none: &str, older: impl Fn(&str) -> String) -> Markup {
    let links: Vec<String> = found
        .jobs
        .iter()
        .map(|at| at.as_ref().map_or_else(String::new, |at| url::job(at, "")))
        .collect();
    html! {
        @for remark in &found.remarks { p.remark { (printable(remark)) } }
        @if found.table.is_empty() { p { (none) } } @else { (rows(&found.table, &links)) }
        @if let Some(before) = &found.older {
            p.pages { a href=(older(before)) { "Older ones" } }
        }
    }
}

/// A table that may be wider than the screen.
fn rows(table: &Table, links: &[String]) -> Markup {
    html! { div.wide tabindex="0" { (table.markup("job", links)) } }
}

fn refused(told: &Told) -> Markup {
    html! {
        p.remark { (printable(&told.text)) "." @if let Some(hint) = &told.hint { " " (printable(hint)) "." } }
    }
}

/// One job.
pub(crate) fn job(site: &Site, found: &JobFound) -> Html<String> {
    let record = &found.job.record;
    let zone = TimeZone::system();
    let pieces = job_pieces(&found.job, &found.earlier, found.unit, &zone);
    // The name as the record has it: what was asked for may be a serial number.
    let at = JobAt { name: record.name.to_string(), bench: found.bench.clone() };
    let body = html! {
        main #main.office.job tabindex="-1" {
            p.kind { "Job" @if let Some(bench) = &at.bench { " at bench " (free(bench)) } }
            h1 { (free(record.name.as_str())) }
            p.state { (printable(&found.state)) }
            p.ways { a.button href=(url::job(&at, "/report")) { "The report for the customer" } }
            nav.within aria-label="On this page" {
                a href="#verdicts" { "Verdicts" }
                a href="#how" { "How each was reached" }
                a href="#rounds" { "Rounds" }
                @if !found.earlier.is_empty() { a href="#earlier" { "Earlier jobs" } }
            }
            @if !found.alerts.is_empty() {
                section aria-labelledby="open-alerts" {
                    h2 #open-alerts { "Open alerts" }
                    (rows(&found.alerts, &[]))
                }
            }
            (pieces.summary)
            (pieces.verdicts)
            (pieces.not_measured)
            (pieces.earlier)
            section aria-labelledby="rounds" {
                h2 #rounds { "Rounds" }
                @if found.rounds.is_empty() { p { "Nothing was measured." } }
                @else { (rows(&found.rounds, &[])) }
            }
            (pieces.how)
        }
    };
    sheet(site, Place::Jobs, record.name.as_str(), &body)
}

/// Alerts that are not over.
pub(crate) fn alerts(site: &Site, before: Option<&str>, found: &Listed) -> Html<String> {
    let body = html! {
        main #main.office tabindex="-1" {
            h1 { "Open alerts" }
            p.lead { "What is not over yet, the newest first. An alert is marked as seen at the bench: " code { "tenths ack" } "." }
            (listed(found, "There is no open alert.", |before| url::asked("/alerts", &[("before", Some(before))])))
            @if before.is_some() { p.pages { a href="/alerts" { "To the newest" } } }
        }
    };
    sheet(site, Place::Alerts, "Open alerts", &body)
}
