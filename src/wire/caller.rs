//! The process that asked for something, as the kernel named it.

use serde::{Deserialize, Serialize};

use store::Caller;

/// Beside `by`, which is what was said: whose process it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct CallerLine {
    pub uid: u32,
    pub pid: u32,
    pub login: Option<String>,
    /// Only there where it is true: a process of the bench that the job came from.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub elsewhere: bool,
}

impl From<&Caller> for CallerLine {
    fn from(caller: &Caller) -> Self {
        let Caller { uid, pid, login, elsewhere } = caller.clone();
        Self { uid, pid, login, elsewhere }
    }
}
