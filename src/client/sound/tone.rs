//! What there is to be heard.

/// Something to be heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tone {
    /// A touch was taken.
    Taken,
    /// A reading was taken back.
    TakenBack,
    /// A reading that cannot belong, or a foot or a scan that came to nothing.
    Refused,
    /// The ring conforms.
    In,
    /// Inside the limit, not proven.
    InButClose,
    /// Over the limit.
    Out,
    /// The person is asked to touch something.
    Question,
    /// Over the limit, and the person is asked to touch something.
    OutAndAsked,
    /// The verdict is withheld, and nothing is asked that could change it.
    Withheld,
    /// Stop work; it is repeated until it is seen.
    Stop,
}
