//! Whole jobs, measured by the bench itself, and what is told of them: each page is read as a browser
//! reads it.

mod aside;
mod bars;
mod cells;
mod compared;
mod escaped;
mod html;
mod page;
mod pictures;
mod shop;
mod widths;
