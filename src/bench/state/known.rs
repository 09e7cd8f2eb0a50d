//! What the bench knows of its gauges in the hands that work with them, from what it has seen itself.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;

use judgement::{Fault, Freedom, Part, Pooled};
use quantity::{Length, Name};

use crate::fact::row::{Pool, ProofShows, Proved, Repeated, Seated, Shown, Spot};
use crate::plan::Holding;
use crate::setup::{GaugeKind, GaugeSetup};

/// As many of the newest are kept for each gauge: some months of work (common practice, no source). What a
/// gauge was years ago is no witness of what it is now.
pub const NEWEST: usize = 400;

/// What the bench knows, gauge by gauge.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    gauges: BTreeMap<Name, Arc<VecDeque<Seen>>>,
}

/// One spot that was read more than once.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Seen {
    serial: Option<String>,
    by: Option<Name>,
    what: What,
    lengths: Vec<Length>,
}

/// What was seen of it, and where that matters how the part was held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Return(Holding),
    Master,
    Seating(Length),
    Lifts,
}

/// What the bench shows of one gauge in one hand, of one kind; for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Witness {
    /// The hand; `None` where nobody said who touched.
    pub by: Option<Name>,
    /// What was read more than once.
    pub spot: Spot,
    /// How the part was held, where returns are kept apart by that.
    pub setup: Option<Holding>,
    /// Where along the bar, of seatings.
    pub at: Option<Length>,
    /// What it comes to.
    pub pool: Pool,
}

impl Known {
    /// Adds what was seen.
    pub(super) fn repeated(&mut self, by: Option<&Name>, seen: &Repeated) {
        let what = match seen.spot {
            Spot::Return => What::Return(seen.setup),
            Spot::Master => What::Master,
            Spot::Seating => What::Seating(seen.at.unwrap_or_default()),
            Spot::Touch => What::Lifts,
        };
        let Repeated { gauge, serial, lengths, .. } = seen;
        self.add(
            gauge,
            Seen { serial: serial.clone(), by: by.cloned(), what, lengths: lengths.clone() },
        );
    }

    /// Adds the lifts of a proof that is over. Whether it found a fault does not matter, or large scatter
    /// would be left out; where the scale was wrong, lifts show nothing. Those of a dial are read by eye,
    /// which knows what it read before.
    pub(super) fn proved(&mut self, by: Option<&Name>, proved: &Proved) {
        if proved.gauge.kind == GaugeKind::Dial {
            return;
        }
        let wrong = [Fault::Unit, Fault::Places, Fault::Scale, Fault::Still];
        let tells = |shows: &&ProofShows| !shows.faults.iter().any(|one| wrong.contains(one));
        let told = proved.shows.as_ref().filter(tells);
        let lengths = told.map(|_| proved.lifts.clone()).unwrap_or_default();
        let (serial, by) = (proved.serial().map(str::to_owned), by.cloned());
        self.add(proved.name(), Seen { serial, by, what: What::Lifts, lengths });
    }

    fn add(&mut self, gauge: &Name, seen: Seen) {
        let all = Arc::make_mut(self.gauges.entry(gauge.clone()).or_default());
        all.push_back(seen);
        while all.len() > NEWEST {
            all.pop_front();
        }
    }

    /// What the bench shows of a gauge in a hand, for a part held like this. `None` where nothing is known
    /// well enough.
    #[must_use]
    pub fn shown(
        &self,
        gauge: &GaugeSetup,
        by: Option<&Name>,
        setup: Holding,
    ) -> Option<Arc<Shown>> {
        let all = self.gauges.get(&gauge.name)?;
        let pool = |what| pool(all, gauge, by, what).filter(Pool::is_enough);
        let shown = Shown {
            by: by.cloned(),
            lifts: pool(What::Lifts),
            returns: pool(What::Return(setup)),
            masters: pool(What::Master),
            seatings: places(all)
                .filter_map(|at| Some(Seated { at, pool: pool(What::Seating(at))? }))
                .collect(),
        };
        let any = [shown.lifts, shown.returns, shown.masters].iter().any(Option::is_some);
        (any || !shown.seatings.is_empty()).then(|| Arc::new(shown))
    }

