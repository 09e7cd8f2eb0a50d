//! What somebody who is no programmer writes into a file that is not TOML, and what they meant: told in their words,
//! with the line as it should be. Nothing is mended silently.

use std::ops::Range;

/// What is wrong at a place of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Slip {
    /// What is wrong.
    pub(super) text: String,
    /// What to write.
    pub(super) hint: String,
    /// The place, in bytes of the whole text.
    pub(super) place: Range<usize>,
}

/// A line of a text while it is looked at.
struct Line<'l> {
    /// Where it begins, in bytes of the whole text.
    start: usize,
    /// Without its end.
    text: &'l str,
}

/// What a line is read as: a key and its value.
struct Pair<'l> {
    key: &'l str,
    /// Without blanks at its ends and without a comment.
    value: &'l str,
    /// Where it begins in the line.
    at: usize,
}

/// The most likely slip behind an error of the parser at a place of a text.
pub(super) fn slip(text: &str, message: &str, place: &Range<usize>) -> Slip {
    let line = line_of(text, place.start);
    let found = odd_letter(&line)
        .or_else(|| heading(&line, message))
        .or_else(|| no_comment(&line))
        .or_else(|| unclosed_before(text, &line, message))
        .or_else(|| of_pair(&line, message));
    found.unwrap_or_else(|| Slip {
        text: message.replace('\n', ", "),
        hint: "see toml.io for how a file is written".to_owned(),
        place: place.clone(),
    })
}

/// The line with a byte; that of the last one where the byte is beyond the end.
fn line_of(text: &str, at: usize) -> Line<'_> {
    let at = at.min(text.len());
    let head = &text.as_bytes()[..at];
    let mut start = head.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    // At the end of a file that ends with its last line, that line is meant.
    if start == text.len() && start > 0 {
        let before = &text.as_bytes()[..start - 1];
        start = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    }
    let line = text[start..].lines().next().unwrap_or_default();
    Line { start, text: line }
}

impl Line<'_> {
    fn slip(&self, inside: Range<usize>, text: impl Into<String>, hint: impl Into<String>) -> Slip {
        let place = self.start + inside.start..self.start + inside.end;
        Slip { text: text.into(), hint: hint.into(), place }
    }

    fn whole(&self) -> Range<usize> {
        let from = self.text.len() - self.text.trim_start().len();
        from..self.text.trim_end().len().max(from)
    }
}

/// A letter that an editor put in place of a plain one, or that nobody sees.
fn odd_letter(line: &Line<'_>) -> Option<Slip> {
    let mut open = None;
    for (at, letter) in line.text.char_indices() {
        match (open, letter) {
            (None, '#') => return None,
            (None, '"' | '\'') => open = Some(letter),
            (Some(quote), letter) if quote == letter => open = None,
            (Some(_), _) => {}
            (None, letter) => {
                let place = at..at + letter.len_utf8();
                let told = |text: String, hint: &str| Some(line.slip(place.clone(), text, hint));
                match letter {
                    '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '‚' => {
                        let plain = with_plain_quotes(line.text);
                        let hint = format!("write the plain quote of the keyboard: {plain}");
                        return told(format!("{letter} is a curly quote"), &hint);
                    }
                    '–' | '—' | '−' => {
                        return told(
                            format!("{letter} is no minus"),
                            "write the plain - of the keyboard",
                        );
                    }
                    '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{202f}' | '\u{200b}' | '\u{feff}' => {
                        let text =
                            format!("an unseen letter stands here (U+{:04X})", u32::from(letter));
                        return told(text, "delete it and type the blank again");
                    }
                    _ => {}
                }
            }
        }
    }
    None
}

fn with_plain_quotes(line: &str) -> String {
    let plain = |letter| match letter {
        '“' | '”' | '„' | '‟' | '«' | '»' => '"',
        '‘' | '’' | '‚' => '\'',
        other => other,
    };
    line.trim().chars().map(plain).collect()
}

/// The tables that may stand there more than once.
const LISTS: [&str; 5] = ["gauge", "drop", "station", "part", "part.check"];

/// A line that begins a table.
fn heading(line: &Line<'_>, message: &str) -> Option<Slip> {
    let written = line.text.split('#').next().unwrap_or_default().trim();
    let inside = written.strip_prefix('[')?;
    if written.contains('=') {
        return None;
    }
    let name = inside.trim_matches(['[', ']', ' ']);
    let twice = LISTS.contains(&name) || written.starts_with("[[") || written.ends_with("]]");
    let right = if twice { format!("[[{name}]]") } else { format!("[{name}]") };
    if message == "duplicate key" || written == format!("[{name}]") && twice {
        let hint = if LISTS.contains(&name) {
            format!("write {right}, with two brackets, at each of them")
        } else {
            "keep one of the two, with all its lines".to_owned()
        };
        return Some(line.slip(line.whole(), format!("[{name}] is written twice"), hint));
    }
    (written != right)
        .then(|| line.slip(line.whole(), "the brackets do not match", format!("write {right}")))
}

