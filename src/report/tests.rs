//! Whole jobs, measured by the bench itself, and their reports: each page is read as a browser reads it.

mod aside;
mod bars;
mod card;
mod cells;
mod compared;
mod entries;
mod escaped;
mod html;
mod page;
mod papers;
mod pictures;
mod shop;
mod signed;
mod sizes;
mod spots;
mod summary;
mod widths;
