//! The customer's report of one job: values in, one HTML page out.
//!
//! It uses no database and no clock, and a browser loads nothing for it. The page is the same whenever it
//! is made from the same record. The template escapes every text from outside and isolates it from the
//! words around it.

mod budget;
mod card;
mod earlier;
mod facts;
mod front;
mod letterhead;
mod model;
mod notes;
mod pair;
mod pairs;
mod papers;
mod picture;
mod readings;
mod sizes;
mod summary;
mod table;
mod text;
mod worked;

use jiff::tz::TimeZone;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use quantity::Unit;

pub use self::facts::JobFacts;
pub use self::letterhead::{Letterhead, MarkShown};
use self::model::Model;
pub use self::papers::{AnnexFacts, PaperShown, Shown, annex_page};
use self::text::free;

/// How the page looks, on a screen, a phone and paper.
const STYLE: &str = include_str!("page.css");

/// The data of a page.
#[derive(Debug)]
pub struct ReportFacts<'a> {
    /// The job.
    pub job: &'a JobFacts,
    /// Earlier jobs of the same serial, oldest first.
    pub earlier: &'a [JobFacts],
    /// The unit people see.
    pub unit: Unit,
    /// The time zone of the times on it.
    pub zone: &'a TimeZone,
    /// Its pictures and papers, those left out that were taken back.
    pub papers: &'a [PaperShown],
    /// Whether an annex with them is handed on beside the page.
    pub annex: bool,
    /// Whose name stands at its head.
    pub shop: &'a Letterhead,
    /// Whether the samples of swept turns are listed.
    pub samples: bool,
    /// A seal of the record, as `tenths verify --seal` takes it; `None` for a page that is handed on.
    pub seal: Option<String>,
}

/// How the page looks, as it stands in it: whoever serves the page says of these words that they may stand there.
#[must_use]
pub const fn report_style() -> &'static str {
    STYLE
}

/// What is told of a job, in pieces, for a page that has a head and a look of its own.
#[derive(Debug)]
pub struct JobPieces {
    /// What was found and done, and what it is now.
    pub summary: Markup,
    /// A line for each characteristic.
    pub verdicts: Markup,
    /// Each verdict with its readings, its arithmetic and its picture.
    pub how: Markup,
    /// What has moved since earlier jobs of the same serial; empty without such jobs.
    pub earlier: Markup,
    /// What has no verdict.
    pub not_measured: Markup,
}

/// The pieces of a job; `earlier` as in [`ReportFacts::earlier`].
#[must_use]
pub fn job_pieces(job: &JobFacts, earlier: &[JobFacts], unit: Unit, zone: &TimeZone) -> JobPieces {
    let model = Model::of(job, unit, zone);
    JobPieces {
        summary: summary::section(&model, earlier),
        verdicts: table::section(&model),
        how: picture::section(&model),
        earlier: self::earlier::section(&model, earlier),
        not_measured: notes::not_measured(&model),
    }
}

/// The whole page.
#[must_use]
pub fn report_page(facts: &ReportFacts<'_>) -> String {
    let mut model = Model::of(facts.job, facts.unit, facts.zone);
    model.samples = facts.samples;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                // Nothing is loaded, and no text of a person can run as code.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:";
                title { "Report of " (text::shown(model.name())) }
                style { (PreEscaped(STYLE)) }
            }
            body { (body(&model, facts)) }
        }
    };
    page.into_string()
}

fn body(model: &Model<'_>, facts: &ReportFacts<'_>) -> Markup {
    let earlier = facts.earlier;
    html! {
        (letterhead::head(model, facts.shop))
        main {
            div.first {
                (summary::section(model, earlier))
                (card::signatures(model, facts.seal.as_deref()))
            }
            div.annex {
                p.kind { "Annex: what stands behind the summary" }
                (front::section(model, earlier))
                (card::parts(model))
                (table::section(model))
                (picture::section(model))
                (pair::section(model))
                (sizes::section(model))
                (notes::stack(model))
                (notes::entries(model))
                (papers::section(model, facts))
                (earlier::section(model, earlier))
                (notes::set_aside(model))
                (notes::not_measured(model))
                (table::annex(model))
                (budget::annex(model))
            }
        }
        footer {
            p { "Job " (free(model.name())) ". Every figure here is in the record with its readings; whoever holds the record can work it out again." }
        }
    }
}
