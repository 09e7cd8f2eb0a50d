//! A set of parts that have to be alike: how far their sizes lie apart, and which one is the odd one.

use std::cmp::Reverse;

use judgement::{Budget, Limits};
use quantity::{Figure, Unit};
use words::fine;

use super::figures::{Figures, MemberFigures, SetFigures};
use super::judged::{Judged, Saying};
use super::keys::{Keys, MUST, NamedCheck, ReadCheck, described, limits, untouched};
use super::layout::Layout;
use super::other::Other;
use super::plan::CheckAt;
use super::series::{Beside, Series};
use super::traits::{Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge};

/// What may be compared.
const SIZES: [&str; 3] = ["diameter", "length", "face-offset"];

/// More are taken for a slip of the pen.
const MOST: usize = 32;

/// Parts that have to be alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Set {
    /// The sizes that are compared, at least two.
    pub of: Vec<CheckAt>,
}

impl Set {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let judged = limits::upper(keys, Self::TRAITS.word);
        let of = members(keys).map(|of| Self { of });
        untouched(keys, &Self::TRAITS, (judged, None), of)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "match",
        about: "The largest minus the smallest of several sizes.",
        named: "match of a set",
        keys: &[&described! {
            "of" = "two to 32 diameters, lengths or face offsets: `[\"bearing-1/bore\", "
                "\"bearing-2/bore\"]`", MUST;
            "tolerance" = "what the largest may exceed the smallest by", MUST;
        }],
        by: By::Lengths,
        step: None,
        held: Some("from several measured sizes"),
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
        other_metal: |target, _| format!("a part of the set {target} was ground or replaced since"),
        once_more: |_| "it is worked out from sizes: measure one of them again first".to_owned(),
    };
}

impl Kind for Set {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        Own {
            names: self.of.clone(),
            made_of: self.of.clone(),
            together: Together::Nothing,
            ..Own::NOTHING
        }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        let tolerance = of.check.limits.map(Limits::half_width);
        let all: Result<Vec<_>, _> = self.of.iter().map(|at| known.other(*at, tolerance)).collect();
        match all {
            Ok(all) => judged(&all, of),
            Err(why) => Judged { says: vec![why], rests_on: Some(Vec::new()), ..Judged::default() },
        }
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

fn judged(all: &[Other<'_>], of: &Series<'_>) -> Judged {
    let (limits, unit) = (of.check.limits, of.check.unit);
    let ends = all.iter().max_by_key(|one| one.size()).zip(all.iter().min_by_key(|one| one.size()));
    let Some((most, least)) = ends else { return Judged::default() };
    let value = most.size() - least.size();
    let common = all.iter().all(|one| one.on_the_master_of(most));
    let budget = two(all, common);
    let u = budget.expanded().uncertainty;
    let mut sayings: Vec<Saying> = Vec::new();
    let mut reasons = Vec::new();
    for one in all {
        let of_it = one.withholds(value, u, limits);
        sayings.extend(one.why(&of_it));
        reasons.extend(of_it);
    }
    reasons.sort_unstable();
    reasons.dedup();
    let odd = odd_one(all, u.into());
    let says = vec![told(odd.as_ref(), (value, u.into()), unit)];
    let members =
        all.iter().map(|one| MemberFigures { name: one.name.clone(), size: one.size() }).collect();
    let figures = SetFigures {
        members,
        odd: odd.as_ref().map(|odd| odd.name.to_owned()),
        without_it: odd.as_ref().map(|odd| odd.without_it),
    };
    Judged {
        value: Some(value),
        budget: Some(budget),
        limits,
        figures: Figures { set: Some(figures), ..Figures::default() },
        reasons,
        says,
        sayings,
        cautions: all.iter().flat_map(Other::told_cautions).collect(),
        rests_on: Some(all.iter().flat_map(|one| one.attempts.clone()).collect()),
        ..Judged::default()
    }
}

/// The uncertainty of a difference of two of them; of all, the two with the largest, since any two may be
/// the ends.
fn two(all: &[Other<'_>], common: bool) -> Budget {
    let mut by_size: Vec<&Other<'_>> = all.iter().collect();
    by_size.sort_by_key(|one| Reverse(one.enter(Budget::default(), common).square()));
    by_size.into_iter().take(2).fold(Budget::default(), |budget, one| one.enter(budget, common))
}

/// The one that stands off from all others.
struct Odd<'a> {
    name: &'a str,
    /// Whether it is the largest.
    larger: bool,
    /// How far it lies from the nearest of the others.
    off: Figure,
    /// What the others differ by.
    without_it: Figure,
}

/// The largest or the smallest of at least three, where it stands further from the next one than the other
/// end does from its own next one, and by more than what the two gaps are known to.
fn odd_one<'a>(all: &'a [Other<'_>], u: Figure) -> Option<Odd<'a>> {
    let mut by_size: Vec<(Figure, &str)> =
        all.iter().map(|one| (one.size(), one.name.as_str())).collect();
    by_size.sort_unstable();
    let [low, second, .., last_but_one, high] = &by_size[..] else {
        return odd_of_three(&by_size, u);
    };
    stands_off([*low, *second], [*last_but_one, *high], u)
}

fn odd_of_three<'a>(by_size: &[(Figure, &'a str)], u: Figure) -> Option<Odd<'a>> {
    let [low, middle, high] = by_size else { return None };
    stands_off([*low, *middle], [*middle, *high], u)
}

