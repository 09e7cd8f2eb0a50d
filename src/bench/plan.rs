//! Plans: the parts of a job and the checks on each.

use crate::judgement::{Limits, Rule};
use crate::quantity::{Grid, Length, Name, Unit, position_angle_deg};

/// A plan together with the text it was read from. A job keeps both for ever.
#[derive(Debug, Clone, PartialEq)]
pub struct PinnedPlan {
    /// The file's text.
    pub text: String,
    /// What it says.
    pub plan: Plan,
}

/// What is measured on one kind of assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Its name.
    pub name: String,
    /// The unit of its bare numbers.
    pub unit: Unit,
    /// The decision rule of its jobs; `None`: the bench's.
    pub rule: Option<Rule>,
    /// Its parts, in the order they are worked through.
    pub parts: Vec<Part>,
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

/// The characteristic a check measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measures {
    /// Mean distance of the touched face, against a master where one is touched.
    Length,
    /// Largest minus smallest local thickness over an anvil.
    ThicknessVariation,
    /// Largest minus smallest height over the plate.
    Parallelism,
    /// Width of the minimum zone of the heights.
    Flatness,
}

impl Measures {
    /// The word in a plan and in the record.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::ThicknessVariation => "thickness-variation",
            Self::Parallelism => "parallelism",
            Self::Flatness => "flatness",
        }
    }
}

/// How the part is held: which figure a reading can prove depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holding {
    /// The part lies on the surface plate.
    Plate,
    /// The part rides over a fixed anvil right under the stylus.
    Anvil,
    /// The part lies on three supports.
    Supports,
    /// The part turns under a fixed stylus.
    Turning,
}

impl Holding {
    /// The word in a plan and in the record.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Plate => "plate",
            Self::Anvil => "anvil",
            Self::Supports => "supports",
            Self::Turning => "turning",
        }
    }
}

/// Who moves while a ring is touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moves {
    /// The ring turns under a parked stylus.
    Ring,
    /// The stand slides around a parked ring.
    Stand,
}

/// Which surface is touched, and so what a high reading means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surface {
    /// The face towards the gauge: a high reading is the high side.
    NearFace,
    /// The far face, touched from behind.
    FarFace,
    /// The outside: the axis lies towards the high reading.
    Outside,
    /// A bore: the axis lies opposite the high reading.
    Inside,
}

/// Which way round positions are counted, facing the measured face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Counter-clockwise.
    CounterClockwise,
    /// Clockwise: the angle of position k on the metal is 360 − 360·k/N.
    Clockwise,
}

/// Which master touches a check asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MasterUse {
    /// None.
    None,
    /// One before the first touch.
    Opening,
    /// One before the first touch and one after the last.
    Both,
}

/// What happens after a verdict that conforms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Advance {
    /// The check stays on the screen.
    Hold,
    /// The next check becomes active.
    Auto,
}

/// One characteristic of one part, measured at given positions with one gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Its name, unique in the part.
    pub name: Name,
    /// The characteristic.
    pub measures: Measures,
    /// The gauge that measures it.
    pub gauge: Name,
    /// How the part is held.
    pub setup: Holding,
    /// Who moves.
    pub moves: Moves,
    /// Which surface is touched.
    pub surface: Surface,
    /// Which way positions are counted.
    pub direction: Direction,
    /// Positions on each radius, at least one.
    pub positions: u32,
    /// The measuring radii, in the order they are touched; one at least where the figure needs a
    /// place on the face, otherwise it may be empty.
    pub radii: Vec<Length>,
    /// The limits that are judged.
    pub limits: Limits,
    /// The unit the tolerance was written in; verdicts are given in it.
    pub unit: Unit,
    /// A tighter figure that is aimed for and never judged.
    pub aim: Option<Length>,
    /// The drawing's size.
    pub nominal: Option<Length>,
    /// Whether position 0 is touched again at the end.
    pub closure: bool,
    /// Which master touches are asked for.
    pub master: MasterUse,
    /// The size of the master; needed where a master is touched.
    pub master_size: Option<Length>,
    /// What happens after a verdict that conforms.
    pub advance: Advance,
}

impl Check {
    /// All positions, over all radii.
    #[must_use]
    pub fn total(&self) -> u32 {
        let rings = u32::try_from(self.radii.len().max(1)).unwrap_or(u32::MAX);
        self.positions.saturating_mul(rings)
    }

    /// The angle of a position on the metal, degrees counter-clockwise from the index mark.
    #[must_use]
    pub fn angle_deg(&self, position: u32) -> f64 {
        let counted = position_angle_deg(position, self.positions);
        match self.direction {
            Direction::CounterClockwise => counted,
            Direction::Clockwise => (360.0 - counted) % 360.0,
        }
    }

    /// The radius of a position, where the plan gives one.
    #[must_use]
    pub fn radius(&self, position: u32) -> Option<Length> {
        let ring = usize::try_from(position / self.positions.max(1)).ok()?;
        self.radii.get(ring).copied()
    }

    /// The place of a position on the face, on the grid of one nanometre.
    #[must_use]
    pub fn place(&self, position: u32) -> Option<Grid> {
        Some(Grid::on_circle(self.radius(position)?, self.angle_deg(position)))
    }
}

/// A check by its place in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
