//! How far a spindle moves along its axis between a push and a pull under a stated load.

use judgement::{Budget, Named, Part, Reason, Repeats, Share, Shown};
use quantity::{Figure, Length};

use super::check::{Holding, Reads, Surface};
use super::figures::{EachWay, Figures};
use super::judged::{Judged, SaidOf, Saying};
use super::keys::setting::{self, Goes, Usual};
use super::keys::{Keys, MUST, ReadCheck, decimal, described, limits, touched};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::step::Step;
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, shaft_was_ground,
    touch_again,
};

/// End float: as many pushes as pulls, in turn, each read at rest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndFloat {
    /// The load of a push and of a pull, with its unit, as the plan states it.
    pub load: String,
}

/// The two ways, in the order they are made.
const WAYS: [&str; 2] = ["push", "pull"];
/// All of a way.
const EACH: [&str; 2] = ["pushes", "pulls"];

/// Fewer pushes than this do not show whether the spindle comes back (common practice, no source).
const FEWEST: i64 = 3;
/// More average nothing that matters.
const MOST: i64 = 10;

/// The units of a load.
const OF_A_LOAD: [&str; 7] = ["N", "kN", "daN", "lbf", "lb", "kgf", "kg"];

impl EndFloat {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let usual = Usual { holding: Some(Holding::Supports), ..Usual::FACE };
        let setting = setting::read(keys, &Self::TRAITS, (Goes::Along, Reads::Touches), usual);
        let times = keys.integer("times", FEWEST..=MOST).map_or(FEWEST, |times| times.value);
        let times = u32::try_from(times).unwrap_or(3);
        let setting = setting.map(|setting| setting::Setting { positions: 2 * times, ..setting });
        let judged = limits::at_most_or_between(keys, "an end float");
        let load = load(keys).map(|load| Self { load });
        touched(keys, &Self::TRAITS, setting, judged, load)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "end-float",
        about: "How far a spindle moves along its axis between a push and a pull.",
        named: "end float",
        keys: &[&described! {
            "load" = "what the spindle is pushed and pulled with: `\"50 N\"`", MUST;
            "times" = "how often each, in turn, 3 to 10; there are no `positions`", "`3`";
            "max" = "the most it may move", MUST;
            "min" = "the least", "";
        }],
        step: Some(Step::Final),
        by: By::Touches,
        held: Some("at rest, pushed and pulled along the axis"),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Offset,
        wedge: Wedge::Untold,
        cannot_prove: |setup| match setup {
            Holding::Plate | Holding::Anvil | Holding::Supports => None,
            Holding::Turning => Some((
                "an end float is read on a spindle at rest",
                "leave setup out; nothing turns while it is pushed and pulled",
            )),
        },
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::Ways,
        drawing: Drawing::None,
        other_metal: shaft_was_ground,
        once_more: touch_again,
    };
}

