//! A length, against a master where one is touched, brought to 20 °C.

mod warm;

pub use self::warm::Warm;

use judgement::{Heat, Known, LengthShares, Limits, Part, Reason};
use num_rational::Ratio;
use quantity::{Figure, Length};

use self::warm::{Allowed, temperatures_of};
use super::check::{Check, Holding, Reads};
use super::figures::Figures;
use super::judged::{Judged, SaidOf, Saying, number};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{
    About, At, Keys, NamedCheck, ReadCheck, degrees, described, expansion, limits, not_negative,
    proof, touched,
};
use super::layout::Layout;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge, touch_again,
    was_ground,
};

/// The keys of a size that is measured.
pub(super) const SIZE_KEYS: &[About] = &described! {
    "judge" = "`\"every-touch\"`: the worst touch is judged, not the mean", "`\"mean\"`";
    "temperatures" = "the entries, in °C, of part and master: `[\"PART/CHECK\", \"PART/CHECK\"]`",
        "it is judged as measured, and the verdict says \"Not at 20 °C\"";
    "material" = "what the part is made of: `\"steel\"`, `\"cast-iron\"`, `\"aluminium\"`, "
        "`\"bronze\"`, `\"chrome-carbide\"`, `\"tungsten-carbide\"`, `\"silicon-nitride\"`; or "
        "`expansion`", "steel";
    "expansion" = "of the part, per °C: `11.5e-6`", "that of its material";
    "master_material" = "what the master is made of, or `master_expansion`", "steel";
    "master_expansion" = "of the master, per °C", "that of its material";
    "temperature_between" = "how unlike part and master may be, °C, standard",
        "1, with `temperatures` 0.5, assumed";
    "off_20" = "how far from 20 °C both may be, °C; not beside `temperatures`", "2, assumed";
    "expansion_uncertainty" = "how unlike the expansions of part and master may be, per °C",
        "`1e-6`, assumed";
};

/// Which value of a length is judged, and how it is brought to 20 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// The value that is compared with the limits.
    pub judge: SizeJudged,
    /// The entries that hold the temperatures of part and master, in degrees Celsius; without them
    /// the length is as measured.
    pub temperatures: Option<[CheckAt; 2]>,
    /// Expansion of part and master, per degree Celsius.
    pub expansions: [Ratio<i128>; 2],
    /// Whether the plan says what the part is made of; otherwise it counts as steel.
    pub material_stated: bool,
    /// Standard uncertainty of the size of the master; `None` where the plan does not state it.
    pub master_u: Option<Length>,
    /// Standard uncertainty of the difference of the temperatures of part and master, degrees Celsius;
    /// `None` where the plan does not state it.
    pub between_c: Option<Ratio<i128>>,
    /// How far both may be from 20 °C, degrees Celsius; `None` where the plan does not state it.
    pub off_20_c: Option<Ratio<i128>>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius; `None` where the
    /// plan does not state it.
    pub expansion_u: Option<Ratio<i128>>,
}

quantity::worded! {
    /// What of a length is held against the limits.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum SizeJudged {
        /// The mean of its touches.
        #[default]
        Mean = "mean",
        /// The touch nearest to a limit, or furthest past one.
        EveryTouch = "every-touch",
    }
}

/// Expansion of steel per degree Celsius: 11.5e-6, textbook values run from 9.9e-6 to 13.0e-6.
#[must_use]
pub fn steel() -> Ratio<i128> {
    Ratio::new(115, 10_000_000)
}

impl Default for Size {
    fn default() -> Self {
        Self {
            judge: SizeJudged::Mean,
            temperatures: None,
            expansions: [steel(), steel()],
            material_stated: false,
            master_u: None,
            between_c: None,
            off_20_c: None,
            expansion_u: None,
        }
    }
}

impl Size {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let goes = (Goes::Round, Reads::Touches);
        let setting = setting::read(keys, &Self::TRAITS, goes, Usual::FACE);
        let size = size_of(keys);
        touched(keys, &Self::TRAITS, setting, limits::band(keys, Self::TRAITS.word), Some(size))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "length",
        about: "Mean distance of the touched face, against a master where one is touched.",
        named: "length",
        keys: &[SIZE_KEYS],
        by: By::Touches,
        step: None,
        held: None,
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: true,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Anvil => None,
            Holding::Supports => Some(proof::ON_SUPPORTS),
            Holding::Turning => Some(proof::AT_REST),
        },
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Mean,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: touch_again,
    };
}

