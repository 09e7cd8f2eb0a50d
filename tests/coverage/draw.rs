//! What is simulated: figures with a known truth, hands and plates, and how often the truth lies beyond
//! what is told. All in µin.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use bench::row::{Pool, Shown, State};
use judgement::Pooled;
use quantity::{Figure, Length};

use super::plan::PLAN;
use super::shop::{Made, Shop};

/// A picometre is so many of them to a µin.
const MICROINCH: f64 = 25_400.0;
/// The step of the gauge.
const STEP: f64 = 10.0;

/// Numbers that look random and come again with the same seed (splitmix64).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    pub(crate) fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, by Box and Muller.
    pub(crate) fn normal(&mut self, s: f64) -> f64 {
        let (one, other) = (1.0 - self.even(), self.even());
        s * (-2.0 * one.ln()).sqrt() * (TAU * other).cos()
    }

    /// Evenly within ± `half`.
    pub(crate) fn within(&mut self, half: f64) -> f64 {
        (self.even() * 2.0 - 1.0) * half
    }
}

/// What is known of gauge and hand, and how they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Regime {
    /// s 6 and u 8.4 are stated, and are so.
    Stated,
    /// Nothing is stated; the hand scatters by so much.
    Nothing(f64),
    /// Nothing is stated, and the bench has seen so many returns of a hand that scatters by 12.
    Record(u32),
}

impl Regime {
    pub(crate) const ALL: [Self; 6] = [
        Self::Stated,
        Self::Nothing(6.0),
        Self::Nothing(12.0),
        Self::Nothing(18.0),
        Self::Record(10),
        Self::Record(46),
    ];

    pub(crate) fn text(self) -> String {
        match self {
            Self::Stated => "stated".to_owned(),
            Self::Nothing(s) => format!("nothing, hand {s}"),
            Self::Record(count) => format!("record of {count}, hand 12"),
        }
    }

    /// The scatter of a touch as the gauge shows it, rounding included.
    const fn scatter(self) -> f64 {
        match self {
            Self::Stated => 6.0,
            Self::Nothing(s) => s,
            Self::Record(_) => 12.0,
        }
    }

    fn gauge(self) -> String {
        let stated = "uncertainty = \"0.0000084 in\"\nrepeatability = \"0.000006 in\"\n";
        let stated = if self == Self::Stated { stated } else { "" };
        format!("unit = \"in\"\nresolution = \"0.00001 in\"\n{stated}")
    }

    /// How uneven what lies under one position is.
    fn under(self, dice: &mut Dice, row: &Row) -> f64 {
        match self {
            _ if row.turns => 0.0,
            Self::Stated => dice.normal((8.4_f64.powi(2) - 36.0).sqrt()),
            Self::Nothing(_) | Self::Record(_) => dice.within(if row.stand { 20.0 } else { 10.0 }),
        }
    }
}

/// A figure and its true form.
pub(crate) struct Row {
    /// What it is called in the table.
    pub(crate) name: &'static str,
    /// Its checks in `PLAN`; the last is judged.
    targets: &'static [&'static str],
    /// The height at a position, given its angle in degrees as `position·360/N`, a phase in degrees and the
    /// check (0 or 1 of a pair).
    form: fn(&Place) -> f64,
    /// Nothing lies under a part that turns.
    turns: bool,
    /// The stand moves.
    stand: bool,
    /// What the zero does during the series: from 0 to 1 it goes so far.
    drift: fn(f64) -> f64,
    /// Whether it is a contrast, whose U is to be right on both sides.
    pub(crate) contrast: bool,
}

/// Where a touch lies.
pub(crate) struct Place {
    position: u32,
    phase_deg: f64,
    nth: usize,
}

impl Place {
    fn deg(&self, of: u32) -> f64 {
        360.0 * f64::from(self.position % of) / f64::from(of)
    }

    /// A wave of so many periods and this range.
    fn wave(&self, of: u32, periods: f64, range: f64) -> f64 {
        range / 2.0 * (periods * (self.deg(of) - self.phase_deg)).to_radians().cos()
    }
}

const STEADY: fn(f64) -> f64 = |_| 0.0;
const FACE: Row = Row {
    name: "",
    targets: &["ring/face-8"],
    form: |_| 0.0,
    turns: false,
    stand: false,
    drift: STEADY,
    contrast: false,
};
const TURN: Row = Row { turns: true, targets: &["shaft/turn-24"], ..FACE };

