//! The errors and concerns about what is worked out from other checks of a plan.

use crate::reader::Document;
use bench::plan::keys::CheckLines;
use bench::plan::{Check, MasterUse, Part, Plan, Together};

/// Reports them once all of its checks are known.
pub(super) fn doubts(document: &Document<'_>, plan: &Plan, lines: &[Vec<CheckLines>]) {
    let checks =
        plan.parts.iter().zip(lines).flat_map(|(part, lines)| part.checks.iter().zip(lines));
    for (check, lines) in checks {
        let own = check.measures.own();
        let of: Vec<_> = own.made_of.iter().filter_map(|of| plan.at(*of)).collect();
        match own.together {
            Together::Nothing => continue,
            Together::AtTwenty => {
                of_what_material(document, lines.of, &of);
                continue;
            }
            Together::OneSitting => {}
        }
        let [first, second] = of[..] else { continue };
        one_master(document, lines.of, [first, second]);
        let named = |(part, _): (&Part, &Check), word| part.name.as_str().contains(word);
        if own.arrangement.is_some() && named(first, "inner") && named(second, "outer") {
            let text =
                "the first of a pair with an arrangement is the ring between the outer rings";
            let hint = "turn the two round, or preload would be told the wrong way round";
            document.warning(lines.of, text, hint);
        }
    }
}

/// Reports sizes that are brought to 20 °C each by itself and do not say of what they are.
fn of_what_material(document: &Document<'_>, line: u32, of: &[(&Part, &Check)]) {
    for (part, check) in of {
        if check.measures.own().size.is_some_and(|size| !size.material_stated) {
            let text = format!("the material of {}/{} is not stated", part.name, check.name);
            let hint = "write material = \"steel\" there, say, or its expansion: each is brought to \
                        20 °C by it";
            document.error(line, text, hint);
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
