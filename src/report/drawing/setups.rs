//! The set-ups as line drawings, seen from the side, the ring cut through.

use maud::{Markup, html};

use super::{framed, ground, lines, moves, solid, thin, words};
use bench::plan::Holding;

/// Width and height of each.
const SIZE: (u32, u32) = (400, 250);
/// The upper side of the plate.
const PLATE: f64 = 190.0;

/// The drawing of a set-up.
pub(super) fn drawn(holding: Holding) -> String {
    let (told, inside) = match holding {
        Holding::Plate => (
            (
                "On the plate",
                "A ring lies on the surface plate. A stylus rests on its upper face; the ring is turned by hand under it.",
            ),
            plate(),
        ),
        Holding::Anvil => (
            (
                "Over an anvil",
                "A ring rides over a fixed ball right under the stylus, held by two guides: the thickness at one spot.",
            ),
            anvil(),
        ),
        Holding::Supports => (
            (
                "On three supports",
                "A ring lies on three supports that are screwed until it is level. A stylus rests on its upper face.",
            ),
            supports(),
        ),
        Holding::Turning => (
            (
                "Turning",
                "A shaft turns in its bearings by hand. A stylus that does not move rests on it.",
            ),
            turning(),
        ),
    };
    framed(SIZE, told, &inside)
}

/// The surface plate, with its name.
fn surface() -> Markup {
    html! {
        (solid(&format!("M24 {PLATE} H376 V{} H24 Z", PLATE + 20.0)))
        (ground(24.0, 376.0, PLATE + 20.0))
        (words((28.0, PLATE + 45.0), "surface plate"))
    }
}

/// A ring that is cut through: both walls, and its edges behind them.
fn ring(under: f64) -> Markup {
    let top = under - 34.0;
    let wall = |x: f64| {
        html! {
            (solid(&format!("M{x} {top} h34 v34 h-34 Z")))
            (thin(&format!("M{} {under} l-16 -16 M{} {under} l-28 -28 M{} {} l-18 -18", x + 17.0, x + 29.0, x + 34.0, under - 7.0)))
        }
    };
    html! {
        (lines(&format!("M114 {top} H196 M114 {under} H196")))
        (wall(80.0)) (wall(196.0))
        path.l.t stroke-dasharray="9 3 2 3" d=(format!("M155 {} V{}", top - 12.0, under + 10.0)) {}
    }
}

/// An indicator whose stylus rests at a place, seen from the side.
fn indicator((x, y): (f64, f64)) -> Markup {
    html! {
        (lines(&format!("M{x} {} V{}", y - 6.0, y - 26.0)))
        (solid(&format!("M{} {} h12 v-26 h-12 Z", x - 6.0, y - 26.0)))
        circle.l.w cx=(x) cy=(y - 68.0) r="19" {}
        (thin(&format!("M{x} {} l8 -11", y - 68.0)))
        circle.d cx=(x) cy=(y - 68.0) r="2" {}
        circle.l.w cx=(x) cy=(y - 3.5) r="3.5" {}
    }
}

/// The stand of an indicator at the same place: an arm to a column with a foot.
fn stand((x, y): (f64, f64)) -> Markup {
    let arm = y - 68.0;
    html! {
        (solid(&format!("M{} {} H336 v7 H{} Z", x + 19.0, arm - 3.5, x + 19.0)))
        (solid(&format!("M328 {} h9 V{} h-9 Z", arm - 16.0, PLATE - 16.0)))
        (solid(&format!("M300 {} h66 v16 h-66 Z", PLATE - 16.0)))
    }
}

/// How a ring is turned by hand.
fn by_hand(top: f64) -> Markup {
    let path =
        format!("M112 {} C118 {} 176 {} 188 {}", top - 12.0, top - 30.0, top - 34.0, top - 18.0);
    moves(&path, (192.0, top - 13.0), 58.0)
}

