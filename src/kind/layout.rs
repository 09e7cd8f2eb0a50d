//! Where the positions of a check lie, and how to say that: a number alone does not say which station or
//! radius it is.

use judgement::Limits;
use num_rational::Ratio;
use quantity::{Length, Unit};
use words::{mark, size};

use super::bar_runout::BarRun;
use super::check::Check;

/// Where readings are taken.
#[derive(Debug, Clone, Copy)]
pub enum Layout<'a> {
    /// Nowhere: it is answered or worked out.
    Nowhere,
    /// On circles, one for each radius.
    Circles,
    /// On a circle at each station along a bar, once in each seating. Positions run round a station first,
    /// then along the bar, then through the seatings.
    Stations(&'a BarRun),
    /// Some times over the same places: in planes across a bore, or round after round.
    Rows(Rows),
    /// Once at each of these distances along the axis. The ratio is the change of diameter over distance
    /// that the drawing asks for.
    Along(&'a [Length], Ratio<i128>),
    /// On one spot, after each of these in turn: position k is after the k-th, then all over again.
    Ways(&'a [&'static str; 2]),
}

/// Readings at the same angles, row after row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rows {
    /// How many rows.
    pub count: u32,
    /// Over how much of a turn the angles of a row are spread, degrees: 180 where a reading goes right
    /// across.
    pub turn_deg: u32,
    /// What a row is called.
    pub word: &'static str,
    /// What is done before each row but the first.
    pub anew: Option<&'static str>,
}

/// One place along a bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BarStation {
    /// The distance from the nose face.
    pub at: Length,
    /// The largest total reading allowed there.
    pub limits: Limits,
    /// Standard uncertainty of one seating there, per axis.
    pub seating: Length,
}

/// How often a bar is put in its taper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seatings {
    /// Once: the readings show spindle and bar together.
    One,
    /// At 0, at 180 and at 0 again: bar and spindle are split if the third repeats the first.
    Three,
    /// In quarter turns: the mean is the spindle's.
    Four,
}

impl Seatings {
    /// The number of seatings.
    #[must_use]
    pub const fn count(self) -> u32 {
        match self {
            Self::One => 1,
            Self::Three => 3,
            Self::Four => 4,
        }
    }

    /// Where the mark of the bar stands against that of the spindle, seating by seating, degrees.
    #[must_use]
    pub const fn angles_deg(self) -> &'static [u32] {
        match self {
            Self::One => &[0],
            Self::Three => &[0, 180, 0],
            Self::Four => &[0, 90, 180, 270],
        }
    }
}

impl Check {
    /// All positions, over all radii and passes, or all stations and seatings.
    #[must_use]
    pub fn total(&self) -> u32 {
        let rings = match self.measures.layout() {
            Layout::Nowhere => return 0,
            Layout::Along(stations, _) => return count(stations.len()),
            Layout::Ways(_) => return self.positions,
            Layout::Stations(bar) => count(bar.stations.len()).saturating_mul(bar.seatings.count()),
            Layout::Rows(rows) => rows.count,
            Layout::Circles if self.total_only() => return 1,
            Layout::Circles => self.radii_touched().saturating_mul(self.passes),
        };
        self.positions.saturating_mul(rings)
    }

    /// Positions that are shown as one circle; elsewhere each is shown by itself.
    #[must_use]
    pub fn per_circle(&self) -> u32 {
        let alone = matches!(self.measures.layout(), Layout::Along(..) | Layout::Ways(_));
        if alone { 1 } else { self.positions.min(self.total()) }
    }

    /// Circles of a face or a turn, without those of the second pass.
    #[must_use]
    pub fn radii_touched(&self) -> u32 {
        count(self.radii.len().max(1))
    }

    /// Positions on each circle; those of the second pass lie between those of the first.
    #[must_use]
    pub fn on_a_circle(&self) -> u32 {
        self.positions.saturating_mul(self.passes.max(1))
    }

    /// The number of circles; each station and seating has its own.
    #[must_use]
    pub fn circles(&self) -> u32 {
        match self.measures.layout() {
            Layout::Stations(..) => self.total() / self.positions.max(1),
            Layout::Ways(_) => 1,
            Layout::Rows(rows) => rows.count,
            Layout::Nowhere | Layout::Circles | Layout::Along(..) => self.radii_touched(),
        }
    }

