//! Planes and minimum zones: counts right answers, and measures times beside one scan of the same memory.
//! `README.md` explains the figures.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "zone/rings.rs"]
mod rings;
#[path = "zone/sets.rs"]
mod sets;
#[path = "zone/small.rs"]
mod small;

use std::hint::black_box;
use std::io::{BufReader, Read, Write};
use std::time::{Duration, Instant};

use geometry::{
    Circle, CircleError, Cloud, CloudError, Method, Point, Rank, ZoneError, exact_zone_of_cloud,
    least_squares_of_cloud, minimum_zone, minimum_zone_circle, minimum_zone_of_cloud, rank,
};
use quantity::{Grid, Length, position_angle_deg};
use sets::{Columns, Dice, KINDS, cloud};

/// Rows of one column that the second scan reads before it turns to the next: as the passes do.
const STRETCH: usize = 128;

fn main() {
    match std::env::args().nth(1).as_deref() {
        Some("answers") => answers(),
        Some("times") => times(),
        Some("proofs") => proofs(),
        Some("rings") => every_ring(120_000),
        _ => {
            proofs();
            times();
        }
    }
}

fn proofs() {
    every_small_set(1_000_000);
    every_certificate(2_000);
    every_ring(120_000);
}

/// Rings of few points, lobed, regular, mirrored and nearly straight, against every centre that two
/// pairs of their points can have.
fn every_ring(cases: usize) {
    let mut dice = Dice(7);
    for (kind, name) in rings::KINDS.iter().enumerate() {
        let (mut right, mut straight, mut on_a_line, mut wrong, mut refused, mut unproved) =
            (0, 0, 0, 0, 0, 0);
        let started = Instant::now();
        let mut own = Duration::ZERO;
        for _ in 0..cases / rings::KINDS.len() {
            let points = rings::set(kind, &mut dice);
            let plain = rings::by_all_centres(&points);
            let before = Instant::now();
            let found = minimum_zone_circle(&points);
            own += before.elapsed();
            let reach = points.iter().map(|p| p.0.hypot(p.1)).fold(0.0, f64::max);
            let close = 1e-11 * reach;
            match found {
                Ok(zone) => {
                    let held = Circle { x: zone.x, y: zone.y, radius: zone.inner_radius };
                    let is = (zone.width - plain.ring).abs() <= close
                        && (held.width(&points) - zone.width).abs() <= close + 1e-15 * held.radius;
                    if is {
                        right += 1;
                    } else {
                        wrong += 1;
                    }
                    unproved += i32::from(!zone.proved);
                    if !is {
                        println!("  {name}: {} for {} of {points:?}", zone.width, plain.ring);
                    }
                }
                Err(CircleError::NoRing) if plain.strip <= plain.ring + close => straight += 1,
                Err(CircleError::Straight) if plain.strip <= close => on_a_line += 1,
                Err(_) => refused += 1,
            }
        }
        println!(
            "rings, {name}: {right} right, {straight} held closer by two lines, {on_a_line} on a \
             line, {wrong} wrong, {refused} refused, {unproved} unproved; {:.0} us each, {:.1} s",
            own.as_secs_f64() * 1e6 * 12.0 / f64::from(u32::try_from(cases).expect("small")),
            started.elapsed().as_secs_f64()
        );
    }
}

fn times() {
    touches();
    clouds(1_000, 2_000);
    clouds(1_000_000, 40);
    clouds(10_000_000, 8);
}

/// Small sets against every two, three and four points of them: the exact zone, and the zone of
/// the same numbers as floats.
fn every_small_set(cases: usize) {
    let (mut dice, mut right, mut wrong, mut refused) = (Dice(1), [0; 10], 0, 0);
    let mut no_plane = 0;
    for case in 0..cases {
        let kind = case % 10;
        let size = 3 + dice.below(7);
        let points = small::set(kind, size, &mut dice);
        let float = |of: fn(&Point) -> i64| {
            let whole = |point: &Point| f64::from(i32::try_from(of(point)).expect("small"));
            points.iter().map(whole).collect::<Vec<f64>>()
        };
        let [x, y, z] = [float(|p| p.at.x_nm), float(|p| p.at.y_nm), float(|p| p.height)];
        let cloud = Cloud::new(&x, &y, &z).expect("columns");
        let as_cloud = [minimum_zone_of_cloud(&cloud), exact_zone_of_cloud(&cloud)];
        match (rank(&points), minimum_zone(&points)) {
            (Rank::Plane, Ok(zone)) => {
                let width = small::by_all_subsets(&points);
                let close = as_cloud.iter().all(|zone| {
                    zone.as_ref().is_ok_and(|zone| {
                        zone.certified && (zone.width - width.to_f64()).abs() <= zone.within
                    })
                });
                if zone.width == width && close { right[kind] += 1 } else { wrong += 1 }
            }
            (Rank::Plane, Err(_)) => refused += 1,
            (rank, found) => {
                no_plane += 1;
                let named = as_cloud.iter().all(
                    |zone| matches!(zone, Err(CloudError::Positions(found)) if *found == rank),
                );
                if !named || found != Err(ZoneError::Positions(rank)) {
                    wrong += 1;
                }
            }
        }
    }
    for (kind, right) in small::KINDS.iter().zip(right) {
        println!("small sets, {kind:<17} {right:>7} right");
    }
    println!(
        "small sets: {cases} cases, {no_plane} named as one place or one line, {wrong} wrong, {refused} refused"
    );
}

