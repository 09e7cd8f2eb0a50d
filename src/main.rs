//! The `tenths` program.

fn main() {}
