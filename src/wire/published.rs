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

    /// The record as it is published.
    fn published(&self) -> Self::Line<'_>;

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
    ($($record:ty => $line:ty;)*) => { $(
        impl Published for $record {
            type Line<'a> = $line;

            fn number(&self) -> Seq {
                self.id
            }

            fn published(&self) -> $line {
                <$line>::from(self)
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

    fn published(&self) -> JobLine<'_> {
        JobLine::of(self, None)
    }
}