    /// The circle of a position; both passes belong to one circle.
    #[must_use]
    pub fn circle_of(&self, position: u32) -> u32 {
        position / self.positions.max(1) % self.circles().max(1)
    }

    /// Whether its positions have angles: not those along an axis, and not a turn of which only the total
    /// was read.
    #[must_use]
    pub fn has_angles(&self) -> bool {
        match self.measures.layout() {
            Layout::Nowhere | Layout::Along(..) | Layout::Ways(_) => false,
            Layout::Circles | Layout::Stations(..) | Layout::Rows(..) => !self.total_only(),
        }
    }

    /// Which surface a position lies on, as a number. A master is another surface than the part. Along a
    /// bar or a taper the gauge is set again at each station and in each seating. What is pushed stands
    /// elsewhere than what is pulled.
    #[must_use]
    pub fn surface_at(&self, position: u32) -> u32 {
        match self.measures.layout() {
            Layout::Stations(..) => position / self.positions.max(1),
            Layout::Along(..) => position,
            Layout::Ways(_) => position % 2,
            Layout::Nowhere | Layout::Circles | Layout::Rows(..) => 0,
        }
    }

    /// The stations that have limits of their own, as along a bar.
    #[must_use]
    pub fn stations(&self) -> &[BarStation] {
        if let Layout::Stations(bar) = self.measures.layout() { &bar.stations } else { &[] }
    }

    /// The limits of a station by its distance, or of the whole check where no station is given; `None`
    /// where a bar lacks the station, or where a station is given for a check that is not a bar.
    #[must_use]
    pub fn limits_at(&self, station: Option<Length>) -> Option<Option<Limits>> {
        let stations = self.stations();
        match station {
            Some(at) => stations.iter().find(|one| one.at == at).map(|one| Some(one.limits)),
            None => stations.is_empty().then_some(self.limits),
        }
    }

    /// The distance along the axis of a position, where the check has stations.
    #[must_use]
    pub fn station_of(&self, position: u32) -> Option<Length> {
        match self.measures.layout() {
            Layout::Along(stations, _) => stations.get(usize::try_from(position).ok()?).copied(),
            Layout::Stations(bar) => {
                let circle = usize::try_from(position.checked_div(self.positions)?).ok()?;
                // Once along the bar for each seating.
                bar.stations.get(circle.checked_rem(bar.stations.len())?).map(|station| station.at)
            }
            Layout::Nowhere | Layout::Circles | Layout::Rows(..) | Layout::Ways(_) => None,
        }
    }

    /// The way a position is read after, and which time: `(push, 2)`; `None` where it lies elsewhere.
    #[must_use]
    pub fn way_of(&self, position: u32) -> Option<(&'static str, u32)> {
        let Layout::Ways(ways) = self.measures.layout() else { return None };
        let way = if position.is_multiple_of(2) { ways[0] } else { ways[1] };
        Some((way, position / 2 + 1))
    }

    /// The change of diameter over distance that the drawing asks for between its stations.
    #[must_use]
    pub fn rate(&self) -> Option<Ratio<i128>> {
        if let Layout::Along(_, rate) = self.measures.layout() { Some(rate) } else { None }
    }

    /// The seating of a bar for a position, counted from 0, and where the mark of the bar stands in it,
    /// degrees as the marks are counted; `None` where no bar is seated again.
    #[must_use]
    pub fn seating(&self, position: u32) -> Option<(u32, u32)> {
        let Layout::Stations(bar) = self.measures.layout() else { return None };
        let along = self.positions.saturating_mul(count(bar.stations.len())).max(1);
        let seating = position / along;
        let angles = bar.seatings.angles_deg();
        let deg = angles.get(usize::try_from(seating).ok()?).filter(|_| angles.len() > 1)?;
        Some((seating, *deg))
    }

