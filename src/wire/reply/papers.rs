//! The results of requests about pictures and papers.

use serde::Serialize;

use bench::Seq;
use bench::reply::AttachedNow;
use bench::row::{Attached, PaperType};

/// A picture or a paper that was attached.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "job"))
)]
pub(crate) struct AttachedReply<'a> {
    /// The number of the attachment.
    id: u64,
    /// The name of the job.
    job: &'a str,
    /// The part, or `PART/CHECK`, that it shows; `null` for the whole job.
    to: Option<&'a str>,
    /// Its type, by its bytes.
    #[serde(rename = "type")]
    kind: PaperType,
    /// Its bytes.
    bytes: u64,
    /// BLAKE3 of its bytes, in hexadecimal: the name of the file that is kept.
    digest: String,
    /// An earlier attachment of this job with the same bytes.
    same_as: Option<u64>,
    /// The message for a person to read.
    text: String,
}

/// An attachment that was taken back.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(crate) struct TakenBackReply {
    /// The number of the attachment.
    id: u64,
    /// The message for a person to read.
    text: String,
}

impl<'a> From<&'a AttachedNow> for AttachedReply<'a> {
    fn from(now: &'a AttachedNow) -> Self {
        let AttachedNow { id, job, to, attached, same } = now;
        let of =
            to.as_ref().map_or_else(|| format!("job {job}"), |to| format!("{to} of job {job}"));
        let noun = attached.paper.kind.noun();
        let kept = same.map_or_else(String::new, |same| {
            format!(" Its bytes are those of attachment {same}; they are kept once.")
        });
        let text =
            format!("Attachment {id}: the {noun} {} belongs to {of} now.{kept}", attached.name);
        Self {
            id: id.0,
            job: job.as_str(),
            to: to.as_deref(),
            kind: attached.paper.kind,
            bytes: attached.paper.bytes,
            digest: attached.paper.kept_as(),
            same_as: same.map(|same| same.0),
            text,
        }
    }
}

impl TakenBackReply {
    pub(super) fn of(id: Seq, attached: &Attached) -> Self {
        let (noun, name) = (attached.paper.kind.noun(), &attached.name);
        let text = format!(
            "Attachment {id} is taken back: the {noun} {name} is kept, and no report shows it."
        );
        Self { id: id.0, text }
    }
}
