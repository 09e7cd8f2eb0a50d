//! A block of several lines, as a height gauge prints it. It is one frame, and one line in it holds the value.

use super::decode::{Decoded, Said};
use super::outcome::{Damage, Foreign};
use super::profile::{Pattern, Profile};

/// The most lines of a block.
pub const MOST_LINES: usize = 64;

/// How a block of lines is put together. Empty lines do not count.
#[derive(Debug, Clone)]
pub struct Block {
    /// Its first line.
    pub begins: Pattern,
    /// Its last line; without it the block ends after `lines`.
    pub ends: Option<Pattern>,
    /// How many lines it has; without it the last line ends it.
    pub lines: Option<usize>,
    /// The line that holds the value, counted from 1. `None`: the only line that reads as one.
    pub value_line: Option<usize>,
    /// Silence that ends a block, whether it is whole or not, in microseconds.
    pub gap_us: u64,
}

/// A line of a block.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Line {
    bytes: Vec<u8>,
    /// Whether the bytes are all of it: a line that was cut holds no value.
    whole: bool,
}

/// The lines that have come of a block.
#[derive(Debug, Clone)]
pub(super) struct Gathering {
    block: Block,
    lines: Vec<Line>,
    place: Place,
}

/// Where the newest line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// No line has come since the last block.
    Between,
    /// In a block whose first line was seen.
    Inside,
    /// Among lines whose block did not begin; they are kept as far as a person wants to see them.
    Stray,
    /// Behind a block that was too long, up to the next beginning.
    Behind,
}

/// A block that has ended, or what came instead of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Gathered {
    /// What is shown of it: the line with the value, or all lines.
    pub(super) bytes: Vec<u8>,
    pub(super) decoded: Decoded,
    /// Whether it had no beginning. Before the line is live that is no damage.
    pub(super) stray: bool,
}

impl Gathering {
    pub(super) const fn new(block: Block) -> Self {
        Self { block, lines: Vec::new(), place: Place::Between }
    }

    /// Silence that ends a block, in microseconds.
    pub(super) const fn gap_us(&self) -> u64 {
        self.block.gap_us
    }

    /// Whether a silence would end something.
    pub(super) fn is_under_way(&self) -> bool {
        self.place != Place::Between
    }

    /// Whether the first line of a block has come, and not its last.
    pub(super) fn is_inside(&self) -> bool {
        self.place == Place::Inside
    }

    /// The port was opened: what came before is over.
    pub(super) fn opened(&mut self) {
        self.lines.clear();
        self.place = Place::Between;
    }

    /// Takes a line in. Returns what it ends: at most a block that was cut short and one that is whole.
    pub(super) fn line(&mut self, profile: &Profile, bytes: Vec<u8>, whole: bool) -> Vec<Gathered> {
        let mut ended = Vec::new();
        if bytes.trim_ascii().is_empty() {
            return ended;
        }
        let at_end = self.place == Place::Inside && fits(self.block.ends.as_ref(), &bytes);
        if !at_end && self.block.begins.regex().is_match(&bytes) {
            ended.extend(self.broken_off());
            self.place = Place::Inside;
        } else if self.place == Place::Between {
            // Something the gauge says outside a block: an error, no gauge.
            let decoded = profile.decode(&bytes);
            if whole && matches!(decoded.said, Said::Foreign(why) if why != Foreign::Blank) {
                return vec![Gathered { bytes, decoded, stray: false }];
            }
            self.place = Place::Stray;
        }
        if self.place != Place::Behind && self.lines.len() < MOST_LINES {
            self.lines.push(Line { bytes, whole });
        }
        if self.place == Place::Inside {
            ended.extend(self.ended(profile, at_end));
        }
        ended
    }

