//! The proof under way at a station, the proofs of each gauge so far, and the register.

use std::collections::BTreeMap;
use std::sync::Arc;

use judgement::{Chart, Part, Proof, Touches};
use quantity::{Length, Name, Quoted, Wall};

use crate::fact::row::{
    Blocks, Body, Charted, Equipment, ProofBegan, ProofRow, ProofShows, Proved, Reading,
    Registered, State, Unproven,
};
use crate::fact::seq::Seq;
use crate::setup::GaugeSetup;
use crate::state::row::Row;

/// So many proofs of each gauge are at hand, the newest ones: two years of days.
pub const PROOFS_AT_HAND: usize = 500;

/// So many days make the centre and the limits of a chart, the first ones of a history (from memory of the
/// trade).
pub const CHART_DAYS: usize = 20;

/// A touch of a proof.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lift {
    /// Its reading.
    pub id: Seq,
    /// Its value.
    pub value: Quoted,
    /// Whether it was keyed in.
    pub keyed: bool,
}

/// What is touched next in a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProofTouch {
    /// A lift on the low block, counted from 0.
    Lift(u32),
    /// The high block.
    High,
    /// The low block again.
    Back,
}

/// A proof under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Proving {
    /// The row that began it.
    pub id: Seq,
    /// How it began.
    pub began: Arc<ProofBegan>,
    /// Who touches: the person who began it, or the one named since. The check that waits keeps its own
    /// hand.
    pub hand: Option<Name>,
    /// The touches that count, in order.
    pub touches: Vec<Lift>,
    /// How many were taken back.
    pub voided: u32,
}

impl Proving {
    /// What is touched next.
    #[must_use]
    pub fn next(&self) -> ProofTouch {
        let taken = u32::try_from(self.touches.len()).unwrap_or(u32::MAX);
        match taken.checked_sub(self.began.lifts) {
            None => ProofTouch::Lift(taken),
            Some(0) => ProofTouch::High,
            Some(_) => ProofTouch::Back,
        }
    }

    /// Whether its last touch is taken.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.touches.len() >= self.began.touches() as usize
    }

    /// The lifts on the low block so far.
    #[must_use]
    pub fn lifts(&self) -> Vec<Length> {
        let lifts = self.touches.iter().take(self.began.lifts as usize);
        lifts.map(|lift| lift.value.length).collect()
    }

    /// What it shows, once its last touch is taken.
    #[must_use]
    pub fn shows(&self) -> Option<Proof> {
        let lifts = self.lifts();
        let at = |index: u32| self.touches.get(index as usize).map(|lift| lift.value.length);
        let gauge = &self.began.gauge;
        Proof::of(&Touches {
            lifts: &lifts,
            high: at(self.began.lifts)?,
            back: at(self.began.lifts + 1)?,
            step: self.began.blocks.step(),
            resolution: gauge.resolution.length.abs(),
            scatter: self.began.scatter(),
            lever_mdeg: gauge.lever_mdeg,
        })
    }
}

/// What the bench knows of its gauges by proofs, and of the pieces in the register.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shop {
    /// The newest proofs of each gauge, oldest first.
    proofs: BTreeMap<Name, Arc<Vec<ProofRow>>>,
    /// The newest entry of each name.
    register: BTreeMap<Name, Arc<Registered>>,
}

impl Shop {
    /// Applies a row about a proof that is over, or of the register.
    pub(super) fn apply(&mut self, row: &Row) {
        if let Body::Proved(proved) = &row.body {
            let (at, by) = (row.at.wall, row.by.clone());
            let proved = ProofRow { id: row.seq, at, by, proved: Arc::clone(proved) };
            let proofs = self.proofs.entry(proved.proved.name().clone()).or_default();
            let proofs = Arc::make_mut(proofs);
            proofs.push(proved);
            if proofs.len() > PROOFS_AT_HAND {
                proofs.remove(0);
            }
        } else if let Body::Registered(entry) = &row.body {
            self.register.insert(entry.name.clone(), Arc::clone(entry));
        }
    }

    /// The proofs of a gauge at hand, oldest first, those of instruments before it among them.
    #[must_use]
    pub fn proofs(&self, gauge: &Name) -> &[ProofRow] {
        self.proofs.get(gauge).map_or(&[], |proofs| proofs)
    }

    /// The entries of the register, by name.
    pub fn register(&self) -> impl Iterator<Item = &Arc<Registered>> {
        self.register.values()
    }

    /// What is registered under a name and in use.
    #[must_use]
    pub fn registered(&self, name: &str) -> Option<&Registered> {
        let entry = self.register.get(name).map(|entry| &**entry);
        entry.filter(|entry| entry.retired.is_none())
    }

    /// The same, if it is of this kind.
    #[must_use]
    pub fn equipment(&self, name: &str, what: Equipment) -> Option<&Registered> {
        self.registered(name).filter(|entry| entry.what == what)
    }

