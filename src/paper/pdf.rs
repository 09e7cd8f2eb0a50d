//! The frame of a PDF file (ISO 32000-1, 7.5): its first line, and at its end where its table of contents
//! begins. Nothing inside is looked at.

/// How far from the end `%%EOF` may stand: some writers add empty lines.
const END: usize = 1024;

/// Whether the bytes begin as a PDF file does.
pub(crate) fn begins(bytes: &[u8]) -> bool {
    bytes.starts_with(b"%PDF-")
}

/// Checks that the file has its first and its last lines, and that its table of contents lies within it.
pub(crate) fn check(bytes: &[u8]) -> Result<(), String> {
    let version = bytes.get(5..8);
    if !version
        .is_some_and(|v| matches!(v[0], b'1' | b'2') && v[1] == b'.' && v[2].is_ascii_digit())
    {
        return Err("it begins as a PDF and names no version of it".to_owned());
    }
    let tail = bytes.get(bytes.len().saturating_sub(END)..).unwrap_or_default();
    let cut_off = "it is a PDF that is cut off: its end is missing";
    let end = last(tail, b"%%EOF").ok_or(cut_off)?;
    let before = tail.get(..end).unwrap_or_default();
    let start = last(before, b"startxref").ok_or(cut_off)?;
    let place = before.get(start + b"startxref".len()..).unwrap_or_default();
    let place = std::str::from_utf8(place).ok().and_then(|text| text.trim().parse::<usize>().ok());
    if place.is_some_and(|place| place > 0 && place < bytes.len()) {
        Ok(())
    } else {
        Err("it is a PDF that is damaged: its table of contents is not where it says".to_owned())
    }
}

fn last(within: &[u8], word: &[u8]) -> Option<usize> {
    within.windows(word.len()).rposition(|at| at == word)
}
