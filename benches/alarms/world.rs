//! A made-up piece whose true form is known, a hand that touches it, and what goes wrong on the way. All in
//! µin and degrees.

use bench::row::Question;
use bench::series::Touch;

use super::shop::What;
use super::traps::{Happens, Trap};

/// Draws numbers from a seed.
pub(crate) struct Dice(fastrand::Rng);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        (high - low).mul_add(self.0.f64(), low)
    }

    pub(crate) fn whole(&mut self, low: u32, high: u32) -> u32 {
        self.0.u32(low..=high)
    }

    /// Normal, by the method of Box and Muller.
    pub(crate) fn normal(&mut self, s: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.f64()).ln()).sqrt();
        s * radius * self.between(0.0, std::f64::consts::TAU).cos()
    }
}

/// A bar in its taper, by its vectors.
struct Bar {
    spindle: (f64, f64),
    own: (f64, f64),
    /// How each seating is off.
    seated: Vec<(f64, f64)>,
    seating: usize,
}

/// A piece under a hand.
pub(crate) struct World {
    what: What,
    s: f64,
    zero: f64,
    /// The height at each position.
    form: Vec<f64>,
    bar: Option<Bar>,
    trap: Option<Trap>,
    /// The touch before which it happens, counted from 0.
    pub(crate) from: u32,
    towards: f64,
    touches: u32,
    half_turns: u32,
    /// Seconds since the first touch.
    seconds: f64,
}

/// One reading.
pub(crate) struct Reading {
    pub(crate) counts: i64,
    pub(crate) in_mm: bool,
    pub(crate) after_s: f64,
}

fn wave(at_deg: f64, towards_deg: f64) -> f64 {
    (at_deg - towards_deg).to_radians().cos()
}

fn turned((x, y): (f64, f64), deg: f64) -> (f64, f64) {
    let (sin, cos) = deg.to_radians().sin_cos();
    (x * cos - y * sin, x * sin + y * cos)
}

impl World {
    /// A piece whose true figure is `value`: the range of its heights where it is touched, how far its
    /// length is off, or twice the offset of the spindle.
    pub(crate) fn new(what: What, value: f64, s: f64, trap: Option<Trap>, dice: &mut Dice) -> Self {
        let count = what.positions();
        let towards = dice.between(0.0, 360.0);
        let angle = |position: u32| 360.0 * f64::from(position) / f64::from(count);
        let form: Vec<f64> = match what {
            What::Length => (0..count).map(|_| value).collect(),
            What::Ring | What::Turn | What::Bar => {
                let wave = (0..count).map(|position| wave(angle(position), towards));
                let form: Vec<f64> = wave.collect();
                let high = form.iter().copied().fold(f64::MIN, f64::max);
                let low = form.iter().copied().fold(f64::MAX, f64::min);
                form.iter().map(|height| height * value / (high - low)).collect()
            }
        };
        let bar = (what == What::Bar).then(|| Bar {
            spindle: turned((value / 2.0, 0.0), towards),
            own: (dice.normal(2.0), dice.normal(2.0)),
            seated: (0..4).map(|_| (dice.normal(4.0), dice.normal(4.0))).collect(),
            seating: 0,
        });
        let last = if what == What::Bar { 4 * count } else { count } - 1;
        let from = dice.whole(1, last);
        let towards = dice.between(0.0, 360.0);
        let zero = dice.between(-3000.0, 3000.0);
        let mut world = Self {
            what,
            s,
            zero,
            form,
            bar,
            trap,
            from,
            towards,
            touches: 0,
            half_turns: 0,
            seconds: 0.0,
        };
        if let Some(trap) = trap {
            world.prepare(trap, dice);
        }
        world
    }

    /// What a trap changes from the beginning.
    fn prepare(&mut self, trap: Trap, dice: &mut Dice) {
        let is = |one: Happens| trap.happens == one;
        if is(Happens::ZeroAfterFirst) || is(Happens::ZeroLater) {
            self.zero = trap.size;
        }
        if is(Happens::ZeroAfterFirst) {
            self.from = 1;
        } else if is(Happens::EndOfTravel) {
            self.zero = 10_000.0 - trap.size;
        } else if is(Happens::WrongPart) {
            self.form.iter_mut().for_each(|height| *height += trap.size);
        } else if let (Happens::Unseated, Some(bar)) = (trap.happens, &mut self.bar) {
            let which = usize::try_from(dice.whole(1, 3)).unwrap_or(1);
            bar.seated[which] = turned((trap.size, 0.0), self.towards);
        }
    }

