//! A bench that begins with nothing, and what it knows of its gauge after each ring of a month.

use std::fmt::Write as _;

use super::series::{Outcome, series};
use super::shop::{Known, Shop, What};
use super::world::{Dice, World};

/// Rings of a month: six on each of 22 days.
pub(crate) const RINGS: u32 = 132;

/// ± of the range of a good ring after each ring, µin, for a hand of this scatter.
pub(crate) fn month(s: f64, seed: u64) -> Vec<Outcome> {
    let mut dice = Dice::new(seed);
    let mut shop = Shop::new(Known::Nothing, s);
    let mut ring = || {
        let value = dice.between(0.0, 40.0);
        let world = World::new(What::Ring, value, s, None, &mut dice);
        series(&mut shop, What::Ring, world, &mut dice);
        // What it would say now of a ring that comes back exactly: the return of a real one is part of its ±.
        let mut ideal = Dice::new(0);
        let world = World::new(What::Ring, value, 0.0, None, &mut ideal);
        series(&mut shop.clone(), What::Ring, world, &mut ideal)
    };
    (0..RINGS).map(|_| ring()).collect()
}

/// ± of the same range where this scatter is stated and nothing else is in it: 2·√2·√(s² + q²/12).
pub(crate) fn true_u(s: f64) -> f64 {
    2.0 * (2.0 * (s * s + 100.0 / 12.0)).sqrt()
}

/// A table of it, and the drawing.
pub(crate) fn drawn(hands: &[f64], seed: u64) -> (String, String) {
    const AT: [usize; 9] = [1, 2, 5, 10, 15, 20, 40, 80, 132];
    let months: Vec<Vec<Outcome>> = hands.iter().map(|s| month(*s, seed)).collect();
    let mut table = String::from("| scatter of a touch, µin |");
    for at in AT {
        write!(table, " ring {at} |").expect("text");
    }
    table.push_str(" if it were stated |\n|---|");
    table.push_str(&"---|".repeat(AT.len() + 1));
    table.push('\n');
    for (s, month) in hands.iter().zip(&months) {
        write!(table, "| {s} |").expect("text");
        for at in AT {
            let one = &month[at - 1];
            write!(table, " {:.0}, k {:.2} |", one.uncertainty, one.k).expect("text");
        }
        writeln!(table, " {:.0} |", true_u(*s)).expect("text");
    }
    (table, svg(hands, &months))
}

/// ± over the rings, a line for each hand, dashed what it would be if it were stated.
fn svg(hands: &[f64], months: &[Vec<Outcome>]) -> String {
    const WIDE: f64 = 720.0;
    const HIGH: f64 = 320.0;
    const LEFT: f64 = 48.0;
    const MOST: f64 = 100.0;
    let rings = f64::from(RINGS);
    let x = |ring: f64| (WIDE - LEFT - 90.0).mul_add(ring / rings, LEFT);
    let y = |u: f64| (HIGH - 56.0).mul_add(1.0 - u.min(MOST) / MOST, 20.0);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE} {HIGH}\" font-family=\"sans-serif\" font-size=\"13\">\n\
         <title>± of the range of a ring while a bench gets to know its gauge</title>\n\
         <rect width=\"{WIDE}\" height=\"{HIGH}\" fill=\"#fff\"/>\n"
    );
    for u in [0.0, 25.0, 50.0, 75.0, 100.0] {
        let at = y(u);
        let (to, text) = (x(rings), at + 4.0);
        writeln!(
            svg,
            "<path d=\"M{LEFT} {at:.1}H{to:.1}\" stroke=\"#ddd\"/><text x=\"40\" y=\"{text:.1}\" text-anchor=\"end\">{u}</text>"
        )
        .expect("text");
    }
    for ring in [1.0, 22.0, 44.0, 66.0, 88.0, 110.0, 132.0] {
        let (at, under) = (x(ring), HIGH - 18.0);
        writeln!(svg, "<text x=\"{at:.1}\" y=\"{under}\" text-anchor=\"middle\">{ring}</text>")
            .expect("text");
    }
    let under = HIGH - 3.0;
    writeln!(svg, "<text x=\"{LEFT}\" y=\"13\">±, µin</text><text x=\"{:.1}\" y=\"{under}\" text-anchor=\"middle\">rings measured</text>", x(rings / 2.0))
        .expect("text");
    for ((s, month), colour) in hands.iter().zip(months).zip(["#0b6e4f", "#1f5fa8", "#a33b20"]) {
        let mut path = String::new();
        for (ring, one) in (1_u32..).zip(month) {
            let to = if ring == 1 { 'M' } else { 'L' };
            write!(path, "{to}{:.1} {:.1}", x(f64::from(ring)), y(one.uncertainty)).expect("text");
        }
        let (stated, end) = (y(true_u(*s)), x(rings));
        writeln!(
            svg,
            "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\"/>\n\
             <path d=\"M{LEFT} {stated:.1}H{end:.1}\" stroke=\"{colour}\" stroke-dasharray=\"3 4\"/>\n\
             <text x=\"{:.1}\" y=\"{:.1}\" fill=\"{colour}\">s = {s} µin</text>",
            end + 6.0,
            stated + 4.0
        )
        .expect("text");
    }
    svg.push_str("</svg>\n");
    svg
}
