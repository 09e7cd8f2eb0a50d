//! The cells of the screen as a drawing (SVG): what a terminal shows, for a guide or a letter. It loads nothing, and is
//! light or dark as its reader has it.

use std::fmt::Write as _;

use maud::html;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};

use wire::View;

use super::brush::Look;
use super::draw::draw;
use super::scene::Scene;

/// Columns and rows of a screen that nobody looks at.
const SIZE: (u16, u16) = (100, 30);

/// The size of a cell.
const WIDE: u16 = 9;
const HIGH: u16 = 19;
/// The rim around the screen.
const RIM: u16 = 12;
/// Where the letters of a row stand, from its upper edge.
const BASE: u16 = 14;

/// Ink, dim ink, paper, rim, and the three colours of verdicts: on light paper, and in the dark.
const LIGHT: [&str; 7] =
    ["#16191d", "#8a939c", "#ffffff", "#b9c0c8", "#1d6b3f", "#b01818", "#7a5a00"];
const DARK: [&str; 7] =
    ["#e6e9ec", "#7b848d", "#101316", "#3a4148", "#7ad19b", "#ff8a80", "#ffcf5c"];

/// What the screen shows of a view, drawn.
pub(super) fn of_view(view: &View, look: Look, dark: bool) -> String {
    let scene =
        Scene { view: Some(view), since_ms: 0, away_s: None, message: None, over: None, look };
    let mut screen = Buffer::empty(Rect::new(0, 0, SIZE.0, SIZE.1));
    draw(&scene, screen.area, &mut screen);
    svg(&screen, "The bench screen: tenths watch", dark)
}

fn escaped(text: &str) -> String {
    html! { (text) }.into_string()
}

/// The drawing of a screen; `dark` whatever its reader has.
fn svg(screen: &Buffer, title: &str, dark: bool) -> String {
    let (wide, high) = (screen.area.width * WIDE + 2 * RIM, screen.area.height * HIGH + 2 * RIM);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide} {high}\" width=\"{wide}\" height=\"{high}\" \
         role=\"img\">\n<title>{}</title>\n<style>{}</style>\n\
         <rect class=\"p\" x=\"1\" y=\"1\" width=\"{}\" height=\"{}\" rx=\"7\"/>\n",
        escaped(title),
        style(dark),
        wide - 2,
        high - 2
    );
    for y in 0..screen.area.height {
        row(screen, y, &mut svg);
    }
    svg + "</svg>\n"
}

fn style(dark: bool) -> String {
    let colours = |[ink, dim, paper, rim, green, red, yellow]: [&str; 7]| {
        format!(
            ".p{{fill:{paper};stroke:{rim}}}.i{{fill:{ink}}}.d{{fill:{dim}}}.g{{fill:{green}}}.r{{fill:{red}}}\
             .y{{fill:{yellow}}}.n{{fill:{paper}}}.l{{fill:none;stroke:{ink}}}"
        )
    };
    let letters = "text{font:14px ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,monospace;white-space:pre}\
                   .b{font-weight:700}.h{opacity:.45}";
    if dark {
        return letters.to_owned() + &colours(DARK);
    }
    let (light, dark) = (colours(LIGHT), colours(DARK));
    format!("{letters}{light}@media(prefers-color-scheme:dark){{{dark}}}")
}

/// How a cell is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Drawn {
    Nothing,
    /// Filled wholly, or half.
    Block(char),
    /// Lines of a box: up, down, left, right, and whether they are double.
    Lines([bool; 4], bool),
    Letter,
}

fn drawn(cell: &Cell) -> Drawn {
    let mut letters = cell.symbol().chars();
    match letters.next().unwrap_or(' ') {
        ' ' => Drawn::Nothing,
        one @ ('█' | '▒') => Drawn::Block(one),
        '│' => Drawn::Lines([true, true, false, false], false),
        '─' => Drawn::Lines([false, false, true, true], false),
        '┌' => Drawn::Lines([false, true, false, true], false),
        '┐' => Drawn::Lines([false, true, true, false], false),
        '└' => Drawn::Lines([true, false, false, true], false),
        '┘' => Drawn::Lines([true, false, true, false], false),
        '║' => Drawn::Lines([true, true, false, false], true),
        '═' => Drawn::Lines([false, false, true, true], true),
        '╔' => Drawn::Lines([false, true, false, true], true),
        '╗' => Drawn::Lines([false, true, true, false], true),
        '╚' => Drawn::Lines([true, false, false, true], true),
        '╝' => Drawn::Lines([true, false, true, false], true),
        _ => Drawn::Letter,
    }
}

