//! What proves to a server who logs in.

use std::path::PathBuf;

use config::Secret;

/// A secret that cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum NoSecret {
    /// Its file.
    #[error("the secret {} cannot be read: {why}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        why: std::io::Error,
    },
    /// A file without anything in it.
    #[error("the secret {} is empty", .0.display())]
    Empty(PathBuf),
    /// The service manager gave no credentials.
    #[error("the secret is the credential {0:?}, and no service manager gave one")]
    NoCredentials(String),
}

impl NoSecret {
    /// What to do about it.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::File { .. } | Self::Empty(_) => {
                "put the secret into that file, readable for who runs this: install -m 0640 -g tenths FILE"
            }
            Self::NoCredentials(_) => {
                "run it as the unit tenths-forward with LoadCredential=, or write secret = \"FILE\""
            }
        }
    }
}

/// Reads a secret: what is in its file, without the end of the line.
///
/// # Errors
/// There is no such file or credential, it is empty, or it may not be read.
#[expect(clippy::disallowed_methods, reason = "a secret is in a file or it is nowhere")]
pub fn secret(of: &Secret) -> Result<String, NoSecret> {
    let path = match of {
        Secret::File(path) => path.clone(),
        Secret::Credential(name) => {
            let folder = std::env::var_os("CREDENTIALS_DIRECTORY");
            let folder = folder.ok_or_else(|| NoSecret::NoCredentials(name.clone()))?;
            PathBuf::from(folder).join(name)
        }
    };
    let text = std::fs::read_to_string(&path);
    let text = text.map_err(|why| NoSecret::File { path: path.clone(), why })?;
    let text = text.trim_end_matches(['\n', '\r']).to_owned();
    if text.is_empty() { Err(NoSecret::Empty(path)) } else { Ok(text) }
}

/// A sentence where others than the owner and the group of a secret's file may read it.
#[must_use]
pub fn seen_by_others(of: &Secret) -> Option<String> {
    let Secret::File(path) = of else { return None };
    let mode = std::os::unix::fs::MetadataExt::mode(&std::fs::metadata(path).ok()?);
    let shown = path.display();
    (mode & 0o007 != 0)
        .then(|| format!("everybody on this machine may read {shown}; chmod o= {shown}"))
}

#[cfg(test)]
mod tests {
    use std::fs::{Permissions, set_permissions, write};
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    #[test]
    fn a_secret_is_what_is_in_its_file_and_who_else_may_read_it_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s");
        let of = Secret::File(path.clone());
        assert!(matches!(secret(&of), Err(NoSecret::File { .. })));
        assert_eq!(seen_by_others(&of), None);
        write(&path, "\n").unwrap();
        assert!(matches!(secret(&of), Err(NoSecret::Empty(_))));
        write(&path, " a word \r\n").unwrap();
        assert_eq!(secret(&of).unwrap(), " a word ");
        set_permissions(&path, Permissions::from_mode(0o640)).unwrap();
        assert_eq!(seen_by_others(&of), None);
        set_permissions(&path, Permissions::from_mode(0o644)).unwrap();
        assert!(seen_by_others(&of).is_some_and(|said| said.contains("chmod o= ")));
    }
}
