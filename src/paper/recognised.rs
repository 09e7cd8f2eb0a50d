//! Which type a file is, by its bytes.

use super::{jpeg, pdf, png};
use bench::row::PaperType;

/// Why a file is not taken: one sentence, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotTaken {
    /// What it is, or what is wrong with it.
    pub what: String,
    /// What to do.
    pub hint: &'static str,
}

const EXPORT: &str = "JPEG, PNG and PDF are taken; save or export it as one of them";
const AGAIN: &str = "copy it again from where it came, and look whether it opens";

/// The type of a file. Its name has no say.
///
/// # Errors
/// It is none of those that are taken, or it is damaged.
pub fn recognised(bytes: &[u8]) -> Result<PaperType, NotTaken> {
    let checked = |kind, checked: Result<(), String>| {
        checked.map(|()| kind).map_err(|what| NotTaken { what, hint: AGAIN })
    };
    if jpeg::begins(bytes) {
        return checked(PaperType::Jpeg, jpeg::check(bytes));
    }
    if png::begins(bytes) {
        return checked(PaperType::Png, png::check(bytes));
    }
    if pdf::begins(bytes) {
        return checked(PaperType::Pdf, pdf::check(bytes));
    }
    Err(NotTaken { what: other(bytes), hint: EXPORT })
}

/// What a file is that is not taken, as far as its first bytes tell.
fn other(bytes: &[u8]) -> String {
    if bytes.is_empty() {
        return "it is empty".to_owned();
    }
    let brand = bytes.get(4..12).unwrap_or_default();
    let riff = bytes.starts_with(b"RIFF");
    let what = if bytes.starts_with(b"\x7fELF")
        || bytes.starts_with(b"MZ")
        || bytes.starts_with(&[0xcf, 0xfa, 0xed, 0xfe])
        || bytes.starts_with(&[0xca, 0xfe, 0xba, 0xbe])
    {
        "a program"
    } else if bytes.starts_with(b"#!") {
        "a script"
    } else if brand.starts_with(b"ftyphei")
        || brand.starts_with(b"ftypmif1")
        || brand.starts_with(b"ftyphev")
    {
        "a HEIC picture"
    } else if brand.starts_with(b"ftypavif") {
        "an AVIF picture"
    } else if brand.starts_with(b"ftyp") {
        "a film"
    } else if bytes.starts_with(b"GIF8") {
        "a GIF picture"
    } else if riff && bytes.get(8..12) == Some(b"WEBP") {
        "a WebP picture"
    } else if bytes.starts_with(b"II*\0") || bytes.starts_with(b"MM\0*") {
        "a TIFF picture, or the raw picture of a camera"
    } else if bytes.starts_with(b"BM") {
        "a BMP picture"
    } else if bytes.starts_with(b"PK\x03\x04") {
        "a ZIP archive, or a document that is one"
    } else {
        return text(bytes).to_owned();
    };
    format!("it is {what}")
}

/// The same of a file that may be a text.
fn text(bytes: &[u8]) -> &'static str {
    let head = bytes.get(..bytes.len().min(1024)).unwrap_or_default();
    let head = String::from_utf8_lossy(head).to_ascii_lowercase();
    let head = head.trim_start_matches('\u{feff}').trim_start();
    if head.starts_with('<') && head.contains("<svg") {
        "it is an SVG drawing, which can hold a program"
    } else if head.starts_with('<')
        && (head.contains("<html") || head.contains("<!doctype html") || head.contains("<script"))
    {
        "it is a web page"
    } else if head.starts_with('<') {
        "it is XML"
    } else if !head.chars().any(|c| c.is_control() && !c.is_whitespace() || c == '\u{fffd}') {
        "it is a text"
    } else {
        "it is no picture and no PDF"
    }
}
