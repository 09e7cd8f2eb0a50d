//! Bytes written as hexadecimal digits.

use std::fmt::Write;

/// Bytes in hexadecimal, two lower-case digits each.
///
/// # Panics
/// Never: writing to a `String` cannot fail.
#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a String takes everything");
        text
    })
}
