//! A judged figure beside its limits.

use std::cmp::Ordering;

use judgement::Limits;
use quantity::{Figure, Unit};

/// The finest place that a figure is printed with: finer than a thousandth of a picometre in every unit.
pub(super) const FINEST: u32 = 14;

/// A judged figure, its expanded uncertainty and its limits, exact or as in the record's lines.
///
/// Its digits show what was decided: comparing the printed figure with the printed limit, or with the
/// printed limit plus or minus the printed uncertainty, gives the same result as the exact ones.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    value: Option<Figure>,
    expanded: Option<Figure>,
    min: Option<Figure>,
    max: Option<Figure>,
    floor: Option<Figure>,
    signed: bool,
    /// The unit its limits are stated in.
    unit: Unit,
}

/// A judged figure for people; a part that does not exist is `None`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told {
    /// The figure, or `less than …` below its noise floor.
    pub value: Option<String>,
    /// The figure itself, also below its noise floor.
    pub number: Option<String>,
    /// The limit, or `… to …`.
    pub limit: Option<String>,
    /// The smallest and the largest value allowed, or one of them; empty without limits.
    pub limits: Vec<String>,
    /// Whether the only limit is the smallest value.
    pub at_least: bool,
    /// The expanded uncertainty, rounded up.
    pub uncertainty: Option<String>,
}

impl Told {
    /// The same with the unit behind figure, limit and uncertainty.
    #[must_use]
    pub fn with_symbol(self, symbol: &str) -> Self {
        let with = |text: Option<String>| text.map(|text| format!("{text} {symbol}"));
        let (value, limit) = (with(self.value), with(self.limit));
        Self { value, limit, uncertainty: with(self.uncertainty), ..self }
    }

    /// Figure, limit and uncertainty as cells of a table, with a dash for a missing one.
    #[must_use]
    pub fn cells(self) -> [String; 3] {
        [self.value, self.limit, self.uncertainty]
            .map(|text| text.unwrap_or_else(|| "–".to_owned()))
    }
}

/// On which side of a limit a figure lies, and whether it does so with the guard band against it and with
/// the guard band for it.
type Side = (Ordering, Option<(bool, bool)>);

impl Held {
    /// A figure alone; `unit` is that of its limits.
    #[must_use]
    pub fn of(value: impl Into<Option<Figure>>, unit: Unit) -> Self {
        let value = value.into();
        Self { value, expanded: None, min: None, max: None, floor: None, signed: false, unit }
    }

    /// The unit its limits are stated in.
    #[must_use]
    pub const fn unit(&self) -> Unit {
        self.unit
    }

    /// Sets its limits.
    #[must_use]
    pub fn against(self, limits: impl Into<Option<Limits>>) -> Self {
        match limits.into() {
            None => self,
            Some(Limits::Max(max)) => self.between(None, Some(Figure::from(max))),
            Some(Limits::Min(min)) => self.between(Some(Figure::from(min)), None),
            Some(Limits::Band { min, max }) => {
                self.between(Some(Figure::from(min)), Some(Figure::from(max)))
            }
        }
    }

    /// Sets a smallest and a largest figure as limits. A figure that may lie on both sides of zero is
    /// printed with its sign.
    #[must_use]
    pub fn between(self, min: Option<Figure>, max: Option<Figure>) -> Self {
        let signed = self.signed || min.is_some_and(|min| min < Figure::ZERO);
        Self { min, max, signed, ..self }
    }

    /// Sets its expanded uncertainty.
    #[must_use]
    pub fn known_within(self, expanded: impl Into<Option<Figure>>) -> Self {
        Self { expanded: expanded.into(), ..self }
    }

    /// Sets the figure that a perfect part would show.
    #[must_use]
    pub fn above_noise(self, floor: impl Into<Option<Figure>>) -> Self {
        Self { floor: floor.into(), ..self }
    }

    /// Makes it print its sign, whatever the limits are.
    #[must_use]
    pub fn signed(self, signed: bool) -> Self {
        Self { signed: self.signed || signed, ..self }
    }

    /// The figures as in the record's lines, in the unit of the limits: the value rounded half to even at
    /// the places shown for that unit, the uncertainty rounded up at its own places, both with more places
    /// where the rounded ones would decide otherwise.
    #[must_use]
    pub fn recorded(&self) -> Self {
        let own = self.unit;
        let up_to_u = (own.shown_places()..=own.uncertainty_places())
            .map(|places| (places, own.uncertainty_places()));
        let finer = (own.uncertainty_places() + 1..=FINEST).map(|places| (places, places));
        self.rounded(own, up_to_u.chain(finer)).shown
    }

