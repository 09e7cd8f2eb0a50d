//! The tones.

/// A tone, named by what it means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tone {
    /// A touch was taken.
    Taken,
    /// A reading was taken back.
    TakenBack,
    /// A reading cannot belong here, or a foot or a scan had no effect.
    Refused,
    /// The check conforms.
    In,
    /// Inside the limit, but not proven.
    InButClose,
    /// Over the limit.
    Out,
    /// The person is asked to touch something.
    Question,
    /// Over the limit, and the person is asked to touch something.
    OutAndAsked,
    /// The verdict is withheld, and no question is asked that could change it.
    Withheld,
    /// Stop work. It is repeated until somebody has seen the alert.
    Stop,
}
