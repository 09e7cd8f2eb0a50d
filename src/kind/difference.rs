//! The difference of two lengths and its effect.

use num_rational::Ratio;
use quantity::{Figure, Length, Unit};

use super::judged::Judged;
use super::keys::{
    Keys, MUST, ReadCheck, decimal, degrees, described, expansion, limits, not_negative, positive,
    untouched,
};
use super::layout::Layout;
use super::length::steel;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::step::Step;
use super::traits::{Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge};

/// Two lengths and the effect of their difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The length checks: the first minus the second is judged.
    pub of: [CheckAt; 2],
    /// How the bearings sit between which the rings lie. With it, the first length is that of the ring
    /// between the outer rings.
    pub arrangement: Option<Arrangement>,
    /// The preload of each bearing, newtons, and its deflection at that load.
    pub preload: Option<(f64, Length)>,
    /// The entries with the face offsets of the bearings on each side. The required difference is the mean
    /// of the left ones plus the mean of the right ones.
    pub offsets: Option<[Vec<CheckAt>; 2]>,
    /// Standard uncertainty of one offset; `None` where the plan does not state it.
    pub offset_u: Option<Length>,
    /// Standard uncertainty of the difference of the two temperatures, degrees Celsius.
    pub between_c: Ratio<i128>,
    /// How far the rings may be from 20 °C, degrees Celsius.
    pub off_20_c: Ratio<i128>,
    /// Expansion of the rings, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius.
    pub expansion_u: Ratio<i128>,
    /// Which of these the plan does not state, so that they are assumed.
    pub assumed: NotStated,
}

/// Which of the temperature data of a difference nobody stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NotStated {
    /// The difference of the temperatures of the rings.
    pub between: bool,
    /// Their distance from 20 °C.
    pub off_20: bool,
    /// The difference of their expansions.
    pub expansion: bool,
}

impl NotStated {
    /// Nothing is stated.
    pub const ALL: Self = Self { between: true, off_20: true, expansion: true };
}

quantity::worded! {
    /// How two bearings or sets sit against each other.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Arrangement {
        /// Back to back: a longer outer ring adds preload.
        BackToBack = "back-to-back",
        /// Face to face: a longer outer ring takes preload off.
        FaceToFace = "face-to-face",
        /// Tandem: the length of the rings changes no preload, they share the load when equal.
        Tandem = "tandem",
    }
}

impl Pair {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let judged = limits::either_side(keys);
        let nominal = limits::nominal(keys, judged.as_ref());
        untouched(keys, &Self::TRAITS, (judged, nominal), pair_of(keys))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "difference",
        about: "One mean length minus another.",
        named: "difference of two lengths",
        keys: &[&described! {
            "of" = "the two lengths: `[\"outer-spacer/length\", \"inner-spacer/length\"]`; the "
                "first minus the second", MUST;
            "tolerance" = "either side of `nominal`", "must, or `min` and `max`";
            "nominal" = "the difference that is wanted", "0";
            "arrangement" = "`\"back-to-back\"`, `\"face-to-face\"` or `\"tandem\"`; then the "
                "first is the ring between the outer rings", "";
            "preload" = "of one bearing, from its maker's table: `\"200 N\"`", "";
            "deflection" = "of one bearing at that load: `\"4 um\"`", "";
            "offsets_left" = "the checks of face offset, or the entries, of the bearings on the "
                "left; with `offsets_right` they say what difference is required", "";
            "offsets_right" = "those on the right", "";
            "offset_uncertainty" = "standard uncertainty of one offset: `\"0.2 um\"`",
                "they count as exact, and the verdict says \"assumed\"";
            "temperature_between" = "how unlike the two rings may be, °C, standard uncertainty",
                "`0.2`, assumed";
            "off_20" = "how far from 20 °C they may be, °C", "`1.0`, assumed";
            "expansion" = "per °C", "steel, `11.5e-6`";
            "expansion_uncertainty" = "how unlike their expansions may be, per °C", "`1e-6`, assumed";
        }],
        by: By::Lengths,
        step: Some(Step::Pair),
        held: Some("from two measured lengths"),
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
        sum: Sum::Minus,
        drawing: Drawing::None,
        other_metal: |target, _| format!("a ring of {target} was ground or replaced since"),
        once_more: |_| {
            "it is worked out from two lengths: measure one of them again first".to_owned()
        },
    };
}

