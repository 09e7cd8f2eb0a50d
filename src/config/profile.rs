//! A profile: how one kind of gauge talks, written by a person.
//!
//! The files `config/profiles/*.toml` are the manual: each explains the keys that it uses.

use std::collections::BTreeMap;
use std::path::Path;

use super::finding::Finding;
use super::reader::{At, Document, Table};
use ::gauge::{
    Ask, Block, Content, Framing, MOST_LINES, Packed, Pattern, PatternError, Profile, Tokens,
};
use quantity::{Quoted, Unit};

/// The most bytes in a frame.
const LONGEST: i64 = 64;

/// Reads a profile. `file` is the name of its file as the person knows it; the profile's name follows from
/// it.
///
/// # Errors
/// All findings, in the order of the lines.
pub fn parse_profile(text: &str, file: &str) -> Result<Profile, Vec<Finding>> {
    let document = Document::parse(file, text);
    let profile = document.root().and_then(|root| read(root, file));
    document.all_is_described();
    match profile {
        Some(profile) if !document.has_errors() => Ok(profile),
        Some(_) | None => Err(document.findings()),
    }
}

fn read(root: Table<'_>, file: &str) -> Option<Profile> {
    let stem = Path::new(file).file_stem().and_then(|stem| stem.to_str()).unwrap_or(file);
    let about = root.string("about").map_or(String::new(), |about| about.value);
    let frames = root.one_of("frames", &FRAMES).map(|frames| frames.value);
    let framing = framing(&root, frames);
    let block = block(&root, frames);
    let content = content(&root);
    let unit = root.parsed("unit", unit_named).map(|unit| unit.value);
    let spellings = root.table("spellings").map_or_else(BTreeMap::new, spellings);
    let places = root.table("places").map_or_else(BTreeMap::new, places);
    let tokens = root.table("tokens").map_or_else(Tokens::default, tokens);
    let ask = root.table("ask").and_then(ask);
    let examples = root.table("examples");
    let document = root.document();
    root.finish();
    let (framing, content) = (framing?, content?);
    let name = stem.to_owned();
    let profile =
        Profile { name, about, framing, block, content, unit, spellings, places, tokens, ask };
    if let (Framing::Fixed { length, .. }, Content::Packed(packed)) =
        (profile.framing, &profile.content)
        && length != packed.length
    {
        let text = format!("\"length\" is {length}, the layout has {}", packed.length);
        document.error(1, text, "make them the same, or take frames = \"line\"");
    }
    if let Some(examples) = examples {
        check_examples(&examples, &profile);
        examples.finish();
    }
    Some(profile)
}

/// Refuses a profile that misreads its own examples.
fn check_examples(examples: &Table<'_>, profile: &Profile) {
    for key in examples.keys() {
        let Some(wanted) = examples.string(key.value) else { continue };
        let got = profile.describe(key.value.as_bytes());
        let same = got == wanted.value || (wanted.value == "damaged" && got.starts_with("damaged"));
        if !same {
            let text = format!("the example {:?} reads as \"{got}\"", key.value);
            let hint = format!("you wrote \"{}\": change the pattern or the example", wanted.value);
            examples.document().error(wanted.line, text, hint);
        }
    }
}

/// The words of `frames = …`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Frames {
    Line,
    Fixed,
    Block,
}

const FRAMES: [(&str, Frames); 3] =
    [("line", Frames::Line), ("fixed", Frames::Fixed), ("block", Frames::Block)];

/// `[block]`: the lines that make one frame.
fn block(root: &Table<'_>, frames: Option<Frames>) -> Option<Block> {
    let is_block = frames == Some(Frames::Block);
    if is_block {
        root.must_have("block", "write [block] with begins = '…', what its first line looks like");
    }
    let line = root.line_of("block");
    let table = root.table("block")?;
    if !is_block && frames.is_some() {
        let text = "[block] is for frames of several lines";
        root.document().error(line, text, "write frames = \"block\", or take it out");
    }
    table.must_have("begins", "write begins = 'No\\. *[0-9]+', what its first line looks like");
    let begins = table.parsed("begins", Pattern::whole);
    let ends = table.parsed("ends", Pattern::whole);
    let most = i64::try_from(MOST_LINES).unwrap_or(i64::MAX);
    let small = |at: At<i64>| usize::try_from(at.value).ok();
    let lines = table.integer("lines", 2..=most).and_then(small);
    let value_line = table.integer("value_line", 1..=most);
    let gap_ms = table.integer("gap_ms", 50..=10_000).map_or(500, |gap| gap.value);
    if !table.has("ends") && !table.has("lines") {
        let text = "it is not said where a block ends";
        let hint =
            "write lines = 5, how many lines it has, or ends = '…', what its last line looks like";
        table.document().error(table.line(), text, hint);
    }
    if let Some(value_line) = &value_line {
        // Without the number of lines, one that is lost would let another line pass for the value.
        let beyond =
            lines.is_some_and(|lines| value_line.value > i64::try_from(lines).unwrap_or(most));
        let text = if !table.has("lines") {
            Some("value_line counts lines, and it is not said how many there are")
        } else if beyond {
            Some("value_line is beyond the last line")
        } else {
            None
        };
        if let Some(text) = text {
            let hint = "write lines = 5, how many lines a block has, and value_line within them";
            table.document().error(value_line.line, text, hint);
        }
    }
    table.finish();
    let value_line = value_line.and_then(small);
    let gap_us = u64::try_from(gap_ms).ok()? * 1000;
    let ends = ends.map(|ends| ends.value);
    Some(Block { begins: begins?.value, ends, lines, value_line, gap_us })
}

