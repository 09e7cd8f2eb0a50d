//! A printed code as a picture: a QR code (ISO/IEC 18004), drawn as one path.

use std::fmt::Write as _;

use maud::{Markup, html};
use qrcodegen::{QrCode, QrCodeEcc};

/// The quiet margin that the standard asks for, modules.
const QUIET: i32 = 4;

/// A picture of a text, with a description for readers who do not see it. `None` when the text is too long
/// for a code of this kind.
pub(super) fn picture(text: &str, words: &str) -> Option<Markup> {
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
    let side = code.size() + 2 * QUIET;
    Some(html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {side} {side}"))
            role="img" aria-label=(words) shape-rendering="crispEdges" {
            path fill="#000" d=(dark(&code)) {}
        }
    })
}

/// The dark modules, each run of a row as a bar of its own: `M4 4h7v1h-7z`.
fn dark(code: &QrCode) -> String {
    let mut path = String::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let run = (x..code.size()).take_while(|x| code.get_module(*x, y)).count();
            let run = i32::try_from(run).unwrap_or(i32::MAX);
            if run > 0 {
                let (left, top) = (x + QUIET, y + QUIET);
                write!(path, "M{left} {top}h{run}v1h-{run}z").expect("a String takes everything");
            }
            x += run + 1;
        }
    }
    path
}
