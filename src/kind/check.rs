//! One characteristic of one part: how it is held, touched and limited, and where its positions are.

use judgement::{Limits, Part as Uncertain, Share, Traps, assumed_plate};
use quantity::{Figure, Grid, Length, Name, Unit, position_angle_deg};

use super::Measures;
use super::layout::count;
use super::plan::CheckAt;
use super::step::Step;
use super::traits::Traits;

quantity::worded! {
    /// How the part is held. It decides which figures can be proved.
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

quantity::worded! {
    /// Which way round positions are counted, facing the measured face. Clockwise the angle of
    /// position k on the metal is 360 − 360·k/N.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Direction {
        /// Counter-clockwise.
        CounterClockwise = "ccw",
        /// Clockwise.
        Clockwise = "cw",
    }
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

/// A turn that passes under the stylus in one go, while the gauge sends without pause.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Swept {
    /// Marks that a person taps in one turn, evenly spread and beginning with the index mark. With one mark
    /// the speed of the hand is taken as constant, and no angle is trusted.
    pub marks: u32,
    /// Where each sample lies on the metal, degrees; empty in a plan, complete in an attempt that was
    /// swept.
    pub angles_deg: Vec<f64>,
}

impl Swept {
    /// Whether marks were tapped during the turn, so that angles can be trusted.
    #[must_use]
    pub const fn knows_angles(&self) -> bool {
        self.marks > 1
    }
}

/// How a position is read.
#[derive(Debug, Clone, PartialEq)]
pub enum Reads {
    /// Each position by itself.
    Touches,
    /// Only the total reading of the turn is keyed in.
    Total,
    /// The turn passes under the stylus in one go.
    Sweep(Swept),
}

/// More positions than any check has; a row with a higher position is damaged and fills nothing.
pub const MOST_POSITIONS: u32 = 1 << 20;

/// One characteristic of one part, measured at given positions with one gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Its name, unique in the part.
    pub name: Name,
    /// What is measured, with the settings that only this kind has.
    pub measures: Measures,
    /// The gauge that measures it; `None` where no gauge does.
    pub gauge: Option<Name>,
    /// How the part is held.
    pub setup: Holding,
    /// Whether the ring or the stand moves.
    pub moves: Moves,
    /// Which surface is touched.
    pub surface: Surface,
    /// Which way positions are counted.
    pub direction: Direction,
    /// Positions on each radius or station, at least one where it is touched.
    pub positions: u32,
    /// How often each position is touched, one lift each; the mean counts.
    pub touches: u32,
    /// How often the ring is gone round, 1 or 2; the second time shifted by half a pitch.
    pub passes: u32,
    /// The measuring radii, in the order they are touched: at least one where the figure needs a place on
    /// the face, otherwise there may be none.
    pub radii: Vec<Length>,
    /// The limits it is judged by; with several stations, the tightest. `None` where nothing is judged.
    pub limits: Option<Limits>,
    /// The unit the tolerance was written in; verdicts are given in it.
    pub unit: Unit,
    /// A tighter figure to aim for; it is never judged.
    pub aim: Option<Length>,
    /// The drawing's size.
    pub nominal: Option<Length>,
    /// Whether position 0 is touched again at the end.
    pub closure: bool,
    /// Whether position 0, or the master of a length, is touched once more half way round: only then can
    /// an even drift be told from any other, and be taken out.
    pub middle: bool,
    /// How many times likelier an explanation of a series that did not close has to be than every other
    /// before it is told.
    pub odds: u32,
    /// How large something must be before it is asked about or withholds a verdict.
    pub traps: Traps,
    /// Which master touches are asked for.
    pub master: MasterUse,
    /// The size of the master; needed where a master is touched and not named.
    pub master_size: Option<Length>,
    /// The master's name in the register of the shop: its size and uncertainty there count.
    pub master_name: Option<Name>,
    /// The standard uncertainty of that size in the register; it counts before what the plan states.
    pub master_known: Option<Length>,
    /// The test bar's name in the register of the shop.
    pub bar_name: Option<Name>,
    /// The standard uncertainty of the total reading of the bar itself, as the register had it; `None`
    /// where what the plan says of it counts.
    pub bar_known: Option<Length>,
    /// What happens after a verdict that conforms.
    pub advance: Advance,
    /// The face that lies on the plate, for the record.
    pub down: Option<String>,
    /// The face that is measured, where the plan says so: grinding another face does not change the
    /// flatness of this one.
    pub face: Option<String>,
    /// The check that measured the same as the spindle came in ("as found").
    pub found: Option<CheckAt>,
    /// The step of the job it belongs to, where the plan writes it; [`super::plan::Plan::step_of`] knows the others.
    pub step: Option<Step>,
    /// How a position is read.
    pub reads: Reads,
}

