//! Wording for keys, values and what is wrong with them.

use std::collections::BTreeSet;

use toml::de::DeValue;

/// A value in words.
pub(super) fn in_words(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text {text:?}"),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(truth) => truth.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// The text with control characters written out, since they could steer a terminal and a file may come
/// from anybody.
pub(crate) fn harmless(text: &str) -> String {
    let one = |c: char| if c.is_control() { c.escape_default().collect() } else { String::from(c) };
    text.chars().map(one).collect()
}

/// What to do about a word that is not a known one.
pub(crate) fn hint_for(key: &str, known: &BTreeSet<String>) -> String {
    let nearest = known.iter().min_by_key(|candidate| edits(key, candidate));
    let near = 2.min(key.chars().count() / 2);
    match nearest {
        Some(nearest) if edits(key, nearest) <= near => format!("did you mean \"{nearest}\"?"),
        Some(_) => {
            let known: Vec<_> = known.iter().map(String::as_str).collect();
            format!("known here: {}", known.join(", "))
        }
        None => "take it out".to_owned(),
    }
}

/// How many letters must be changed, added or dropped to turn one word into the other (Levenshtein
/// distance).
pub(super) fn edits(one: &str, other: &str) -> usize {
    let other: Vec<char> = other.chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, letter) in one.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, &against) in other.iter().enumerate() {
            let swap = diagonal + usize::from(letter != against);
            diagonal = row[j + 1];
            row[j + 1] = swap.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[other.len()]
}
