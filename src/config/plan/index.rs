//! The names of a whole plan, collected before its checks are read: a check may refer to a later one.

use std::collections::{BTreeMap, BTreeSet};

use crate::reader::{At, Document, Table, hint_for};
use bench::plan::CheckAt;

/// Every part and check of a plan by its name.
pub(super) struct Index<'d> {
    checks: BTreeMap<String, Named<'d>>,
    parts: BTreeMap<&'d str, u16>,
}

/// What other checks need to know of a check.
#[derive(Clone, Copy)]
pub(super) struct Named<'d> {
    pub(super) at: CheckAt,
    /// The word of `measures = …`.
    pub(super) measures: &'d str,
    /// The unit of an entry.
    pub(super) unit: Option<&'d str>,
}

impl<'d> Index<'d> {
    /// Collects the names of a plan.
    pub(super) fn of(root: &Table<'d>) -> Self {
        let (mut checks, mut parts) = (BTreeMap::new(), BTreeMap::new());
        for (table, part) in root.glance_at("part").into_iter().zip(0_u16..) {
            let Some(part_name) = table.glance("name") else { continue };
            parts.entry(part_name).or_insert(part);
            for (table, check) in table.glance_at("check").into_iter().zip(0_u16..) {
                let Some(name) = table.glance("name") else { continue };
                let at = CheckAt { part, check };
                let measures = table.glance("measures").unwrap_or_default();
                let named = Named { at, measures, unit: table.glance("unit") };
                checks.entry(format!("{part_name}/{name}")).or_insert(named);
            }
        }
        Self { checks, parts }
    }

    /// The part with a name; where there is none, a finding is left.
    pub(super) fn part(&self, document: &Document<'_>, name: &At<String>) -> Option<u16> {
        let found = self.parts.get(name.value.as_str()).copied();
        if found.is_none() {
            let known: BTreeSet<String> =
                self.parts.keys().map(|part| (*part).to_owned()).collect();
            let text = format!("there is no part \"{}\" in this plan", name.value);
            document.error(name.line, text, hint_for(&name.value, &known));
        }
        found
    }

    /// The check that `PART/CHECK` names, if it measures one of `measures`; otherwise a finding is left.
    pub(super) fn check(
        &self,
        document: &Document<'_>,
        name: &At<String>,
        measures: &[&str],
    ) -> Option<Named<'d>> {
        let wanted = |word: &str| measures.contains(&word);
        let named_so = measures.join("\" or \"");
        let Some(found) = self.checks.get(&name.value) else {
            let fits = self.checks.iter().filter(|(_, named)| wanted(named.measures));
            let known: BTreeSet<String> = fits.map(|(name, _)| name.clone()).collect();
            let hint = if known.is_empty() {
                format!("give the plan a check with measures = \"{named_so}\"")
            } else {
                hint_for(&name.value, &known)
            };
            let text = format!("there is no check \"{}\" in this plan", name.value);
            document.error(name.line, text, hint);
            return None;
        };
        if !wanted(found.measures) {
            let text = format!("\"{}\" measures {}", name.value, found.measures);
            let hint = format!("name a check with measures = \"{named_so}\"");
            document.error(name.line, text, hint);
            return None;
        }
        Some(*found)
    }
}
