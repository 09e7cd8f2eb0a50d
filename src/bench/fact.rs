//! What is stored: every fact, described once.

pub(crate) mod form;
pub mod row;
pub(crate) mod seq;
pub mod verdict;
