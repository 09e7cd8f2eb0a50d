//! A job as it was opened.

use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, de};

use crate::fact::form::RefersToRows;
use crate::fact::seq::{ParsePlan, Seq};
use crate::plan::PinnedPlan;
use judgement::Rule;
use quantity::Name;

/// A job as it was opened. When it is handed on, `P` is the text of its plan; the record keeps that text
/// once for many jobs, and `P` is its digest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobOpened<P = Arc<PinnedPlan>> {
    /// Its name, never used again.
    pub name: Name,
    /// The plan file's name, without its ending.
    pub plan_name: Name,
    /// The plan and its text, kept for ever.
    pub plan: P,
    /// The spindle's serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Whose it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// The rule it is judged by until a person changes it with a reason: that of the plan, otherwise of the
    /// bench.
    pub rule: Rule,
}

impl<P> JobOpened<P> {
    /// The same with another value in place of the plan.
    pub fn with_plan<Q>(&self, plan: Q) -> JobOpened<Q> {
        let (name, plan_name) = (self.name.clone(), self.plan_name.clone());
        let (serial, customer) = (self.serial.clone(), self.customer.clone());
        JobOpened { name, plan_name, plan, serial, customer, rule: self.rule }
    }
}

impl JobOpened {
    /// Reads its stored form.
    pub(super) fn read<'de, D: Deserializer<'de>>(
        from: D,
        parse: ParsePlan,
    ) -> Result<Arc<Self>, D::Error> {
        let opened = JobOpened::<String>::deserialize(from)?;
        let unread = |why| de::Error::custom(format!("its plan cannot be read: {why}"));
        let plan = parse(&opened.plan).map_err(unread)?;
        let plan = PinnedPlan { plan, text: opened.plan.clone() };
        Ok(Arc::new(opened.with_plan(Arc::new(plan))))
    }
}

impl RefersToRows for JobOpened {
    fn numbers(&mut self, _field: &'static str, _visit: &mut dyn FnMut(&'static str, &mut Seq)) {}
}
