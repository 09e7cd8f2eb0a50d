//! Uncertainty, decision rules, and the traps that withhold a verdict.
//!
//! What is absent: a job, a database row, a verdict from a float. A tolerance is met by whole
//! picometres and exact fractions of them; floats are for angles, shares and hints to a person.
//!
//! The rules are those of the shop: common practice and the GUM (JCGM 100) as the trade uses it;
//! their limits are defaults from memory of the trade unless a source is named.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod budget;
mod change;
mod chart;
mod closure;
mod decision;
mod doubt;
mod drift;
mod floor;
mod length;
pub mod once_more;
mod order;
mod pool;
mod preload;
mod proof;
mod rate;
mod reason;
mod repeats;
pub mod same_face;
pub mod study;
mod temperature;
mod there_and_back;
mod threshold;
mod traps;
mod uncertainty;

pub use budget::{Budget, Coverage, Entered, Expanded};
pub use change::Change;
pub use chart::Chart;
pub use closure::Closure;
pub use decision::{Decision, Limits, Rule, Word, decide};
pub use doubt::{Doubt, Freedom, Known, Named, Part, Share, Stated, assumed_plate};
pub use drift::{Drift, ThreeTouches, in_the_middle_third};
pub use floor::{
    Width, noise_floor, noise_floor_low_pass, range_reads_high, spread_low_pass, zone_reads_high,
};
pub use length::{
    ASSUMED_MASTER, Heat, LengthShares, Offsets, TouchedLength, Walk, of_difference, of_heat,
    of_one_size, of_size_by_itself,
};
pub use order::{Mishap, Spot, Sure, mishap, moved_so_far};
pub use pool::Pooled;
pub use preload::Preload;
pub use proof::{Fault, LIFTS, Proof, Step, Touches, good_for, scatters_more, unseen_angle_deg};
pub use rate::{OnOneSpot, Rate};
pub use reason::{Reason, withheld};
pub use repeats::{Repeats, Shown};
pub use temperature::{celsius, too_long_by};
pub use there_and_back::{ThereAndBack, there_and_back};
pub use threshold::{Times, Traps};
pub use traps::{
    HalfTurn, direction_within, half_turn, high_side_within, mostly_tilt, plane_share, too_coarse,
    too_few_positions, tries_differ, wild_touch,
};
pub use uncertainty::{
    FirstWaveShares, TurnShares, assumed_reading, assumed_seating, of_predicted, of_range, of_zone,
    on_a_cone, spread, weight_of_slope,
};

#[cfg(test)]
mod edges;
#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