    /// Where the mark of the bar stands in a seating, degrees as the marks are counted.
    #[must_use]
    pub fn seating_deg(&self, seating: u32) -> Option<u32> {
        let Layout::Stations(bar) = self.measures.layout() else { return None };
        bar.seatings.angles_deg().get(usize::try_from(seating).ok()?).copied()
    }

    /// The place of a position in words, `station 3 in, bar at 90, touch 4 of 8` or `push, 2 of 3`; `None` where the number
    /// is enough: on one circle with one pass.
    #[must_use]
    pub fn place_in_words(&self, position: u32) -> Option<String> {
        let round = self.positions.max(1);
        let touch = || Some(format!("touch {} of {round}", position % round + 1));
        let station = || Some(format!("station {}", self.with_unit(self.station_of(position)?)));
        let words = match self.measures.layout() {
            Layout::Nowhere => return None,
            Layout::Along(..) => [Some(station()?), None, None],
            Layout::Ways(_) => {
                let (way, time) = self.way_of(position)?;
                [Some(format!("{way}, {time} of {}", self.positions / 2)), None, None]
            }
            Layout::Rows(rows) => {
                let row = self.row_of(position, rows);
                let first = position >= round && position.is_multiple_of(round);
                let anew = rows.anew.filter(|_| first).map(str::to_owned);
                [row, anew, Some(format!("at {}", mark(self.angle_deg(position))))]
            }
            Layout::Stations(..) => {
                let seated = self.seating(position).map(|(_, deg)| format!("bar at {deg}"));
                [Some(station()?), seated, touch()]
            }
            Layout::Circles => {
                let radii = self.radii_touched();
                let circle = position / round;
                let radius = (radii > 1).then(|| self.radius_in_words(circle % radii)).flatten();
                let again = (circle >= radii).then(|| "second time round".to_owned());
                if radius.is_none() && self.passes <= 1 {
                    return None;
                }
                [radius, again, touch()]
            }
        };
        Some(words.into_iter().flatten().collect::<Vec<_>>().join(", "))
    }

    /// `plane 2`; `None` where there is only one.
    fn row_of(&self, position: u32, rows: Rows) -> Option<String> {
        let row = position / self.positions.max(1) + 1;
        (rows.count > 1).then(|| format!("{} {row}", rows.word))
    }

    /// Over how much of a turn its positions are spread, degrees.
    #[must_use]
    pub fn turn_deg(&self) -> u32 {
        if let Layout::Rows(rows) = self.measures.layout() { rows.turn_deg } else { 360 }
    }

    fn radius_in_words(&self, ring: u32) -> Option<String> {
        const NAMES: [&str; 8] =
            ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
        let ring = usize::try_from(ring).ok()?;
        let radius = self.with_unit(*self.radii.get(ring)?);
        Some(match NAMES.get(ring) {
            Some(name) => format!("{name} radius, {radius}"),
            None => format!("radius {}, {radius}", ring + 1),
        })
    }

    fn with_unit(&self, length: Length) -> String {
        format!("{} {}", size(length, self.unit), self.unit.symbol())
    }

    /// The heading of a row of readings that begins at a position: the radius, or station and seating.
    #[must_use]
    pub fn row_in_words(&self, position: u32, unit: Unit) -> String {
        let with_unit = |length| format!("{} {}", size(length, unit), unit.symbol());
        match self.measures.layout() {
            Layout::Stations(bar) => {
                let at = self.station_of(position).map(|at| format!("at {}", with_unit(at)));
                let seating =
                    position / self.positions.max(1) / count(bar.stations.len()).max(1) + 1;
                let seating = (bar.seatings.count() > 1).then(|| format!(", seating {seating}"));
                [at, seating].into_iter().flatten().collect()
            }
            Layout::Along(..) => "station".to_owned(),
            Layout::Ways(_) => "reading".to_owned(),
            Layout::Rows(rows) => {
                self.row_of(position, rows).unwrap_or_else(|| "position".to_owned())
            }
            Layout::Nowhere | Layout::Circles => match self.radius(position) {
                Some(radius) if self.radii.len() > 1 => format!("radius {}", with_unit(radius)),
                _ => "position".to_owned(),
            },
        }
    }
}

/// A count in the type of position numbers.
pub(crate) fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
}
