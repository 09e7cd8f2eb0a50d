//! Pictures and papers of the job: small ones on the page, full ones in the annex.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::model::Model;
use super::text::{self, free};
use super::{ReportFacts, STYLE};
use crate::day_and_time;
use ::record::AttachmentRecord;
use jiff::tz::TimeZone;

/// What a page shows of a picture or a paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shown {
    /// A small picture.
    Small {
        /// An address that holds it whole.
        uri: String,
        /// Its width, pixels.
        width: u32,
        /// Its height, pixels.
        height: u32,
    },
    /// It is a paper, which is not shown.
    Paper,
    /// It cannot be shown: the sentence says why.
    Not(String),
}

/// A picture or a paper, numbered from 1 in the order in which they were attached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PaperShown {
    /// Its number on the page and in the annex.
    pub number: usize,
    /// What it is.
    pub record: AttachmentRecord,
    /// What is shown of it.
    pub shown: Shown,
}

/// What was done with pictures before they were handed on.
const TAKEN_OUT: &str = "Place, time and maker data of cameras were taken out of the pictures, colour profiles with \
                         them; papers (PDF) are as they were attached, and nothing inside them was removed.";

pub(super) fn section(model: &Model<'_>, facts: &ReportFacts<'_>) -> Markup {
    let back: Vec<&AttachmentRecord> =
        facts.job.record.attached.iter().filter(|one| one.taken_back.is_some()).collect();
    let pictures = || facts.papers.iter().filter(|one| !matches!(one.shown, Shown::Paper));
    let any_small = facts.papers.iter().any(|one| matches!(one.shown, Shown::Small { .. }));
    html! {
        @if !facts.job.record.attached.is_empty() {
            section aria-labelledby="papers" {
                h2 #papers { "Pictures and papers" }
                @if facts.annex { p { "The annex has them in full, under the same numbers. " (TAKEN_OUT) } }
                @else if any_small { p { "Small pictures; the originals are kept with the record. Place, time and maker data of cameras were taken out of what is shown." } }
                div.photos { @for one in pictures() { (figure(model.zone, one, None)) } }
                @for one in facts.papers.iter().filter(|one| one.shown == Shown::Paper) {
                    p { strong { (one.number) } " " (said(model.zone, one)) " (" (kind(one)) ")" }
                }
                @for one in back { @if let Some(back) = &one.taken_back {
                    p { "Taken back " (text::when(back.at, model)) ": " (one.attached.paper.kind.noun()) " “" (free(&one.attached.what)) "”. Why: " (free(&back.why)) }
                } }
            }
        }
    }
}

/// A picture with its caption; `link` is the file behind it.
fn figure(zone: &TimeZone, one: &PaperShown, link: Option<&str>) -> Markup {
    let what = text::shown(&one.record.attached.what);
    html! {
        figure {
            @match (&one.shown, link) {
                (Shown::Small { .. } | Shown::Paper, Some(link)) => a href=(link) { img src=(link) alt=(what); },
                (Shown::Small { uri, width, height }, None) => img src=(uri) alt=(what) width=(width) height=(height);,
                (Shown::Not(why), _) => p.gone { "Not shown: " (free(why)) "." },
                (Shown::Paper, None) => {}
            }
            figcaption { strong { (one.number) } " " (said(zone, one)) }
        }
    }
}

/// Of what, what it shows, when and by whom it was attached.
fn said(zone: &TimeZone, one: &PaperShown) -> Markup {
    let record = &one.record;
    html! {
        @if let Some(place) = record.place() { (free(&place)) ": " }
        (free(&record.attached.what)) ". " (day_and_time(record.at, zone))
        @if let Some(by) = &record.by { " by " (free(by.as_str())) }
    }
}

/// `PDF, 1.3 MB`.
fn kind(one: &PaperShown) -> String {
    let paper = &one.record.attached.paper;
    let tenths = paper.bytes.div_ceil(100_000);
    format!("{}, {}.{} MB", paper.kind.text().to_uppercase(), tenths / 10, tenths % 10)
}

/// The page of an annex: the pictures and papers in full, each in a file of its own beside the page.
#[derive(Debug)]
pub struct AnnexFacts<'a> {
    /// The name of the job.
    pub job: &'a str,
    /// Each with the name of its file; without one where it cannot be handed on.
    pub papers: &'a [(PaperShown, Option<String>)],
    /// The time zone of the times on it.
    pub zone: &'a TimeZone,
}

/// The whole page.
#[must_use]
pub fn annex_page(facts: &AnnexFacts<'_>) -> String {
    let AnnexFacts { job, papers, zone } = facts;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { "Annex of " (text::shown(job)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    p.kind { "Annex: pictures and papers" }
                    h1 { "Job " (free(job)) }
                    p { "The numbers are those of the report. " (TAKEN_OUT) }
                }
                main.full { @for (one, file) in *papers {
                    @match (&one.shown, file) {
                        (Shown::Paper, Some(file)) => p { strong { (one.number) } " " (said(zone, one)) ". " a href=(file) { (kind(one)) } },
                        (_, file) => (figure(zone, one, file.as_deref())),
                    }
                } }
            }
        }
    };
    page.into_string()
}
