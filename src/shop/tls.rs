//! TLS to a server whose certificate somebody of the shop has signed, and what is wrong where it does not fit.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use rustls::{CertificateError, ClientConfig, RootCertStore};

/// TLS that trusts those who are named in a file, and nobody else.
///
/// # Errors
/// A sentence: the file cannot be read, or there is no certificate in it.
pub fn trusting(ca: &Path) -> Result<ClientConfig, String> {
    let shown = ca.display();
    let unread =
        |why: &dyn std::fmt::Display| format!("the certificate {shown} cannot be read: {why}");
    let mut roots = RootCertStore::empty();
    for found in CertificateDer::pem_file_iter(ca).map_err(|why| unread(&why))? {
        roots.add(found.map_err(|why| unread(&why))?).map_err(|why| unread(&why))?;
    }
    if roots.is_empty() {
        return Err(format!("there is no certificate in {shown}"));
    }
    let ours = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(ours).with_safe_default_protocol_versions();
    let config = config.map_err(|why| format!("TLS cannot be used: {why}"))?;
    Ok(config.with_root_certificates(roots).with_no_client_auth())
}

/// What is wrong with a server's certificate, where that is why an error came about.
#[must_use]
#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "what is rarer is told in the words of the library"
)]
pub fn wrong_certificate(error: &(dyn Error + 'static), host: &str) -> Option<String> {
    let found = std::iter::successors(Some(error), |error| cause(*error));
    let found = { found }.find_map(|error| error.downcast_ref::<rustls::Error>())?;
    let rustls::Error::InvalidCertificate(what) = found else { return None };
    let what = match what {
        CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => {
            format!("it is not one of {host}")
        }
        CertificateError::UnknownIssuer | CertificateError::BadSignature => {
            "nobody in `ca` has signed it".to_owned()
        }
        CertificateError::Expired | CertificateError::ExpiredContext { .. } => {
            "its time is over".to_owned()
        }
        CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. } => {
            "its time has not begun; is the clock of this machine right?".to_owned()
        }
        other => other.to_string(),
    };
    Some(what)
}

/// The next error below one. What an I/O error wraps is not its source but the error itself.
fn cause<'e>(error: &'e (dyn Error + 'static)) -> Option<&'e (dyn Error + 'static)> {
    let wrapped = error.downcast_ref::<std::io::Error>().and_then(std::io::Error::get_ref);
    match wrapped {
        Some(inner) => Some(inner),
        None => error.source(),
    }
}
