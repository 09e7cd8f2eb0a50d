//! Where everything is drawn. Whatever a colour shows, a word or a shape shows too.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use wire::{Next, View, ViewCheck, ViewVerdict, printable};

use super::super::screen::Ink;
use super::big::big_wrapped;
use super::brush::{
    Look, STRONG, below, put, put_big, put_rows, put_within, rows_of, show_cuts, wide, wrapped,
};
use super::curve::curve;
use super::proof;
use super::question::question;
use super::ring::ring;
use super::scene::{Over, SKIP_REASONS, Scene, value};
use ::report::screen::{self as words, Call, held_up};

/// On a smaller screen there is room for words only.
const LEAST: (u16, u16) = (56, 16);
/// From this many rows on, the words begin with what is measured.
const ROOMY: u16 = 8;

/// Draws the whole screen.
pub(super) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    whole(scene, area, buf);
    show_cuts(scene.look, buf);
    if !scene.look.utf8 {
        for cell in buf.content.iter_mut().filter(|cell| !cell.symbol().is_ascii()) {
            cell.set_symbol("?");
        }
    }
}

fn whole(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    if area.width < 12 || area.height < 2 {
        put(buf, (area.x, area.y), "too small", Style::new());
        return;
    }
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return small(scene, area, buf);
    }
    let foot = foot(scene, area, buf);
    if let Some(view) = scene.view {
        head(view, area, buf);
        let body = Rect { y: area.y + 2, height: area.height - 2 - foot, ..area };
        match (&view.proof, &view.check) {
            (Some(proving), _) => proof::draw(scene, view, proving, (body, buf)),
            (None, Some(check)) => measuring(scene, view, check, body, buf),
            (None, None) => waiting(scene, view, body, buf),
        }
    }
    if let Some(over) = scene.over {
        panel(over, area, buf);
    }
}

fn head(view: &View, area: Rect, buf: &mut Buffer) {
    let place = words::place(view);
    let title = words::title(view);
    // The job and the check need their room more than the name of the bench does.
    let room = area.width.saturating_sub(wide(&title) + 2).max(area.width / 4).min(wide(&place));
    put_within(buf, (area.right() - room, area.y), &place, room, Style::new());
    put_within(buf, (area.x, area.y), &title, area.width.saturating_sub(room + 2), STRONG);
    if let Some(proving) = &view.proof {
        let waits = view.check.as_ref().filter(|_| proving.end.is_none());
        let waits = waits.map_or_else(String::new, |check| {
            printable(&format!("{}/{} waits until that is over", check.part, check.name))
        });
        put_within(buf, (area.x, area.y + 1), &waits, area.width, Style::new());
    } else if let Some(check) = &view.check {
        let subtitle = words::subtitle(check);
        put_within(buf, (area.x, area.y + 1), &subtitle, area.width, Style::new());
        // Where the job stands has what room is left in that row, and no other.
        let step = words::step(view);
        if wide(&subtitle) + 2 + wide(&step) <= area.width {
            put(buf, (area.right() - wide(&step), area.y + 1), &step, Style::new());
        }
    } else {
        put_within(buf, (area.x, area.y + 1), &words::step(view), area.width, Style::new());
    }
}