/// Every row of the table.
pub(crate) const ROWS: &[Row] = &[
    Row {
        name: "parallelism, 8 touches, wedge of 120",
        form: |at| at.wave(8, 1.0, 120.0),
        contrast: true,
        ..FACE
    },
    Row {
        name: "parallelism, 8 touches, wedge, stand moves",
        targets: &["ring/face-stand"],
        stand: true,
        form: |at| at.wave(8, 1.0, 120.0),
        contrast: true,
        ..FACE
    },
    Row {
        name: "parallelism, 8 touches, wedge, even drift of 60",
        form: |at| at.wave(8, 1.0, 120.0),
        drift: |at| 60.0 * at,
        ..FACE
    },
    Row {
        name: "parallelism, 8 touches, wedge, 60 at once in the middle",
        form: |at| at.wave(8, 1.0, 120.0),
        drift: |at| if at > 0.5 { 60.0 } else { 0.0 },
        ..FACE
    },
    Row {
        name: "parallelism, 8 touches, four crests of 60",
        form: |at| if at.position.is_multiple_of(2) { 60.0 } else { 0.0 },
        ..FACE
    },
    Row { name: "parallelism, 8 touches, perfect", ..FACE },
    Row {
        name: "parallelism, 3 touches at each of 8, wedge of 120",
        targets: &["ring/face-thrice"],
        form: |at| at.wave(8, 1.0, 120.0),
        contrast: true,
        ..FACE
    },
    Row {
        name: "parallelism, 3 touches at each of 8, perfect",
        targets: &["ring/face-thrice"],
        ..FACE
    },
    Row {
        name: "parallelism, 16 touches, wedge of 120",
        targets: &["ring/face-16"],
        form: |at| at.wave(16, 1.0, 120.0),
        ..FACE
    },
    Row { name: "parallelism, 16 touches, perfect", targets: &["ring/face-16"], ..FACE },
    Row {
        name: "thickness variation, 8 touches, wedge of 120",
        targets: &["ring/thickness"],
        form: |at| at.wave(8, 1.0, 120.0),
        contrast: true,
        ..FACE
    },
    Row {
        name: "flatness, 8 + 8 touches, saddle of 60",
        targets: &["ring/flat-16"],
        form: |at| at.wave(8, 2.0, 60.0),
        ..FACE
    },
    Row { name: "flatness, 8 + 8 touches, perfect", targets: &["ring/flat-16"], ..FACE },
    Row {
        name: "flatness, 8 touches, saddle of 60",
        targets: &["ring/flat-8"],
        form: |at| at.wave(8, 2.0, 60.0),
        ..FACE
    },
    Row {
        name: "squareness, 8 touches on 2 radii, 60",
        targets: &["shaft/square"],
        form: |at| at.wave(8, 1.0, 60.0) * if at.position < 8 { 0.5 } else { 1.0 },
        ..TURN
    },
    Row {
        name: "runout, 10 touches, 60",
        targets: &["shaft/turn-10"],
        form: |at| at.wave(10, 1.0, 60.0),
        ..TURN
    },
    Row { name: "runout, 24 touches, 60", form: |at| at.wave(24, 1.0, 60.0), ..TURN },
    Row { name: "runout, 24 touches, perfect", ..TURN },
    Row {
        name: "runout, 100 touches, filtered, 60",
        targets: &["shaft/turn-100"],
        form: |at| at.wave(100, 1.0, 60.0),
        ..TURN
    },
    Row { name: "runout, 100 touches, filtered, perfect", targets: &["shaft/turn-100"], ..TURN },
    Row {
        name: "bar, 4 seatings of 10 touches, 60",
        targets: &["shaft/bar"],
        form: |at| at.wave(10, 1.0, 60.0),
        ..TURN
    },
    Row {
        name: "taper, 3 stations",
        targets: &["shaft/taper"],
        form: |at| 60.0 * f64::from(at.position),
        contrast: true,
        ..FACE
    },
    Row { name: "length, 4 touches", targets: &["ring/length"], contrast: true, ..FACE },
    Row {
        name: "length, 4 touches, even walk of 60",
        targets: &["ring/length"],
        drift: |at| 60.0 * at,
        contrast: true,
        ..FACE
    },
    Row {
        name: "difference, 4 touches a ring",
        targets: &["ring/length", "other/length", "ring/pair"],
        form: |at| if at.nth == 0 { 30.0 } else { 0.0 },
        contrast: true,
        ..FACE
    },
    Row {
        name: "diameter, 2 planes of 3 angles",
        targets: &["bearing/diameter"],
        contrast: true,
        ..FACE
    },
    Row {
        name: "diameter, 2 planes of 3 angles, even walk of 60",
        targets: &["bearing/diameter"],
        drift: |at| 60.0 * at,
        contrast: true,
        ..FACE
    },
    Row {
        name: "fit of two diameters, 2 masters",
        targets: &["bearing/diameter", "seat/diameter", "made/fit"],
        form: |at| if at.nth == 0 { 30.0 } else { 0.0 },
        contrast: true,
        ..FACE
    },
    Row {
        name: "match of 3 diameters, one 60 larger",
        targets: &["bearing/diameter", "seat/diameter", "third/diameter", "made/match"],
        form: |at| if at.nth == 0 { 60.0 } else { 0.0 },
        ..FACE
    },
    Row {
        name: "face offset, 2 rounds of 4, the bearing comes back to 3",
        targets: &["bearing/offset"],
        form: |_| 20.0,
        contrast: true,
        ..FACE
    },
];

