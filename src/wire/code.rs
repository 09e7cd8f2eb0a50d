//! Printed codes: what a scanner may read, and what each code asks for.
//!
//! A code begins with `$`, which occurs in no part number and no reading of a gauge, and ends with two
//! check characters. A code that lost, gained or changed a character is refused, never guessed. The
//! characters are those of the alphanumeric mode of ISO/IEC 18004, which keeps a printed code small.
//!
//! ```text
//! $J-7K2M9QXA-F3            use the job
//! $C-7K2M9QXA-0-2-H0        measure check 2 of part 0 of that job
//! $A-NEXT-6Z                an action
//! $B-PQCP1T3Z-CT            a badge: this person works here
//! ```
//!
//! A code names a job or a person by a digest of the name, never by a place in a list. So an old code means
//! the same one or none, whatever is added, moved or removed later. The name itself would not do: blanks,
//! letters beyond ASCII and the keyboard layout that a scanner types on would change it.

use std::fmt;

use bench::plan::CheckAt;
use bench::row::Stage;
use quantity::Name;

/// What every code begins with.
const PREFIX: char = '$';

/// The longest text that is taken for a code.
const LONGEST: usize = 64;

/// The 32 digits and letters that are easy to tell apart: without I, L, O and U.
const DIGITS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// How many graduations the value strip has on either side of zero.
pub const STRIP: i8 = 10;

/// A job on paper: 40 bits of the BLAKE3 digest of its name. Names of jobs are never used again, so the tag
/// stays valid, also in a copy of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct JobTag(u64);

impl JobTag {
    /// The tag of a job's name.
    #[must_use]
    pub fn of(job: &Name) -> Self {
        Self(digest(job.as_str()))
    }
}

impl fmt::Display for JobTag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_bits(self.0, f)
    }
}

/// A person on a badge: 40 bits of the BLAKE3 digest of `person/NAME`, which cannot be the name of a job. A
/// badge always stands for the same name, however the list of people is changed. Two names have the same
/// tag once in 10¹² pairs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct PersonTag(u64);

impl PersonTag {
    /// The tag of a person's name. Letter case and every other detail of the name count.
    #[must_use]
    pub fn of(person: &Name) -> Self {
        Self(digest(&format!("person/{person}")))
    }
}

impl fmt::Display for PersonTag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_bits(self.0, f)
    }
}

/// The first 40 bits of the BLAKE3 digest of a text.
fn digest(text: &str) -> u64 {
    let digest = blake3::hash(text.as_bytes());
    digest.as_bytes().iter().take(5).fold(0, |bits, byte| bits << 8 | u64::from(*byte))
}

/// 40 bits as eight digits and letters.
fn write_bits(bits: u64, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    (0..8).rev().try_for_each(|place| write!(f, "{}", digit(bits >> (5 * place))))
}

fn parse_bits(text: &str) -> Option<u64> {
    if text.len() != 8 {
        return None;
    }
    let digit = |byte: u8| DIGITS.iter().zip(0_u64..).find(|(known, _)| **known == byte);
    let mut bits = 0;
    for byte in text.bytes() {
        bits = bits << 5 | digit(byte)?.1;
    }
    Some(bits)
}

/// The lowest five bits as a character.
fn digit(bits: u64) -> char {
    let index = usize::try_from(bits & 31).unwrap_or_default();
    char::from(DIGITS[index])
}

/// What a code asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Code {
    /// Work on this job.
    Job(JobTag),
    /// Measure a check.
    Check {
        /// The job.
        job: JobTag,
        /// The check, by its place in the job's own plan.
        at: CheckAt,
    },
    /// Do something with the active check.
    Action(Action),
    /// Leave the next position out, for this reason.
    Skip(Blocked),
    /// Answer a question.
    Answer {
        /// Of this job.
        job: JobTag,
        /// The check that asks.
        at: CheckAt,
        /// The answer, counted from 0.
        answer: u8,
    },
    /// One reading of a dial in graduations, −10 to 10.
    Value(i8),
    /// A badge: this person works at the station from now on.
    Person(PersonTag),
    /// Put a part on the list of the stack.
    Stack {
        /// The job.
        job: JobTag,
        /// Which list.
        stage: Stage,
        /// The place in the plan's stack, from 0 at the nose.
        place: u16,
        /// The face towards the nose, counted from 0 among those named in the plan; `None` where it names
        /// none.
        way: Option<u8>,
    },
}

/// What can be done with the active check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Measure the first check without a verdict.
    Next,
    /// Take the newest touch back.
    Void,
    /// Leave the check.
    Stop,
    /// The next reading is the master.
    Master,
    /// One reading now.
    Take,
    /// Measure again: the same metal.
    Again,
    /// Measure again: it was dirty.
    Cleaned,
    /// Measure again: new metal.
    Ground,
}

impl Action {
    /// All actions, in the order they are printed.
    pub const ALL: [Self; 8] = [
        Self::Next,
        Self::Void,
        Self::Take,
        Self::Master,
        Self::Ground,
        Self::Cleaned,
        Self::Again,
        Self::Stop,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Next => "NEXT",
            Self::Void => "VOID",
            Self::Stop => "STOP",
            Self::Master => "MASTER",
            Self::Take => "TAKE",
            Self::Again => "AGAIN",
            Self::Cleaned => "CLEANED",
            Self::Ground => "GROUND",
        }
    }
}

/// Why a position cannot be touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blocked {
    /// A slot or keyway is there.
    Slot,
    /// A hole is there.
    Hole,
    /// An etched mark is there.
    Etch,
    /// The face is damaged there.
    Damage,
    /// The stylus cannot reach it.
    Reach,
}

