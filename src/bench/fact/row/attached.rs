//! Pictures and papers of a job.

use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;

quantity::worded! {
    /// The type of an attached file, by its bytes.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum PaperType {
        /// A picture as cameras make it.
        Jpeg = "jpeg",
        /// A picture as screens and programs make it.
        Png = "png",
        /// A paper.
        Pdf = "pdf",
    }
}

impl PaperType {
    /// The ending of a file's name.
    #[must_use]
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::Pdf => "pdf",
        }
    }

    /// Its registered media type (RFC 2046, RFC 8118, and the PNG specification).
    #[must_use]
    pub const fn media(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Pdf => "application/pdf",
        }
    }

    /// Whether it is a picture.
    #[must_use]
    pub const fn is_picture(self) -> bool {
        matches!(self, Self::Jpeg | Self::Png)
    }

    /// The word in a sentence.
    #[must_use]
    pub const fn noun(self) -> &'static str {
        if self.is_picture() { "picture" } else { "paper" }
    }
}

no_numbers!(PaperType, Paper);

/// A file, by what its bytes are.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    /// BLAKE3 of its bytes: the name under which it is kept.
    #[serde(with = "crate::fact::form::hexadecimal")]
    pub digest: [u8; 32],
    /// Its bytes.
    pub bytes: u64,
    /// Its type.
    pub kind: PaperType,
}

impl Paper {
    /// The name under which it is kept.
    #[must_use]
    pub fn kept_as(&self) -> String {
        quantity::hexadecimal(&self.digest)
    }
}

stored! {
    /// A picture or paper that belongs to a job.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Attached {
        /// The job.
        pub job: Seq,
        /// The part that it shows, by its place in the plan.
        pub part: Option<u16>,
        /// The check of that part, by its place in the part.
        pub check: Option<u16>,
        /// What it shows, as a person said.
        pub what: String,
        /// The name of the file that was attached, without its folder.
        pub name: String,
        /// The file.
        pub paper: Paper,
    }
}
