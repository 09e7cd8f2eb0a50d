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
mod model;
mod notes;
mod pair;
mod pairs;
mod papers;
mod picture;
mod readings;
mod sizes;
mod table;
mod text;
mod worked;

use jiff::tz::TimeZone;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use quantity::Unit;

pub use self::facts::JobFacts;
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
    /// A seal of the record, as `tenths verify --seal` takes it; `None` for a page that is handed on.
    pub seal: Option<String>,
}

/// The whole page.
#[must_use]
pub fn report_page(facts: &ReportFacts<'_>) -> String {
    let model = Model::of(facts.job, facts.unit, facts.zone);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
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
        header {
            p.kind { "Measuring report" }
            h1 { "Job " (free(model.name())) }
        }
        main {
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
            (card::signatures(model, facts.seal.is_some()))
            (table::annex(model))
            (budget::annex(model))
        }
        footer {
            p { "Job " (free(model.name())) ". Every figure here is in the record with its readings; whoever holds the record can work it out again." }
            @if let Some(seal) = &facts.seal {
                p { "Seal of the record: " span.seal { (seal) } ". With it whoever holds the record can show later that nothing in it up to here was changed since this page was made (tenths verify --seal)." }
            }
        }
    }
}
