//! Certificates for servers of tests, made by `openssl`: somebody who signs, and what they have signed.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Somebody who signs certificates, in a folder of their own.
pub(crate) struct Authority {
    folder: PathBuf,
}

impl Authority {
    /// A new one, whose certificate is `NAME-ca.pem` in a folder.
    pub(crate) fn new(folder: &Path, name: &str) -> Self {
        let made = Self { folder: folder.join(name) };
        std::fs::create_dir(&made.folder).unwrap();
        let subject = format!("/CN={name}");
        made.openssl(&["-subj", &subject, "-keyout", "ca.key", "-out", "ca.pem"]);
        made
    }

    /// Its certificate, which whoever trusts it names.
    pub(crate) fn ca(&self) -> PathBuf {
        self.folder.join("ca.pem")
    }

    /// Certificate and key of a server with names such as `DNS:localhost,IP:127.0.0.1`.
    pub(crate) fn signs(&self, server: &str, names: &str) -> (PathBuf, PathBuf) {
        let (pem, key) = (format!("{server}.pem"), format!("{server}.key"));
        let (subject, names) = (format!("/CN={server}"), format!("subjectAltName={names}"));
        let by = ["-CA", "ca.pem", "-CAkey", "ca.key"];
        let mut arguments = vec!["-subj", &subject, "-keyout", &key, "-out", &pem];
        arguments.extend(by);
        // Version 3 is what `rustls` takes; a server's certificate may sign nothing.
        arguments.extend(["-addext", &names, "-addext", "basicConstraints=critical,CA:FALSE"]);
        self.openssl(&arguments);
        (self.folder.join(pem), self.folder.join(key))
    }

    fn openssl(&self, arguments: &[&str]) {
        let mut command = Command::new("openssl");
        command.args(["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1"]);
        command.args(["-nodes", "-days", "2"]).args(arguments).current_dir(&self.folder);
        let made = command.output().unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    }
}
