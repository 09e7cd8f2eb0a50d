//! The sentences about the proof of a gauge.

use ::words::{fine, fine_beside, fine_up, fine_with_doubt, size};
use gauge::Sign;
use judgement::{Chart, Fault, LIFTS, good_for, unseen_angle_deg};
use quantity::{Figure, Length, Name, Unit};

use crate::fact::row::{Charted, ProofBegan, ProofEnding, ProofRow, ProofShows, Proved, Unproven};
use crate::setup::GaugeSetup;
use crate::state::proofs::{ProofTouch, chart_of_steps};
use crate::words::typed;

/// Why a gauge is not proven, as a sentence that stays true: it stands beside verdicts.
#[must_use]
pub fn unproven(why: Unproven, gauge: &Name) -> String {
    match why {
        Unproven::Never => format!("{gauge} was never proved."),
        Unproven::Failed => format!("The last proof of {gauge} failed."),
        Unproven::OffChart => format!("{gauge} left the limits of its chart at its last proof."),
        Unproven::SetUpAnew => format!("{gauge} was set up differently since its last proof."),
        Unproven::TooOld => format!("The last proof of {gauge} was too long ago."),
        Unproven::OtherSerial => {
            format!("{gauge} has one serial number in bench.toml and another in the register.")
        }
    }
}

/// The same for a person who can do something about it.
#[must_use]
pub fn to_prove(why: Unproven, gauge: &Name) -> String {
    let said = unproven(why, gauge);
    let typed = typed(gauge.as_str());
    match why {
        Unproven::OtherSerial => format!(
            "{said} Mend bench.toml, or write the instrument that is there down: `tenths register gauge \
             {typed} --serial …`."
        ),
        Unproven::Never
        | Unproven::Failed
        | Unproven::OffChart
        | Unproven::SetUpAnew
        | Unproven::TooOld => format!("{said} `tenths prove {typed}` proves it."),
    }
}

/// A shown number without zeros behind it is hard to hold against others, so all figures of a proof have
/// the same digits.
fn told(figure: impl Into<Figure>, unit: Unit) -> String {
    fine(figure.into(), unit)
}

/// What is touched next, as a person is told: `Lift 4 of 10: lift, and set down on the low block.`
#[must_use]
pub fn next(touch: ProofTouch, began: &ProofBegan) -> String {
    let named =
        |name: &Option<Name>| name.as_ref().map_or_else(String::new, |name| format!(" ({name})"));
    match touch {
        ProofTouch::Lift(_) if began.lifts == 1 => {
            format!("Touch the low block{}.", named(&began.blocks.low))
        }
        ProofTouch::Lift(lift) => format!(
            "Lift {} of {}: lift, and set down on the same spot of the low block{}.",
            lift + 1,
            began.lifts,
            named(&began.blocks.low)
        ),
        ProofTouch::High => format!(
            "Now the high block{}, {} {} higher.",
            named(&began.blocks.high),
            size(began.blocks.step, began.blocks.unit),
            began.blocks.unit
        ),
        ProofTouch::Back => format!("Back on the low block{}.", named(&began.blocks.low)),
    }
}

/// What a proof came to, with what to do.
#[must_use]
pub fn came_to(proved: &Proved) -> String {
    let Some(shows) = &proved.shows else {
        let why = proved.why.as_ref().map_or_else(String::new, |why| format!(" ({why})"));
        return match proved.ending {
            ProofEnding::Complete | ProofEnding::GivenUp => {
                format!("The proof of {} was given up{why}. Its touches are kept.", proved.name())
            }
            ProofEnding::SetupChanged => format!(
                "The proof of {} ended before its last touch{why}. Its touches are kept. Begin again: \
                 tenths prove {}",
                proved.name(),
                proved.name()
            ),
        };
    };
    if shows.faults.is_empty() {
        return proven(proved, shows);
    }
    let faults: Vec<String> = shows.faults.iter().map(|one| fault(*one, (proved, shows))).collect();
    format!("{} is NOT PROVEN. {}", proved.name(), faults.join(" "))
}

