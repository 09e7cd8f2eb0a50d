//! Plans: the parts of a job and the checks on each.

mod detail;

pub use self::detail::{
    Arrangement, Ask, Asks, BarRun, BarStation, Detail, Entry, NotStated, Pair, Seatings, Size,
    SizeJudged, Swept, Taper, Turn, steel,
};
use judgement::{Limits, Part as Share, Rule, assumed_plate};
use quantity::{Figure, Grid, Length, Name, Unit, position_angle_deg};

/// A plan together with the text it was read from. A job keeps both for ever.
#[derive(Debug, Clone, PartialEq)]
pub struct PinnedPlan {
    /// The file's text.
    pub text: String,
    /// What it says.
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
    /// The decision rule of its jobs; `None`: the bench's.
    pub rule: Option<Rule>,
    /// Its parts, in the order they are worked through.
    pub parts: Vec<Part>,
    /// What sits on the shaft, from the nose inwards; empty where the plan does not say.
    pub stack: Vec<StackPlace>,
}

/// One place of the stack on the shaft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackPlace {
    /// The part, by its place in the plan.
    pub part: u16,
    /// The names of its two faces; one of them is towards the nose. Empty where either way will do.
    pub ways: Vec<String>,
    /// The face that has to be towards the nose; otherwise the one that was.
    pub towards_nose: Option<String>,
    /// Whether the angle of its mark is written down.
    pub marked: bool,
    /// The angle its mark has to stand at, whole degrees.
    pub mark_deg: Option<u16>,
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

/// No check has as many positions; a row that says otherwise is damaged and fills nothing.
pub const MOST_POSITIONS: u32 = 1 << 20;

quantity::worded! {
    /// The characteristic a check measures.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Measures {
        /// Mean distance of the touched face, against a master where one is touched.
        Length = "length",
        /// Largest minus smallest local thickness over an anvil.
        ThicknessVariation = "thickness-variation",
        /// Largest minus smallest height over the plate.
        Parallelism = "parallelism",
        /// Width of the minimum zone of the heights.
        Flatness = "flatness",
        /// Total reading of one turn, or of several circles of it.
        Runout = "runout",
        /// Total readings of a test bar at stations along it.
        BarRunout = "bar-runout",
        /// One mean length minus another.
        Difference = "difference",
        /// Change of diameter along the axis, against the drawing's rate.
        Taper = "taper",
        /// A chosen answer to a question.
        Confirm = "confirm",
        /// A value without tolerance.
        Entry = "entry",
    }
}

impl Measures {
    /// Whether touches on a face or a turn make it, of which fewer than seven pass nothing.
    #[must_use]
    pub const fn goes_round(self) -> bool {
        match self {
            Self::ThicknessVariation
            | Self::Parallelism
            | Self::Flatness
            | Self::Runout
            | Self::BarRunout => true,
            Self::Length | Self::Difference | Self::Taper | Self::Confirm | Self::Entry => false,
        }
    }

    /// Whether a gauge takes readings for it.
    #[must_use]
    pub const fn is_touched(self) -> bool {
        !matches!(self, Self::Difference | Self::Confirm | Self::Entry)
    }
}

quantity::worded! {
    /// How the part is held: which figure a reading can prove depends on it.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Holding {
        /// The part lies on the surface plate.
        Plate = "plate",
        /// The part rides over a fixed anvil right under the stylus.
        Anvil = "anvil",
        /// The part lies on three supports.
        Supports = "supports",
        /// The part turns under a fixed stylus.
        Turning = "turning",
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
    /// The gauge that measures it; `None` where none does.
    pub gauge: Option<Name>,
    /// How the part is held.
    pub setup: Holding,
    /// Who moves.
    pub moves: Moves,
    /// Which surface is touched.
    pub surface: Surface,
    /// Which way positions are counted.
    pub direction: Direction,
    /// Positions on each radius or station, at least one where it is touched.
    pub positions: u32,
    /// How often the ring is gone round, 1 or 2; the second time half a pitch on.
    pub passes: u32,
    /// The measuring radii, in the order they are touched; one at least where the figure needs a
    /// place on the face, otherwise it may be empty.
    pub radii: Vec<Length>,
    /// The limits that are judged, of several stations the tightest; `None` where nothing is.
    pub limits: Option<Limits>,
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
    /// The face that lies on the plate, for the record.
    pub down: Option<String>,
    /// The face that is measured, where the plan says which: grinding another one leaves a flatness
    /// of this one as it was.
    pub face: Option<String>,
    /// The check that measured the same as the spindle came in.
    pub found: Option<CheckAt>,
    /// What it needs beside all this.
    pub detail: Detail,
}

