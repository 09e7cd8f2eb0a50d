//! One turn of a surface under a fixed stylus.

use judgement::{Budget, Part, Reason, TurnShares};
use quantity::{Figure, Length};
use words::{Thousandth, size};

use super::check::{Check, Holding, Reads, Swept};
use super::circle::{BY_HAND, Circle, Total, UNEVEN, stated_or_nothing};
use super::face::saddle_factor;
use super::figures::Figures;
use super::judged::{Judged, rounded_up};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, ReadCheck, bar_name, described, limits, proof, touched, uncertainty};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::taps::Taps;
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

/// The further standard uncertainties of a turn, beside that of the gauge; zero where the cause is not
/// present.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Turn {
    /// Standard uncertainty of the stand.
    pub stand: Length,
    /// Standard uncertainty of one seating, per axis.
    pub seating: Length,
    /// Standard uncertainty of the total reading of the bar itself.
    pub bar: Length,
}

impl Turn {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let usual = Usual { holding: Some(Holding::Turning), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, reads(keys), usual);
        let [stand, seating, bar] = ["stand", "seating", "bar"].map(|key| uncertainty(keys, key));
        let judged = limits::upper(keys, Self::TRAITS.word);
        let bar_name = bar_name(keys);
        let turn = Some(Self { stand, seating, bar });
        let (check, lines) = touched(keys, &Self::TRAITS, setting, judged, turn)?;
        Some((Check { bar_name, ..check }, lines))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "runout",
        about: "Total reading of one turn, or of several circles of it.",
        named: "runout of one turn",
        keys: &[&described! {
            "reads" = "`\"total\"`: only the total reading is keyed in, and there are no "
                "`positions`; `\"sweep\"`: the turn is swept in one go", "`\"touches\"`";
            "marks" = "how many marks are tapped on the way of a sweep; with `1` no high side is "
                "told", "`4`";
            "stand" = "standard uncertainty of the stand, a length",
                "nothing, and the verdict says \"assumed\"";
            "seating" = "standard uncertainty of one seating, per axis, a length", "nothing";
            "bar" = "standard uncertainty of the bar's own total reading, a length", "nothing";
            "bar_name" = "in place of `bar`: the bar's name in `tenths register`, which knows "
                "its run-out", "";
        }],
        by: By::Touches,
        step: None,
        held: None,
        round: "circle",
        goes_round: true,
        turns: true,
        sizes: false,
        between: Some("an oval"),
        setting: Setting::OffsetOfCircle,
        wedge: Wedge::Untold,
        cannot_prove: proof::only_turning,
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Circles,
        drawing: Drawing::Circles,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };
}

impl Kind for Turn {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Circles
    }

    fn own(&self) -> Own<'_> {
        Own::NOTHING
    }

    fn judge(&self, of: &Series<'_>, _known: &dyn Beside) -> Judged {
        runout(of, self)
    }

    fn so_far(&self, of: &Series<'_>) -> Option<Figure> {
        out_so_far(of)
    }
}

/// Samples in a swept turn (from memory of the trade).
const USUAL_SAMPLES: usize = 100;

fn runout(of: &Series<'_>, turn: &Turn) -> Judged {
    let check = of.check;
    if check.swept().is_some() {
        return swept(of, turn);
    }
    let s = of.touch_spread();
    let budget = Some(doubt(of, turn));
    let closure = of.closure.map(Figure::from);
    let mut judged = Judged { budget, limits: check.limits, ..Judged::default() };
    judged.figures.closure = closure;
    if of.is_total() {
        judged.value = of.keyed_total();
        judged.figures.max_minus_min = judged.value;
        return judged;
    }
    let circles: Vec<Circle> =
        (0..check.circles()).map(|ring| Circle::of(of, |p| check.circle_of(p) == ring)).collect();
    let Some((worst, total)) = largest(&circles) else { return judged };
    judged.value = Some(total.value);
    judged.reads_high = worst.reads_high(of.noise(), total.filtered);
    judged.figures = Figures { closure, ..worst.figures_of(check, s, total.filtered) };
    judged.figures.unfiltered = total.filtered.then(|| worst.total()).flatten();
    let whole = u32::try_from(worst.touches()) == Ok(check.on_a_circle());
    if circles.len() == 1 && whole && worst.touches() <= BY_HAND {
        judged.figures.saddle_factor = saddle_factor(check);
    }
    if circles.len() > 1 {
        judged.says.extend(worst.radius(check).map(|radius| {
            let radius = size(radius, check.unit);
            format!("Each circle is judged by itself; the largest is the one at radius {radius}.")
        }));
    }
    if of.watched.is_some() {
        judged.figures.forget_high_side();
        judged.figures.axis_deg = None;
        judged.tell_watched_high_side(of);
        return judged;
    }
    judged.says.extend(worst.says(check, &judged.figures, total));
    judged
}

/// The largest total reading of a circle so far. A streamed turn is judged after its low-pass, which can
/// make it smaller again, so nothing is said before the end.
fn out_so_far(of: &Series<'_>) -> Option<Figure> {
    let check = of.check;
    if of.is_total() {
        return of.keyed_total();
    }
    if usize::try_from(check.on_a_circle()).is_ok_and(|touches| touches > BY_HAND) {
        return None;
    }
    let circle = |ring| Circle::of(of, |p| check.circle_of(p) == ring);
    (0..check.circles()).filter_map(|ring| circle(ring).total()).max()
}

