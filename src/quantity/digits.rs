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

/// The 32 bytes that 64 hexadecimal digits stand for, small letters alone.
#[must_use]
pub fn from_hexadecimal(text: &str) -> Option<[u8; 32]> {
    let small = |byte: u8| matches!(byte, b'0'..=b'9' | b'a'..=b'f');
    if text.len() != 64 || !text.bytes().all(small) {
        return None;
    }
    let pair = |at: usize| u8::from_str_radix(text.get(2 * at..2 * at + 2)?, 16).ok();
    (0..32).map(pair).collect::<Option<Vec<u8>>>()?.try_into().ok()
}