fn plate() -> Markup {
    let top = PLATE - 34.0;
    html! {
        (surface()) (ring(PLATE)) (by_hand(top))
        (indicator((214.0, top))) (stand((214.0, top)))
        (words((28.0, top - 40.0), "the ring is turned;"))
        (words((28.0, top - 25.0), "index mark at 0"))
        (thin(&format!("M90 {} L90 {}", top - 20.0, top - 2.0)))
        (words((28.0, PLATE - 20.0), "face b"))
        (words((28.0, PLATE - 5.0), "down"))
        (words((228.0, top - 12.0), "stays"))
    }
}

fn anvil() -> Markup {
    let under = PLATE - 34.0;
    html! {
        (surface())
        (solid(&format!("M208 {PLATE} v-22 h12 v22 Z")))
        circle.l.w cx="214" cy=(under + 6.5) r="6.5" {}
        (solid(&format!("M66 {PLATE} V{} h10 V{PLATE} Z", under - 20.0)))
        (ring(under)) (by_hand(under - 34.0))
        (indicator((214.0, under - 34.0))) (stand((214.0, under - 34.0)))
        (thin(&format!("M224 {} L252 {}", under + 6.0, under + 2.0)))
        (words((228.0, under + 26.0), "ball"))
        (words((256.0, under - 8.0), "right under"))
        (words((256.0, under + 7.0), "the stylus"))
        (words((28.0, under - 74.0), "rides over the ball"))
        (words((28.0, PLATE - 8.0), "guide"))
    }
}

fn supports() -> Markup {
    let under = PLATE - 34.0;
    let jack = |x: f64, thin_one: bool| {
        let class = if thin_one { "l t m" } else { "l m" };
        html! {
            path class=(class) d=(format!("M{} {PLATE} h22 l-5 -12 h-12 Z", x - 11.0)) {}
            path class=(class) d=(format!("M{} {} h8 V{} h-8 Z", x - 4.0, PLATE - 12.0, under + 5.0)) {}
            path class=(class) d=(format!("M{} {} a6 5 0 0 1 12 0 Z", x - 6.0, under + 5.0)) {}
        }
    };
    html! {
        (surface())
        (jack(155.0, true)) (jack(97.0, false)) (jack(213.0, false))
        (ring(under)) (by_hand(under - 34.0))
        (indicator((214.0, under - 34.0))) (stand((214.0, under - 34.0)))
        (words((28.0, under - 74.0), "the ring is turned, or the stand"))
        (words((124.0, PLATE + 45.0), "three supports, screwed level; one stands behind"))
    }
}

fn turning() -> Markup {
    let axis = 150.0;
    let bearing = |x: f64| {
        html! {
            path.l.w d=(format!("M{x} {} h26 v22 h-26 Z M{x} {} h26 v22 h-26 Z", axis - 50.0, axis + 28.0)) {}
            circle.l.t.w cx=(x + 13.0) cy=(axis - 39.0) r="7" {}
            circle.l.t.w cx=(x + 13.0) cy=(axis + 39.0) r="7" {}
        }
    };
    let housing = |y: f64| {
        html! { (solid(&format!("M52 {y} h196 v14 h-196 Z"))) }
    };
    html! {
        (housing(axis - 64.0)) (housing(axis + 50.0))
        (ground(52.0, 248.0, axis + 64.0))
        (solid(&format!("M36 {} h222 v-18 h60 v92 h-60 v-18 h-222 Z", axis - 28.0)))
        (bearing(66.0)) (bearing(98.0)) (bearing(200.0))
        path.l.t stroke-dasharray="9 3 2 3" d=(format!("M22 {axis} H346")) {}
        (moves(&format!("M340 {} C362 {} 362 {} 344 {}", axis - 26.0, axis - 22.0, axis + 22.0, axis + 26.0), (336.0, axis + 28.0), 170.0))
        (indicator((292.0, axis - 46.0)))
        (solid(&format!("M311 {} h65 v7 h-65 Z", axis - 117.5)))
        (words((330.0, axis + 52.0), "turned"))
        (words((330.0, axis + 67.0), "by hand"))
        (words((330.0, axis - 90.0), "stays"))
        (words((52.0, axis - 72.0), "in its own bearings"))
        (words((28.0, axis + 92.0), "The reading of a turn holds the bearings, too."))
    }
}