/// What came of so many draws of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Came {
    /// How often the truth lay above value + U, percent.
    pub(crate) above: f64,
    /// How often it lay below value − U, percent.
    pub(crate) below: f64,
    /// Value minus truth on average, µin.
    pub(crate) bias: f64,
    /// U on average, µin.
    pub(crate) u: f64,
}

impl Came {
    /// Whether it is held within two standard errors of so many draws: of a contrast both sides together miss
    /// 6 % at most, otherwise the unsafe side 3 %.
    pub(crate) fn holds(&self, contrast: bool, count: u32) -> bool {
        let (missed, allowed) =
            if contrast { (self.above + self.below, 6.0_f64) } else { (self.above, 3.0) };
        let error = (allowed * (100.0 - allowed) / f64::from(count)).sqrt();
        missed <= allowed + 2.0 * error
    }
}

/// Draws a row so often.
pub(crate) fn draw(row: &Row, regime: Regime, seed: u64, count: u32) -> Came {
    let mut dice = Dice::new(seed);
    let mut shop = Shop::new(&regime.gauge(), PLAN, row.targets);
    let mut exact = Shop::new(&regime.gauge(), PLAN, row.targets);
    let touches = shop.touches();
    let [mut above, mut below] = [0_u32; 2];
    let (mut bias, mut expanded) = (0.0, 0.0);
    for _ in 0..count {
        let phase_deg = dice.within(180.0);
        let height = |nth: usize, made: Made| {
            let place = Place { position: made.position, phase_deg, nth };
            let on_master = made.state == State::Master;
            if on_master { 0.0 } else { (row.form)(&place) }
        };
        let cone = |made: Made| row_size(row, made);
        let truth = exact.read(|nth, made| cone(made) + whole(height(nth, made)));
        if let Regime::Record(pairs) = regime {
            known_by_record(&mut shop, pairs, &mut dice);
        }
        let mut series = Series::new(row, regime, &touches, &mut dice);
        let verdict = shop.read(|nth, made| {
            let off = series.off(nth, made, &mut dice);
            cone(made) + whole(((height(nth, made) + off) / STEP).round() * STEP)
        });
        let (value, truth) = (verdict.value.expect("a figure"), truth.value.expect("a figure"));
        let error = (value - truth).to_f64() / MICROINCH + series.apart;
        let u = Figure::from(verdict.uncertainty.expect("a U")).to_f64() / MICROINCH;
        above += u32::from(error < -u);
        below += u32::from(error > u);
        bias += error;
        expanded += u;
    }
    let share = |times: u32| 100.0 * f64::from(times) / f64::from(count);
    let mean = |sum: f64| sum / f64::from(count);
    Came { above: share(above), below: share(below), bias: mean(bias), u: mean(expanded) }
}

/// Gives the bench a record of so many returns of this hand to position 0, and to the master.
fn known_by_record(shop: &mut Shop, pairs: u32, dice: &mut Dice) {
    let mut pool = || {
        let reading = |dice: &mut Dice, zero: f64| {
            let reading = zero + dice.normal(before_rounding(Regime::Record(pairs).scatter()));
            (reading / STEP).round() * STEP
        };
        let mut difference = || {
            let zero = dice.within(STEP / 2.0);
            Length::from_picometres(whole(reading(dice, zero) - reading(dice, zero)))
        };
        let differences: Vec<Length> = (0..pairs).map(|_| difference()).collect();
        let found = Pooled::returns(&differences, Length::from_picometres(whole(STEP)))?;
        let Pooled { s, freedom, count, drift } = found;
        Some(Pool { s, degrees: freedom.degrees()?, count, drift })
    };
    let (returns, masters) = (pool(), pool());
    shop.known_by(&Shown { by: None, lifts: None, returns, masters, seatings: Vec::new() });
}