/// Alerts, gauges and keys; returns the rows it took.
fn foot(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> u16 {
    let look = scene.look;
    let mut calls = scene.view.map(words::calls).unwrap_or_default();
    if let Some(seconds) = scene.away_s {
        let text = format!("!! THE SERVICE IS AWAY ({seconds} s). Waiting until it is back.");
        calls.insert(0, Call::loud(text));
    }
    let most = usize::from(area.height / 8).max(2);
    let more = calls.len().saturating_sub(most);
    calls.truncate(most);
    let mut row = area.bottom() - 1;
    let next = scene.view.and_then(|view| Some(view.check.as_ref()?.next));
    let proves =
        scene.view.and_then(|view| view.proof.as_ref()).is_some_and(|one| one.end.is_none());
    let keys = match next {
        _ if proves => "space take  v take back  a seen  ? help  q quit",
        Some(Next::Sweep) => "space tap a mark  v drop the turn  n next  a seen  ? help  q quit",
        Some(Next::Seat) => "space the bar is seated  v take back  n next  a seen  ? help  q quit",
        _ => "n next  v take back  m master  s skip  a seen  ? help  q quit",
    };
    put_within(buf, (area.x, row), scene.message.unwrap_or(keys), area.width, Style::new());
    if let Some(view) = scene.view {
        row -= 1;
        put_within(
            buf,
            (area.x, row),
            &words::gauge_ages(view, scene.since_ms),
            area.width,
            Style::new(),
        );
    }
    if more > 0 {
        let text = format!(" and {more} more ");
        put(buf, (area.right().saturating_sub(wide(&text)), row), &text, STRONG);
    }
    // Rows that no alert needs go to alerts that are longer than a row, the first one first.
    let mut spare = most - calls.len();
    let rows: Vec<Vec<String>> =
        calls.iter().map(|call| rows_for(&call.text, area.width, &mut spare)).collect();
    for (call, rows) in calls.iter().zip(&rows).rev() {
        let style = look.ink(call.ink);
        for text in rows.iter().rev() {
            row -= 1;
            put_within(buf, (area.x, row), text, area.width, style);
        }
    }
    area.bottom() - row
}

/// Without a check: the value, and what to do.
fn waiting(scene: &Scene<'_>, view: &View, body: Rect, buf: &mut Buffer) {
    let used = value(scene, view, Rect { height: body.height * 2 / 3, ..body }, buf);
    let text = if view.job.is_some() {
        "No check is active. n: the next one without a verdict."
    } else {
        "No job is in use: tenths job open NAME --plan PLAN"
    };
    put_within(buf, (body.x, body.y + used + 1), text, body.width, STRONG);
    let before = view.stands.as_ref().and_then(|stands| stands.hindered_by.as_deref());
    let rest = below(body, used + 3);
    if let Some(before) = before.filter(|_| rest.height > 0) {
        wrapped(buf, rest, &printable(before), Style::new());
    }
}

fn measuring(scene: &Scene<'_>, view: &View, check: &ViewCheck, body: Rect, buf: &mut Buffer) {
    let third = body.height / 3;
    if let Some(verdict) = words::standing(check) {
        let top = Rect { height: third.max(6).min(body.height), ..body };
        let used = verdict_big(scene, verdict, top, buf) + 1;
        let rest = Rect { y: body.y + used, height: body.height.saturating_sub(used), ..body };
        if let Some(shown) = &check.run_in {
            let words = Rect { height: (rest.height / 3).max(3).min(rest.height), ..rest };
            advice(verdict, words, buf);
            return curve(shown, below(rest, words.height), buf, scene.look);
        }
        if check.of == 0 {
            // Nothing was touched: there is no ring and no value to show.
            return advice(verdict, rest, buf);
        }
        let (left, right) = halves(rest);
        ring(check, right, buf, scene.look);
        let asks = check.next != Next::Nothing;
        if asks {
            let used = next(scene, check, left, buf) + 1;
            value(scene, view, below(left, used), buf);
        } else {
            // Nothing more is touched: a missing gauge is named only in the last rows.
            let shown = words::is_readable(view) || scene.away_s.is_some();
            let half = Rect { height: left.height.min(third.max(5)), ..left };
            let used = if shown { value(scene, view, half, buf) + 1 } else { 0 };
            advice(verdict, below(left, used), buf);
        }
        return;
    }
    if let Some(shown) = &check.run_in {
        let top = Rect { height: (body.height / 2).min(10), ..body };
        let used = next(scene, check, top, buf);
        return curve(shown, below(body, used), buf, scene.look);
    }
    if check.of == 0 {
        if check.next == Next::Answer && check.asks.question.is_some() {
            question(scene.look, check, body, buf);
        } else {
            next(scene, check, body, buf);
        }
        return;
    }
    let used = value(scene, view, Rect { height: third.max(5).min(body.height), ..body }, buf) + 1;
    let (left, right) = halves(below(body, used));
    ring(check, right, buf, scene.look);
    next(scene, check, left, buf);
}

/// Splits the screen: words to the left, the ring to the right, as wide as is useful.
fn halves(area: Rect) -> (Rect, Rect) {
    let ring = (area.height * 2 + 2).min(area.width * 2 / 5);
    let left = Rect { width: area.width - ring - 1, ..area };
    (left, Rect { x: area.x + left.width + 1, width: ring, ..area })
}

/// The word of the verdict and its figures; returns the rows it took.
fn verdict_big(scene: &Scene<'_>, verdict: &ViewVerdict, area: Rect, buf: &mut Buffer) -> u16 {
    let (word, ink) = words::verdict_word(verdict);
    let style = scene.look.ink(ink);
    let line = words::verdict_line(verdict);
    let line = if scene.look.utf8 { line } else { line.replace('±', "+-") };
    // Text that finds no room in one row continues in a second one.
    let rows = rows_of(&line, area.width, 2);
    let under = u16::try_from(rows.len()).unwrap_or(2);
    let room = (area.width, area.height.saturating_sub(1));
    let used = put_big(buf, area, &word, room, (scene.look, style));
    used + put_rows(buf, Rect { y: area.y + used, height: under, ..area }, &rows, STRONG)
}

fn advice(verdict: &ViewVerdict, area: Rect, buf: &mut Buffer) {
    let text = verdict.advice.join(" ");
    wrapped(buf, area, &printable(&text), Style::new());
}

/// What to touch next, large and in a sentence; returns the rows it took.
fn next(scene: &Scene<'_>, check: &ViewCheck, area: Rect, buf: &mut Buffer) -> u16 {
    let why = check.why.as_deref().map(printable);
    if let Some((call, rest)) = why.as_deref().and_then(|why| held_up(check, why)) {
        return held(scene, check, (call, rest), (area, buf));
    }
    let room = (area.width, area.height.saturating_sub(if why.is_some() { 3 } else { 0 }));
    let style = STRONG;
    let used = put_big(buf, area, &printable(&check.next_words), room, (scene.look, style));
    let Some(why) = why else { return used };
    used + 1 + wrapped(buf, below(area, used + 1), &why, Style::new())
}

/// What to touch next, and below it, as large, why nothing can be taken now; returns the rows it took.
fn held(
    scene: &Scene<'_>,
    check: &ViewCheck,
    (call, rest): (&str, &str),
    (area, buf): (Rect, &mut Buffer),
) -> u16 {
    // One row between the two, and two rows for what to do.
    let half = (area.height.saturating_sub(4) / 2).max(1);
    let with = (scene.look, STRONG);
    let used = put_big(buf, area, &printable(&check.next_words), (area.width, half), with) + 1;
    let room = below(area, used);
    let left = room.height.saturating_sub(3).max(1);
    let used = used + large_words(scene, call, Rect { height: left, ..room }, buf);
    used + 1 + wrapped(buf, below(area, used + 1), rest, Style::new())
}

/// A call as large as fits, over as many rows of words as make it largest; returns the rows it took.
fn large_words(scene: &Scene<'_>, call: &str, area: Rect, buf: &mut Buffer) -> u16 {
    let style = scene.look.ink(Ink::Yellow);
    let size = (area.width, area.height);
    match big_wrapped(call, size, scene.look.block()) {
        Some(rows) => put_rows(buf, area, &rows, style),
        None => put_big(buf, area, call, size, (scene.look, style)),
    }
}

/// A screen with room for a few words: the most important first.
fn small(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let strong = STRONG;
    let mut lines = Vec::new();
    lines.extend(scene.message.map(|message| (message.to_owned(), Style::new())));
    lines.extend(scene.away_s.map(|s| (format!("SERVICE AWAY {s} s"), strong)));
    // The name comes first where there is room for everything, last where there is hardly any.
    let roomy = area.height >= ROOMY;
    let title = scene.view.map(|view| (words::title(view), strong));
    lines.extend(title.clone().filter(|_| roomy));
    if let Some(view) = scene.view {
        // A gauge has nothing to do with a check that is answered.
        let touched = view.check.as_ref().is_none_or(|check| check.of > 0);
        let value = words::live_value(view).filter(|_| scene.away_s.is_none() && touched);
        if let Some((number, unit)) = value {
            lines.push((format!("{number} {unit}"), strong));
        }
        match (&view.proof, &view.check) {
            (Some(proving), _) => {
                lines.extend(proof::small(proving).into_iter().map(|line| (line, strong)));
            }
            (None, Some(check)) => small_check(check, &mut lines, scene.look, area.width),
            (None, None) => lines.push(("no check: n".to_owned(), strong)),
        }
        lines.extend(words::calls(view).into_iter().map(|call| (call.text, Style::new())));
        lines.push((words::gauge_ages(view, scene.since_ms), Style::new()));
    }
    lines.extend(title.filter(|_| !roomy));
    if let Some(over) = scene.over {
        lines = panel_lines(over).into_iter().map(|line| (line, Style::new())).collect();
    }
    for ((text, style), y) in lines.iter().zip(area.y..area.bottom()) {
        put_within(buf, (area.x, y), text, area.width, *style);
    }
}

fn small_check(check: &ViewCheck, lines: &mut Vec<(String, Style)>, look: Look, width: u16) {
    if let Some(verdict) = words::standing(check) {
        let (word, ink) = words::verdict_word(verdict);
        let value = verdict.value.as_deref().map(printable).unwrap_or_default();
        lines.push((format!("{word} {value}"), look.ink(ink)));
    }
    let asked = check.asks.sentence(&check.part, &check.name).map(|text| printable(&text));
    if let Some(asked) = asked.filter(|_| check.next == Next::Answer) {
        let rows = rows_of(&asked, width, usize::MAX);
        lines.extend(rows.into_iter().map(|row| (row, STRONG)));
        return;
    }
    let taken = format!("{}/{}", check.taken, check.of);
    lines.push((printable(&format!("{} {taken}", check.next_words)), STRONG));
}

fn panel_lines(over: Over) -> Vec<String> {
    let keys = [
        "n  the next check without a verdict",
        "space  take what the gauge shows; tap a mark; the bar is seated",
        "v  take the newest reading back",
        "m  the next reading is the master",
        "s  leave the next position out",
        "a  the first alert has been seen",
        "q  quit",
        "any key closes this",
    ];
    match over {
        Over::Help => keys.map(str::to_owned).to_vec(),
        Over::Skip => {
            let reasons = SKIP_REASONS.iter().map(|(key, why)| format!("{key}  {why}"));
            let asked = std::iter::once("Why is it left out?".to_owned());
            asked.chain(reasons).chain(["Esc  it is not".to_owned()]).collect()
        }
    }
}

fn panel(over: Over, area: Rect, buf: &mut Buffer) {
    let lines = panel_lines(over);
    let width = lines.iter().map(|line| wide(line)).max().unwrap_or(0) + 4;
    let height = u16::try_from(lines.len()).unwrap_or(0) + 2;
    let width = width.min(area.width);
    let height = height.min(area.height);
    let x = area.x + (area.width - width) / 2;
    let y = area.y + (area.height - height) / 2;
    let reversed = Style::new().add_modifier(Modifier::REVERSED);
    for row in 0..height {
        put(buf, (x, y + row), &" ".repeat(usize::from(width)), reversed);
    }
    for (line, row) in lines.iter().zip(y + 1..y + height - 1) {
        put_within(buf, (x + 2, row), line, width - 4, reversed);
    }
}

/// The rows of an alert: one, and as many of the spare ones as it needs.
fn rows_for(call: &str, width: u16, spare: &mut usize) -> Vec<String> {
    if wide(call) <= width {
        return vec![call.to_owned()];
    }
    let rows = rows_of(call, width, *spare + 1);
    *spare = (*spare + 1).saturating_sub(rows.len());
    rows
}
