//! The process that asked for something, as given by the kernel.

use serde::{Deserialize, Serialize};

use ::record::Caller;

/// The process that asked for something. `by` in the same line is who was named.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct CallerLine {
    /// The number of its user.
    pub uid: u32,
    /// The number of the process.
    pub pid: u32,
    /// The login name of the user; `null` where the machine has none for it.
    pub login: Option<String>,
    /// Present only where true: the process ran on the bench that the job came from.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub elsewhere: bool,
}

impl From<&Caller> for CallerLine {
    fn from(caller: &Caller) -> Self {
        let Caller { uid, pid, login, elsewhere } = caller.clone();
        Self { uid, pid, login, elsewhere }
    }
}