fn framing(root: &Table<'_>, frames: Option<Frames>) -> Option<Framing> {
    root.must_have("frames", "write frames = \"line\" for frames that end in CR or LF");
    let length = root.integer("length", 1..=LONGEST);
    let gap_ms = root.integer("gap_ms", 5..=10_000);
    if frames? != Frames::Fixed {
        let line = root.line_of(if length.is_some() { "length" } else { "gap_ms" });
        if length.is_some() || gap_ms.is_some() {
            let text = "\"length\" and \"gap_ms\" are for frames of fixed length";
            root.document().error(line, text, "take them out, or write frames = \"fixed\"");
        }
        return Some(Framing::Line);
    }
    root.must_have("length", "write length = 12, the bytes in a frame");
    let gap_ms = gap_ms.map_or(50, |gap| gap.value);
    Some(Framing::Fixed {
        length: usize::try_from(length?.value).ok()?,
        gap_us: u64::try_from(gap_ms).ok()? * 1000,
    })
}

/// The ways of carrying a value.
#[derive(Clone, Copy)]
enum Carried {
    Decimal,
    Counts,
    Packed,
}

fn content(root: &Table<'_>) -> Option<Content> {
    let words =
        [("decimal", Carried::Decimal), ("counts", Carried::Counts), ("packed", Carried::Packed)];
    root.must_have("value", "write value = \"decimal\", \"counts\" or \"packed\"");
    let Some(carried) = root.one_of("value", &words) else {
        // It is not known which of these belong here, so none of them is reported as unknown.
        for key in ["pattern", "scale", "packed"] {
            root.has(key);
        }
        return None;
    };
    match carried.value {
        Carried::Decimal => Some(Content::Decimal(pattern(root, false)?)),
        Carried::Counts => {
            let read = |text: &str| Quoted::parse_with_unit(text, None);
            let scale = root.parsed("scale", read).map(|scale| scale.value);
            Some(Content::Counts { pattern: pattern(root, true)?, scale })
        }
        Carried::Packed => {
            root.must_have("packed", "write [packed] with layout = \"…\"");
            root.table("packed").and_then(packed).map(Content::Packed)
        }
    }
}

fn pattern(root: &Table<'_>, counts: bool) -> Option<Pattern> {
    root.must_have("pattern", "write pattern = '(?<sign>[+-]?)(?<digits>[0-9]+)' or the like");
    let found = root.parsed("pattern", Pattern::whole)?;
    let has = |group| found.value.has(group);
    let wrong = if !has("digits") && !has("whole") {
        "the pattern has no group \"digits\" and no group \"whole\""
    } else if has("digits") && (has("whole") || has("fraction")) {
        "the pattern has \"digits\" beside \"whole\" or \"fraction\""
    } else if counts && has("fraction") {
        "counts have no fraction"
    } else {
        return Some(found.value);
    };
    let hint = "name the number (?<digits>…), or its parts (?<whole>…) and (?<fraction>…)";
    root.document().error(found.line, wrong, hint);
    None
}

fn spellings(table: Table<'_>) -> BTreeMap<String, Unit> {
    let one = |key: At<&str>| {
        let unit = table.parsed(key.value, unit_named)?;
        Some((key.value.to_owned(), unit.value))
    };
    let found = table.keys().into_iter().filter_map(one).collect();
    table.finish();
    found
}

fn places(table: Table<'_>) -> BTreeMap<Unit, u8> {
    let mut found = BTreeMap::new();
    for key in table.keys() {
        let Some(count) = table.integer(key.value, 0..=8) else { continue };
        let unit = Unit::parse(key.value);
        if unit.is_none() {
            let text = format!("\"{}\" is no unit", key.value);
            table.document().error(key.line, text, "units are in, mm and um");
        }
        found.extend(unit.zip(u8::try_from(count.value).ok()));
    }
    table.finish();
    found
}

fn tokens(table: Table<'_>) -> Tokens {
    let read = |key: &str, compile: fn(&str) -> Result<Pattern, PatternError>| {
        let one = |text: At<String>| match compile(&text.value) {
            Ok(pattern) => Some(pattern),
            Err(error) => {
                table.document().error(text.line, format!("\"tokens.{key}\": {error}"), "");
                None
            }
        };
        table.strings(key).into_iter().filter_map(one).collect()
    };
    let found = Tokens {
        blank: read("blank", Pattern::whole),
        error: read("error", Pattern::whole),
        overload: read("overload", Pattern::whole),
        no_gauge: read("no_gauge", Pattern::whole),
        low_battery: read("low_battery", Pattern::ending),
    };
    table.finish();
    found
}