impl Check {
    /// All positions, over all radii and passes, or over all stations and seatings.
    #[must_use]
    pub fn total(&self) -> u32 {
        let rings = match &self.detail {
            Detail::Pair(_) | Detail::Confirm(_) | Detail::Entry(_) => return 0,
            Detail::Turn(turn) if turn.total_only => return 1,
            Detail::Taper(taper) => return count(taper.stations.len()),
            Detail::Bar(bar) => count(bar.stations.len()).saturating_mul(bar.seatings.count()),
            Detail::Plain | Detail::Length(_) | Detail::Turn(_) => {
                count(self.radii.len().max(1)).saturating_mul(self.passes)
            }
        };
        self.positions.saturating_mul(rings)
    }

    /// What of a reading's uncertainty no touch averages, where the gauge states no more than its
    /// scatter: that of the plate. A turning part lies on none.
    #[must_use]
    pub fn assumed_rest(&self) -> Share {
        match self.setup {
            Holding::Turning => Share::stated(Length::ZERO),
            Holding::Plate | Holding::Anvil | Holding::Supports => {
                assumed_plate(self.moves == Moves::Stand)
            }
        }
    }

    /// The tolerance T that limits of closure, resolution and the like are taken from; zero where
    /// nothing is judged.
    #[must_use]
    pub fn half_width(&self) -> Figure {
        self.limits.map_or(Figure::ZERO, Limits::half_width)
    }

    /// The angle of a position on the metal, degrees counter-clockwise from the index mark.
    #[must_use]
    pub fn angle_deg(&self, position: u32) -> f64 {
        if let Some(swept) = self.swept()
            && let Some(angle) =
                usize::try_from(position).ok().and_then(|at| swept.angles_deg.get(at))
        {
            return *angle;
        }
        let counted = position_angle_deg(position, self.positions);
        let once = self.positions.saturating_mul(count(self.radii.len().max(1)));
        // The second time round every touch lies half a pitch on.
        let second = self.passes > 1 && once > 0 && (position / once) % 2 == 1;
        let on = if second { 180.0 / f64::from(self.positions) } else { 0.0 };
        match self.direction {
            Direction::CounterClockwise => (counted + on) % 360.0,
            Direction::Clockwise => (720.0 - counted - on) % 360.0,
        }
    }

    /// The step in which a place on the circle is told to a person, degrees: from position to
    /// position, of a swept turn tens of degrees.
    #[must_use]
    pub fn mark_pitch_deg(&self) -> f64 {
        if self.swept().is_some() { 10.0 } else { 360.0 / f64::from(self.positions.max(1)) }
    }

    /// How its turn is swept, where it is not touched position by position.
    #[must_use]
    pub const fn swept(&self) -> Option<&Swept> {
        match &self.detail {
            Detail::Turn(turn) => turn.swept.as_ref(),
            Detail::Plain
            | Detail::Length(_)
            | Detail::Bar(_)
            | Detail::Pair(_)
            | Detail::Taper(_)
            | Detail::Confirm(_)
            | Detail::Entry(_) => None,
        }
    }

    /// Where the mark lies that passes the stylus after so many taps of a swept turn, whole degrees;
    /// `None` where no turn is swept.
    #[must_use]
    pub fn mark_deg(&self, taps: u32) -> Option<u32> {
        let marks = self.swept()?.marks.max(1);
        let turned = (360 * (taps % marks) + marks / 2) / marks % 360;
        Some(match self.direction {
            Direction::CounterClockwise => turned,
            Direction::Clockwise => (360 - turned) % 360,
        })
    }

    /// Whether a tilt of its heights belongs to the part: on three supports it is how they were
    /// screwed, and says nothing of any side of the metal.
    #[must_use]
    pub fn tilt_is_the_parts(&self) -> bool {
        self.setup != Holding::Supports
    }

    /// The seating of a bar that a position belongs to, counted from 0, and where the bar's mark
    /// stands then, degrees as the marks are counted; `None` where no bar is seated anew.
    #[must_use]
    pub fn seating(&self, position: u32) -> Option<(u32, u32)> {
        let Detail::Bar(bar) = &self.detail else { return None };
        let along = self.positions.saturating_mul(count(bar.stations.len())).max(1);
        let seating = position / along;
        let angles = bar.seatings.angles_deg();
        let deg = angles.get(usize::try_from(seating).ok()?).filter(|_| angles.len() > 1)?;
        Some((seating, *deg))
    }

    /// Where a bar's mark stands in a seating, degrees as the marks are counted.
    #[must_use]
    pub fn seating_deg(&self, seating: u32) -> Option<u32> {
        let Detail::Bar(bar) = &self.detail else { return None };
        bar.seatings.angles_deg().get(usize::try_from(seating).ok()?).copied()
    }

    /// The radius of a position, where the plan gives one.
    #[must_use]
    pub fn radius(&self, position: u32) -> Option<Length> {
        let ring = usize::try_from(position / self.positions.max(1)).ok()?;
        self.radii.get(ring.checked_rem(self.radii.len())?).copied()
    }

    /// The place of a position on the face, on the grid of one nanometre.
    #[must_use]
    pub fn place(&self, position: u32) -> Option<Grid> {
        Some(Grid::on_circle(self.radius(position)?, self.angle_deg(position)))
    }
}

fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
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
