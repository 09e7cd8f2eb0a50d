//! Words that a field of a line may have and that are described in no other room, each with its meaning.

/// Words with their meaning.
type Terms = &'static [(&'static str, &'static str)];

/// What the next touch is.
pub(crate) const NEXT: Terms = &[
    ("position", "A touch at `next_position`."),
    ("closure", "Position 0 again, which closes the round."),
    ("again", "The touch at `next_position` once more."),
    ("half-turn", "A touch after the part was set back half a turn."),
    ("master", "A touch on the master."),
    ("sweep", "A turn that is swept, tapped at its marks."),
    ("seat", "Nothing is taken before the bar is said to be seated."),
    ("answer", "No touch: the check asks for an answer."),
    ("nothing", "The series is over."),
];

/// How a reading came.
pub(crate) const SOURCE: Terms = &[
    ("serial", "From a gauge on a serial line."),
    ("drop", "From a row of a dropped file."),
    ("keyed", "A person typed it."),
];

/// What a line of the feed tells of.
pub(crate) const EVENT: Terms = &[
    ("raised", "An alert was raised."),
    ("seen", "Somebody said that an alert was seen."),
    ("cleared", "What an alert tells of is over."),
    ("verdict", "A verdict was written."),
    ("damaged", "This line of the record cannot be read: `text` says what is damaged."),
];

/// How the record on disk is.
pub(crate) const STORAGE: Terms = &[
    ("fine", "Everything taken is stored."),
    ("failing", "It cannot be written; nothing is taken."),
    ("low", "Space is running out."),
];

/// Whether a job is open.
pub(crate) const JOB_STATE: Terms =
    &[("open", "It is worked at."), ("closed", "It is over; it can be opened again.")];

/// What somebody did in spite of checks that are not in order.
pub(crate) const WENT_ON: Terms =
    &[("close", "The job was closed."), ("stack", "A part was built into the stack.")];

/// Which way positions are counted, facing the face.
pub(crate) const DIRECTION: Terms = &[("ccw", "Counter-clockwise."), ("cw", "Clockwise.")];

/// How thoroughly a copy was looked at.
pub(crate) const CHECKED: Terms = &[
    ("stored", "Whether it holds what was stored."),
    ("whole", "That, and every verdict computed again."),
];

/// How bad a finding is.
pub(crate) const FINDING: Terms =
    &[("error", "The file is refused."), ("warning", "The file works, but probably not as meant.")];

/// What kind of error it is.
pub(crate) const ERROR: Terms = &[
    ("no", "The answer is no."),
    ("refused", "It was asked for something that cannot be done."),
    ("usage", "It was typed wrongly."),
    ("configuration", "The configuration has an error."),
    ("unreachable", "The service or the record cannot be reached."),
];
