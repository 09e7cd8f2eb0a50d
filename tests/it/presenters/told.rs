//! The figures of a verdict, read from each output.

use markup5ever_rcdom::Handle;
use serde_json::Value;

use crate::report::html::{attribute, elements, text};
use crate::watch::Terminal;

/// What one way of telling a verdict says of it, text by text; none where it tells no such thing.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Told {
    pub(super) value: Option<String>,
    /// The limit, or both with ` to ` between; of a bar with the station behind; the good answers.
    pub(super) limit: Option<String>,
    pub(super) spread: Option<String>,
}

impl Told {
    /// Without the word that an uncertainty is assumed, which some leave to another column.
    pub(super) fn plain(&self) -> Self {
        let spread = self.spread.as_ref().map(|text| text.trim_end_matches(" assumed").to_owned());
        Self { spread, ..self.clone() }
    }
}

/// Takes `0.00034 in`, `± 0.000026 assumed`, `limit 0.0001 at 3`, in whichever order, out of a sentence.
fn sentence(said: &str) -> Told {
    let mut told = Told::default();
    let said = said.strip_suffix('.').unwrap_or(said);
    for piece in said.replace(" ±", ", ±").replace(",,", ",").split(", ") {
        let piece = piece.trim();
        if let Some(limit) = piece.strip_prefix("limit ") {
            told.limit = Some(limit.to_owned());
        } else if let Some(spread) = piece.strip_prefix('±') {
            told.spread = Some(spread.trim().to_owned());
        } else if told.value.is_none() {
            let value =
                piece.trim_end_matches(" in").trim_end_matches(" mm").trim_end_matches(" um");
            told.value = Some(value.to_owned());
        }
    }
    told
}

/// The sentence with the figures of a reply: `Done. CONFORMS. 0.00004 in ± 0.000026, limit 0.0001. …`.
pub(super) fn of_reply(reply: &str) -> Told {
    if let Some((_, answer)) = reply.split_once("/it: ").filter(|(part, _)| !part.contains(' ')) {
        // `p7/it: face a. CONFORMS.`
        return Told { value: Some(ended(answer).to_owned()), ..Told::default() };
    }
    let (_, done) = reply.split_once("Done. ").unwrap_or(("", reply));
    if let Some((_, answer)) = done.split_once("The answer: ") {
        return Told { value: Some(ended(answer).to_owned()), ..Told::default() };
    }
    let word_end = done.find(". ").map_or(done.len(), |at| at + 2);
    let figures = ended(&done[word_end..]);
    if figures.contains(" limit ") { sentence(figures) } else { Told::default() }
}

/// The first sentence: a full stop within a number ends none.
fn ended(text: &str) -> &str {
    let text = text.split('\n').next().unwrap_or_default();
    text.find(". ").map_or_else(|| text.trim_end_matches('.'), |end| &text[..end])
}

/// `12:00:00  verdict    p1/it: CONFORMS. 0.00004 in, limit 0.0001, ±0.000026. 8 touches on the plate.`
pub(super) fn of_tail(heard: &str, target: &str) -> Told {
    let row = heard
        .lines()
        .find(|row| row.contains("  verdict ") && row.contains(&format!(" {target}: ")));
    let row = row.unwrap_or_else(|| panic!("{target} is not told in\n{heard}"));
    of_reply(row.split_once(&format!("{target}: ")).unwrap().1)
}

/// The bench screen once it tells of a check, with its figures where the verdict has some; and the row
/// they stand in.
pub(super) fn of_screen(screen: &Terminal, target: &str, figures: bool) -> (Told, String) {
    let is_told = |row: &&str| row.contains(", ±") || row.contains(", it should be");
    let start = std::time::Instant::now();
    loop {
        assert!(
            start.elapsed().as_secs() < 60,
            "{target} is not on the screen:\n{}",
            screen.text()
        );
        let text = screen.text();
        std::thread::sleep(std::time::Duration::from_millis(30));
        let title = text.lines().next().unwrap_or_default();
        let there = title.split_whitespace().any(|word| word == target);
        let row = text.lines().find(is_told);
        // Not while it is being drawn.
        if there && (row.is_some() || !figures) && text == screen.text() {
            let row = row.unwrap_or_default().trim();
            let told = if row.is_empty() { Told::default() } else { sentence(ended(row)) };
            return (told, row.to_owned());
        }
    }
}

/// The cells of a table by their headings. A column begins where nothing stands in any row.
pub(super) fn of_table(table: &str, target: &str) -> Told {
    let rows: Vec<Vec<char>> = table.lines().map(|row| row.chars().collect()).collect();
    let width = rows.iter().map(Vec::len).max().unwrap();
    let blank = |at: usize| rows.iter().all(|row| row.get(at).is_none_or(|c| *c == ' '));
    let gaps: Vec<usize> = (1..width).filter(|at| blank(*at) && blank(at - 1)).collect();
    let cells = |row: &[char]| -> Vec<String> {
        let mut cells = Vec::new();
        let mut cell = String::new();
        for (at, c) in row.iter().enumerate() {
            if gaps.contains(&at) {
                cells.push(std::mem::take(&mut cell).trim().to_owned());
            } else {
                cell.push(*c);
            }
        }
        cells.push(cell.trim().to_owned());
        cells
    };
    let titles = cells(&rows[0]);
    let row = rows.iter().map(|row| cells(row)).find(|row| row.iter().any(|cell| cell == target));
    let row = row.unwrap_or_else(|| panic!("{target} is not in\n{table}"));
    let cell = |title: &str| {
        let at = titles.iter().position(|one| one.starts_with(title)).unwrap();
        row.get(at).filter(|cell| !cell.is_empty() && *cell != "–").cloned()
    };
    Told { value: cell("value"), limit: cell("limit"), spread: cell("±U") }
}

/// The row of the report, as a strict reader of HTML sees it.
pub(super) fn of_report(page: &Handle, id: &Value) -> Told {
    let id = id.to_string();
    let rows = elements(page, "tr");
    let row = rows.iter().find(|row| attribute(row, "data-verdict").as_deref() == Some(&id));
    let row = row.unwrap_or_else(|| panic!("verdict {id} is not on the page"));
    let cell = |label: &str| {
        let cells = elements(row, "td");
        let cell =
            cells.iter().find(|cell| attribute(cell, "data-label").as_deref() == Some(label));
        Some(text(cell.unwrap()).replace('−', "-")).filter(|said| said != "–")
    };
    Told { value: cell("After"), limit: cell("Limit"), spread: cell("± U") }
}