/// The scatter of a touch before it is rounded to a step, where its readings scatter by `s`.
fn before_rounding(s: f64) -> f64 {
    (s.powi(2) - STEP * STEP / 12.0).max(0.0).sqrt()
}

/// Whether what is drawn is a size, which heat and master move as a whole.
fn sizes(row: &Row) -> bool {
    row.targets.iter().any(|target| target.ends_with("/length") || target.ends_with("/diameter"))
}

fn offset(row: &Row) -> bool {
    row.targets == ["bearing/offset"]
}

/// What a taper reads at its stations beside its form.
fn row_size(row: &Row, made: Made) -> i64 {
    let taper = row.targets == ["shaft/taper"];
    if taper { 7 * 25_400_000_000 / 24 * i64::from(made.position + 1) } else { 0 }
}

#[expect(clippy::cast_possible_truncation, reason = "a few thousand counts")]
fn whole(microinches: f64) -> i64 {
    (microinches * MICROINCH).round() as i64
}

/// What goes into the readings of one series beside the form.
struct Series<'a> {
    row: &'a Row,
    regime: Regime,
    /// Where the zero stands between two counts; set anew for each length.
    zero: BTreeMap<usize, f64>,
    /// What lies under each position of each check.
    under: BTreeMap<(usize, bool, u32), f64>,
    /// How each seating of the bar is off, along both axes.
    seatings: BTreeMap<u32, (f64, f64)>,
    /// How far the whole is off without a reading showing it: master, heat.
    apart: f64,
    /// Touches made so far at each check, and in all.
    made: Vec<(u32, u32)>,
}

impl<'a> Series<'a> {
    fn new(row: &'a Row, regime: Regime, touches: &[u32], dice: &mut Dice) -> Self {
        let pair = row.targets.contains(&"ring/pair");
        // As the plan states it, and for a pair the master cancels: 1e-6 of 2 in, 0.1 °C at 11.5e-6.
        let mut one = || {
            let heat = dice.normal(11.5e-6 * 0.1 * 2e6) + dice.normal(1e-6 * 2e6);
            heat + if pair { 0.0 } else { dice.normal(4.0) }
        };
        let first = one();
        let apart = match row.targets {
            // Of a match the largest against the nearest of the others: two of three again.
            [.., "made/fit" | "made/match"] => first - one(),
            _ if sizes(row) => first,
            _ => 0.0,
        };
        let made = touches.iter().map(|all| (0, *all)).collect();
        let (zero, under, seatings) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        Self { row, regime, zero, under, seatings, apart, made }
    }

    fn off(&mut self, nth: usize, made: Made, dice: &mut Dice) -> f64 {
        let zero = *self.zero.entry(nth).or_insert_with(|| dice.within(STEP / 2.0));
        let on_master = made.state == State::Master;
        // What lies under a ring whose length is taken is common to all its touches.
        let spot = if sizes(self.row) || offset(self.row) { 0 } else { made.position };
        let (row, regime) = (self.row, self.regime);
        let under = self.under.entry((nth, on_master, spot));
        let mut under = *under.or_insert_with(|| regime.under(dice, row));
        if row.targets == ["shaft/bar"] {
            under += self.seating(made, dice);
        }
        if offset(row) && !on_master {
            under += self.settles(made, dice);
        }
        if row.targets == ["shaft/taper"] {
            // How well the depth is set: 30 µin, the diameter by 7/24 of it.
            under += dice.normal(30.0 * 7.0 / 24.0);
        }
        // The readings of the gauge scatter by so much, rounding included.
        let lift = before_rounding(regime.scatter());
        let (done, all) = &mut self.made[nth];
        let drift = (row.drift)(f64::from(*done) / f64::from(*all - 1));
        *done += 1;
        zero + under + drift + dice.normal(lift)
    }

    /// How the bearing settles in each round, one standard deviation 3.
    fn settles(&mut self, made: Made, dice: &mut Dice) -> f64 {
        let round = made.position / 4;
        self.seatings.entry(round).or_insert_with(|| (dice.normal(3.0), 0.0)).0
    }

    fn seating(&mut self, made: Made, dice: &mut Dice) -> f64 {
        let seating = made.position / 10;
        let (x, y) =
            *self.seatings.entry(seating).or_insert_with(|| (dice.normal(4.0), dice.normal(4.0)));
        let angle = TAU * f64::from(made.position % 10) / 10.0;
        x * angle.cos() + y * angle.sin()
    }
}
