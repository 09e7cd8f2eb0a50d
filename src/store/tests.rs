//! Tests of the record as a whole.

mod home;
mod queries;
mod rows;
mod trouble;
