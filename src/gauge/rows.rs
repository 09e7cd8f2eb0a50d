//! Rows of a file dropped by a logger. A file is taken whole, or refused with every bad row named.

mod cells;
mod header;
#[cfg(test)]
mod tests;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use csv::ByteRecord;
use jiff::tz::TimeZone;

use self::cells::{Cells, Clock};
use self::header::{Header, Places};
use quantity::{Quoted, Unit, Wall};

/// The most bad rows that are listed one by one.
const MOST_FAULTS: usize = 100;

/// How a logger writes its files.
#[derive(Debug, Clone)]
pub struct RowFormat {
    /// The names of the columns.
    pub columns: Columns,
    /// The separator between columns: `,` `;` or a tab.
    pub delimiter: u8,
    /// The sign before the fraction: `.` or `,`.
    pub decimal: u8,
    /// How many lines at the beginning are skipped, whatever they hold.
    pub skip_lines: u32,
    /// The unit where neither the row nor the header states it.
    pub unit: Option<Unit>,
    /// The time zone of the logger's clock, for times without an offset.
    pub time_zone: Option<TimeZone>,
}

/// The names of the columns in the header, without the unit that may follow a name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Columns {
    /// The measured value.
    pub value: String,
    /// Its unit.
    pub unit: Option<String>,
    /// When it was taken.
    pub time: Option<String>,
    /// The job.
    pub job: Option<String>,
    /// The part.
    pub part: Option<String>,
    /// The check.
    pub check: Option<String>,
    /// The position.
    pub position: Option<String>,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRows {
    /// The different tags of the rows; a row refers to one by its index.
    pub tags: Vec<Tag>,
    /// The rows, in the order of the file.
    pub rows: Vec<FileRow>,
}

/// What a row belongs to, for those columns that the file has.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Tag {
    /// The job.
    pub job: Option<String>,
    /// The part.
    pub part: Option<String>,
    /// The check.
    pub check: Option<String>,
}

/// One row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FileRow {
    /// Its line in the file, counted from 1.
    pub line: u32,
    /// Its tag, an index into [`FileRows::tags`].
    pub tag: u32,
    /// The value, in the unit and with the places written.
    pub value: Quoted,
    /// The position, where the file has such a column.
    pub position: Option<u32>,
    /// When it was taken, where the file says.
    pub time: Option<Wall>,
    /// Where its text begins, in bytes from the start of the file.
    pub start: u32,
    /// The length of its text in bytes, without the line end.
    pub length: u32,
}

/// A row that cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// Its line in the file, counted from 1.
    pub line: u32,
    /// What is wrong, one sentence without its full stop.
    pub what: String,
}

/// The rows of a file that cannot be taken, and those that can.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadRows {
    /// Every bad row, or the one reason why no row can be read. At most 100 are listed; one more then
    /// gives the number of the others.
    pub faults: Vec<RowFault>,
    /// The good rows, so that the caller can report what else is wrong with them.
    pub good: FileRows,
}

impl fmt::Display for RowFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl FileRow {
    /// The row as it was written, taken from the bytes of the same file. Control characters and bytes that
    /// are not text become `\x1b`.
    #[must_use]
    pub fn text<'f>(&self, file: &'f [u8]) -> Cow<'f, str> {
        let start = usize::try_from(self.start).unwrap_or(usize::MAX);
        let length = usize::try_from(self.length).unwrap_or(usize::MAX);
        let end = start.saturating_add(length);
        cells::shown(file.get(start..end).unwrap_or_default())
    }
}

/// Reads all rows of a file.
///
/// # Errors
/// [`BadRows`] when a row cannot be read.
pub fn parse_rows(file: &[u8], format: &RowFormat) -> Result<FileRows, BadRows> {
    let fail = |line: u32, what: &str| BadRows {
        faults: vec![RowFault { line, what: what.to_owned() }],
        good: FileRows { tags: Vec::new(), rows: Vec::new() },
    };
    if u32::try_from(file.len()).is_err() {
        return Err(fail(1, "the file is larger than 4 GB"));
    }
    if file.starts_with(&[0xff, 0xfe]) || file.starts_with(&[0xfe, 0xff]) {
        return Err(fail(1, "the file is UTF-16; let the logger write UTF-8 or plain text"));
    }
    let mut lines = Lines::new(file, format);
    let header =
        Header::find(&mut lines, &format.columns).map_err(|(line, what)| fail(line, &what))?;
    let value = header.places.value;
    let mut table = Table::new(format, header.places);
    while lines.next() {
        let is_header_again = lines.record.get(value) == header.record.get(value);
        let is_blank = lines.record.iter().all(|cell| cell.trim_ascii().is_empty());
        if !is_header_again && !is_blank {
            table.row(&lines);
        }
    }
    table.finish()
}

/// The records of a file, each with its line and its bytes.
struct Lines<'f> {
    file: &'f [u8],
    reader: csv::Reader<&'f [u8]>,
    /// The record read last.
    record: ByteRecord,
    /// Where the reader began, in bytes from the start of the file.
    base: usize,
    /// The span of the record in the file, without its line end.
    start: usize,
    end: usize,
    /// The line of `start`, from 1.
    line: u32,
    /// Whether the record holds a line end or a NUL byte.
    is_strange: bool,
}

