//! `people` of `[bench]`: the people whose badges are printed and scanned.

use super::reader::Table;
use quantity::Name;

/// The people who have a badge, in the order they are written. An unusable name is a finding.
pub(super) fn read(table: &Table<'_>) -> Vec<Name> {
    let document = table.document();
    let mut known: Vec<(Name, u32)> = Vec::new();
    for written in table.strings("people") {
        let name = match Name::new(&written.value) {
            Ok(name) => name,
            Err(error) => {
                let text = format!("{:?} is not a person's name: {error}", written.value);
                let hint = "write the name or the initials as they are to stand in the report";
                document.error(written.line, text, hint);
                continue;
            }
        };
        let alike = |(other, _): &&(Name, u32)| {
            other.as_str().to_lowercase() == name.as_str().to_lowercase()
        };
        let Some((other, first)) = known.iter().find(alike) else {
            known.push((name, written.line));
            continue;
        };
        let text = format!("\"{name}\" stands twice in \"people\": \"{other}\" on line {first}");
        let hint = "write each person once, and let people of one name differ in more than \
                    letter case: a badge stands for one of them";
        document.error(written.line, text, hint);
    }
    known.into_iter().map(|(name, _)| name).collect()
}
