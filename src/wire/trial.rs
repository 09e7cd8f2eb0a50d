//! What a station shows where a test says nothing else, for the tests of this room and of those behind it.

use bench::metal::Standing;
use bench::plan::{Direction, Holding, Measures};
use bench::row::AttemptReason;
use judgement::Word;
use quantity::Unit;

use super::{AsksLine, Next, StorageState, View, ViewCheck, ViewVerdict};

impl Default for View {
    fn default() -> Self {
        Self {
            bench: String::new(),
            station: String::new(),
            seq: 0,
            feed: String::new(),
            unit: Unit::Inch,
            job: None,
            stands: None,
            check: None,
            proof: None,
            gauges: Vec::new(),
            alerts: Vec::new(),
            storage: StorageState::Fine,
            storage_why: None,
            person: None,
            by: None,
        }
    }
}

impl Default for ViewCheck {
    fn default() -> Self {
        Self {
            part: String::new(),
            name: String::new(),
            attempt_id: 0,
            attempt: 0,
            reason: AttemptReason::First,
            measures: Measures::parse("parallelism").expect("a kind"),
            setup: Holding::Plate,
            direction: Direction::CounterClockwise,
            gauge: None,
            limit: None,
            limits: crate::LimitsLine::default(),
            limit_unit: Unit::Inch,
            next: Next::Nothing,
            next_position: None,
            next_words: String::new(),
            why: None,
            place: None,
            waits: None,
            next_touch: None,
            touches: 1,
            taken: 0,
            of: 0,
            per_circle: 0,
            positions: Vec::new(),
            last_touch: None,
            voided: 0,
            verdict: None,
            run_in: None,
            asks: AsksLine::default(),
        }
    }
}

impl Default for ViewVerdict {
    fn default() -> Self {
        Self {
            id: 0,
            verdict: Word::Undecided,
            simple: None,
            guarded: None,
            unit: Unit::Inch,
            standing: Standing::Stands,
            value: None,
            limit: None,
            uncertainty: None,
            assumed: false,
            high_mark_deg: None,
            high_position: None,
            contacts_upper: Vec::new(),
            contacts_lower: Vec::new(),
            advice: Vec::new(),
            reasons: Vec::new(),
        }
    }
}
