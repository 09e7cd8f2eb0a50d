//! The tables of a plan, but for its checks, which their kinds describe.

use bench::plan::keys::{About, MUST, described};

use super::Described;

pub(super) const TABLES: [Described; 3] = [
    ("plan", "", "the top of a plan", "", PLAN),
    ("part", "[[part]]", "a part of the assembly, with its checks below it", "part", PART),
    ("stack", "[[stack]]", "one for each part on the shaft, from the nose inwards", "stack", STACK),
];

const PLAN: &[About] = &described! {
    "name" = "its name; `tenths job open NAME --plan PLAN` says it", MUST;
    "unit" = "of bare numbers: `\"in\"` or `\"mm\"`", MUST;
    "rule" = "`\"guarded\"` or `\"simple\"`", "that of the bench";
};

const PART: &[About] = &described! {
    "name" = "its name", MUST;
    "kind" = "`\"spacer\"`, `\"shield\"`, `\"nut\"`, `\"shaft\"`, `\"housing\"`, `\"bearing\"`, "
        "`\"bar\"` or `\"other\"`", "`\"other\"`";
    "step" = "the step of the job that its checks belong to, where they do not say it",
        "it follows from its kind";
};

const STACK: &[About] = &described! {
    "part" = "a part of the plan", MUST;
    "ways" = "the names of its two faces: `[\"face-a\", \"face-b\"]`", "either way will do";
    "towards_nose" = "the one that looks to the nose", "as it was found";
    "mark_deg" = "where its mark belongs, degrees from that of the shaft", "";
    "mark" = "`true`: where its mark is, is written down", "`false`";
    "opposes" = "whose high spots its own opposes: `[\"front-seat\"]`",
        "those of the seats and of all that is on before it";
    "marks" = "in how many whole steps of a turn its mark is set", "`12`";
};