/// A remark that begins as it does in another language.
fn no_comment(line: &Line<'_>) -> Option<Slip> {
    let written = line.text.trim_start();
    let mark =
        ["//", "/*", ";", "--", "%", "REM "].into_iter().find(|mark| written.starts_with(mark))?;
    let from = line.text.len() - written.len();
    let text = format!("{} begins no remark", mark.trim());
    Some(line.slip(from..from + mark.trim().len(), text, "begin a remark with #"))
}

/// A list or a table in braces that a line before left open.
fn unclosed_before(text: &str, line: &Line<'_>, message: &str) -> Option<Slip> {
    let told = ["array", "inline table"].iter().any(|what| message.contains(what));
    let mut end = line.start;
    let mut looked = 0;
    // The line itself may be the one that was left open.
    let mut at = Line { start: line.start, text: line.text };
    while told && looked < 50 {
        if let Some(pair) = pair_of(at.text)
            && let Some((open, close, what)) = opener(pair.value)
        {
            let count = |letter| pair.value.matches(letter).count();
            let place = pair.at..pair.at + pair.value.len();
            if count(open) > count(close) {
                let hint = format!("write {close} behind its last item");
                return Some(at.slip(place, format!("the {what} is not closed"), hint));
            }
            return None;
        }
        if end == 0 {
            return None;
        }
        let before = line_of(&text[..end - 1], end - 1);
        (end, at) = (before.start, before);
        looked += 1;
    }
    None
}

fn opener(value: &str) -> Option<(char, char, &'static str)> {
    match value.chars().next()? {
        '[' => Some(('[', ']', "list")),
        '{' => Some(('{', '}', "table in braces")),
        _ => None,
    }
}

/// A line as a key and its value.
fn pair_of(line: &str) -> Option<Pair<'_>> {
    let equals = line.find('=')?;
    let behind = &line[equals + 1..];
    let value = without_comment(behind);
    let at = equals + 1 + (behind.len() - behind.trim_start().len());
    Some(Pair { key: line[..equals].trim(), value: value.trim(), at: at.min(line.len()) })
}

fn without_comment(value: &str) -> &str {
    let mut open = None;
    for (at, letter) in value.char_indices() {
        match (open, letter) {
            (None, '#') => return &value[..at],
            (None, '"' | '\'') => open = Some(letter),
            (Some(quote), letter) if quote == letter => open = None,
            _ => {}
        }
    }
    value
}

/// A line with a key and a value, or what should be one.
fn of_pair(line: &Line<'_>, message: &str) -> Option<Slip> {
    let Some(pair) = pair_of(line.text) else { return no_equals(line) };
    let key_at = line.text.len() - line.text.trim_start().len();
    let of_key = key_at..key_at + pair.key.len();
    if message == "duplicate key" {
        let text = format!("\"{}\" is written twice", pair.key);
        return Some(line.slip(of_key, text, "keep one of the two lines"));
    }
    if pair.key.is_empty() {
        return Some(line.slip(line.whole(), "there is no name before =", "write NAME = VALUE"));
    }
    let quoted = pair.key.starts_with(['"', '\'']);
    if !quoted && pair.key.contains(char::is_whitespace) {
        let right: Vec<&str> = pair.key.split_whitespace().collect();
        let hint = format!("write {} = {}", right.join("_"), pair.value);
        return Some(line.slip(of_key, "a name has no blank in it", hint));
    }
    let plain = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '_' | '-' | '.');
    if let Some((at, odd)) = pair.key.char_indices().find(|(_, letter)| !quoted && !plain(*letter))
    {
        let at = key_at + at;
        let text = format!("{odd} cannot stand in a name");
        return Some(line.slip(
            at..at + odd.len_utf8(),
            text,
            "names have plain letters, digits and _",
        ));
    }
    of_value(line, &pair, message)
}

fn no_equals(line: &Line<'_>) -> Option<Slip> {
    let written = line.text.trim();
    if written.is_empty() {
        return None;
    }
    if let Some((name, value)) = written.split_once(':') {
        let at = line.text.find(':')?;
        let hint = format!("write {} = {}", name.trim(), quoted(value.trim()));
        return Some(line.slip(at..at + 1, ": stands where = belongs", hint));
    }
    let hint = match written.split_once(char::is_whitespace) {
        Some((name, value)) => format!("write {name} = {}", quoted(value.trim())),
        None => "write NAME = VALUE, or begin a remark with #".to_owned(),
    };
    Some(line.slip(line.whole(), "there is no = in this line", hint))
}

