//! What is different between two configurations, in sentences for whoever made the change.

use std::collections::BTreeMap;
use std::fmt::{Debug, Write as _};

use super::load::Loaded;

/// What `after` says otherwise than `before`, one sentence each; empty where both say the same.
#[must_use]
pub fn changes(before: &Loaded, after: &Loaded) -> Vec<String> {
    let mut all = Vec::new();
    let (old, new) = (&before.bench, &after.bench);
    if old.name != new.name {
        all.push(format!("the place is called {:?} now", new.name));
    }
    if old.unit != new.unit {
        all.push(format!("people see {} now", new.unit));
    }
    if old.rule != new.rule {
        all.push(format!("new jobs are judged by the {} rule", new.rule.text()));
    }
    if (old.withholds_unproven, old.proof_days) != (new.withholds_unproven, new.proof_days) {
        all.push("what counts as proven is set up differently".to_owned());
    }
    if old.people != new.people {
        all.push("the list of people is another one".to_owned());
    }
    told("gauge", &gauges(before), &gauges(after), &mut all);
    told(
        "station",
        &by_name(&old.stations, |one| &one.name),
        &by_name(&new.stations, |one| &one.name),
        &mut all,
    );
    told(
        "device of station",
        &by_name(&before.devices, |one| &one.station),
        &by_name(&after.devices, |one| &one.station),
        &mut all,
    );
    told(
        "folder",
        &by_name(&before.drops, |one| &one.name),
        &by_name(&after.drops, |one| &one.name),
        &mut all,
    );
    let plans = |loaded: &Loaded| -> BTreeMap<String, String> {
        loaded
            .bench
            .plans
            .iter()
            .map(|(name, plan)| (name.to_string(), plan.text.clone()))
            .collect()
    };
    told("plan", &plans(before), &plans(after), &mut all);
    for (name, error) in &new.plans_aside {
        all.push(format!("plan {name} has an error, and no job can be opened with it: {error}"));
    }
    if format!("{:?}", before.sound) != format!("{:?}", after.sound) {
        all.push("the sounds are set up differently".to_owned());
    }
    all
}

/// Each gauge with all that is set up of it, its port among that.
fn gauges(loaded: &Loaded) -> BTreeMap<String, String> {
    let port = |name| loaded.ports.iter().find(|port| port.gauges.contains(name));
    let each = loaded.bench.gauges.iter();
    each.map(|(name, gauge)| (name.to_string(), format!("{gauge:?} {:?}", port(name)))).collect()
}

/// Things by their name, those of one name together, each as a text that is the same where it is the same.
fn by_name<T: Debug, N: ToString>(all: &[T], name: impl Fn(&T) -> &N) -> BTreeMap<String, String> {
    let mut named: BTreeMap<String, String> = BTreeMap::new();
    for one in all {
        let told = named.entry(name(one).to_string()).or_default();
        write!(told, "{one:?}").expect("a String takes everything");
    }
    named
}

fn told(
    what: &str,
    before: &BTreeMap<String, String>,
    after: &BTreeMap<String, String>,
    all: &mut Vec<String>,
) {
    for (name, set_up) in after {
        match before.get(name) {
            None => all.push(format!("{what} {name} is new")),
            Some(was) if was != set_up => all.push(format!("{what} {name} is changed")),
            Some(_) => {}
        }
    }
    let gone = before.keys().filter(|name| !after.contains_key(*name));
    all.extend(gone.map(|name| format!("{what} {name} is gone")));
}