    /// A gauge as it is set up, with what the register has of it: its serial number and the date of its
    /// certificate.
    #[must_use]
    pub fn with_its_entry(&self, gauge: &GaugeSetup) -> GaugeSetup {
        let mut gauge = gauge.clone();
        if let Some(entry) = self.equipment(gauge.name.as_str(), Equipment::Gauge) {
            gauge.serial = entry.serial.clone().or(gauge.serial);
            gauge.calibration_due = entry.due.or(gauge.calibration_due);
        }
        gauge
    }

    /// Why a gauge is not proven at a moment; `None` where it is. A proof counts `days` days; with `None` it
    /// does not grow old.
    #[must_use]
    pub fn unproven(&self, gauge: &GaugeSetup, now: Wall, days: Option<u32>) -> Option<Unproven> {
        // Lifts and steps prove what measures lengths.
        if gauge.is_thermometer() {
            return None;
        }
        let entry = self.equipment(gauge.name.as_str(), Equipment::Gauge);
        let registered = entry.and_then(|entry| entry.serial.as_ref());
        if registered.zip(gauge.serial.as_ref()).is_some_and(|(one, other)| one != other) {
            return Some(Unproven::OtherSerial);
        }
        let now_set_up = self.with_its_entry(gauge);
        let history = self.history(&gauge.name, now_set_up.serial.as_deref());
        let ended = |row: &&ProofRow| row.proved.shows.is_some();
        let Some(last) = history.iter().rev().find(ended) else { return Some(Unproven::Never) };
        let shows = last.proved.shows.as_ref()?;
        let old = days.is_some_and(|days| days_since(last.at, now) > i64::from(days));
        if !reads_alike(&last.proved.gauge, &now_set_up) {
            Some(Unproven::SetUpAnew)
        } else if !shows.off_chart.is_empty() {
            Some(Unproven::OffChart)
        } else if !shows.faults.is_empty() {
            Some(Unproven::Failed)
        } else {
            old.then_some(Unproven::TooOld)
        }
    }

    /// The history of the instrument with this serial number: its completed proofs, oldest first. A proof
    /// with another serial number between them ended it.
    #[must_use]
    pub fn history(&self, gauge: &Name, serial: Option<&str>) -> &[ProofRow] {
        let proofs = self.proofs(gauge);
        let other = proofs.iter().rposition(|proof| proof.proved.serial() != serial);
        proofs.get(other.map_or(0, |at| at + 1)..).unwrap_or_default()
    }
}

/// The chart of the check master: how far the same step of the same blocks was read from its size, in the
/// good proofs that did not leave it.
#[must_use]
pub fn chart_of_steps(history: &[ProofRow], blocks: &Blocks, resolution: Length) -> Option<Chart> {
    let on = |proved: &Proved| {
        let off = |shows: &ProofShows| shows.off_chart.contains(&Charted::CheckMaster);
        proved.is_good() && proved.blocks.is_same(blocks) && !proved.shows.as_ref().is_some_and(off)
    };
    let days = history.iter().filter(|proof| on(&proof.proved));
    let days: Vec<Length> =
        days.filter_map(|proof| proof.proved.off_by()).take(CHART_DAYS).collect();
    Chart::of(&days, resolution)
}

/// The scatter of a lift that the good proofs of a history show together; `None` without one.
#[must_use]
pub fn scatter_of(history: &[ProofRow], resolution: Length) -> Option<judgement::Pooled> {
    let good = history.iter().filter(|proof| proof.proved.is_good());
    let sets: Vec<&[Length]> = good.map(|proof| proof.proved.lifts.as_slice()).collect();
    judgement::Pooled::lifts(&sets, resolution)
}

/// A reading of a proof, as a touch of it.
pub(super) fn lift_of(id: Seq, reading: &Reading) -> Option<Lift> {
    let is_its =
        reading.job.is_none() && reading.attempt.is_none() && reading.state == State::Placed;
    is_its.then(|| Lift { id, value: reading.value, keyed: reading.keyed().is_some() })
}

/// A standard uncertainty with its degrees of freedom, as a proof pins it.
#[must_use]
pub(crate) fn pinned(part: Part) -> (Length, judgement::Known, Option<u32>) {
    (part.u(), part.known, part.freedom.degrees())
}

/// How long ago something was, in whole days.
#[must_use]
pub fn days_since(then: Wall, now: Wall) -> i64 {
    now.micros().saturating_sub(then.micros()) / 86_400_000_000
}

/// Whether readings mean the same in two set-ups of a gauge, as far as a proof shows it.
fn reads_alike(one: &GaugeSetup, other: &GaugeSetup) -> bool {
    let wire = |of: &GaugeSetup| {
        let wire = of.wire.as_ref()?;
        Some((wire.profile.clone(), wire.channel.clone(), wire.sign, wire.scale))
    };
    let own = |of: &GaugeSetup| (of.kind, of.unit, of.resolution, of.lever_mdeg);
    own(one) == own(other) && wire(one) == wire(other)
}