impl Kind for Size {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Circles
    }

    fn own(&self) -> Own<'_> {
        Own {
            asks: None,
            names: self.temperatures.into_iter().flatten().collect(),
            made_of: Vec::new(),
            together: Together::Nothing,
            arrangement: None,
            size: Some(self),
            master_u: self.master_u,
            thermometer: None,
            log: None,
        }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        judged(of, self, known)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// The mean of sizes, at 20 °C, with its uncertainty and what is said of heat.
pub(super) fn judged(of: &Series<'_>, size: &Size, known: &dyn Beside) -> Judged {
    let check = of.check;
    let mut figures = Figures {
        max_minus_min: of.max_minus_min(),
        mean: of.mean(),
        closure: of.closure.map(Figure::from),
        zero_walk: of.zero_walk.map(Figure::from),
        ..Figures::default()
    };
    let warm = temperatures_of(size, known);
    let judged = judged_touches(of, size, &warm);
    figures.judged = Some(judged.by);
    let Some(measured) = judged.measured else {
        return Judged { limits: check.limits, figures, ..Judged::default() };
    };
    let stand = known.stand(&judged.positions);
    figures.zero = stand.zero;
    figures.to_20_c = warm.off(check, measured);
    figures.as_read = figures.to_20_c.filter(|off| *off != Figure::ZERO).map(|_| measured);
    let value = measured - figures.to_20_c.unwrap_or(Figure::ZERO);
    let mastered = stand.zero.is_some();
    let made_of = LengthShares {
        reading: of.reading,
        touches: of.averaged,
        masters: if mastered { of.tries } else { 0 },
        master: mastered.then(|| check.master_u()),
        zero: stand.doubt,
        heat: heat(check, size, &warm, measured),
    };
    let budget = of.with_returns(made_of.budget());
    let mut reasons = Vec::new();
    if let Some(limits) = check.limits {
        let moved = stand.walk.withholds(value, budget.expanded().uncertainty, limits);
        reasons.extend(moved.then_some(Reason::ZeroMoved));
    }
    let heat_allowed = Allowed::of(check.limits, check.whole_length(measured), check.traps.heat);
    let much = heat_allowed.is_exceeded_by(figures.to_20_c);
    reasons.extend(much.then_some(Reason::Warm));
    let because = warm.because(&heat_allowed, figures.to_20_c, check.unit).filter(|_| much);
    let sayings = because.map(|text| Saying { of: SaidOf::Because(Reason::Warm), text });
    let mut says = warm.says(known, figures.to_20_c, check.unit);
    says.extend(warm.ready(&heat_allowed).filter(|_| !much));
    says.extend(assumed(check, size, &warm, mastered));
    Judged {
        value: Some(value),
        budget: Some(budget),
        limits: check.limits,
        figures,
        reasons,
        says,
        sayings: sayings.into_iter().collect(),
        ..Judged::default()
    }
}

/// The judged value of a length, as measured, and the positions it is made of.
struct JudgedTouches {
    by: SizeJudged,
    measured: Option<Figure>,
    positions: Vec<u32>,
}

fn judged_touches(of: &Series<'_>, size: &Size, warm: &Warm) -> JudgedTouches {
    let every = size.judge == SizeJudged::EveryTouch;
    match of.check.limits.filter(|_| every) {
        Some(limits) => {
            let nearest = nearest_to_a_limit(of, limits, warm);
            JudgedTouches {
                by: SizeJudged::EveryTouch,
                measured: nearest.map(|(_, measured)| measured),
                positions: nearest.map(|(position, _)| position).into_iter().collect(),
            }
        }
        None => JudgedTouches {
            by: SizeJudged::Mean,
            measured: of.mean(),
            positions: of.means().iter().map(|(position, _)| *position).collect(),
        },
    }
}

