//! The process that asked for something, as the kernel named it.

use serde::{Deserialize, Serialize};

use store::Caller;

/// Beside `by`, which is what was said: whose process it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct CallerLine {
    /// The number of its user.
    pub uid: u32,
    /// The number of the process.
    pub pid: u32,
    /// The login name of the user; `null` where the machine knows none.
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