fn stands_off<'a>(
    [low, second]: [(Figure, &'a str); 2],
    [last_but_one, high]: [(Figure, &'a str); 2],
    u: Figure,
) -> Option<Odd<'a>> {
    let (below, above) = (second.0 - low.0, high.0 - last_but_one.0);
    if (below - above).abs() <= u {
        return None;
    }
    Some(if above > below {
        let without_it = last_but_one.0 - low.0;
        Odd { name: high.1, larger: true, off: above, without_it }
    } else {
        Odd { name: low.1, larger: false, off: below, without_it: high.0 - second.0 }
    })
}

fn told(odd: Option<&Odd<'_>>, (value, u): (Figure, Figure), unit: Unit) -> String {
    let Some(odd) = odd else {
        return if value <= u {
            "They are alike within what is known of them.".to_owned()
        } else {
            "None stands off from all others.".to_owned()
        };
    };
    let than = if odd.larger { "larger" } else { "smaller" };
    format!(
        "{} is the odd one: {} {unit} {than} than the next; the others differ by {}.",
        odd.name,
        fine(odd.off, unit),
        fine(odd.without_it, unit)
    )
}

/// The sizes that are compared.
fn members(keys: &impl Keys) -> Option<Vec<CheckAt>> {
    let hint = "write of = [\"bearing-1/bore\", \"bearing-2/bore\"], say";
    keys.must_have("of", hint);
    let written = keys.texts("of")?;
    let line = keys.line_of("of");
    if !(2..=MOST).contains(&written.len()) {
        keys.error(line, format!("a set is 2 to {MOST} sizes"), hint);
        return None;
    }
    let named: Option<Vec<NamedCheck>> =
        written.iter().map(|name| keys.check_of(name, &SIZES)).collect();
    let named = named?;
    if let Some(other) = named.iter().find(|one| one.measures != named[0].measures) {
        let text = format!("a set of {} has a {} in it", named[0].measures, other.measures);
        keys.error(line, text, "compare like with like; write a second check for the others");
        return None;
    }
    let of: Vec<CheckAt> = named.into_iter().map(|one| one.at).collect();
    let twice = of.iter().enumerate().any(|(index, at)| of[..index].contains(at));
    if twice {
        keys.error(line, "a check is there twice", "each of the set once");
    }
    (!twice).then_some(of)
}