/// Clouds of 2 000 to 22 000 points: every answer has its certificate, and the exact path agrees.
fn every_certificate(sets: usize) {
    let mut dice = Dice(3);
    let (mut bare, mut wrong, mut other_rows) = (0, 0, 0);
    let mut methods = [0; 3];
    for set in 0..sets {
        let points = usize::try_from(2_000 + dice.below(20_001)).expect("small");
        let columns = cloud(set % 8, points, &mut dice);
        let whole = Cloud::new(&columns.x, &columns.y, &columns.z).expect("columns");
        let zone = minimum_zone_of_cloud(&whole).expect("a zone");
        let exact = exact_zone_of_cloud(&whole).expect("a zone");
        methods[match zone.method {
            Method::Floats => 0,
            Method::Exact128 => 1,
            Method::Exact512 => 2,
        }] += 1;
        bare += usize::from(!zone.certified || !exact.certified);
        wrong += usize::from((zone.width - exact.width).abs() > zone.within + exact.within);
        other_rows += usize::from(zone.upper != exact.upper || zone.lower != exact.lower);
    }
    println!(
        "certified zones: {sets} sets, {} in floats, {} by 128 bits, {} by 512 bits; {bare} without certificate, {wrong} wrong, {other_rows} with other contacts",
        methods[0], methods[1], methods[2]
    );
}

/// Reads sets from the standard input (a count, then x, y and z, all in 64 bits, little end first)
/// and answers each in one line, until the input ends. For comparison with other programs.
fn answers() {
    let mut input = BufReader::new(std::io::stdin().lock());
    let mut output = std::io::stdout().lock();
    let mut word = [0; 8];
    while input.read_exact(&mut word).is_ok() {
        let points = usize::try_from(u64::from_le_bytes(word)).expect("a count");
        let mut bytes = vec![0; 24 * points];
        input.read_exact(&mut bytes).expect("three columns");
        let all: Vec<f64> =
            bytes.as_chunks::<8>().0.iter().map(|word| f64::from_le_bytes(*word)).collect();
        let column = |axis: usize| &all[axis * points..(axis + 1) * points];
        let cloud = Cloud::new(column(0), column(1), column(2)).expect("columns");
        let start = Instant::now();
        let zone = minimum_zone_of_cloud(&cloud);
        let time = start.elapsed().as_nanos();
        let plane = least_squares_of_cloud(&cloud).ok();
        let plane =
            plane.map_or([f64::NAN; 3], |plane| [plane.slopes.x, plane.slopes.y, plane.intercept]);
        let [a, b, c] = plane;
        match zone {
            Ok(zone) => writeln!(
                output,
                "{:e} {:e} {:?} {} {time} {a:e} {b:e} {c:e}",
                zone.width, zone.within, zone.method, zone.certified
            ),
            Err(error) => writeln!(output, "nan nan {error:?} false {time} {a:e} {b:e} {c:e}"),
        }
        .expect("written");
        output.flush().expect("written");
    }
}

/// The best time of one call.
fn best(rounds: usize, mut call: impl FnMut()) -> Duration {
    let time = |_| {
        let start = Instant::now();
        call();
        start.elapsed()
    };
    (0..rounds).map(time).min().unwrap_or_default()
}

/// A ring of touches, as it is judged at every touch.
fn touches() {
    for positions in [8, 16] {
        let mut dice = Dice(u64::from(positions));
        let mut sets = Vec::new();
        for _ in 0..64 {
            let radius = Length::from_picometres(38_100_000_000);
            let set: Vec<Point> = (0..positions)
                .map(|k| Point {
                    at: Grid::on_circle(radius, position_angle_deg(k, positions)),
                    height: dice.below(60) * 25_400,
                })
                .collect();
            sets.push(set);
        }
        let rounds = 200;
        let all = best(rounds, || {
            for set in &sets {
                black_box(minimum_zone(black_box(set))).expect("a zone");
            }
        });
        println!("minimum zone of {positions:>2} touches, exact      {:>9.2?}", all / 64);
    }
}