impl Kind for Pair {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        Own {
            asks: None,
            names: self
                .of
                .into_iter()
                .chain(self.offsets.iter().flatten().flatten().copied())
                .collect(),
            made_of: self.of.to_vec(),
            together: Together::OneSitting,
            arrangement: self.arrangement,
            size: None,
            master_u: None,
            thermometer: None,
            log: None,
        }
    }

    fn judge(&self, _of: &Series<'_>, known: &dyn Beside) -> Judged {
        known.difference(self)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// Reads the keys that only a difference has.
fn pair_of(keys: &impl Keys) -> Option<Pair> {
    let arrangement = keys
        .one_of("arrangement", &Arrangement::ALL.map(|one| (one.text(), one)))
        .map(|at| at.value);
    let preload = preload(keys);
    let offsets = offsets(keys);
    let offset_u = not_negative(keys, "offset_uncertainty");
    let between_c = degrees(keys, "temperature_between");
    let off_20_c = degrees(keys, "off_20");
    let expansion_u = expansion(keys, "expansion_uncertainty");
    let own_expansion = expansion(keys, "expansion").unwrap_or_else(steel);
    master_is_theirs(keys);
    Some(Pair {
        of: halves(keys)?,
        arrangement,
        preload,
        offsets,
        offset_u: offset_u.map(|u| u.value.length),
        // 0.2 degrees between the rings and 1 from 20, and 1e-6 between their expansions: common
        // practice, no source.
        between_c: between_c.unwrap_or_else(|| Ratio::new(1, 5)),
        off_20_c: off_20_c.unwrap_or_else(|| Ratio::from(1)),
        expansion: own_expansion,
        expansion_u: expansion_u.unwrap_or_else(|| Ratio::new(1, 1_000_000)),
        assumed: NotStated {
            between: between_c.is_none(),
            off_20: off_20_c.is_none(),
            expansion: expansion_u.is_none(),
        },
    })
}

/// The two lengths.
fn halves(keys: &impl Keys) -> Option<[CheckAt; 2]> {
    let hint = "write of = [\"outer-spacer/length\", \"inner-spacer/length\"], say";
    keys.must_have("of", hint);
    let written = keys.texts("of")?;
    let line = keys.line_of("of");
    let [first, second] = written.as_slice() else {
        keys.error(line, "a difference is taken of two lengths", hint);
        return None;
    };
    let one = |name| keys.check(name, "length").map(|named| named.at);
    let (first, second) = (one(first), one(second));
    let both = [first?, second?];
    if both[0] == both[1] {
        keys.error(line, "a difference is taken of two different lengths", hint);
    }
    Some(both)
}

/// Reads the preload of each bearing, newtons, and its deflection at that load.
fn preload(keys: &impl Keys) -> Option<(f64, Length)> {
    let force = keys.parsed_literal("preload", newtons);
    let deflection = positive(keys, "deflection");
    for (key, other) in [("preload", "deflection"), ("deflection", "preload")] {
        if keys.has(key) && !keys.has(other) {
            let text = format!("{key} is given without {other}");
            let hint = "write preload = \"200 N\" and deflection = \"4 um\", say: one bearing at \
                        its nominal preload, from the maker's keys";
            keys.error(keys.line_of(key), text, hint);
        }
    }
    Some((force?.value, deflection?.value.length))
}

/// A force above zero: `200 N`, `0.2 kN`; a bare number is in newtons.
pub(crate) fn newtons(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (number, factor) = match (text.strip_suffix("kN"), text.strip_suffix('N')) {
        (Some(number), _) => (number, 1000.0),
        (None, Some(number)) => (number, 1.0),
        (None, None) => (text, 1.0),
    };
    decimal(number.trim_end())
        .map_err(|_| format!("\"{text}\" is not a force such as \"200 N\""))?;
    let force = number.trim_end().parse::<f64>().unwrap_or(0.0) * factor;
    if force > 0.0 { Ok(force) } else { Err(format!("\"{text}\" is not above zero")) }
}

/// Reads the entries of the face offsets on each side.
fn offsets(keys: &impl Keys) -> Option<[Vec<CheckAt>; 2]> {
    let both = ["offsets_left", "offsets_right"];
    let given = both.map(|key| keys.has(key));
    let sides = both.map(|key| offsets_of(keys, key));
    if let Some((missing, _)) = both.into_iter().zip(given).find(|(_, given)| !given)
        && given.contains(&true)
    {
        let there = if missing == both[0] { both[1] } else { both[0] };
        let text = format!("{there} is given without {missing}");
        keys.error(keys.line_of(there), text, "the bearings on both sides of the rings count");
    }
    if given == [true, true] {
        if !keys.has("arrangement") {
            let text = "offsets are given without the arrangement of the bearings";
            let hint = "write arrangement = \"back-to-back\", say, the outer ring first";
            keys.error(keys.line_of(both[0]), text, hint);
        }
        if keys.has("nominal") {
            let text = "the offsets say what difference is required, not nominal";
            let hint = "the limits move along with it; take nominal out, or the offsets";
            keys.warning(keys.line_of("nominal"), text, hint);
        }
    }
    let [left, right] = sides;
    (given == [true, true]).then_some([left?, right?])
}

fn offsets_of(keys: &impl Keys, key: &str) -> Option<Vec<CheckAt>> {
    let written = keys.texts(key)?;
    if written.is_empty() {
        let text = format!("{key} should be one entry or more");
        keys.error(keys.line_of(key), text, "write [\"bearing-1/offset\"], say");
        return None;
    }
    let one = |name| {
        let named = keys.check_of(name, &["face-offset", "entry"])?;
        if let Some(unit) = named.unit.as_ref().filter(|unit| Unit::parse(unit).is_none()) {
            let text =
                format!("\"{}\" is recorded in {unit}, and an offset is a length", name.value);
            keys.error(name.line, text, "write unit = \"um\" at that entry");
        }
        Some(named.at)
    };
    let found: Vec<_> = written.iter().map(one).collect();
    found.into_iter().collect()
}

/// Warns of keys of a master: the lengths touch it, the difference itself touches nothing.
fn master_is_theirs(keys: &impl Keys) {
    for key in
        ["master", "master_size", "master_uncertainty"].into_iter().filter(|key| keys.has(key))
    {
        let text = format!("a difference touches nothing: {key} belongs to its two lengths");
        keys.warning(keys.line_of(key), text, "write it there");
    }
}