    /// The figures with all digits that are known, for a script: to a thousandth of a picometre. Where a
    /// limit has endless digits in this unit, a figure is rounded to the side it is on.
    #[must_use]
    pub fn known(&self) -> Self {
        let places = self.unit.known_places();
        let all = (places..=FINEST.max(places)).map(|places| (places, places));
        self.rounded(self.unit, all).shown
    }

    /// The value in the unit of the limits, as in the record's lines.
    #[must_use]
    pub fn value_text(&self) -> Option<String> {
        let places = self.unit.shown_places();
        self.value.map(|value| exact_text(value, self.unit, places))
    }

    /// The expanded uncertainty in the unit of the limits, as in the record's lines.
    #[must_use]
    pub fn uncertainty_text(&self) -> Option<String> {
        self.expanded.map(|expanded| expanded.shown_up_at(self.unit, FINEST))
    }

    /// The smallest and the largest value allowed, in the unit of the limits, as in the record's lines.
    #[must_use]
    pub fn limit_texts(&self) -> [Option<String>; 2] {
        let text = |limit: Figure| exact_text(limit, self.unit, self.unit.shown_places());
        [self.min.map(text), self.max.map(text)]
    }

    /// The figures for people, in `unit`: the value with one digit more than its limit, the uncertainty
    /// with two more; for a size, the value up to the first digit of its uncertainty. There are more digits
    /// where fewer would decide otherwise than the exact figures.
    ///
    /// They are made from [`Held::recorded`], so that a person who knows only the record's lines gets the
    /// same digits.
    #[must_use]
    pub fn told(&self, unit: Unit) -> Told {
        self.recorded().spoken(unit)
    }

    /// The same for figures that come from the record's lines.
    #[must_use]
    pub fn spoken(&self, unit: Unit) -> Told {
        let unit = self.unit.shown_in(unit);
        let start = self.first_places(unit);
        let places = (start..=FINEST)
            .flat_map(|places| (start..=places).map(move |other| (places, other + 1)));
        let found = self.rounded(unit, places);
        let limits: Vec<String> = [found.shown.min, found.shown.max]
            .into_iter()
            .flatten()
            .map(|limit| exact_text(limit, unit, FINEST))
            .collect();
        let at_least = found.shown.min.is_some() && found.shown.max.is_none();
        let number = found.shown.value.map(|shown| {
            let sign = if self.signed && shown > Figure::ZERO { "+" } else { "" };
            format!("{sign}{}", shown.fixed(unit, found.places))
        });
        Told {
            value: self.too_quiet(unit, &found).or_else(|| number.clone()),
            number,
            limit: (!limits.is_empty()).then(|| {
                let least = if at_least { "at least " } else { "" };
                format!("{least}{}", limits.join(" to "))
            }),
            limits,
            at_least,
            uncertainty: self.expanded.map(|u| u.shown_up_at(unit, found.uncertainty_places)),
        }
    }

    /// `less than …`, for a figure below the noise floor: no number is claimed there, unless the floor
    /// itself would be outside the limit or on another side of the guard band.
    fn too_quiet(&self, unit: Unit, found: &Rounded) -> Option<String> {
        let floor = self.floor.filter(|floor| self.value < Some(*floor) && !self.signed)?;
        let text = self.value.map(|_| floor.shown_up_at(unit, found.uncertainty_places))?;
        let shown = Self { value: Figure::parse(&text, unit), ..found.shown.clone() };
        let inside = self.sides().into_iter().flatten().all(|(side, _)| side.is_le());
        (inside && shown.sides() == self.sides()).then(|| format!("less than {text}"))
    }

    /// The fewest places its value is printed with.
    fn first_places(&self, unit: Unit) -> u32 {
        let limits: Vec<Figure> = [self.min, self.max].into_iter().flatten().collect();
        let Some(most) = limits.iter().map(|limit| limit_places(*limit, unit)).max() else {
            // Without a limit all its digits are shown: they say how fine it is.
            return self.value.map_or(0, |value| places_of(&value.shown(unit)));
        };
        match self.expanded {
            // The limits of a size are much wider than its uncertainty, and the difference of two sizes
            // needs the further digits.
            Some(known) if limits.len() == 2 => (most + 1).max(first_place(known, unit)),
            Some(_) | None => most + 1,
        }
    }