/// The touch nearest to a limit, or furthest past one, with its position. It is compared at 20 °C where
/// that is known, and returned as measured; of two alike, the first.
fn nearest_to_a_limit(of: &Series<'_>, limits: Limits, warm: &Warm) -> Option<(u32, Figure)> {
    let room = |(_, measured): &(u32, Figure)| {
        let value = *measured - warm.off(of.check, *measured).unwrap_or(Figure::ZERO);
        match limits {
            Limits::Max(max) => Figure::from(max) - value,
            Limits::Min(min) => value - Figure::from(min),
            Limits::Band { min, max } => (Figure::from(max) - value).min(value - Figure::from(min)),
        }
    };
    of.means().into_iter().min_by_key(room)
}

/// What nobody states of heat: 1 °C between part and master, half of that where both temperatures
/// are written down; 2 °C off 20 °C; 1e-6 per °C (common practice, no source).
fn between_assumed(warm: &Warm) -> Ratio<i128> {
    if matches!(warm, Warm::Known(..)) { Ratio::new(1, 2) } else { Ratio::from_integer(1) }
}

fn heat(check: &Check, size: &Size, warm: &Warm, measured: Figure) -> Heat {
    let or = |stated: Option<Ratio<i128>>, assumed: Ratio<i128>| {
        stated.map_or((assumed, Known::Assumed), |stated| (stated, Known::Stated))
    };
    let [part, master] = size.expansions;
    let (off_20_c, unlike) = match warm {
        // The expansions are uncertain over the largest of these distances.
        Warm::Known([part, master], _) => {
            let twenty = Ratio::from_integer(20);
            let apart = [*part - twenty, *master - twenty, *part - *master];
            let farthest = apart.into_iter().fold(Ratio::ZERO, |most, one| most.max(one.max(-one)));
            ((farthest, Known::Stated), Ratio::ZERO)
        }
        Warm::NotAsked | Warm::Missing | Warm::Unread(..) => {
            (or(size.off_20_c, Ratio::from_integer(2)), part - master)
        }
    };
    Heat {
        length: check.whole_length(measured),
        expansion: part,
        expansion_u: or(size.expansion_u, Ratio::new(1, 1_000_000)),
        unlike,
        between_c: or(size.between_c, between_assumed(warm)),
        off_20_c,
    }
}

/// The sentence on what is assumed in the uncertainty of a length, other than the gauge's share.
fn assumed(check: &Check, size: &Size, warm: &Warm, mastered: bool) -> Option<String> {
    let known = matches!(warm, Warm::Known(..));
    let master = mastered && check.master_u().known == Known::Assumed;
    let mut assumed = Vec::new();
    if master {
        let known = words::size(judgement::ASSUMED_MASTER, check.unit);
        assumed.push(format!("master to {known} {}", check.unit.symbol()));
    }
    if size.between_c.is_none() {
        let between = number(between_assumed(warm));
        assumed.push(format!("{between} °C between part and master"));
    }
    if size.off_20_c.is_none() && !known {
        assumed.push("2 °C off 20 °C".to_owned());
    }
    if size.expansion_u.is_none() && size.off_20_c != Some(Ratio::ZERO) {
        assumed.push("1e-6 per °C".to_owned());
    }
    (!assumed.is_empty()).then(|| format!("Assumed: {}.", assumed.join(", ")))
}

/// What is asked of a size by checks that are made of it.
impl Check {
    /// The full length on which heat acts: readings may be deviations from a size.
    #[must_use]
    pub fn whole_length(&self, measured: Figure) -> Length {
        let own = i64::try_from(measured.abs().ceil()).unwrap_or(i64::MAX);
        let drawn = [self.nominal, self.master_size];
        drawn.into_iter().flatten().fold(Length::from_picometres(own), Length::max)
    }

    /// The uncertainty of its master: what the register says of it, otherwise the plan.
    #[must_use]
    pub fn master_u(&self) -> Part {
        let known = self.master_known.or_else(|| self.measures.own().master_u);
        known.map_or(Part::assumed(judgement::ASSUMED_MASTER), Part::stated)
    }

    /// What heat does to a size of it by itself, with known temperatures or without; nothing where its kind
    /// is not brought to 20 °C, as a distance of some micrometres.
    #[must_use]
    pub fn heat(&self, warm: &Warm, measured: Figure) -> Heat {
        self.measures.own().size.map_or(Heat::NONE, |size| heat(self, size, warm, measured))
    }

