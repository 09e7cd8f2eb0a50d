//! Texts that are sent or printed: JSON and plain lines that cannot steer a terminal.

use std::fmt::Write as _;

use quantity::bends_text;
use serde::Serialize;

/// A value as one line of JSON without its line end. Characters that could steer a terminal are written as
/// `\u` escapes, including those that JSON would allow.
///
/// # Panics
/// When a value cannot be JSON, such as a map whose keys are not texts; that would be a bug.
#[must_use]
pub(crate) fn json_text<T: Serialize>(value: &T) -> String {
    let plain = serde_json::to_string(value).expect("outside shapes are plain structures");
    if !plain.chars().any(bends_text) {
        return plain;
    }
    plain.chars().fold(String::with_capacity(plain.len() + 16), |mut text, c| {
        if bends_text(c) {
            // All of them are below U+10000, so one escape each is enough.
            write!(text, "\\u{:04x}", u32::from(c)).expect("a String takes everything");
        } else {
            text.push(c);
        }
        text
    })
}

/// The name of a shape, in front of its fields.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(crate) struct Called<T> {
    /// The name of this shape.
    schema: &'static str,
    #[serde(flatten)]
    line: T,
}

/// A value with the name of its shape, as one line of JSON without its line end.
#[must_use]
pub(crate) fn line_of<T: Serialize>(schema: &'static str, line: &T) -> String {
    json_text(&Called { schema, line })
}

/// A text from outside made safe for a terminal: control characters, and characters that reorder or hide
/// text, become visible escapes such as `\x1b` or `\u{202e}`.
#[must_use]
pub fn printable(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut shown, c| {
        match c {
            '\n' => shown.push_str("\\n"),
            '\r' => shown.push_str("\\r"),
            '\t' => shown.push_str("\\t"),
            c if bends_text(c) && u32::from(c) < 0x100 => {
                write!(shown, "\\x{:02x}", u32::from(c)).expect("a String takes everything");
            }
            c if bends_text(c) => {
                write!(shown, "\\u{{{:x}}}", u32::from(c)).expect("a String takes everything");
            }
            c => shown.push(c),
        }
        shown
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_from_outside_steers_a_terminal() {
        assert_eq!(printable("\u{1b}[31mred\u{7}\r\n"), "\\x1b[31mred\\x07\\r\\n");
        assert_eq!(printable("a\u{9b}31m\u{7f}"), "a\\x9b31m\\x7f");
        assert_eq!(printable("pass\u{202e}liaf\u{200b}"), "pass\\u{202e}liaf\\u{200b}");
        assert_eq!(printable("Ø 40 µm – fine"), "Ø 40 µm – fine");
    }

    #[test]
    fn json_lines_stay_json_and_stay_harmless() {
        let nasty = "\u{1b}[2J\u{9b}H\u{7f}\u{202e}\n";
        let line = json_text(&serde_json::json!({ "as_sent": nasty }));
        assert_eq!(line, r#"{"as_sent":"\u001b[2J\u009bH\u007f\u202e\n"}"#);
        let back: serde_json::Value = serde_json::from_str(&line).unwrap();
        assert_eq!(back["as_sent"], nasty);
    }
}