fn ask(table: Table<'_>) -> Option<Ask> {
    table.must_have("send", "write send = \"?\\r\", the bytes that ask for a value");
    let send = table.string("send");
    let timeout_ms = table.integer("timeout_ms", 50..=10_000).map_or(1000, |ms| ms.value);
    let echo = table.boolean("echo").is_some_and(|echo| echo.value);
    table.finish();
    let timeout_us = u64::try_from(timeout_ms).ok()? * 1000;
    Some(Ask { send: send?.value, timeout_us, echo })
}

fn packed(table: Table<'_>) -> Option<Packed> {
    table.must_have("layout", "write layout = \"A5 s nnnnnn p u C\" or the like");
    table.must_have("plus", "write plus = \"0\", the digit that stands for +");
    table.must_have("minus", "write minus = \"8\", the digit that stands for -");
    let layout = table.string("layout");
    let halves = table.one_of("first_half", &[("high", false), ("low", true)]);
    let (plus, minus) = (nibbles(&table, "plus"), nibbles(&table, "minus"));
    let units = table.table("units").map(units);
    let found = layout.and_then(|layout| {
        let mut packed = read_layout(&layout.value, units).map_err(|wrong| {
            table.document().error(layout.line, format!("\"packed.layout\": {wrong}"), LAYOUT_HINT);
        });
        if let Ok(packed) = &mut packed {
            packed.low_half_first = halves.is_some_and(|low| low.value);
            (packed.plus, packed.minus) = (plus, minus);
        }
        packed.ok()
    });
    table.finish();
    found
}

const LAYOUT_HINT: &str = "one character for each hexadecimal digit: 0-9 A-F always the same, \
     s sign, n digit of the value, p decimal places, u unit, x anything";

/// Reads a layout such as `A5 s nnnnnn p u C`; blanks have no meaning.
fn read_layout(text: &str, units: Option<BTreeMap<u8, Unit>>) -> Result<Packed, String> {
    let (mut sign, mut point, mut unit) = (Vec::new(), Vec::new(), Vec::new());
    let (mut digits, mut fixed) = (Vec::new(), Vec::new());
    let letters: Vec<char> = text.chars().filter(|letter| *letter != ' ').collect();
    for (place, letter) in letters.iter().enumerate() {
        match letter {
            's' => sign.push(place),
            'p' => point.push(place),
            'u' => unit.push(place),
            'n' => digits.push(place),
            'x' => {}
            '0'..='9' | 'A'..='F' => {
                let digit = letter.to_digit(16).and_then(|digit| u8::try_from(digit).ok());
                fixed.extend(digit.map(|digit| (place, digit)));
            }
            other => return Err(format!("\"{other}\" means nothing here")),
        }
    }
    let length = letters.len();
    let only = |found: &[usize], what: &str| match found {
        [place] => Ok(*place),
        _ => Err(format!("it has {} places for the {what}, not one", found.len())),
    };
    if length > 64 || length % 2 == 1 {
        return Err(format!("it has {length} digits; a frame has pairs of them, 64 at most"));
    }
    if !(1..=8).contains(&digits.len()) {
        return Err(format!("it has {} digits of the value, not 1 to 8", digits.len()));
    }
    let unit = match (unit.as_slice(), units) {
        ([], None) => None,
        ([place], Some(units)) => Some((*place, units)),
        _ => return Err("a place \"u\" and the table [packed.units] go together".to_owned()),
    };
    let (sign, point) = (only(&sign, "sign")?, only(&point, "decimal places")?);
    let (plus, minus, low_half_first) = (Vec::new(), Vec::new(), false);
    Ok(Packed { length, low_half_first, fixed, sign, plus, minus, digits, point, unit })
}

fn units(table: Table<'_>) -> BTreeMap<u8, Unit> {
    let mut found = BTreeMap::new();
    for key in table.keys() {
        let unit = table.parsed(key.value, unit_named);
        let digit = nibble(key.value);
        if digit.is_none() {
            let text = format!("\"{}\" is no hexadecimal digit", key.value);
            table.document().error(key.line, text, "write \"1\" = \"in\"");
        }
        found.extend(digit.zip(unit.map(|unit| unit.value)));
    }
    table.finish();
    found
}

fn nibbles(table: &Table<'_>, key: &str) -> Vec<u8> {
    let one = |text: At<String>| {
        let digit = nibble(&text.value);
        if digit.is_none() {
            let said = format!("\"packed.{key}\": \"{}\" is no hexadecimal digit", text.value);
            table.document().error(text.line, said, "");
        }
        digit
    };
    table.strings(key).into_iter().filter_map(one).collect()
}

fn nibble(text: &str) -> Option<u8> {
    if text.len() == 1 { u8::from_str_radix(text, 16).ok() } else { None }
}

fn unit_named(text: &str) -> Result<Unit, String> {
    Unit::parse(text).ok_or_else(|| format!("\"{text}\" is no unit; units are in, mm and um"))
}

#[cfg(test)]
mod replay;
#[cfg(test)]
mod tests;