    /// The block, if its newest line is the last one.
    fn ended(&mut self, profile: &Profile, at_end: bool) -> Option<Gathered> {
        let count = self.lines.len();
        let full = self.block.lines.is_some_and(|lines| count >= lines);
        if !at_end && !full {
            return (count >= MOST_LINES).then(|| {
                self.place = Place::Behind;
                self.taken(damaged(Damage::LineCount))
            });
        }
        // With a last line and a number of lines, both must come at once.
        let as_said = (at_end || self.block.ends.is_none())
            && self.block.lines.is_none_or(|lines| count == lines);
        if !as_said {
            self.place = if at_end { Place::Between } else { Place::Behind };
            return Some(self.taken(damaged(Damage::LineCount)));
        }
        self.place = Place::Between;
        let read = self.read(profile);
        Some(match read {
            (Some(line), decoded) => {
                let bytes = self.lines.swap_remove(line).bytes;
                self.lines.clear();
                Gathered { bytes, decoded, stray: false }
            }
            (None, decoded) => self.taken(decoded),
        })
    }

    /// The meaning of a whole block, and the line that says it.
    fn read(&self, profile: &Profile) -> (Option<usize>, Decoded) {
        let decode =
            |(at, line): (usize, &Line)| line.whole.then(|| (at, profile.decode(&line.bytes)));
        let all: Vec<(usize, Decoded)> = self.lines.iter().enumerate().filter_map(decode).collect();
        let low = |(_, decoded): &(usize, Decoded)| {
            decoded.low_battery || decoded.said == Said::Foreign(Foreign::LowBattery)
        };
        let low_battery = all.iter().any(low);
        let says = |(at, decoded): &&(usize, Decoded)| match self.block.value_line {
            Some(line) => at + 1 == line,
            None => match decoded.said {
                Said::Number(_) => true,
                Said::Foreign(why) => !matches!(why, Foreign::Blank | Foreign::LowBattery),
                Said::Damaged(_) => false,
            },
        };
        let mut saying = all.iter().filter(says);
        let is_blank = |(_, one): &&(usize, Decoded)| one.said == Said::Foreign(Foreign::Blank);
        let searched = self.block.value_line.is_none();
        let blank = || all.iter().find(is_blank).filter(|_| searched);
        match (saying.next().or_else(blank), saying.next()) {
            (Some((at, decoded)), None) => {
                let low_battery = low_battery || decoded.low_battery;
                (Some(*at), Decoded { low_battery, ..decoded.clone() })
            }
            (Some(_), Some(_)) => (None, damaged(Damage::TwoValues)),
            (None, _) => (None, damaged(Damage::NoValueLine)),
        }
    }

    /// Ends what is under way, since a silence or the beginning of another block came.
    pub(super) fn broken_off(&mut self) -> Option<Gathered> {
        let why = match std::mem::replace(&mut self.place, Place::Between) {
            Place::Between | Place::Behind => return None,
            Place::Inside => Damage::CutShort,
            Place::Stray => Damage::NoFirstLine,
        };
        let stray = why == Damage::NoFirstLine;
        Some(Gathered { stray, ..self.taken(damaged(why)) })
    }

    /// All lines as one text, with this meaning.
    fn taken(&mut self, decoded: Decoded) -> Gathered {
        let lines: Vec<Vec<u8>> = self.lines.drain(..).map(|line| line.bytes).collect();
        Gathered { bytes: lines.join(&b'\n'), decoded, stray: false }
    }
}

impl Profile {
    /// The meaning of one block given with all of its lines.
    pub(super) fn decode_block(&self, block: &Block, text: &[u8]) -> Decoded {
        let mut gathering = Gathering::new(block.clone());
        let lines =
            text.split(|byte| matches!(byte, b'\r' | b'\n')).filter(|line| !line.is_empty());
        let mut ended: Vec<Gathered> =
            lines.flat_map(|line| gathering.line(self, line.to_vec(), true)).collect();
        ended.extend(gathering.broken_off());
        match <[Gathered; 1]>::try_from(ended) {
            Ok([one]) => one.decoded,
            Err(none) if none.is_empty() => damaged(Damage::NoFirstLine),
            Err(_) => damaged(Damage::LineCount),
        }
    }
}

fn fits(pattern: Option<&Pattern>, line: &[u8]) -> bool {
    pattern.is_some_and(|pattern| pattern.regex().is_match(line))
}

const fn damaged(why: Damage) -> Decoded {
    Decoded { channel: None, low_battery: false, said: Said::Damaged(why) }
}
