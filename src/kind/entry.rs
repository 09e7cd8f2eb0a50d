//! A value that a person writes down: kept, or judged where the plan has limits; also a few values, each at a
//! speed or a place.

mod rows;

use judgement::{Budget, Limits, Part, Share};
use quantity::{Figure, Length, Name, Unit};

pub use self::rows::{Column, Rows};

use super::figures::{EntryRow, Figures};
use super::judged::Judged;
use super::keys::{self, At, Keys, MUST, ReadCheck, described, limits, untouched};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge, was_ground,
};

/// A value that a person writes down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The question.
    pub question: String,
    /// The unit of a number, as text.
    pub unit: Option<String>,
    /// The thermometer that writes it down.
    pub thermometer: Option<Name>,
    /// The two columns of a table of values; the second one is judged.
    pub columns: Option<[Column; 2]>,
    /// The standard uncertainty of a value, carried in the unit of the check; `None` where nobody states it.
    pub u: Option<Length>,
}

impl Entry {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let thermometer = keys.parsed("thermometer", Name::new);
        let columns = columns(keys);
        let unit = unit(keys, columns.as_ref());
        let celsius = |unit: &String| judgement::celsius(&format!("20 {unit}")).is_some();
        if let Some(at) = &thermometer
            && !unit.as_ref().is_some_and(celsius)
        {
            let text = "a thermometer writes down degrees Celsius";
            keys.error(at.line, text, "write unit = \"C\" at this entry");
        }
        let thermometer = thermometer.map(|at| at.value);
        let (judged, u) = judged_by(keys, unit.as_deref());
        let entry = keys::question(keys).map(|asked| Self {
            question: asked.value,
            unit,
            thermometer,
            columns,
            u,
        });
        untouched(keys, &Self::TRAITS, (judged, None), entry)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "entry",
        about: "A value that a person writes down; judged where the plan has limits.",
        named: "entry",
        keys: &[&described! {
            "question" = "what is asked", MUST;
            "unit" = "the unit of a number: a number is then wanted", "any text";
            "min" = "the smallest value that conforms", "the value is kept, not judged";
            "max" = "the largest one", "the value is kept, not judged";
            "uncertainty" = "standard uncertainty of a value", "the simple rule decides";
            "columns" = "a table of a few values, recorded as `1000=0.4 2000=0.6`: `[\"speed "
                "rpm\", \"vibration mm/s\"]`", "";
            "thermometer" = "a gauge of kind `thermometer` whose frames are written down here, "
                "when the entry is on the screen and once for each try at a length that is "
                "brought to 20 °C by it", "";
        }],
        by: By::Value,
        step: None,
        held: Some(""),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |_| None,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::None,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: |typed| {
            format!("a value is simply recorded again: `tenths record {typed} VALUE`")
        },
    };
}

