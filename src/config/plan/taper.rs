//! Diameters along an axis.

use num_rational::Ratio;

use super::bar::{MOST_STATIONS, lengths};
use super::turn::uncertainty;
use crate::reader::Table;
use crate::words::decimal;
use bench::plan::Taper;
use quantity::Unit;

/// Reads a taper.
pub(super) fn read(table: &Table<'_>, unit: Unit) -> Option<Taper> {
    let hint = "write stations = [\"0.5 in\", \"2 in\", \"3 in\"], say: distances along the axis";
    table.must_have("stations", hint);
    let rate = if table.has("rate") { rate(table) } else { Some(Ratio::from(0)) };
    let written = table.literals("stations").len();
    let line = table.line_of("stations");
    if table.has("stations") && !(2..=MOST_STATIONS).contains(&written) {
        let text = format!("stations should be 2 to {MOST_STATIONS} distances");
        table.document().error(line, text, hint);
        return None;
    }
    let stations = lengths(table, "stations", unit);
    if stations.len() != written || stations.is_empty() {
        return None;
    }
    if stations.windows(2).any(|pair| pair[0] >= pair[1]) {
        let text = "the stations of a taper should rise";
        table.document().error(line, text, "write them in the order of the distance");
        return None;
    }
    if written == 2 {
        let text = "two stations show the rate and no form";
        table.document().warning(line, text, "three show whether the side is straight");
    }
    let rate = rate?;
    let station_u = uncertainty(table, "station_uncertainty", unit);
    if !table.has("station_uncertainty") && rate != Ratio::from(0) {
        let text = "how well the stations' distances are known is not stated: they count as exact";
        let hint = "write station_uncertainty = \"0.0003 in\", say: a diameter is off by the rate \
                    times that";
        table.document().warning(line, text, hint);
    }
    Some(Taper { rate, stations, station_u })
}

/// `7/24`, or a decimal number.
fn rate(table: &Table<'_>) -> Option<Ratio<i128>> {
    let rate = table.parsed_literal("rate", |text| {
        let Some((over, under)) = text.split_once('/') else { return decimal(text) };
        let (over, under) = (decimal(over.trim())?, decimal(under.trim())?);
        if under == Ratio::from(0) {
            return Err(format!("\"{text}\" divides by zero"));
        }
        Ok(over / under)
    })?;
    // A full angle of 53 degrees is already no taper that holds.
    if rate.value < Ratio::from(-1) || rate.value > Ratio::from(1) {
        let text = "the rate is more than the distance itself";
        let hint = "a rate is the change of diameter over the distance along the axis: \"7/24\"";
        table.document().error(rate.line, text, hint);
        return None;
    }
    Some(rate.value)
}