/// A turn that passed under the stylus in one go.
fn swept(of: &Series<'_>, turn: &Turn) -> Judged {
    let check = of.check;
    let s = of.touch_spread();
    let budget = Some(doubt(of, turn));
    let mut judged = Judged { budget, limits: check.limits, ..Judged::default() };
    judged.figures.closure = of.closure.map(Figure::from);
    let samples = Circle::of(of, |_| true);
    let Some(total) = samples.judged() else { return judged };
    judged.value = Some(total.value);
    judged.reads_high = samples.reads_high(of.noise(), total.filtered);
    if !total.filtered {
        judged.reasons.push(Reason::GapInTurn);
    }
    let closure = judged.figures.closure;
    let raw = total.filtered.then(|| samples.total()).flatten();
    judged.figures =
        Figures { closure, unfiltered: raw, ..samples.figures_of(check, s, total.filtered) };
    let knows_angles = check.swept().is_some_and(Swept::knows_angles);
    let tap_u = of.taps.map(Taps::uncertainty_deg).filter(|_| knows_angles);
    let figures = &mut judged.figures;
    match tap_u {
        // Both are for one standard deviation; the figure needs two.
        Some(tap_u) => {
            let stood = of.taps.map_or(0.0, |taps| samples.moved_by_standing(check, taps));
            let both = |known: Thousandth| {
                rounded_up((2.0 * (known.get() / 2.0).hypot(tap_u) + stood).min(180.0))
            };
            figures.known_again(both);
        }
        None => forget_angles(figures),
    }
    judged.says.extend(of.taps.and_then(|taps| says_uneven(check, taps)));
    let figures = &judged.figures;
    judged.says.extend(samples.says(check, figures, total));
    if !knows_angles {
        let text = "The speed was taken as constant: no high side and no waves are told.";
        judged.says.push(text.to_owned());
    }
    if samples.touches() < USUAL_SAMPLES {
        let (many, usual) = (samples.touches(), USUAL_SAMPLES);
        judged
            .says
            .push(format!("{many} samples in the turn; {usual} and more are usual: turn slower."));
    }
    judged
}

/// The sentence that the hand did not turn evenly: it may have stood still or turned back.
fn says_uneven(check: &Check, taps: &Taps) -> Option<String> {
    let (part, times) = taps.slowest().filter(|(_, times)| *times > UNEVEN)?;
    let mark = |tap: usize| check.mark_deg(u32::try_from(tap).ok()?);
    let (from, to) = (mark(part)?, mark(part + 1)?);
    Some(format!(
        "From {from} to {to} it took {times:.1} times as long as the quickest part: where the hand stood still or turned back is not known, and the high side is known so much less. Turn on without a stop."
    ))
}

/// The uncertainty of a total reading: k·√(2·s² + stand² + (2·seating)² + bar²). The plate has no share in
/// a turn.
fn doubt(of: &Series<'_>, turn: &Turn) -> Budget {
    let made_of = TurnShares {
        touch: of.noise_part(),
        stand: stated_or_nothing(turn.stand),
        seating: Part::stated(turn.seating),
        bar: Part::stated(of.check.known_bar(turn.bar)),
    };
    of.with_returns(made_of.budget())
}

/// Removes what depends on angles: without taps during the turn they cannot be trusted.
fn forget_angles(figures: &mut Figures) {
    figures.forget_high_side();
    figures.axis_deg = None;
    figures.eccentricity = None;
    figures.out_of_round = None;
    figures.harmonics = Vec::new();
}

/// The circle with the largest total reading; the first where two are equal.
fn largest(circles: &[Circle]) -> Option<(&Circle, Total)> {
    let totals = circles.iter().filter_map(|circle| Some((circle, circle.judged()?)));
    totals.reduce(|one, other| if other.1.value > one.1.value { other } else { one })
}

/// The most marks in one turn: more than a hand can tap.
const MOST_MARKS: i64 = 36;

/// Reads how a turn is read.
fn reads(keys: &impl Keys) -> (Goes, Reads) {
    // A wrong word is a finding, and the other keys of a total are read all the same.
    let written = keys.has("reads");
    let word = keys.one_of("reads", &[("total", false), ("sweep", true)]);
    let sweeps = word.is_some_and(|word| word.value);
    if written {
        let (text, hint) = if sweeps {
            ("a swept turn has no positions: every sample is one", "write marks = 4, say, instead")
        } else {
            ("one total reading has no positions", "take positions out, or reads = \"total\"")
        };
        for key in ["positions", "passes"].into_iter().filter(|key| keys.has(key)) {
            if key == "positions" || sweeps {
                keys.error(keys.line_of(key), text, hint);
            }
        }
    }
    let marks = if sweeps { keys.integer("marks", 1..=MOST_MARKS) } else { None };
    match (written, sweeps) {
        (false, _) => (Goes::Round, Reads::Touches),
        (true, false) => (Goes::Once, Reads::Total),
        (true, true) => {
            let marks = marks.map_or(4, |marks| u32::try_from(marks.value).unwrap_or(4));
            if marks == 1 {
                let text = "with one mark the speed of the hand is taken as constant: no high side \
                            is told";
                keys.warning(keys.line_of("marks"), text, "marks = 4 tells it");
            }
            (Goes::InOneGo, Reads::Sweep(Swept { marks, angles_deg: Vec::new() }))
        }
    }
}