    /// Rounded with the first of these places (of the value, of the uncertainty) that decide as the exact
    /// figures do.
    fn rounded(&self, unit: Unit, places: impl Iterator<Item = (u32, u32)>) -> Rounded {
        let sides = self.sides();
        let mut last = None;
        for (places, uncertainty_places) in places {
            let shown = self.at(unit, (places, uncertainty_places), Way::Nearest);
            if shown.sides() == sides {
                return Rounded { shown, places, uncertainty_places };
            }
            last = Some((places, uncertainty_places));
        }
        // A figure on a limit with endless digits in this unit is rounded to the side it is on.
        let (places, uncertainty_places) = last.unwrap_or((FINEST, FINEST));
        let at = |way| self.at(unit, (places, places), way);
        let ways = [Way::Down, Way::Up, Way::Below, Way::Above];
        let shown = ways.into_iter().map(at).find(|shown| shown.sides() == sides);
        if let Some(shown) = shown {
            return Rounded { shown, places, uncertainty_places: places };
        }
        let shown = self.at(unit, (places, uncertainty_places), Way::Nearest);
        Rounded { shown, places, uncertainty_places }
    }

    /// The whole, printed with this many places. A limit keeps its own digits; one with endless digits in
    /// this unit has at least as many places as the value.
    fn at(&self, unit: Unit, (places, uncertainty_places): (u32, u32), way: Way) -> Self {
        let down = |value: Figure| -(-value).rounded_up_at(unit, places);
        let up = |value: Figure| value.rounded_up_at(unit, places);
        let step = || Figure::new(unit.picometres().into(), 10_i128.pow(places));
        let value = |value: Figure| match way {
            Way::Nearest => value.rounded_at(unit, places),
            Way::Down => down(value),
            Way::Up => up(value),
            Way::Below => down(value) - step(),
            Way::Above => up(value) + step(),
        };
        let limit = |limit: Figure| match ends_at(limit, unit) {
            Some(_) => limit,
            None => limit.rounded_at(unit, places.max(unit.shown_places())),
        };
        Self {
            value: self.value.map(value),
            expanded: self.expanded.map(|u| u.rounded_up_at(unit, uncertainty_places)),
            min: self.min.map(limit),
            max: self.max.map(limit),
            ..self.clone()
        }
    }

    /// On which side of each limit the value lies.
    fn sides(&self) -> [Option<Side>; 2] {
        let above = |limit: Figure, sign: i64| {
            let value = (self.value? - limit) * sign;
            let guard = self.expanded.map(|u| (value <= -u, value <= u));
            Some((value.cmp(&Figure::ZERO), guard))
        };
        [self.min.and_then(|min| above(min, -1)), self.max.and_then(|max| above(max, 1))]
    }
}

/// A figure rounded, and the places it was rounded at.
struct Rounded {
    shown: Held,
    places: u32,
    uncertainty_places: u32,
}

#[derive(Clone, Copy)]
enum Way {
    Nearest,
    Down,
    Up,
    /// One step of the last place lower: a limit with endless digits may itself be rounded past the figure.
    Below,
    Above,
}

/// The decimal place of the first digit that is not zero, within the places shown for the unit.
pub(super) fn first_place(figure: Figure, unit: Unit) -> u32 {
    let most = unit.uncertainty_places();
    let shown =
        |places: &u32| figure.fixed(unit, *places).contains(|digit| ('1'..='9').contains(&digit));
    (0..most).find(shown).unwrap_or(0)
}

/// The decimal places a limit is written with, at least one; for a limit with endless digits in this unit,
/// two digits of it.
fn limit_places(limit: Figure, unit: Unit) -> u32 {
    ends_at(limit, unit).unwrap_or_else(|| first_place(limit, unit) + 1).max(1)
}

/// The decimal place at which a figure ends, where it ends within the places of an uncertainty.
fn ends_at(figure: Figure, unit: Unit) -> Option<u32> {
    (0..=unit.uncertainty_places()).find(|places| figure.rounded_at(unit, *places) == figure)
}

/// A figure whose digits end, with all of them and without zeros behind; otherwise rounded half to even at
/// `places`.
fn exact_text(figure: Figure, unit: Unit, places: u32) -> String {
    let full = figure.trimmed_at(unit, FINEST);
    if Figure::parse(&full, unit) == Some(figure) { full } else { figure.trimmed_at(unit, places) }
}

fn places_of(text: &str) -> u32 {
    let places = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    u32::try_from(places).unwrap_or(0)
}
