//! How a reading goes: from the gauge to the record, and only from there to a screen.

use maud::{Markup, html};

use super::{centred, framed, moves};

const SIZE: (u32, u32) = (760, 250);

/// A box: its place, its size, its heading and the lines below that.
struct Place(f64, f64, f64, f64, &'static str, &'static [&'static str]);

const PLACES: [Place; 6] = [
    Place(16.0, 24.0, 150.0, 84.0, "gauges", &["on a cable, asked,", "or a stream"]),
    Place(
        16.0,
        138.0,
        150.0,
        88.0,
        "hands and files",
        &["keyed in, scanned,", "pedal, dropped files"],
    ),
    Place(
        232.0,
        54.0,
        158.0,
        142.0,
        "tenths serve",
        &["frames → readings", "what to touch next", "the verdict, with ±"],
    ),
    Place(456.0, 78.0, 120.0, 94.0, "record", &["one file;", "nothing is ever", "overwritten"]),
    Place(642.0, 24.0, 104.0, 84.0, "screens", &["watch, status,", "tail, sounds"]),
    Place(642.0, 142.0, 104.0, 84.0, "papers", &["report, sheet,", "tables, export"]),
];

/// The drawing.
pub(super) fn drawn() -> String {
    let desc = "Gauges, hands and files give readings to the service. It decides and writes the record. Only what is \
                in the record is answered, shown on screens, or printed.";
    let inside = html! {
        @for place in &PLACES { (drawn_box(place)) }
        (moves("M166 66 C196 66 204 96 222 100", (231.0, 102.0), 12.0))
        (moves("M166 182 C196 182 204 152 222 148", (231.0, 146.0), -12.0))
        (moves("M390 125 H446", (455.0, 125.0), 0.0))
        (moves("M576 110 C604 108 606 70 632 67", (641.0, 66.0), -6.0))
        (moves("M576 140 C604 142 606 180 632 183", (641.0, 184.0), 6.0))
        (centred((423.0, 112.0), "writes"))
        (centred((423.0, 146.0), "first"))
        (centred((608.0, 44.0), "then"))
        (centred((608.0, 60.0), "says"))
    };
    framed(SIZE, ("The path of a reading", desc), &inside)
}

fn drawn_box(Place(x, y, wide, high, heading, said): &Place) -> Markup {
    let middle = x + wide / 2.0;
    let count = f64::from(u32::try_from(said.len()).unwrap_or(0));
    let first = y + high / 2.0 - count * 8.0 + 2.0;
    let lines =
        (0_u32..).zip(*said).map(|(nth, line)| (first + 18.0 + f64::from(nth) * 16.0, line));
    html! {
        rect.l.m x=(x) y=(y) width=(wide) height=(high) rx="5" {}
        text.x.b x=(middle) y=(first) text-anchor="middle" { (heading) }
        @for (y, line) in lines { (centred((middle, y), line)) }
    }
}
