//! Plans: the parts of a job and the checks on each.

pub use super::check::{
    Advance, Check, Direction, Holding, MOST_POSITIONS, MasterUse, Moves, Reads, Surface, Swept,
};
pub use super::*;

use judgement::Rule;
use quantity::{Name, Unit};

/// A plan together with the text it was read from. A job keeps both for ever.
#[derive(Debug, Clone, PartialEq)]
pub struct PinnedPlan {
    /// The file's text.
    pub text: String,
    /// The plan that was read from it.
    pub plan: Plan,
}

/// It is stored as its text.
impl serde::Serialize for PinnedPlan {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.text)
    }
}

/// What is measured on one kind of assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Its name.
    pub name: String,
    /// The unit of its bare numbers.
    pub unit: Unit,
    /// The decision rule of its jobs; `None`: that of the bench.
    pub rule: Option<Rule>,
    /// Its parts, in the order they are worked through.
    pub parts: Vec<Part>,
    /// The parts on the shaft, from the nose inwards; empty where the plan does not say.
    pub stack: Vec<StackPlace>,
}

/// One place of the stack on the shaft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackPlace {
    /// The part, by its place in the plan.
    pub part: u16,
    /// The names of its two faces, one of which is towards the nose. Empty where it does not matter.
    pub ways: Vec<String>,
    /// The face that has to be towards the nose; without one, the face that was there as found.
    pub towards_nose: Option<String>,
    /// Whether the angle of its mark is written down.
    pub marked: bool,
    /// The angle its mark has to stand at, whole degrees.
    pub mark_deg: Option<u16>,
    /// The parts whose high spots its own is to oppose; `None`: all that are on the shaft before it, and the
    /// seats of the shaft.
    pub opposes: Option<Vec<u16>>,
    /// In how many whole steps of a turn its mark is set.
    pub marks: u16,
}

/// One part of the assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name, unique in the plan.
    pub name: Name,
    /// What it is.
    pub kind: PartKind,
    /// Its checks, in the order they are worked through.
    pub checks: Vec<Check>,
}

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// A plain ground ring between two bearings.
    Spacer,
    /// A dirt shield.
    Shield,
    /// A lock nut.
    Nut,
    /// The shaft.
    Shaft,
    /// The housing.
    Housing,
    /// A bearing.
    Bearing,
    /// A test bar.
    Bar,
    /// Anything else.
    Other,
}

/// A check by its place in the plan.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(deny_unknown_fields)]
pub struct CheckAt {
    /// Which part.
    pub part: u16,
    /// Which check of it.
    pub check: u16,
}

impl Plan {
    /// The part and check at a place.
    #[must_use]
    pub fn at(&self, at: CheckAt) -> Option<(&Part, &Check)> {
        let part = self.parts.get(usize::from(at.part))?;
        Some((part, part.checks.get(usize::from(at.check))?))
    }

    /// The place of a check by its names.
    #[must_use]
    pub fn find(&self, part: &str, check: &str) -> Option<CheckAt> {
        self.places().find(|&at| {
            self.at(at).is_some_and(|(p, c)| p.name.as_str() == part && c.name.as_str() == check)
        })
    }

    /// Every check, in plan order.
    pub fn places(&self) -> impl Iterator<Item = CheckAt> + '_ {
        self.parts.iter().zip(0_u16..).flat_map(|(part, index)| {
            part.checks.iter().zip(0_u16..).map(move |(_, check)| CheckAt { part: index, check })
        })
    }
}
