//! A station of a bar: the total reading of the first seating, twice the spindle's eccentricity, or the
//! total reading of the mean turn, depending on which was judged.

use crate::page::model::{Go, Item};
use ::record::VerdictRecord;
use bench::verdict::StationFigures;
use quantity::{Figure, Unit};
use words::size;

/// The judged figure of the station, with its arithmetic.
pub(super) fn sum(
    item: &Item<'_>,
    go: &Go<'_>,
    record: &VerdictRecord,
    page: Unit,
) -> Option<String> {
    let judged = record.verdict.judged_station()?;
    let at = size(judged.at.0, page);
    let station = record.verdict.figures.stations.iter().position(|one| one.at == judged.at)?;
    let turns = Turns {
        go,
        per: item.check.positions.max(1),
        station,
        of: record.verdict.figures.stations.len(),
    };
    // The bar is named only where it was split from the spindle.
    if judged.bar.is_none() {
        let first = if judged.seatings.len() > 1 { ", as it was seated first" } else { "" };
        let sum = super::range(go, &turns.seated(0), record, page)?;
        return Some(format!("At {at} {page}{first}. {sum}"));
    }
    // Of three seatings the last one only proves that the first repeats.
    let seatings = if judged.seatings.len() == 3 { 2 } else { judged.seatings.len() };
    let off = judged.eccentricity?.shown(page);
    let wave = format!(
        "the spindle lies {off} off in the mean of {seatings} seatings, the bar's own part going out"
    );
    if judged.mean_sweep == Some(judged.value) {
        let sum = mean_turn(&turns, seatings, judged, (record, page))?;
        return Some(format!("At {at} {page}: {wave}; the mean turn shows more, {sum}"));
    }
    Some(format!(
        "At {at} {page}: {wave}; 2 × {off}, before rounding, = {}",
        super::printed(record, page)?
    ))
}

/// The readings of one station, seating by seating.
struct Turns<'a> {
    go: &'a Go<'a>,
    /// The marks of a turn.
    per: u32,
    station: usize,
    /// The number of stations of the bar.
    of: usize,
}

impl Turns<'_> {
    /// The touches of a seating.
    fn seated(&self, seating: usize) -> Vec<(u32, Figure)> {
        let turn = seating * self.of + self.station;
        let on = |at: u32| usize::try_from(at / self.per).is_ok_and(|one| one == turn);
        super::circle(self.go, on)
    }

    /// The mean of this many seatings, at each mark that all of them have.
    fn mean(&self, seatings: usize) -> Vec<(u32, Figure)> {
        let turns: Vec<_> = (0..seatings).map(|seating| self.seated(seating)).collect();
        let at = |turn: &Vec<(u32, Figure)>, mark| {
            let found = turn.iter().find(|(at, _)| at % self.per == mark);
            found.map(|(_, height)| *height)
        };
        let mark = |mark: u32| {
            let all = turns.iter().map(|turn| at(turn, mark)).collect::<Option<Vec<_>>>()?;
            let sum = all.into_iter().fold(Figure::ZERO, |sum, one| sum + one);
            Some((mark, sum / i64::try_from(seatings).ok()?))
        };
        (0..self.per).filter_map(mark).collect()
    }
}

/// Highest minus lowest of the mean turn.
fn mean_turn(
    turns: &Turns<'_>,
    seatings: usize,
    judged: &StationFigures,
    (record, page): (&VerdictRecord, Unit),
) -> Option<String> {
    let unit = super::unit_read(turns.go, page);
    let mean = turns.mean(seatings);
    let high = mean.iter().rev().max_by_key(|(_, height)| *height)?;
    let low = mean.iter().min_by_key(|(_, height)| *height)?;
    let range = high.1 - low.1;
    let text = |height: Figure| height.shown(unit);
    let sum = format!(
        "highest at mark {}, lowest at {}: {} − {} = {}",
        high.0,
        low.0,
        super::minus(&text(high.1)),
        super::bracketed(&text(low.1)),
        super::result(range, record, (unit, page))
    );
    let filtered = judged.value.shown(page) != range.shown(page);
    Some(if filtered {
        let left = super::printed(record, page)?;
        format!("{sum} as read; {left} after waves above the fifteenth were left out")
    } else {
        sum
    })
}
