//! What a station shows while a gauge is proved there, and of the proof that ended there last.

use bench::row::{Proved, State};
use bench::words::proof as said;
use bench::{ProofTouch, Proving, Station};
use quantity::Name;
use wire::{NextLift, ProofWord, ViewProof, ViewProofEnd, ViewTouch, waits_words};

use super::super::Shown;

impl Shown {
    /// The proof on a station's screen; `None` where another thing is there.
    pub(super) fn proof(&self, station: &Station) -> Option<ViewProof> {
        if let Some(proving) = &station.proving {
            return Some(self.proving(proving));
        }
        let gauge = station.proved.as_ref()?;
        let row = self.bench.shop.proofs(gauge).last()?;
        Some(ended(gauge, row.id.0, &row.proved, self.off_chart(&row.proved)))
    }

    fn off_chart(&self, proved: &Proved) -> Option<String> {
        said::off_chart(proved, self.bench.shop.history(proved.name(), proved.serial()))
    }

    fn proving(&self, proving: &Proving) -> ViewProof {
        let (next, began) = (proving.next(), &proving.began);
        let gauge = &began.gauge.name;
        let tally = self.tallies.gauges.get(gauge);
        let waits = tally.and_then(|tally| tally.live.waits_for(proving.id.0).1);
        let held = waits.map_or_else(String::new, |waits| format!("{} ", waits_words(Some(waits))));
        let last = proving.touches.last().map(|lift| ViewTouch {
            id: lift.id.0,
            position: u32::try_from(proving.touches.len()).ok().map(|count| count - 1),
            value: lift.value.to_string(),
            state: State::Placed,
        });
        ViewProof {
            proof: proving.id.0,
            gauge: gauge.to_string(),
            next: NextLift::of(next),
            next_words: words(next, began.lifts),
            why: format!("{held}{}", said::next(next, began)),
            waits,
            taken: u32::try_from(proving.touches.len()).unwrap_or(u32::MAX),
            of: began.touches(),
            lifts: proving.touches.iter().map(|lift| lift.value.to_string()).collect(),
            last_touch: last,
            voided: proving.voided,
            end: None,
        }
    }
}

fn words(next: ProofTouch, lifts: u32) -> String {
    match next {
        ProofTouch::Lift(_) if lifts == 1 => "LOW BLOCK".to_owned(),
        ProofTouch::Lift(lift) => format!("LIFT {} OF {lifts}", lift + 1),
        ProofTouch::High => "HIGH BLOCK".to_owned(),
        ProofTouch::Back => "LOW BLOCK".to_owned(),
    }
}

fn ended(gauge: &Name, id: u64, proved: &Proved, off_chart: Option<String>) -> ViewProof {
    let word = match &proved.shows {
        None => ProofWord::Ended,
        Some(shows) if !shows.off_chart.is_empty() => ProofWord::OffChart,
        Some(shows) if shows.faults.is_empty() => ProofWord::Proven,
        Some(_) => ProofWord::NotProven,
    };
    let told = [Some(said::came_to(proved)), off_chart];
    let text: Vec<String> = told.into_iter().flatten().collect();
    let taken = u32::try_from(proved.readings.len()).unwrap_or(u32::MAX);
    ViewProof {
        proof: proved.proof.0,
        gauge: gauge.to_string(),
        next: NextLift::Nothing,
        next_words: String::new(),
        why: String::new(),
        waits: None,
        taken,
        of: taken,
        lifts: Vec::new(),
        last_touch: None,
        voided: 0,
        end: Some(ViewProofEnd { id, word, text: text.join(" ") }),
    }
}