/// Eight lanes of lows and highs of three columns: what reading the memory costs.
fn scan(columns: &Columns) -> [f64; 6] {
    let mut ends = [0.0; 6];
    for (axis, column) in [&columns.x, &columns.y, &columns.z].into_iter().enumerate() {
        let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
        for eight in column.as_chunks::<8>().0 {
            for lane in 0..8 {
                low[lane] = if eight[lane] < low[lane] { eight[lane] } else { low[lane] };
                high[lane] = if eight[lane] > high[lane] { eight[lane] } else { high[lane] };
            }
        }
        ends[2 * axis] = low.into_iter().fold(f64::INFINITY, f64::min);
        ends[2 * axis + 1] = high.into_iter().fold(f64::NEG_INFINITY, f64::max);
    }
    ends
}

/// The same scan in stretches of the same rows of all three columns, as the passes take them: what
/// reading the memory costs when three streams come in side by side.
fn side_by_side(columns: &Columns) -> [f64; 6] {
    let (mut low, mut high) = ([[f64::INFINITY; 8]; 3], [[f64::NEG_INFINITY; 8]; 3]);
    let [x, y, z] = [&columns.x, &columns.y, &columns.z].map(|column| column.chunks(STRETCH));
    for ((x, y), z) in x.zip(y).zip(z) {
        for (axis, column) in [x, y, z].into_iter().enumerate() {
            let (low, high) = (&mut low[axis], &mut high[axis]);
            for eight in column.as_chunks::<8>().0 {
                for lane in 0..8 {
                    low[lane] = if eight[lane] < low[lane] { eight[lane] } else { low[lane] };
                    high[lane] = if eight[lane] > high[lane] { eight[lane] } else { high[lane] };
                }
            }
        }
    }
    let mut ends = [0.0; 6];
    for axis in 0..3 {
        ends[2 * axis] = low[axis].into_iter().fold(f64::INFINITY, f64::min);
        ends[2 * axis + 1] = high[axis].into_iter().fold(f64::NEG_INFINITY, f64::max);
    }
    ends
}

/// Zone and plane of clouds beside one scan; and beside the scan that takes the three columns side by
/// side, as a method of one pass must.
fn clouds(points: usize, rounds: usize) {
    for (kind, name) in KINDS.iter().enumerate() {
        let columns = cloud(kind, points, &mut Dice(7));
        let whole = Cloud::new(&columns.x, &columns.y, &columns.z).expect("columns");
        let (mut scans, mut zones, mut planes, mut exact) = (vec![], vec![], vec![], vec![]);
        let mut beside = vec![];
        let time = |times: &mut Vec<Duration>, call: &dyn Fn()| {
            let start = Instant::now();
            call();
            times.push(start.elapsed());
        };
        for _ in 0..rounds {
            time(&mut scans, &|| {
                black_box(scan(black_box(&columns)));
            });
            time(&mut beside, &|| {
                black_box(side_by_side(black_box(&columns)));
            });
            time(&mut zones, &|| {
                assert!(
                    black_box(minimum_zone_of_cloud(black_box(&whole))).expect("zone").certified
                );
            });
            time(&mut planes, &|| {
                black_box(least_squares_of_cloud(black_box(&whole))).expect("plane");
            });
            time(&mut exact, &|| {
                black_box(exact_zone_of_cloud(black_box(&whole))).expect("zone");
            });
        }
        // The best of the rounds: what is left when nobody else uses the machine.
        let best = |times: &[Duration]| times.iter().min().copied().unwrap_or_default();
        let floor = best(&scans);
        let beside = best(&beside);
        let ratio = |time: Duration| time.as_secs_f64() / floor.as_secs_f64();
        let (zone, plane, exact) = (best(&zones), best(&planes), best(&exact));
        let method = minimum_zone_of_cloud(&whole).expect("zone").method;
        println!(
            "N {points:>8} {name:<30} scan {floor:>9.2?} (side by side {beside:>9.2?})  zone {zone:>9.2?} = {:>5.2}  exact {exact:>9.2?} = {:>5.2}  plane {plane:>9.2?} = {:>5.2}  {method:?}",
            ratio(zone),
            ratio(exact),
            ratio(plane)
        );
    }
}