impl Blocked {
    /// All reasons, in the order they are printed.
    pub const ALL: [Self; 5] = [Self::Slot, Self::Hole, Self::Etch, Self::Damage, Self::Reach];

    const fn word(self) -> &'static str {
        match self {
            Self::Slot => "SLOT",
            Self::Hole => "HOLE",
            Self::Etch => "ETCH",
            Self::Damage => "DAMAGE",
            Self::Reach => "REACH",
        }
    }

    /// The reason in the words that are stored.
    #[must_use]
    pub const fn why(self) -> &'static str {
        match self {
            Self::Slot => "slot",
            Self::Hole => "hole",
            Self::Etch => "etched mark",
            Self::Damage => "damaged spot",
            Self::Reach => "out of reach",
        }
    }
}

/// Why a text is not a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// It is something else.
    #[error("that is no code of a job sheet")]
    Foreign,
    /// Its check characters do not fit.
    #[error("the code was not read whole; scan it again")]
    Damaged,
    /// It is a complete code without a meaning in this version.
    #[error("the code is from another version; print the sheet again")]
    Unknown,
}

impl Code {
    /// Reads the text from a scanner, without its line end. Blanks and letter case are not adjusted.
    ///
    /// # Errors
    /// When it is not a code, or not a complete one.
    pub fn parse(text: &str) -> Result<Self, CodeError> {
        let short = text.len() <= LONGEST && text.bytes().all(|byte| byte.is_ascii_graphic());
        let inner = text.strip_prefix(PREFIX).filter(|_| short).ok_or(CodeError::Foreign)?;
        let (body, check) = inner.rsplit_once('-').ok_or(CodeError::Damaged)?;
        if check != check_characters(body) {
            return Err(CodeError::Damaged);
        }
        // Every code has exactly one spelling.
        let code = meaning(body).filter(|code| code.to_string() == text);
        code.ok_or(CodeError::Unknown)
    }

    /// The code without prefix and check characters.
    fn body(&self) -> String {
        match self {
            Self::Job(job) => format!("J-{job}"),
            Self::Check { job, at } => format!("C-{job}-{}-{}", at.part, at.check),
            Self::Action(action) => format!("A-{}", action.word()),
            Self::Skip(blocked) => format!("S-{}", blocked.word()),
            Self::Answer { job, at, answer } => {
                format!("Q-{job}-{}-{}-{answer}", at.part, at.check)
            }
            Self::Value(value @ ..0) => format!("V-M{}", value.unsigned_abs()),
            Self::Value(value) => format!("V-P{value}"),
            Self::Person(person) => format!("B-{person}"),
            Self::Stack { job, stage, place, way } => {
                let stage = match stage {
                    Stage::Found => "F",
                    Stage::Built => "B",
                };
                let way = way.map_or_else(String::new, |way| format!("-{way}"));
                format!("P-{job}-{stage}-{place}{way}")
            }
        }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let body = self.body();
        write!(f, "{PREFIX}{body}-{}", check_characters(&body))
    }
}

/// Two check characters. They change with every single changed character and when two neighbours change
/// places: it is a polynomial in 37 over the field of 1021 elements, where the difference of two ASCII
/// characters, and 36 times it, is never zero. Any other damage is missed once in 1021.
fn check_characters(body: &str) -> String {
    let sum = body.bytes().fold(1_u64, |sum, byte| (sum * 37 + u64::from(byte)) % 1021);
    [digit(sum >> 5), digit(sum)].iter().collect()
}

fn meaning(body: &str) -> Option<Code> {
    let fields: Vec<&str> = body.split('-').collect();
    let job = |text: &str| parse_bits(text).map(JobTag);
    Some(match fields.as_slice() {
        ["J", tag] => Code::Job(job(tag)?),
        ["C", tag, part, check] => Code::Check { job: job(tag)?, at: place(part, check)? },
        ["A", word] => Code::Action(Action::ALL.into_iter().find(|one| one.word() == *word)?),
        ["S", word] => Code::Skip(Blocked::ALL.into_iter().find(|one| one.word() == *word)?),
        ["Q", tag, part, check, answer] => {
            Code::Answer { job: job(tag)?, at: place(part, check)?, answer: answer.parse().ok()? }
        }
        ["V", value] => Code::Value(graduations(value)?),
        ["B", tag] => Code::Person(PersonTag(parse_bits(tag)?)),
        ["P", tag, list, place, way @ ..] => Code::Stack {
            job: job(tag)?,
            stage: stage(list)?,
            place: place.parse().ok()?,
            way: match way {
                [] => None,
                [way] => Some(way.parse().ok()?),
                _ => return None,
            },
        },
        _ => return None,
    })
}

fn place(part: &str, check: &str) -> Option<CheckAt> {
    Some(CheckAt { part: part.parse().ok()?, check: check.parse().ok()? })
}

fn stage(text: &str) -> Option<Stage> {
    match text {
        "F" => Some(Stage::Found),
        "B" => Some(Stage::Built),
        _ => None,
    }
}

fn graduations(text: &str) -> Option<i8> {
    let (negative, digits) = match text.strip_prefix('M') {
        Some(digits) => (true, digits),
        None => (false, text.strip_prefix('P')?),
    };
    let count: i8 = digits.parse().ok()?;
    let value = if negative { -count } else { count };
    (-STRIP..=STRIP).contains(&value).then_some(value)
}

#[cfg(test)]
mod tests;