/// The class of a cell's ink: its colour, and whether it is bold.
fn ink(cell: &Cell) -> &'static str {
    let bold = cell.modifier.contains(Modifier::BOLD);
    if cell.modifier.contains(Modifier::REVERSED) {
        return if bold { "n b" } else { "n" };
    }
    match (cell.fg, bold) {
        (Color::Green, _) => "g b",
        (Color::Red, _) => "r b",
        (Color::Yellow, _) => "y b",
        _ if cell.modifier.contains(Modifier::DIM) => "d",
        (_, true) => "i b",
        (_, false) => "i",
    }
}

/// Cells of one row that are drawn alike, as one thing.
fn row(screen: &Buffer, y: u16, svg: &mut String) {
    let cell = |x: u16| &screen[(screen.area.x + x, screen.area.y + y)];
    let reversed = |x: u16| cell(x).modifier.contains(Modifier::REVERSED);
    let wide = screen.area.width;
    let mut x = 0;
    while x < wide {
        let (first, alike) = (drawn(cell(x)), ink(cell(x)));
        let back = reversed(x);
        let mut end = x + 1;
        let goes_on = |at: u16| {
            let same = ink(cell(at)) == alike && reversed(at) == back;
            let blank = first == Drawn::Letter && drawn(cell(at)) == Drawn::Nothing;
            same && (drawn(cell(at)) == first || blank) && !matches!(first, Drawn::Lines(..))
        };
        while end < wide && goes_on(end) {
            end += 1;
        }
        if back {
            put(svg, "rect", "i", &place((x, end), y));
        }
        match first {
            Drawn::Nothing => {}
            Drawn::Block(block) => {
                let class = if block == '█' { alike.to_owned() } else { format!("{alike} h") };
                put(svg, "rect", &class, &place((x, end), y));
            }
            Drawn::Lines(ways, double) => put(svg, "path", "l", &lines((x, y), ways, double)),
            Drawn::Letter => {
                let letters: String = (x..end).map(|at| cell(at).symbol()).collect();
                letters_at((x, y), letters.trim_end(), alike, svg);
            }
        }
        x = end;
    }
}

fn put(svg: &mut String, what: &str, class: &str, rest: &str) {
    writeln!(svg, "<{what} class=\"{class}\" {rest}/>").expect("a String takes everything");
}

/// The place of some cells of a row.
fn place((from, to): (u16, u16), y: u16) -> String {
    let (left, top, wide) = (RIM + from * WIDE, RIM + y * HIGH, (to - from) * WIDE);
    format!("x=\"{left}\" y=\"{top}\" width=\"{wide}\" height=\"{HIGH}\"")
}

/// Words, held to their cells whatever letters their reader has.
fn letters_at((x, y): (u16, u16), letters: &str, class: &str, svg: &mut String) {
    let (left, base) = (RIM + x * WIDE, RIM + y * HIGH + BASE);
    let count = u16::try_from(letters.chars().count()).unwrap_or(0);
    writeln!(
        svg,
        "<text class=\"{class}\" x=\"{left}\" y=\"{base}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">{}</text>",
        count * WIDE,
        escaped(letters)
    )
    .expect("a String takes everything");
}

/// The lines of a box inside a cell, from its middle to its edges.
fn lines((x, y): (u16, u16), [up, down, left, right]: [bool; 4], double: bool) -> String {
    let (middle_x, middle_y) = (
        f32::from(RIM + x * WIDE) + f32::from(WIDE) / 2.0,
        f32::from(RIM + y * HIGH) + f32::from(HIGH) / 2.0,
    );
    let (half_x, half_y) = (f32::from(WIDE) / 2.0, f32::from(HIGH) / 2.0);
    let mut path = String::new();
    let ways =
        [(up, 0.0, -half_y), (down, 0.0, half_y), (left, -half_x, 0.0), (right, half_x, 0.0)];
    for (_, by_x, by_y) in ways.into_iter().filter(|(there, ..)| *there) {
        write!(path, "M{middle_x} {middle_y}l{by_x} {by_y}").expect("a String takes everything");
    }
    format!("stroke-width=\"{}\" d=\"{path}\"", if double { "3.4" } else { "1.2" })
}