/// A text in quotes as it can stand in a file; what is quoted or a number stays.
fn quoted(value: &str) -> String {
    let number = value.parse::<f64>().is_ok();
    if number || value.starts_with(['"', '\'', '[', '{']) || value == "true" || value == "false" {
        return value.to_owned();
    }
    format!("\"{}\"", value.trim_end_matches('"'))
}

fn of_value(line: &Line<'_>, pair: &Pair<'_>, message: &str) -> Option<Slip> {
    let Pair { key, value, at } = *pair;
    let place = at..at + value.len();
    let told = |text: String, hint: String| Some(line.slip(place.clone(), text, hint));
    if value.is_empty() {
        let end = line.text.find('=').map_or(at, |equals| equals + 1);
        let hint = format!("write {key} = and a number, or a text in quotes");
        return Some(line.slip(end..end, "there is nothing behind =", hint));
    }
    if let Some(rest) = value.strip_prefix('=') {
        let hint = format!("write {key} = {}", quoted(rest.trim()));
        return Some(line.slip(at..at + 1, "= is written twice", hint));
    }
    match value.chars().next()? {
        quote @ ('"' | '\'') => of_quoted(line, pair, quote, message),
        '[' => of_list(value).and_then(|hint| {
            told("the texts of a list need quotes".to_owned(), format!("write {key} = {hint}"))
        }),
        '{' => None,
        '0'..='9' | '+' | '-' | '.' => {
            let (text, right) = of_number(value)?;
            told(text, format!("write {key} = {right}"))
        }
        _ => {
            let truth = match value.to_lowercase().as_str() {
                "true" | "yes" | "on" => Some("true"),
                "false" | "no" | "off" => Some("false"),
                _ => None,
            };
            match truth {
                Some(truth) => {
                    told(format!("{value} is no word here"), format!("write {key} = {truth}"))
                }
                None => told(
                    format!("{value} needs quotes"),
                    format!("write {key} = {}", quoted(value)),
                ),
            }
        }
    }
}

/// A text whose quotes, or what stands behind them, are not right.
fn of_quoted(line: &Line<'_>, pair: &Pair<'_>, quote: char, message: &str) -> Option<Slip> {
    let Pair { key, value, at } = *pair;
    let inside = &value[1..];
    let Some(end) = inside.find(quote) else {
        let place = at..at + value.len();
        let hint = format!("write {key} = {quote}{inside}{quote}");
        return Some(line.slip(place, "the quote is not closed", hint));
    };
    let (content, behind) = (&inside[..end], inside[end + 1..].trim());
    if quote == '"' && content.contains('\\') && message.contains("escape") {
        let from = at + 1 + content.find('\\')?;
        let hint = format!("write {key} = '{content}', in single quotes");
        return Some(line.slip(
            from..from + 1,
            "\\ has a meaning of its own between \" and \"",
            hint,
        ));
    }
    if behind.is_empty() {
        return None;
    }
    let from = at + value.len() - behind.len();
    let hint = if behind.contains('=') {
        "write each name on a line of its own".to_owned()
    } else {
        "close the text at its end, or begin a remark with #".to_owned()
    };
    Some(line.slip(from..at + value.len(), format!("{behind} stands behind the text"), hint))
}

/// A list whose items have no quotes, as it should be.
fn of_list(value: &str) -> Option<String> {
    let inside = value.strip_prefix('[')?.strip_suffix(']')?;
    let items: Vec<String> = inside.split(',').map(|item| quoted(item.trim())).collect();
    let right = format!("[{}]", items.join(", "));
    (right != value && !value.contains(['"', '\''])).then_some(right)
}

/// A number that is none, and what was meant.
fn of_number(value: &str) -> Option<(String, String)> {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let unsigned = value.trim_start_matches(['+', '-']);
    let sign = &value[..value.len() - unsigned.len()];
    let end = unsigned.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
    let (number, behind) = unsigned.split_at(end.unwrap_or(unsigned.len()));
    let comma = number.split_once(',').filter(|(one, other)| digits(one) && digits(other));
    let number = comma.map_or_else(|| number.to_owned(), |(one, other)| format!("{one}.{other}"));
    if !behind.trim().is_empty() {
        return Some((
            format!("{value} needs quotes"),
            format!("\"{sign}{number} {}\"", behind.trim()),
        ));
    }
    if comma.is_some() {
        return Some((format!("{value} has a comma"), format!("{sign}{number}, with a point")));
    }
    if let Some(rest) = number.strip_prefix('.') {
        return Some((format!("{value} begins with a point"), format!("{sign}0.{rest}")));
    }
    if let Some(rest) = number.strip_suffix('.') {
        return Some((format!("{value} ends with a point"), format!("{sign}{rest}.0")));
    }
    let short = number.trim_start_matches('0');
    (digits(&number) && short.len() < number.len() && !short.is_empty())
        .then(|| (format!("{value} begins with a zero"), format!("{sign}{short}")))
}