fn proven(proved: &Proved, shows: &ProofShows) -> String {
    let unit = proved.blocks.unit;
    let repeats = shows.s.zip(shows.df).map_or_else(String::new, |(s, df)| {
        format!(
            " One lift repeats to {} {unit} ({LIFTS} lifts, {df} degrees of freedom): good for a \
             tolerance of {} and more.",
            told(s, unit),
            fine_up(Figure::from(good_for(s)), unit)
        )
    });
    let [step, doubt] = fine_with_doubt(shows.step, Figure::from(shows.uncertainty), unit);
    let angle = unseen_angle_deg(proved.blocks.step, shows.may_differ).ceil();
    format!(
        "{} is PROVEN.{repeats} The step of {} {unit} reads {step} ± {doubt}: scale, sign and unit are \
         right, and no stylus leans by more than {angle} degrees.",
        proved.name(),
        size(proved.blocks.step, unit)
    )
}

/// One fault, and what to do about it.
#[must_use]
pub fn fault(one: Fault, (proved, shows): (&Proved, &ProofShows)) -> String {
    let gauge = &proved.gauge;
    let unit = proved.blocks.unit;
    let (name, step) = (proved.name(), size(proved.blocks.step, unit));
    let read = told(shows.step, unit);
    let ratio = shows.step.to_f64() / Figure::from(proved.blocks.step).to_f64();
    match one {
        Fault::StandsOff => stands_off(proved, shows),
        Fault::Scatters => {
            let s = shows.s.map_or_else(String::new, |s| fine_up(Figure::from(s), unit));
            let stated = gauge.repeatability.or(gauge.uncertainty).unwrap_or_default();
            format!(
                "One lift scatters by {s} {unit}, and bench.toml states {}. Look at stand, clamp and stylus \
                 and prove it again, or state what it does: repeatability = \"{s} {unit}\".",
                told(stated, unit)
            )
        }
        Fault::Moved => {
            let [off, may] =
                fine_beside(shows.came_back.abs(), Figure::from(shows.may_be_off), unit);
            format!(
                "The low block came back {off} {unit} different, and {may} is all that its scatter \
                 explains: something moved, or warms. Prove it again."
            )
        }
        Fault::StepTooSmall => {
            let needed = fine_up(Figure::from(shows.may_differ) * 4, unit);
            format!(
                "A step of {step} {unit} is too small for its scatter to show anything. Take blocks at \
                 least {needed} {unit} apart: --step \"{needed} {unit}\"."
            )
        }
        Fault::Still => format!(
            "It does not follow: it read {read} {unit} for a step of {step}. Is the stylus on the block, \
             and the display not on hold?"
        ),
        Fault::Sign => sign(gauge),
        Fault::Unit => mixed_units(gauge, ratio, (&step, &read, unit)),
        Fault::Places => format!(
            "It read {read} {unit} for a step of {step}: {} times as much. Look at resolution and scale of \
             {name} in bench.toml, and at the decimal point of its profile.",
            factor(ratio.abs())
        ),
        Fault::Leans => {
            let angle = (1.0 / ratio.abs()).acos().to_degrees();
            format!(
                "It read {read} {unit} for a step of {step}, {:.1} % too much, as a stylus does that leans \
                 by {angle:.0} degrees. Lay the lever along the surface, or set the plunger square to it; \
                 where it must lean, state lever_angle = {angle:.0}.",
                (ratio.abs() - 1.0) * 100.0
            )
        }
        Fault::Short => format!(
            "It read {read} {unit} for a step of {step}, {:.1} % too little. Wipe and wring both blocks and \
             prove it again; if it stays, the gauge is worn or sticks: have it calibrated.",
            (1.0 - ratio.abs()) * 100.0
        ),
        Fault::Scale => format!(
            "It read {read} {unit} for a step of {step}: {} times as much, which is no mix of units. Are \
             these the blocks? Then look at scale in bench.toml.",
            factor(ratio.abs())
        ),
    }
}

