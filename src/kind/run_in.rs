//! The run-in of a spindle: steps of speed, temperatures over time, and how far it warms above the room.

mod course;
mod keys;
mod log;

use judgement::{Budget, Known, Part, Reason, Share};
use quantity::{Figure, Length};
use words::Thousandth;

pub use self::course::{Course, Place, Speed};
pub use self::log::{Live, Log, Noted, STANDS, SpeedBegan};

use self::log::Gap;
use super::figures::{Figures, RunGap, RunInFigures, RunStep};
use super::judged::{Judged, SaidOf, Saying, number, rounded};
use super::keys::{MUST, described};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::step::Step;
use super::traits::{
    Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Traits, Wedge, was_ground,
};

/// The kind: a log is kept by its course, and judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunIn(pub Course);

/// What nobody states of a thermometer on a spindle: 0.5 °C (common practice, no source).
const ASSUMED: Length = Length::from_picometres(500_000_000);

impl RunIn {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl super::keys::Keys) -> super::keys::ReadCheck {
        keys::read(keys)
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "run-in",
        about: "How far a spindle warms above the room while it runs in, step by step.",
        named: "run-in",
        keys: &[&described! {
            "steps" = "`[{ speed = 1000, minutes = 20 }, { speed = 2000, minutes = 20 }]`, in "
                "their order", MUST;
            "steps.speed" = "turns a minute", MUST;
            "steps.minutes" = "how long", MUST;
            "places" = "where it is warm: `[{ name = \"front\", thermometer = \"probe\" }, { "
                "name = \"rear\" }]`", MUST;
            "places.name" = "its name; `room` is one by itself", MUST;
            "places.thermometer" = "the gauge that is heard there",
                "it is keyed in: `tenths record spindle/run-in rear=31.5 room=21.0`";
            "room_thermometer" = "the gauge that hears the room", "it is keyed in";
            "max_rise" = "the limit above the room: `\"25 C\"`", MUST;
            "max" = "from here on a person is called: `\"60 C\"`", "";
            "max_rate" = "and from this rise in a minute on: `\"2 C\"`", "";
            "steady" = "`{ change = \"0.5 C\", minutes = 15 }`: what may still change at its "
                "end, in how long", "";
            "steady.change" = "degrees", MUST;
            "steady.minutes" = "minutes", MUST;
            "uncertainty" = "standard uncertainty of a thermometer: `\"0.3 C\"`",
                "the simple rule decides";
            "gap" = "minutes without a value that are a gap",
                "`2` of a sensor, `15` of what is keyed in";
            "frozen" = "minutes of the same digits, although the speed changed, after which a "
                "sensor is frozen", "`10`";
            "ceiling" = "more is not believed", "`\"120 C\"`";
        }],
        by: By::Log,
        step: Some(Step::RunIn),
        held: Some("running, steps of speed"),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |_| None,
        spoiled: Spoiled::ByAny,
        bar: Bar::None,
        sum: Sum::None,
        drawing: Drawing::Curve,
        other_metal: was_ground,
        once_more: |typed| format!("run it in again: `tenths run-in start {typed}`"),
    };
}

