//! Turns values into what people read: figures in words, tables that fit, files for a spreadsheet.

pub mod chart;
mod comparison;
mod csv;
pub mod drawing;
mod figures;
mod ink;
mod page;
mod qr;
pub mod screen;
mod sheet;
pub mod study;
mod table;
mod times;
#[cfg(any(test, feature = "trial"))]
pub mod trial;
mod wrap;

pub use comparison::Comparison;
pub use csv::{
    ALERT_COLUMNS, BENCH, CSV_VERSION, CsvForm, CsvStyle, JOB_COLUMNS, READING_COLUMNS,
    VERDICT_COLUMNS, column_text, csv_text, is_figure,
};
pub use figures::{
    against_words, edit_words, lacking_words, metal_words, setup_words, word_now, word_of,
};
pub use ink::Ink;
pub use page::{
    AnnexFacts, JobFacts, JobPieces, Letterhead, MarkShown, PaperShown, ReportFacts, Shown,
    annex_page, job_pieces, report_page, report_style,
};
pub use sheet::sheet;
pub use table::{Chosen, Column, Fitted, Inked, Table};
pub use times::{age, clock_time, day_and_time};
pub use wrap::between_words;

#[cfg(test)]
mod tests;
