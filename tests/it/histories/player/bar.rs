//! A bar that is seated four times: now and then at another angle than asked, now and then not said,
//! and touches keyed past the end of a seating.

use serde_json::json;

use super::Player;

/// Positions of one seating: eight at each of two stations.
const OF_A_SEATING: u64 = 16;

/// The spindle and the bar at each station, µin and degrees.
const SPINDLE: [(f64, f64); 2] = [(25.0, 40.0), (40.0, 70.0)];
const BAR: [(f64, f64); 2] = [(30.0, 200.0), (60.0, 160.0)];

fn deg(of: u64) -> f64 {
    f64::from(u32::try_from(of).unwrap())
}

/// How far the seatings disagree if the bar stood so: the larger of both tests at the worse station,
/// µin. By hand from the vectors: half sums, and half differences turned back a quarter.
pub(in super::super) fn disagree(seated: [u32; 4]) -> f64 {
    let at_station = |station: usize| {
        let vector = |(long, at): (f64, f64)| {
            let at = at.to_radians();
            [long * at.cos(), long * at.sin()]
        };
        let e = seated.map(|turned| {
            let (long, at) = BAR[station];
            let (spindle, bar) = (vector(SPINDLE[station]), vector((long, at + f64::from(turned))));
            [spindle[0] + bar[0], spindle[1] + bar[1]]
        });
        let half = |one: [f64; 2], other: [f64; 2], sign: f64| {
            [0, 1].map(|axis| f64::midpoint(one[axis], sign * other[axis]))
        };
        let apart = |one: [f64; 2], other: [f64; 2]| (one[0] - other[0]).hypot(one[1] - other[1]);
        let sums = apart(half(e[0], e[2], 1.0), half(e[1], e[3], 1.0));
        let [x, y] = half(e[1], e[3], -1.0);
        let differences = apart(half(e[0], e[2], -1.0), [y, -x]);
        sums.max(differences)
    };
    at_station(0).max(at_station(1))
}

impl Player<'_> {
    pub(super) fn bar_round(&mut self) {
        for _ in 0..40 {
            let Some(next) = self.next().map(str::to_owned) else { return };
            let Some(id) = self.screen["attempt_id"].as_u64() else { return };
            self.seated.entry(id).or_insert([0, 90, 180, 270]);
            match (next.as_str(), self.position()) {
                ("seat", position) => self.seat(id, position),
                ("position", Some(position)) => self.turn(id, position),
                (_, Some(position)) => {
                    let value = self.shown(id, position);
                    self.enter(&[value]);
                }
                (_, None) => return,
            }
            if self.once_in(60) {
                self.ask("void", json!({ "why": "slipped" }));
            }
            if self.once_in(150) {
                self.ask("stop", json!({}));
                return;
            }
            self.look(false);
        }
    }

    /// The bar is taken out, turned and seated: not always as asked, and not always said at once.
    fn seat(&mut self, id: u64, position: Option<u64>) {
        if self.once_in(5) {
            self.reach_past(&[1]);
        }
        let taken = self.screen["taken"].as_u64().unwrap();
        let seating = usize::try_from(position.unwrap_or(taken) / OF_A_SEATING).unwrap().min(3);
        if self.once_in(9) {
            let asked = self.seated.get_mut(&id).unwrap();
            asked[seating] = (asked[seating] + 90) % 360;
        }
        let reply = self.ask("take", json!({}));
        if reply["schema"] != "seated/1" {
            self.fault(format!("seating the bar: {reply}"));
        }
        if self.once_in(10) {
            let reply = self.ask("void", json!({}));
            if reply["taken_back"] != true {
                self.fault(format!("what was said is not taken back: {reply}"));
            }
        }
    }

    /// The touches that are still open in this seating, on one line.
    fn turn(&mut self, id: u64, position: u64) {
        let end = (position / OF_A_SEATING + 1) * OF_A_SEATING;
        let values: Vec<i64> = (position..end).map(|at| self.shown(id, at)).collect();
        if end < 4 * OF_A_SEATING && self.once_in(8) {
            self.reach_past(&[&values[..], &[1]].concat());
        }
        self.enter(&values);
    }

    /// A line that reaches into a seating that nobody said: refused whole.
    fn reach_past(&mut self, values: &[i64]) {
        let before = self.screen["taken"].clone();
        let reply = self.enter(values);
        self.look(false);
        let refused = reply["schema"] == "error/1" && reply["exit"] == 2;
        if !refused || self.screen["taken"] != before {
            self.fault(format!("{values:?} past a seating: {reply}"));
        }
        self.refused += 1;
    }

    /// What the gauge shows at a position, with the bar where it really stands.
    fn shown(&mut self, id: u64, position: u64) -> i64 {
        let seating = usize::try_from(position / OF_A_SEATING).unwrap();
        let station = usize::try_from(position % OF_A_SEATING / 8).unwrap();
        let (mark, turned) = (45.0 * deg(position % 8), f64::from(self.seated[&id][seating]));
        let wave = |(long, at): (f64, f64)| long * (mark - at).to_radians().cos();
        let (long, at) = BAR[station];
        // Noise of a triangle, s = 4 µin.
        let noise = f64::from(i32::try_from(self.below(11) + self.below(11)).unwrap() - 10);
        let height = wave(SPINDLE[station]) + wave((long, at + turned)) + noise;
        #[expect(clippy::cast_possible_truncation, reason = "some steps")]
        let steps = (height / 10.0).round() as i64;
        steps
    }
}