impl Kind for RunIn {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        Own { log: Some(&self.0), ..Own::NOTHING }
    }

    fn judge(&self, of: &Series<'_>, known: &dyn Beside) -> Judged {
        known.log().map_or_else(Judged::default, |log| self.0.judged(of, &log))
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// `31.4 °C`.
#[must_use]
pub fn degrees(value: Length) -> String {
    degrees_of(Figure::from(value))
}

fn degrees_of(value: Figure) -> String {
    format!(
        "{} °C",
        number(num_rational::Ratio::new(value.numerator(), value.denominator() * 1_000_000_000))
    )
}

/// Minutes, for people: whole where it is long, seconds where it is short.
#[must_use]
pub fn minutes(ms: u64) -> String {
    if ms < 59_500 {
        return format!("{} s", (ms + 500) / 1000);
    }
    let tenths = (ms + 3_000) / 6_000;
    if tenths >= 100 || tenths.is_multiple_of(10) {
        format!("{} min", (tenths + 5) / 10)
    } else {
        format!("{}.{} min", tenths / 10, tenths % 10)
    }
}

fn exact_minutes(ms: u64) -> Thousandth {
    #[expect(clippy::cast_precision_loss, reason = "minutes that are shown")]
    rounded(ms as f64 / 60_000.0)
}

impl Course {
    fn judged(&self, of: &Series<'_>, log: &Log) -> Judged {
        let mut judged = Judged { limits: of.check.limits, ..Judged::default() };
        let known = self.u.map_or(Known::Assumed, |_| Known::Stated);
        let part = Part { known, ..Part::stated(self.u.unwrap_or(ASSUMED)) };
        // Of the place and of the room.
        let budget = Budget::default().with(Share::Reading, part, 2, 1);
        let expanded = budget.expanded().uncertainty;
        let top = log.highest_rise(self);
        let room = top.map(|top| top.room);
        let most = of.check.limits.zip(room).map(|(limits, room)| {
            limits.half_width() + Figure::from(room) - Figure::from(expanded)
        });
        let gaps = log.gaps(self);
        let hides: Vec<bool> = gaps.iter().map(|gap| log.hides(self, gap, most)).collect();
        judged.figures =
            Figures { run_in: Some(self.figures(log, &gaps, &hides)), ..Figures::default() };
        let mut because = |reason: Reason, text: String| {
            if !judged.reasons.contains(&reason) {
                judged.reasons.push(reason);
            }
            judged.sayings.push(Saying { of: SaidOf::Because(reason), text });
        };
        match top {
            Some(top) => {
                judged.value = Some(Figure::from(top.value) - Figure::from(top.room));
                judged.says.push(format!(
                    "Warmest: {}, {} after {}, the room at {}.",
                    self.place(top.place),
                    degrees(top.value),
                    minutes(top.after_ms),
                    degrees(top.room)
                ));
                judged.budget = Some(budget);
            }
            None => because(
                Reason::RoomUnknown,
                "No temperature of the spindle together with one of the room was written down."
                    .to_owned(),
            ),
        }
        for text in log.cut_short(self) {
            because(Reason::CutShort, text);
        }
        for gap in gaps.iter().zip(&hides).filter(|(_, hides)| **hides).map(|(gap, _)| gap) {
            because(Reason::GapInLog, gap.told(self));
        }
        for text in log.frozen(self) {
            because(Reason::SensorFrozen, text);
        }
        match log.unsteady(self) {
            Some(text) => because(Reason::NotSteady, text),
            None => judged.says.extend(self.steady.map(|(change, ms)| {
                format!("Steady: no more than {} of change in {}.", degrees(change), minutes(ms))
            })),
        }
        let harmless = gaps.iter().zip(&hides).filter(|(_, hides)| !**hides);
        judged
            .says
            .extend(harmless.map(|(gap, _)| format!("{} It hides nothing.", gap.told(self))));
        if self.u.is_none() {
            judged.says.push("Assumed: each thermometer to 0.5 °C.".to_owned());
        }
        if log.by_plan {
            judged.says.push(
                "When the steps began was not said: they are taken from the plan.".to_owned(),
            );
        }
        judged
    }

    fn figures(&self, log: &Log, gaps: &[Gap], hides: &[bool]) -> RunInFigures {
        let top = log.highest_rise(self);
        let step = |(index, speed): (usize, &Speed)| {
            let (from, to) = log.ran(index)?;
            Some(RunStep {
                speed_rpm: speed.rpm,
                asked_min: exact_minutes(speed.ms),
                ran_min: exact_minutes(to.saturating_sub(from)),
                at_the_end: log.warmest_at(self, to).map(Figure::from),
            })
        };
        let gap = |(gap, hides): (&Gap, &bool)| RunGap {
            place: self.place(gap.place).to_owned(),
            from_min: exact_minutes(gap.from_ms),
            minutes: exact_minutes(gap.to_ms - gap.from_ms),
            hides: *hides,
        };
        RunInFigures {
            highest: top.map(|top| Figure::from(top.value)),
            place: top.map(|top| self.place(top.place).to_owned()).unwrap_or_default(),
            after_min: top.map(|top| exact_minutes(top.after_ms)),
            room: top.map(|top| Figure::from(top.room)),
            steady: self.steady.is_some() && log.unsteady(self).is_none(),
            readings: u32::try_from(log.readings.len()).unwrap_or(u32::MAX),
            steps: self.steps.iter().enumerate().filter_map(step).collect(),
            gaps: gaps.iter().zip(hides).map(gap).collect(),
        }
    }
}