    /// All that was seen with a gauge since it was replaced last, hand by hand and kind by kind, whether or
    /// not it is enough yet.
    #[must_use]
    pub fn witnesses(&self, gauge: &GaugeSetup) -> Vec<Witness> {
        let Some(all) = self.gauges.get(&gauge.name) else { return Vec::new() };
        let mut hands: Vec<Option<&Name>> = all.iter().map(|seen| seen.by.as_ref()).collect();
        hands.sort_unstable();
        hands.dedup();
        let kinds = [What::Lifts, What::Master].into_iter();
        let kinds = kinds.chain(Holding::ALL.map(What::Return));
        let kinds: Vec<What> = kinds.chain(places(all).map(What::Seating)).collect();
        let of_hand = |by: Option<&Name>| -> Vec<Witness> {
            let witness = |what: &What| {
                let pool = pool(all, gauge, by, *what)?;
                let (spot, setup, at) = match *what {
                    What::Return(setup) => (Spot::Return, Some(setup), None),
                    What::Master => (Spot::Master, None, None),
                    What::Seating(at) => (Spot::Seating, None, Some(at)),
                    What::Lifts => (Spot::Touch, None, None),
                };
                Some(Witness { by: by.cloned(), spot, setup, at, pool })
            };
            kinds.iter().filter_map(witness).collect()
        };
        hands.into_iter().flat_map(of_hand).collect()
    }
}

/// Where along a bar seatings were seen, in order.
fn places(all: &VecDeque<Seen>) -> impl Iterator<Item = Length> {
    let at = |seen: &Seen| match seen.what {
        What::Seating(at) => Some(at),
        What::Return(_) | What::Master | What::Lifts => None,
    };
    all.iter().filter_map(at).collect::<BTreeSet<Length>>().into_iter()
}

/// The pool of one kind. What was seen with another serial number was another
/// gauge.
fn pool(all: &VecDeque<Seen>, gauge: &GaugeSetup, by: Option<&Name>, what: What) -> Option<Pool> {
    let alike =
        |seen: &&Seen| seen.what == what && seen.by.as_ref() == by && seen.serial == gauge.serial;
    let those = || all.iter().filter(alike).map(|seen| seen.lengths.as_slice());
    let step = gauge.resolution.length;
    let pooled = if what == What::Lifts {
        Pooled::lifts(&those().collect::<Vec<_>>(), step)
    } else {
        Pooled::returns(&those().flatten().copied().collect::<Vec<_>>(), step)
    };
    pooled.map(Pool::from)
}

impl From<Pooled> for Pool {
    fn from(pooled: Pooled) -> Self {
        let Pooled { s, freedom, count, drift } = pooled;
        Self { s, degrees: freedom.degrees().unwrap_or(u32::MAX), count, drift }
    }
}

impl Pool {
    /// Whether it is known at least as well as what is assumed without it: to 25 %.
    #[must_use]
    pub fn is_enough(&self) -> bool {
        Freedom::of_degrees(self.degrees) >= Freedom::TO_A_QUARTER
    }

    /// It as a share of an uncertainty.
    #[must_use]
    pub fn part(&self) -> Part {
        Part::recorded(self.s, Freedom::of_degrees(self.degrees), self.count)
    }

    /// Whether it contradicts a stated repeatability: it is larger by more than three of its own standard
    /// deviations, each 1/√(2ν) of it (GUM, JCGM 100:2008, E.4.3; from memory).
    #[must_use]
    pub fn is_beyond(&self, stated: Length) -> bool {
        let three = 3.0 / (2.0 * f64::from(self.degrees.max(1))).sqrt();
        let [s, stated] = [self.s, stated].map(|of| quantity::Figure::from(of).to_f64());
        s > stated * (1.0 + three)
    }
}

impl Shown {
    /// How touches on a part scatter: of lifts and returns the larger, for a touch of a series differs from
    /// the one before as a return does.
    #[must_use]
    pub fn touches(&self) -> Option<Pool> {
        [self.lifts, self.returns].into_iter().flatten().max_by_key(|pool| (pool.s, pool.degrees))
    }

    /// How returns to position 0 scatter.
    #[must_use]
    pub fn of_returns(&self) -> Option<Pool> {
        self.returns.or(self.lifts)
    }

    /// How returns to the master scatter.
    #[must_use]
    pub fn of_masters(&self) -> Option<Pool> {
        self.masters.or(self.lifts)
    }
}

#[cfg(test)]
mod tests;