    /// Its known temperatures.
    #[must_use]
    pub fn warm(&self, known: &dyn Beside) -> Warm {
        self.measures.own().size.map_or(Warm::NotAsked, |size| temperatures_of(size, known))
    }
}

/// Reads the keys that only a size has.
pub(super) fn size_of(keys: &impl Keys) -> Size {
    let judge = keys
        .one_of("judge", &SizeJudged::ALL.map(|one| (one.text(), one)))
        .map_or(SizeJudged::Mean, |judge| judge.value);
    let temperatures = temperatures(keys);
    let part = of_material(keys, ["material", "expansion"]);
    let master = of_material(keys, ["master_material", "master_expansion"]);
    if keys.has("temperatures") && keys.has("off_20") {
        let text = "off_20 changes nothing beside temperatures, which say it";
        keys.warning(keys.line_of("off_20"), text, "take one of them out");
    }
    Size {
        judge,
        temperatures,
        expansions: [part, master].map(|known| known.unwrap_or_else(steel)),
        material_stated: part.is_some(),
        master_u: master_u(keys),
        between_c: degrees(keys, "temperature_between"),
        off_20_c: degrees(keys, "off_20"),
        expansion_u: expansion(keys, "expansion_uncertainty"),
    }
}

/// More is a slip of the pen, or the size itself in place of its uncertainty: 0.01 in (common practice, no
/// source).
const MOST_OF_A_MASTER: Length = Length::from_picometres(254_000_000);

/// Standard uncertainty of the size of the master.
pub(super) fn master_u(keys: &impl Keys) -> Option<Length> {
    let found = not_negative(keys, "master_uncertainty")?;
    if found.value.length > MOST_OF_A_MASTER {
        let text = format!("master_uncertainty is {}", found.value);
        let hint = "write the standard uncertainty of its size, half of the certificate's U: \
                    \"0.000002 in\", say";
        keys.error(found.line, text, hint);
    }
    Some(found.value.length)
}

/// Metals with their expansion, 10⁻⁷ per degree Celsius: textbook values, from memory but for steel (9.9 to
/// 13.0e-6, typically 11.5e-6), chrome carbide and tungsten carbide, which makers of gauge blocks state.
const MATERIALS: [(&str, i128); 7] = [
    ("steel", 115),
    ("cast-iron", 105),
    ("aluminium", 230),
    ("bronze", 170),
    ("chrome-carbide", 84),
    ("tungsten-carbide", 40),
    ("silicon-nitride", 32),
];

/// The expansion per degree Celsius by the name of a material, or as it is written; `None` where neither is.
fn of_material(keys: &impl Keys, [by_name, by_number]: [&str; 2]) -> Option<Ratio<i128>> {
    let named = keys.one_of(by_name, &MATERIALS);
    let number = expansion(keys, by_number);
    if let Some(at) = named.as_ref().filter(|_| keys.has(by_number)) {
        let text = format!("both {by_name} and {by_number} are given");
        keys.error(at.line, text, "write one of them");
    }
    number.or_else(|| named.map(|at| Ratio::new(at.value, 10_000_000)))
}

/// The entries of the temperatures of part and master.
fn temperatures(keys: &impl Keys) -> Option<[CheckAt; 2]> {
    let written = keys.texts("temperatures")?;
    let [part, master] = written.as_slice() else {
        let text = "temperatures should be two entries: of the part, and of the master";
        let hint = "write temperatures = [\"PART/CHECK\", \"PART/CHECK\"]; the same one twice where \
                    both lie on one plate";
        keys.error(keys.line_of("temperatures"), text, hint);
        return None;
    };
    let one = |name| {
        let named = keys.check(name, "entry")?;
        in_celsius(keys, name, &named);
        Some(named.at)
    };
    let (part, master) = (one(part), one(master));
    Some([part?, master?])
}

fn in_celsius(keys: &impl Keys, name: &At<String>, named: &NamedCheck) {
    if let Some(unit) =
        named.unit.as_ref().filter(|unit| judgement::celsius(&format!("20 {unit}")).is_none())
    {
        let text = format!("\"{}\" is recorded in {unit}, and a temperature is in C", name.value);
        keys.error(name.line, text, "write unit = \"C\" at that entry");
    }
}