impl<'f> Lines<'f> {
    fn new(file: &'f [u8], format: &RowFormat) -> Self {
        let mut base = if file.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        for _ in 0..format.skip_lines {
            let rest = &file[base..];
            let length = rest.iter().position(|byte| b"\r\n".contains(byte));
            let end = |length: usize| if rest[length..].starts_with(b"\r\n") { 2 } else { 1 };
            base += length.map_or(rest.len(), |length| length + end(length));
        }
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(format.delimiter)
            .from_reader(&file[base..]);
        let line = 1 + line_ends(&file[..base]);
        Self {
            file,
            reader,
            record: ByteRecord::new(),
            base,
            start: base,
            end: base,
            line,
            is_strange: false,
        }
    }

    /// Reads the next record that is not an empty line; `false` at the end of the file.
    fn next(&mut self) -> bool {
        let began = self.base + offset(self.reader.position());
        // Reading bytes from memory, with any number of columns in a record, cannot fail.
        if !matches!(self.reader.read_byte_record(&mut self.record), Ok(true)) {
            return false;
        }
        let stopped = self.base + offset(self.reader.position());
        let is_end = |byte: &u8| matches!(byte, b'\r' | b'\n');
        let raw = &self.file[began..stopped];
        let empty = raw.iter().take_while(|byte| is_end(byte)).count();
        let ends = raw.iter().rev().take_while(|byte| is_end(byte)).count();
        let start = began + empty;
        // Only line ends stand between two rows; a row has one inside only if it is strange.
        let inside = if self.is_strange { line_ends(self.raw()) } else { 0 };
        self.line += inside + line_ends(&self.file[self.end..start]);
        self.start = start;
        self.end = (stopped - ends).max(start);
        self.is_strange = holds_line_bytes(self.raw());
        true
    }

    fn raw(&self) -> &'f [u8] {
        &self.file[self.start..self.end]
    }
}

fn offset(position: &csv::Position) -> usize {
    usize::try_from(position.byte()).unwrap_or(usize::MAX)
}

/// Whether NUL, LF or CR is among the bytes. It looks at all of them, which is faster than stopping.
fn holds_line_bytes(bytes: &[u8]) -> bool {
    bytes.iter().fold(false, |found, &byte| found | matches!(byte, 0 | b'\n' | b'\r'))
}

/// The number of line ends in some bytes: LF, CRLF, or CR alone.
pub fn line_ends(bytes: &[u8]) -> u32 {
    let mut count = 0;
    let mut after_cr = false;
    for &byte in bytes {
        count += u32::from(byte == b'\r' || (byte == b'\n' && !after_cr));
        after_cr = byte == b'\r';
    }
    count
}

/// The good rows so far, and the faults of others.
struct Table<'s> {
    format: &'s RowFormat,
    places: Places,
    clock: Clock<'s>,
    tags: Vec<Tag>,
    known: BTreeMap<Tag, u32>,
    rows: Vec<FileRow>,
    faults: Vec<RowFault>,
    /// The number of bad rows beyond those listed, and the line of the last one.
    more: u32,
    last_bad: u32,
}

impl<'s> Table<'s> {
    fn new(format: &'s RowFormat, places: Places) -> Self {
        Self {
            format,
            places,
            clock: Clock::new(format.time_zone.as_ref()),
            tags: Vec::new(),
            known: BTreeMap::new(),
            rows: Vec::new(),
            faults: Vec::new(),
            more: 0,
            last_bad: 0,
        }
    }

    fn row(&mut self, lines: &Lines<'_>) {
        match self.read(lines) {
            Ok(row) => self.rows.push(row),
            Err(_) if self.faults.len() == MOST_FAULTS => {
                self.more += 1;
                self.last_bad = lines.line;
            }
            Err(what) => self.faults.push(RowFault { line: lines.line, what }),
        }
    }

    fn read(&mut self, lines: &Lines<'_>) -> Result<FileRow, String> {
        let raw = lines.raw();
        if lines.is_strange {
            return Err(if raw.contains(&0) {
                "it holds a NUL byte".to_owned()
            } else {
                "a quoted field goes on over the end of the line".to_owned()
            });
        }
        let cells = Cells { record: &lines.record, places: &self.places };
        cells.check_width()?;
        let value = cells.value(self.format)?;
        let position = cells.position()?;
        let time = match cells.time()? {
            Some(text) => Some(self.clock.read(text)?),
            None => None,
        };
        let tag = match self.rows.last() {
            Some(last) if cells.has_tag(self.tag(last.tag)) => last.tag,
            Some(_) | None => {
                let tag = cells.tag()?;
                self.number_of(tag)
            }
        };
        let span = |bytes: usize| u32::try_from(bytes).unwrap_or(u32::MAX);
        let (start, length) = (span(lines.start), span(raw.len()));
        Ok(FileRow { line: lines.line, tag, value, position, time, start, length })
    }

    fn tag(&self, number: u32) -> &Tag {
        &self.tags[usize::try_from(number).unwrap_or(usize::MAX)]
    }

    fn number_of(&mut self, tag: Tag) -> u32 {
        if let Some(&number) = self.known.get(&tag) {
            return number;
        }
        let number = u32::try_from(self.tags.len()).unwrap_or(u32::MAX);
        self.tags.push(tag.clone());
        self.known.insert(tag, number);
        number
    }

    fn finish(mut self) -> Result<FileRows, BadRows> {
        if self.more > 0 {
            let what = format!("and {} more bad rows, this one the last", self.more);
            self.faults.push(RowFault { line: self.last_bad, what });
        }
        let good = FileRows { tags: self.tags, rows: self.rows };
        if self.faults.is_empty() { Ok(good) } else { Err(BadRows { faults: self.faults, good }) }
    }
}