fn stands_off(proved: &Proved, shows: &ProofShows) -> String {
    let lift = shows.stands_off.unwrap_or_default();
    let others = proved.lifts.iter().enumerate().filter(|(at, _)| *at != lift as usize);
    let others: Vec<Length> = others.map(|(_, lift)| *lift).collect();
    let own = proved.lifts.get(lift as usize).copied().unwrap_or_default();
    let off = Figure::mean(&others).map_or(Figure::ZERO, |mean| (Figure::from(own) - mean).abs());
    format!(
        "Lift {} stands {} {} off the others: a chip, or a knock. Clean the block and prove it again.",
        lift + 1,
        told(off, proved.blocks.unit),
        proved.blocks.unit
    )
}

fn sign(gauge: &GaugeSetup) -> String {
    let turned = match gauge.wire.as_ref().map(|wire| wire.sign) {
        Some(Sign::Plus) => "Write sign = \"-\" for it in bench.toml.",
        Some(Sign::Minus) => "Take sign = \"-\" of it out of bench.toml.",
        None => "Key it in so that the reading grows where the plunger goes in.",
    };
    format!("Its SIGN is wrong: the reading falls where the plunger goes in. {turned}")
}

/// A factor of 25.4, one way or the other.
fn mixed_units(gauge: &GaugeSetup, ratio: f64, (step, read, unit): (&str, &str, Unit)) -> String {
    let (sends, taken) = if ratio.abs() > 1.0 {
        (Unit::Millimetre, Unit::Inch)
    } else {
        (Unit::Inch, Unit::Millimetre)
    };
    format!(
        "INCH AND MILLIMETRE are mixed: it read {read} {unit} for a step of {step}, a factor of 25.4. {} \
         counts in {} and is taken for {}. Switch it, or write unit = \"{}\" and its resolution in \
         bench.toml.",
        gauge.name,
        sends.plural(),
        taken.plural(),
        sends.symbol()
    )
}

fn factor(ratio: f64) -> String {
    if ratio >= 9.5 { format!("{ratio:.0}") } else { format!("{ratio:.3}") }
}

/// What left its chart; `None` where nothing did. `history` ends with this proof.
#[must_use]
pub fn off_chart(proved: &Proved, history: &[ProofRow]) -> Option<String> {
    let shows = proved.shows.as_ref().filter(|shows| !shows.off_chart.is_empty())?;
    let unit = proved.blocks.unit;
    let one = |charted: &Charted| match charted {
        Charted::CheckMaster => {
            let off = proved.off_by().unwrap_or_default();
            let before = history.get(..history.len().saturating_sub(1)).unwrap_or_default();
            let line = chart_of_steps(before, &proved.blocks, proved.resolution())
                .map_or_else(String::new, |chart| limits(&chart, unit));
            let plus = if off > Length::ZERO { "+" } else { "" };
            format!(
                "CHECK MASTER OFF with {}: {plus}{} {unit} is beyond the 3-sigma line{line}. Clean, try \
                 again, and judge no parts before it is right.",
                proved.name(),
                told(off, unit)
            )
        }
        Charted::Repeatability => format!(
            "{} SCATTERS more than on its chart: {} {unit} a lift today. Look at stand, clamp and stylus, \
             and prove it again.",
            proved.name(),
            told(shows.s.unwrap_or_default(), unit)
        ),
    };
    Some(shows.off_chart.iter().map(one).collect::<Vec<_>>().join(" "))
}

fn limits(chart: &Chart, unit: Unit) -> String {
    let limit = Figure::from(chart.limit);
    let [low, high] = [chart.centre - limit, chart.centre + limit].map(|line| told(line, unit));
    format!(" ({low} to {high})")
}
