//! What is published of a record: one shape for JSON and for separated values.

use serde::Serialize;
use serde_json::Value;

use ::record::{AlertRecord, JobRecord, ReadingRecord, VerdictRecord};
use bench::Seq;

use super::job::JobLine;
use super::text::json_text;
use super::{AlertLine, ReadingLine, VerdictLine};

/// A record that is published as a line.
pub trait Published {
    /// The line.
    type Line<'a>: Serialize
    where
        Self: 'a;

    /// Its number.
    fn number(&self) -> Seq;

    /// The record as it is published; with its bench in a look-up over the whole shop.
    fn published_of<'a>(&'a self, bench: Option<&'a str>) -> Self::Line<'a>;

    /// The record as it is published on its bench.
    fn published(&self) -> Self::Line<'_> {
        self.published_of(None)
    }

    /// One line of JSON, without its end.
    fn line(&self) -> String {
        json_text(&self.published())
    }

    /// The fields of the line.
    ///
    /// # Panics
    /// When the line cannot be JSON: a mistake in this program.
    fn fields(&self) -> Value {
        serde_json::to_value(self.published()).expect("outside shapes are plain structures")
    }
}

/// Records with a line of their own.
macro_rules! published {
    ($($record:ty => $line:ident;)*) => { $(
        impl Published for $record {
            type Line<'a> = $line;

            fn number(&self) -> Seq {
                self.id
            }

            fn published_of<'a>(&'a self, bench: Option<&'a str>) -> $line {
                let bench = bench.map(str::to_owned);
                $line { bench, ..<$line>::from(self) }
            }
        }
    )* };
}

published! {
    AlertRecord => AlertLine;
    ReadingRecord => ReadingLine;
    VerdictRecord => VerdictLine;
}

impl Published for JobRecord {
    type Line<'a> = JobLine<'a>;

    fn number(&self) -> Seq {
        self.id
    }

    fn published_of<'a>(&'a self, bench: Option<&'a str>) -> JobLine<'a> {
        let mut line = JobLine::of(self, None);
        line.bench = bench;
        line
    }
}

/// A record of one bench of a shop, which is published with the name of the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct OfBench<T> {
    /// The bench.
    pub bench: String,
    /// The record.
    pub one: T,
}

impl<T: Published> Published for OfBench<T> {
    type Line<'a>
        = T::Line<'a>
    where
        Self: 'a;

    fn number(&self) -> Seq {
        self.one.number()
    }

    fn published_of<'a>(&'a self, bench: Option<&'a str>) -> T::Line<'a> {
        self.one.published_of(Some(bench.unwrap_or(&self.bench)))
    }
}