impl Kind for Entry {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        let Self { question, unit, columns, .. } = self.clone();
        let (answers, good) = (Vec::new(), Vec::new());
        Own {
            asks: Some(Asks { question, answers, good, unit, columns }),
            names: Vec::new(),
            made_of: Vec::new(),
            together: Together::Nothing,
            arrangement: None,
            size: None,
            master_u: None,
            thermometer: self.thermometer.as_ref(),
            log: None,
        }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        known.written().map_or_else(Judged::default, |text| self.judged(of, &text))
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

impl Entry {
    /// The value beside its limits; of a table the worst row, which is nearest to a limit or farthest past
    /// one.
    fn judged(&self, of: &Series<'_>, text: &str) -> Judged {
        let (unit, limits) = (of.check.unit, of.check.limits);
        let values: Vec<(Option<String>, Figure)> = match &self.columns {
            Some(columns) => {
                let rows = Rows::stored(text);
                let told = |at: &str| format!("{at} {}", columns[0].unit).trim().to_owned();
                let one =
                    |(at, value): &(String, String)| Some((Some(told(at)), figure(value, unit)?));
                rows.0.iter().filter_map(one).collect()
            }
            None => figure(text, unit).map(|value| (None, value)).into_iter().collect(),
        };
        let mut judged = Judged { limits, ..Judged::default() };
        let known = self.u.map(|u| Budget::default().with(Share::Reading, Part::stated(u), 1, 1));
        let expanded = known.as_ref().map_or(Length::ZERO, |budget| budget.expanded().uncertainty);
        if self.columns.is_some() {
            let row = |(at, value): &(Option<String>, Figure)| EntryRow {
                at: at.clone().unwrap_or_default(),
                value: *value,
                verdict: limits
                    .map(|limits| judgement::decide(*value, expanded, limits).by(of.rule)),
            };
            let rows = values.iter().map(row).collect();
            judged.figures = Figures { rows, ..Figures::default() };
        }
        let Some(limits) = limits else { return judged };
        let room = |(_, value): &&(Option<String>, Figure)| room(*value, limits);
        let Some((at, value)) = values.iter().min_by_key(room) else { return judged };
        judged.value = Some(*value);
        if let Some(at) = at {
            judged.says.push(format!("The worst row is at {at}."));
        }
        if known.is_none() {
            judged.says.push(NOT_STATED.to_owned());
            judged.plainly = true;
        }
        judged.budget = known;
        judged
    }
}

/// What is said where nobody states how well a value is known.
const NOT_STATED: &str = "How well the value is known is not stated: judged by the simple rule.";

/// How far a value lies within its limits; negative where it is past one.
fn room(value: Figure, limits: Limits) -> Figure {
    let (over, under) = match limits {
        Limits::Max(max) => (Some(max), None),
        Limits::Min(min) => (None, Some(min)),
        Limits::Band { min, max } => (Some(max), Some(min)),
    };
    let rooms =
        [over.map(|max| Figure::from(max) - value), under.map(|min| value - Figure::from(min))];
    rooms.into_iter().flatten().min().unwrap_or(Figure::ZERO)
}

/// The number at the beginning of a text.
fn figure(text: &str, unit: Unit) -> Option<Figure> {
    let number = text.split_whitespace().next()?;
    Length::parse(number.trim_start_matches('+'), unit).ok().map(Figure::from)
}

/// The unit of the value: written by itself, or in its column.
fn unit(keys: &impl Keys, columns: Option<&[Column; 2]>) -> Option<String> {
    let written = keys.string("unit");
    let Some([_, values]) = columns else { return written.map(|unit| unit.value) };
    if let Some(written) = written.filter(|written| written.value != values.unit) {
        let text = format!(
            "unit is {}, and the column of the values is in {}",
            written.value, values.unit
        );
        keys.error(written.line, text, "leave unit out: the column says it");
    }
    (!values.unit.is_empty()).then(|| values.unit.clone())
}

/// The two columns of a table of values.
fn columns(keys: &impl Keys) -> Option<[Column; 2]> {
    let written = keys.texts("columns")?;
    let read = written.iter().map(|one| Column::read(&one.value)).collect::<Vec<_>>();
    match <[Column; 2]>::try_from(read) {
        Ok(columns) if columns.iter().all(|column| !column.name.is_empty()) => Some(columns),
        Ok(_) | Err(_) => {
            let text = "columns should be two: where, and the value there";
            let hint = "write columns = [\"speed rpm\", \"vibration mm/s\"], say";
            keys.error(keys.line_of("columns"), text, hint);
            None
        }
    }
}

/// The limits of a value and how well it is known, in the unit of the entry; without limits it is kept and
/// not judged.
fn judged_by(keys: &impl Keys, unit: Option<&str>) -> (Option<limits::Judged>, Option<Length>) {
    let nothing = limits::Judged::nothing(keys);
    let line = ["min", "max"].into_iter().find(|key| keys.has(key)).map(|key| keys.line_of(key));
    let Some(line) = line else {
        if keys.has("uncertainty") {
            let text = "uncertainty changes nothing where nothing is judged";
            keys.error(keys.line_of("uncertainty"), text, "take it out, or write min or max");
        }
        return (Some(nothing), None);
    };
    let Some(known) = unit.and_then(Unit::parse_any) else {
        let all: Vec<&str> = quantity::Other::symbols().collect();
        let text = match unit {
            Some(unit) => format!("\"{unit}\" is no unit that a value is judged in"),
            None => "a value with a limit has a unit, and unit is missing".to_owned(),
        };
        let hint =
            format!("write unit = \"mm/s\", say; the units are in, mm, um, {}", all.join(", "));
        keys.error(if unit.is_some() { keys.line_of("unit") } else { line }, text, hint);
        return (None, None);
    };
    let amount = |key: &str| amount(keys, key, known);
    let (min, max, u) = (amount("min"), amount("max"), amount("uncertainty"));
    let limits = match (min, max) {
        (Some(min), Some(max)) if min.value >= max.value => {
            keys.error(min.line, "min is not below max", "write the smaller value as min");
            None
        }
        (Some(min), Some(max)) => Some(Limits::Band { min: min.value, max: max.value }),
        (Some(min), None) if !keys.has("max") => Some(Limits::Min(min.value)),
        (None, Some(max)) if !keys.has("min") => Some(Limits::Max(max.value)),
        (Some(_), None) | (None, _) => None,
    };
    if let Some(u) = u.filter(|u| u.value < Length::ZERO) {
        keys.error(u.line, "an uncertainty is not below zero", "write half of the expanded one");
    }
    let judged =
        limits.map(|limits| limits::Judged { limits: Some(limits), unit: known, aim: None, line });
    (judged, u.map(|u| u.value))
}

/// A number in a unit, which may be written behind it.
pub(crate) fn amount(keys: &impl Keys, key: &str, unit: Unit) -> Option<At<Length>> {
    keys.parsed_literal(key, |text| {
        let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-'));
        let (number, behind) = text.split_at(end.unwrap_or(text.len()));
        if !behind.trim().is_empty() && Unit::parse_any(behind) != Some(unit) {
            return Err(format!("\"{text}\" is not in {unit}"));
        }
        Length::parse(number, unit).map_err(|_| format!("\"{text}\" is no number in {unit}"))
    })
}