    fn happens(&self) -> Option<(Happens, f64)> {
        self.trap.map(|trap| (trap.happens, trap.size))
    }

    /// Whether what goes wrong has happened by now.
    pub(crate) fn has_happened(&self) -> bool {
        let at_once = self.trap.is_some_and(|trap| trap.happens.is_there_at_first());
        at_once || self.touches > self.from
    }

    pub(crate) const fn touches(&self) -> u32 {
        self.touches
    }

    /// How high the surface is at a position, as the hand finds it.
    fn surface(&self, position: u32) -> f64 {
        let count = self.what.positions();
        let mark = position % count;
        let deg = 360.0 * f64::from(mark) / f64::from(count);
        let Some(bar) = &self.bar else {
            return self.form[usize::try_from(mark).unwrap_or(0)];
        };
        let own = turned(bar.own, 90.0 * f64::from(u32::try_from(bar.seating).unwrap_or(0)));
        let off = bar.seated[bar.seating];
        let (x, y) = (bar.spindle.0 + own.0 + off.0, bar.spindle.1 + own.1 + off.1);
        let (sin, cos) = deg.to_radians().sin_cos();
        x * cos + y * sin
    }

    pub(crate) fn seat(&mut self, seating: u32) {
        if let Some(bar) = &mut self.bar {
            bar.seating = usize::try_from(seating).unwrap_or(0);
        }
    }

    /// The reading of what the bench waits for.
    pub(crate) fn touch(&mut self, touch: Touch, dice: &mut Dice) -> Reading {
        let count = self.what.positions();
        let (position, half) = match touch {
            Touch::Position(at) | Touch::Asked(Question::Touch(at)) => (Some(at), false),
            Touch::Middle | Touch::Closure | Touch::Asked(Question::Closure) => (Some(0), false),
            // The high spot first, then the low one.
            Touch::Asked(Question::HalfTurn { high, low }) => {
                self.half_turns += 1;
                (Some(if self.half_turns % 2 == 1 { high } else { low }), true)
            }
            Touch::Master
            | Touch::Asked(Question::Master)
            | Touch::Sweep
            | Touch::Seat { .. }
            | Touch::Answer
            | Touch::Nothing => (None, false),
        };
        let after = self.touches >= self.from;
        let happens = self.happens();
        let at = position.map(|at| match happens {
            Some((Happens::Missed, _)) if after => (at + 1) % count,
            Some((Happens::Doubled, _)) if after => (at + count - 1) % count,
            _ => at,
        });
        let after_s = dice.between(4.0, 9.0);
        self.seconds += after_s;
        let mut value = self.zero + at.map_or(0.0, |at| self.surface(at)) + dice.normal(self.s);
        if let Some((happens, size)) = happens {
            value += self.off(happens, size, (at, half), dice);
        }
        let in_mm = after && matches!(happens, Some((Happens::Units, _)));
        self.touches += 1;
        let step = if in_mm { 0.1 / 25.4 * 1e3 } else { 10.0 };
        #[expect(clippy::cast_possible_truncation, reason = "a few thousand steps")]
        let counts = (value / step).round() as i64;
        Reading { counts, in_mm, after_s }
    }

    /// How far a trap moves the reading at a position, or at the master; `half` is a piece that was set
    /// back half a turn.
    fn off(
        &self,
        happens: Happens,
        size: f64,
        (at, half): (Option<u32>, bool),
        dice: &mut Dice,
    ) -> f64 {
        let turn = f64::from(self.what.positions());
        let deg =
            at.map_or(0.0, |at| 360.0 * f64::from(at) / turn) + if half { 180.0 } else { 0.0 };
        let series = turn + if self.what == What::Length { 3.0 } else { 1.0 };
        let after = self.touches >= self.from;
        let is = |one: Happens| happens == one;
        if is(Happens::Drift) {
            size * f64::from(self.touches) / series
        } else if is(Happens::Hysteresis) {
            size * (dice.between(0.0, 1.0).round() - 0.5)
        } else if is(Happens::Chip) && at.is_some() {
            size / 2.0 * wave(deg, self.towards)
        } else if is(Happens::Warm) && at.is_some() {
            // 2 in of steel grow 23 µin a degree and cool with a time constant of 32 minutes.
            23.0 * size * (-self.seconds / 1920.0).exp()
        } else if (is(Happens::WrongMaster) && at.is_none())
            || (is(Happens::Slip) && self.touches == self.from)
            || (is(Happens::Bump) && after)
        {
            size
        } else if (is(Happens::ZeroAfterFirst) || is(Happens::ZeroLater)) && after {
            -size
        } else {
            0.0
        }
    }
}