impl Check {
    /// The same check, held against a master of this size. `u` is the standard uncertainty of that size;
    /// without one, what the plan states of it stays.
    #[must_use]
    pub fn against(&self, size: Length, u: Option<Length>) -> Self {
        let master_known = u.or(self.master_known);
        Self { master_size: Some(size), master_known, ..self.clone() }
    }

    /// How well the bar is known that a total reading is read on; `planned` is what the plan says of it.
    #[must_use]
    pub fn known_bar(&self, planned: Length) -> Length {
        self.bar_known.unwrap_or(planned)
    }

    /// The properties of its kind.
    #[must_use]
    pub fn traits(&self) -> &'static Traits {
        self.measures.traits()
    }

    /// Whether it is judged: a value that is written down has limits only where the plan has them.
    #[must_use]
    pub fn is_judged(&self) -> bool {
        !self.traits().is_written() || self.limits.is_some()
    }

    /// The share of a reading's uncertainty that more touches do not reduce, where the gauge states no more
    /// than its scatter: that of the plate. A turning part lies on no plate.
    #[must_use]
    pub fn assumed_rest(&self) -> (Share, Uncertain) {
        match self.setup {
            Holding::Turning => (Share::Plate, Uncertain::stated(Length::ZERO)),
            Holding::Plate | Holding::Anvil | Holding::Supports => {
                assumed_plate(self.moves == Moves::Stand)
            }
        }
    }

    /// The tolerance T from which the limits for closure, resolution and the like are worked out; zero
    /// where nothing is judged.
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
        let share = f64::from(self.turn_deg()) / 360.0;
        let counted = position_angle_deg(position, self.positions) * share;
        let once = self.positions.saturating_mul(count(self.radii.len().max(1)));
        // In the second pass every touch is shifted by half a pitch.
        let second = self.passes > 1 && once > 0 && (position / once) % 2 == 1;
        let on = if second { 180.0 / f64::from(self.positions) } else { 0.0 };
        match self.direction {
            Direction::CounterClockwise => (counted + on) % 360.0,
            Direction::Clockwise => (720.0 - counted - on) % 360.0,
        }
    }

    /// All touches, over all positions; closure and master are touched once beside them.
    #[must_use]
    pub fn touches_in_all(&self) -> u32 {
        self.total().saturating_mul(self.touches)
    }

    /// The step in which a place on the circle is named to a person, degrees: the pitch of the positions;
    /// for a swept turn, 10 degrees.
    #[must_use]
    pub fn mark_pitch_deg(&self) -> f64 {
        if self.swept().is_some() {
            10.0
        } else {
            f64::from(self.turn_deg()) / f64::from(self.positions.max(1))
        }
    }

    /// How its turn is swept; `None` where it is touched position by position.
    #[must_use]
    pub const fn swept(&self) -> Option<&Swept> {
        if let Reads::Sweep(swept) = &self.reads { Some(swept) } else { None }
    }

    /// Whether only the total reading of the turn is keyed in: no angle, no waves.
    #[must_use]
    pub fn total_only(&self) -> bool {
        self.reads == Reads::Total
    }

    /// The angle of the mark that passes the stylus after this many taps of a swept turn, whole degrees;
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

    /// Whether a tilt of its heights belongs to the part. On three supports it depends on how they were
    /// screwed, and says nothing about the metal.
    #[must_use]
    pub fn tilt_is_the_parts(&self) -> bool {
        self.setup != Holding::Supports
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
