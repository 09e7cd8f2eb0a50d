//! The drawings of the guides: how a part is held, where the positions of a ring lie, how a reading goes. Each is one
//! SVG file that loads nothing, light or dark as its reader has it.

mod path;
mod ring;
mod setups;

use maud::{Markup, PreEscaped, html};

use bench::plan::{Check, Holding};

/// How all of them look: `l` lines, `t` thin lines, `m` metal, `p` paper, `d` what is dark, `x` words, `a` what moves.
const STYLE: &str = "\
.p{fill:#fff}.l{fill:none;stroke:#16191d;stroke-width:1.7;stroke-linejoin:round;stroke-linecap:round}\
.t{stroke-width:.9}.m{fill:#dfe4ea}.w{fill:#fff}.d{fill:#16191d}.a{stroke:#1b5e8c}.ad{fill:#1b5e8c}\
.x{font:12px system-ui,'Segoe UI','Liberation Sans','DejaVu Sans',Arial,sans-serif;fill:#16191d}\
.b{font-weight:700}.q{fill:#4a525b}\
@media (prefers-color-scheme:dark){.p,.w{fill:#14171a}.l{stroke:#e4e8ec}.m{fill:#333a42}.d{fill:#e4e8ec}\
.a{stroke:#7fc4f2}.ad{fill:#7fc4f2}.x{fill:#e4e8ec}.q{fill:#a9b2bb}}";

/// A drawing and the name of its file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The name of its file, without its ending.
    pub name: String,
    /// The file.
    pub svg: String,
}

/// All of them; the ring has the positions of this check.
#[must_use]
pub fn drawings(ring: &Check) -> Vec<Drawn> {
    let setup = |holding: Holding| {
        let name = format!("set-up-{}", holding.text());
        Drawn { name, svg: setups::drawn(holding) }
    };
    let mut all: Vec<Drawn> = Holding::ALL.into_iter().map(setup).collect();
    all.push(Drawn { name: "ring".to_owned(), svg: ring::drawn(ring) });
    all.push(Drawn { name: "path-of-a-reading".to_owned(), svg: path::drawn() });
    all
}

/// A drawing with a title and a description for readers who do not see it.
fn framed((wide, high): (u32, u32), (title, desc): (&str, &str), inside: &Markup) -> String {
    let drawn = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {wide} {high}")) width=(wide) height=(high)
            role="img" aria-labelledby="t d" {
            title id="t" { (title) }
            desc id="d" { (desc) }
            style { (PreEscaped(STYLE)) }
            rect.p width=(wide) height=(high) {}
            (inside)
        }
    };
    drawn.into_string() + "\n"
}

/// Lines along a path.
fn lines(path: &str) -> Markup {
    html! { path.l d=(path) {} }
}

/// Thin lines along a path.
fn thin(path: &str) -> Markup {
    html! { path.l.t d=(path) {} }
}

/// What is cut through or solid.
fn solid(path: &str) -> Markup {
    html! { path.l.m d=(path) {} }
}

/// A line that shows how something moves, with a head at its end.
fn moves(path: &str, (x, y): (f64, f64), towards_deg: f64) -> Markup {
    let turn = format!("translate({x} {y}) rotate({towards_deg})");
    html! {
        path.l.a d=(path) {}
        path.ad d="M0 0 L-9 -4.5 L-9 4.5 Z" transform=(turn) {}
    }
}

/// Words that begin at a place.
fn words((x, y): (f64, f64), said: &str) -> Markup {
    html! { text.x x=(x) y=(y) { (said) } }
}

/// Words around a place.
fn centred((x, y): (f64, f64), said: &str) -> Markup {
    html! { text.x x=(x) y=(y) text-anchor="middle" { (said) } }
}

/// Strokes under a line that stands for something that does not move.
fn ground(from: f64, to: f64, y: f64) -> Markup {
    let mut path = format!("M{from} {y} H{to}");
    let mut x = from + 8.0;
    while x <= to {
        path = format!("{path} M{x} {y} l-7 8");
        x += 9.0;
    }
    thin(&path)
}

#[cfg(test)]
mod tests;
