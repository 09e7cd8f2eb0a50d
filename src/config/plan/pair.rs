//! The errors and concerns about the differences of a plan.

use crate::reader::Document;
use bench::plan::keys::CheckLines;
use bench::plan::{Check, MasterUse, Part, Plan};

/// Reports the errors and concerns about the differences of a plan, once all of its checks are known.
pub(super) fn doubts(document: &Document<'_>, plan: &Plan, lines: &[Vec<CheckLines>]) {
    let checks =
        plan.parts.iter().zip(lines).flat_map(|(part, lines)| part.checks.iter().zip(lines));
    for (check, lines) in checks {
        let Some(halves) = check.measures.halves() else { continue };
        let [Some(first), Some(second)] = halves.map(|of| plan.at(of)) else { continue };
        one_master(document, lines.of, [first, second]);
        let named = |(part, _): (&Part, &Check), word| part.name.as_str().contains(word);
        if check.measures.own().arrangement.is_some()
            && named(first, "inner")
            && named(second, "outer")
        {
            let text =
                "the first of a pair with an arrangement is the ring between the outer rings";
            let hint = "turn the two round, or preload would be told the wrong way round";
            document.warning(lines.of, text, hint);
        }
    }
}

/// Reports two lengths without one common master: only with one does the size of the master drop out of
/// the difference.
fn one_master(document: &Document<'_>, line: u32, both: [(&Part, &Check); 2]) {
    let hint = "give both lengths the same master and master_size; its size then drops out";
    let without = both.iter().find(|(_, check)| check.master == MasterUse::None);
    if let Some((part, check)) = without {
        let text = format!(
            "{}/{} touches no master: a zero that walked would stand in the difference",
            part.name, check.name
        );
        document.warning(line, text, hint);
    } else if both[0].1.master_size != both[1].1.master_size {
        let text = "the two lengths have masters of different sizes, which the difference holds";
        document.warning(line, text, hint);
    }
}
