use super::*;

struct Dice(u64);
impl Dice {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.next()).ln()).sqrt() * (std::f64::consts::TAU * self.next()).cos()
    }
}

fn ring(d: &mut Dice, n: usize, s: f64, waves: &[f64], what: &str, size: f64, at: usize) -> Vec<Spot> {
    let phases: Vec<f64> = waves.iter().map(|_| d.next() * 6.283).collect();
    let form = |k: f64| -> f64 {
        let t = k * std::f64::consts::TAU / n as f64;
        waves.iter().zip(&phases).enumerate().map(|(i, (a, p))| a / 2.0 * (((i + 1) as f64) * t + p).cos()).sum()
    };
    (0..=n).map(|k| {
        let place = match what { "missed" if k >= at => k + 1, "doubled" if k > at => k - 1, _ => k };
        let mut h = form(place as f64) + s * d.normal();
        if what == "step" && k > at { h += size }
        if what == "drift" { h += size * k as f64 / n as f64 }
        if what == "wild" && k == at { h += size }
        Spot { circle: 0, angle_deg: 360.0 / n as f64 * (k % n) as f64, height: (h / 10.0).round() * 10.0 }
    }).collect()
}

#[test]
fn explore() {
    let mut d = Dice(88172645463325252);
    for n in [8usize, 12, 16] {
    for s in [6.0, 12.0] {
        for waves in [&[20.0, 10.0, 5.0][..], &[60.0, 20.0, 10.0], &[20.0, 50.0, 10.0], &[300.0, 20.0, 10.0]] {
            for (what, size) in [("none", 0.0), ("step", 30.0), ("step", 60.0), ("step", 120.0), ("step", 1000.0), ("drift", 60.0), ("drift", 120.0), ("missed", 0.0), ("doubled", 0.0), ("wild", 100.)] {
                let (mut off, mut right, mut near, mut wrong, mut other) = (0, 0, 0, 0, 0);
                let runs = 2000;
                for _ in 0..runs {
                    let at = 1 + (d.next() * (n as f64 - 2.0)) as usize;
                    let spots = ring(&mut d, n, s, waves, what, size, at);
                    let closure = spots[n].height - spots[0].height;
                    if closure.abs() <= (3.0 * 1.41421 * s).max(20.0) { continue }
                    off += 1;
                    match mishap(&spots, Sure { scatter: s, odds: 100.0 }) {
                        None => {}
                        Some(Mishap::Moved { after, until }) if what == "step" => if after == at && until == at + 1 { right += 1 } else if after <= at && at < until { near += 1 } else { wrong += 1 },
                        Some(Mishap::Missed(m)) if what == "missed" => if m == at { right += 1 } else { wrong += 1 },
                        Some(Mishap::Doubled(m)) if what == "doubled" => if m == at { right += 1 } else { wrong += 1 },
                        Some(_) => other += 1,
                    }
                }
                println!("n {n} s {s} waves {waves:?} {what} {size}: off {:.1} right {:.1} near {:.1} wrong {:.1} other {:.1}", 100. * off as f64 / runs as f64, 100. * right as f64 / runs as f64, 100. * near as f64 / runs as f64, 100. * wrong as f64 / runs as f64, 100. * other as f64 / runs as f64);
            }
        }
    }
    }
}
