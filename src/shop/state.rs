//! How a link is, for whoever asks: a small file beside what the link keeps, always whole.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::FOLDER;

/// How a link is. Numbers are those of rows of the bench's record.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct LinkState {
    /// Where it goes: a host with its port, or the folder of a socket.
    pub to: String,
    /// The newest row that arrived there; 0 before the first, and as long as that is not known.
    pub sent: u64,
    /// When that was known to have arrived, RFC 3339 in UTC.
    pub sent_at: Option<String>,
    /// How many rows wait.
    pub waiting: u64,
    /// What stands in the way.
    pub trouble: Option<LinkTrouble>,
    /// What is strange and does no harm.
    pub remark: Option<String>,
}

/// What stands in the way of a link.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LinkTrouble {
    /// What is wrong.
    pub text: String,
    /// What to do about it.
    pub hint: String,
    /// Since when, RFC 3339 in UTC.
    pub since: String,
    /// Whether it is tried again by itself and may be over then; otherwise a person has to do something.
    pub passes: bool,
}

/// The name of the link to the database.
pub const DATABASE_LINK: &str = "database";
/// The name of the link to the broker.
pub const BROKER_LINK: &str = "broker";

impl LinkState {
    /// How a link of a state folder was last; `None` where it never ran, or where its file cannot be read.
    #[must_use]
    pub fn read(state: &Path, link: &str) -> Option<Self> {
        serde_json::from_slice(&fs::read(file(state, link)).ok()?).ok()
    }

    /// Writes it in the place of the one before.
    ///
    /// # Errors
    /// The system refuses.
    pub fn write(&self, state: &Path, link: &str) -> io::Result<()> {
        let path = file(state, link);
        let new = path.with_extension("new");
        let mut file = fs::File::create(&new)?;
        file.write_all(&serde_json::to_vec(self)?)?;
        file.write_all(b"\n")?;
        fs::rename(&new, &path)
    }
}

fn file(state: &Path, link: &str) -> PathBuf {
    state.join(FOLDER).join(link).with_extension("json")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_read_as_it_was_written_and_half_a_file_is_none() {
        let state = tempfile::tempdir().unwrap();
        assert_eq!(LinkState::read(state.path(), DATABASE_LINK), None);
        fs::create_dir(state.path().join(FOLDER)).unwrap();
        let trouble = LinkTrouble {
            text: "nobody answers".to_owned(),
            hint: "look".to_owned(),
            since: "2027-03-01T14:30:00.000Z".to_owned(),
            passes: true,
        };
        let one = LinkState { sent: 7, trouble: Some(trouble), ..LinkState::default() };
        one.write(state.path(), DATABASE_LINK).unwrap();
        assert_eq!(LinkState::read(state.path(), DATABASE_LINK), Some(one));
        assert_eq!(LinkState::read(state.path(), BROKER_LINK), None);
        fs::write(file(state.path(), BROKER_LINK), "{\"to\":").unwrap();
        assert_eq!(LinkState::read(state.path(), BROKER_LINK), None);
        // What a later version adds is not in the way.
        fs::write(file(state.path(), BROKER_LINK), "{\"to\":\"x\",\"more\":1}").unwrap();
        assert_eq!(LinkState::read(state.path(), BROKER_LINK).unwrap().to, "x");
    }
}
