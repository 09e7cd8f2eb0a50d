//! The comparison as the published line.

use super::chain::{Moved, Outcome};
use super::model::{Characteristic, Found, FoundSide, InJob, Model};
use crate::JobFacts;
use ::record::{JobRecord, ReplacedPart};
use judgement::Change;
use quantity::{Figure, Unit};
use wire::{
    ChangeLine, ChangeWord, CharacteristicLine, ComparedJobLine, ComparisonLine, FoundLine,
    FoundSideLine, InJobLine, NewPartLine,
};
use words::{Held, LimitsLine, recorded_change, size};

pub(super) fn line(model: &Model<'_>, unit: Unit) -> ComparisonLine {
    ComparisonLine {
        schema: "comparison/1",
        unit,
        same_spindle: model.same_spindle(),
        jobs: {
            let line = |job: &&JobFacts| ComparedJobLine {
                bench: job.bench.clone(),
                ..job_line(&job.record)
            };
            model.jobs.iter().map(line).collect()
        },
        not_compared: model.others.iter().map(|job| job_line(job)).collect(),
        characteristics: model
            .characteristics
            .iter()
            .map(|one| characteristic_line(model, one, unit))
            .collect(),
    }
}

fn job_line(record: &JobRecord) -> ComparedJobLine {
    let new_part = |part: &ReplacedPart| NewPartLine {
        at: part.at.to_string(),
        part: part.part.to_string(),
        serial: part.serial.clone(),
        why: part.why.clone(),
    };
    ComparedJobLine {
        job: record.name.to_string(),
        serial: record.serial.clone(),
        customer: record.customer.clone(),
        plan: record.plan_name.to_string(),
        opened_at: record.opened_at.to_string(),
        closed_at: record.closed_at.map(|at| at.to_string()),
        replaced: record.replaced.iter().map(new_part).collect(),
        bench: None,
    }
}

fn characteristic_line(model: &Model<'_>, one: &Characteristic, unit: Unit) -> CharacteristicLine {
    let measures = one.jobs.iter().rev().flatten().next();
    let measures = measures.expect("a characteristic is in the plan of a job").measures;
    let in_job =
        |(at, job): (usize, &Option<InJob>)| in_job_line(model.job(at), job.as_ref(), unit);
    CharacteristicLine {
        part: one.key.part.to_string(),
        check: one.key.check.to_string(),
        station: one.key.station.map(|at| size(at, unit)),
        measures,
        limits_differ: one.limits_differ(),
        jobs: one.jobs.iter().enumerate().map(in_job).collect(),
        changes: one.changes.iter().map(|moved| change_line(model, moved, unit)).collect(),
        found_to_final: one.within.iter().map(|moved| change_line(model, moved, unit)).collect(),
    }
}

fn in_job_line(name: &str, job: Option<&InJob>, unit: Unit) -> InJobLine {
    let found = |found: &Found| found_line(found, unit);
    let side = |side: &FoundSide| FoundSideLine {
        part: side.part.to_string(),
        check: side.check.to_string(),
        rounds: side.rounds.iter().map(found).collect(),
    };
    InJobLine {
        job: name.to_owned(),
        measures: job.map(|job| job.measures),
        tolerance: job.and_then(|job| job.tolerance(unit)),
        limits: job.map_or_else(LimitsLine::default, |job| job.limits_line(unit)),
        first: job.and_then(InJob::first).map(found),
        standing: job.and_then(InJob::standing).map(found),
        rounds: job.map_or_else(Vec::new, |job| job.rounds.iter().map(found).collect()),
        found: job.and_then(|job| job.found_side.as_ref()).map(side),
    }
}

fn found_line(found: &Found, unit: Unit) -> FoundLine {
    let judged = found.judged.as_ref();
    let held = found.figure.map(|(value, u)| {
        Held::of(value, unit).against(found.limits).known_within(Figure::from(u)).recorded()
    });
    FoundLine {
        attempt: found.attempt,
        reason: found.reason,
        remark: found.remark.clone(),
        replaced_since: found.replaced_since(),
        verdict_id: judged.map(|judged| judged.id.0),
        verdict: judged.map(|judged| judged.word),
        standing: judged.map(|judged| judged.standing),
        value: held.as_ref().and_then(Held::value_text),
        uncertainty: held.as_ref().and_then(Held::uncertainty_text),
        answer: found.answer.clone(),
        reasons: judged.map_or_else(Vec::new, |judged| judged.reasons.clone()),
    }
}

fn change_line(model: &Model<'_>, moved: &Moved, unit: Unit) -> ChangeLine {
    let told = if let Outcome::Change(Change { value, uncertainty }) = moved.outcome {
        recorded_change(value, Figure::from(uncertainty), unit).map(Some)
    } else {
        [None, None]
    };
    let [value, uncertainty] = told;
    ChangeLine {
        from: model.job(moved.from).to_owned(),
        to: model.job(moved.to).to_owned(),
        value,
        uncertainty,
        result: match moved.outcome {
            Outcome::Change(change) if change.is_more_than_measured() => ChangeWord::Changed,
            Outcome::Change(_) => ChangeWord::CannotTell,
            Outcome::Answers(true) => ChangeWord::SameAnswer,
            Outcome::Answers(false) => ChangeWord::OtherAnswer,
            Outcome::NoFigure => ChangeWord::NoFigure,
            Outcome::OtherMeasure => ChangeWord::OtherMeasure,
        },
        same_piece: moved.same_piece,
        broken_by: moved.broken_by.iter().map(ToString::to_string).collect(),
    }
}