impl Kind for EndFloat {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Ways(&WAYS)
    }

    fn own(&self) -> Own<'_> {
        Own::NOTHING
    }

    fn judge(&self, of: &Series<'_>, _known: &dyn Beside) -> Judged {
        judged(of, &self.load)
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// The readings of one way.
struct Way {
    readings: Vec<Figure>,
}

impl Way {
    fn of(means: &[(u32, Figure)], way: u32) -> Self {
        let of_it = means.iter().filter(|(position, _)| position % 2 == way);
        Self { readings: of_it.map(|(_, reading)| *reading).collect() }
    }

    fn count(&self) -> u32 {
        u32::try_from(self.readings.len()).unwrap_or(u32::MAX)
    }

    fn mean(&self) -> Option<Figure> {
        let sum = self.readings.iter().fold(Figure::ZERO, |sum, one| sum + *one);
        (self.count() > 0).then(|| sum / i64::from(self.count()))
    }

    /// Highest minus lowest.
    fn apart(&self) -> Figure {
        let most = self.readings.iter().max();
        most.zip(self.readings.iter().min()).map_or(Figure::ZERO, |(most, least)| *most - *least)
    }

    /// To the nearest picometre, for the scatter.
    fn lengths(&self) -> Vec<Length> {
        let nearest = |figure: &Figure| {
            i64::try_from(-(-*figure - Figure::new(1, 2)).ceil()).unwrap_or(i64::MAX)
        };
        self.readings.iter().map(nearest).map(Length::from_picometres).collect()
    }
}

fn judged(of: &Series<'_>, load: &str) -> Judged {
    let mut judged = Judged { limits: of.check.limits, ..Judged::default() };
    let means = of.means();
    let ways = [Way::of(&means, 0), Way::of(&means, 1)];
    let Some((pushes, pulls)) = ways[0].mean().zip(ways[1].mean()) else { return judged };
    let apart = [ways[0].apart(), ways[1].apart()];
    judged.figures = Figures {
        each_way: Some(EachWay { load: load.to_owned(), pushes, pulls, apart }),
        ..Figures::default()
    };
    // From behind the face a pull lets the plunger out.
    let sign = if of.check.surface == Surface::FarFace { -1 } else { 1 };
    let float = (pulls - pushes) * sign;
    let budget = budget(of, &ways);
    let known = Figure::from(budget.expanded().uncertainty);
    judged.value = Some(float);
    judged.budget = Some(budget);
    let told = |figure: Figure| ::words::fine(figure, of.check.unit);
    judged.says.push(format!(
        "Under {load}: pushes come back within {}, pulls within {}.",
        told(apart[0]),
        told(apart[1])
    ));
    let mut because = |reason: Reason, text: String| {
        judged.reasons.push(reason);
        judged.sayings.push(Saying { of: SaidOf::Because(reason), text });
    };
    let away = (0..2).filter(|&way| {
        let limit = limit_of(of, ways[way].count());
        apart[way] > Figure::from(limit)
    });
    let away: Vec<String> =
        away.map(|way| format!("the {} lie {} apart", EACH[way], told(apart[way]))).collect();
    if !away.is_empty() {
        let text = format!(
            "The spindle does not come back: {}. Does the indicator stand firmly, is each reading \
             taken at rest, and are the bearings seated and dry? Push and pull again.",
            away.join(" and ")
        );
        because(Reason::DoesNotComeBack, text);
    }
    if float < -known {
        let text = "The pulls read below the pushes. Were push and pull exchanged, or is the face \
                    touched from behind (touch = \"far-face\")?";
        because(Reason::CannotProve, text.to_owned());
    } else if ways.iter().any(|way| i64::from(way.count()) < FEWEST) {
        let text = "Fewer than three pushes or pulls are left: whether the spindle comes back is not shown.";
        because(Reason::CannotProve, text.to_owned());
    }
    judged
}

/// How far apart so many readings of one way may lie.
fn limit_of(of: &Series<'_>, count: u32) -> Length {
    let scatter = of.noise_part().part;
    let limit = Repeats { scatter, resolution: of.resolution, times: of.check.traps.spread };
    limit.limit(usize::try_from(count).unwrap_or(usize::MAX))
}

/// The shares of its uncertainty: of the mean of each way the scatter of a reading, or that of these very
/// readings about their means where it is larger; and twice what readings do not average.
fn budget(of: &Series<'_>, ways: &[Way; 2]) -> Budget {
    let stated = of.scatter();
    let shown = ways.iter().map(|way| Shown::of_spot(&way.lengths()));
    let own = shown.fold(Shown::default(), Shown::and).scatter();
    let one = own.filter(|own| own.square > stated.part.square);
    let budget = ways.iter().fold(Budget::default(), |budget, way| {
        let count = way.count().max(1);
        let named = match one {
            // The last place hides as much, however many are averaged.
            Some(own) => {
                let square = own.square.div_ceil(u128::from(count));
                let part = Part { square: square.max(of.reading.last_place()), ..own };
                Named { share: Share::Repeatability, part, touches: count, of_one: own.square }
            }
            None => of.reading.mean(of.averaged.saturating_mul(count)),
        };
        budget.adding(named, 1, 1)
    });
    of.with_returns(budget.adding(of.reading.remains(), 2, 1))
}

/// The load, a number with its unit.
fn load(keys: &impl Keys) -> Option<String> {
    let hint = "write load = \"50 N\", say: what the spindle is pushed and pulled with";
    keys.must_have("load", hint);
    let written = keys.string("load")?;
    let text = written.value.trim();
    let end = text.find(|c: char| !matches!(c, '0'..='9' | '.')).unwrap_or(text.len());
    let (number, unit) = (&text[..end], text[end..].trim());
    let force = decimal(number).is_ok_and(|number| number > 0.into());
    if !force || !OF_A_LOAD.contains(&unit) {
        let text = format!("load is \"{text}\", which is no load above zero with its unit");
        keys.error(written.line, text, format!("{hint}; its units: {}", OF_A_LOAD.join(", ")));
        return None;
    }
    Some(format!("{number} {unit}"))
}
