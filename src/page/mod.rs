//! The page to look at: what the bench shows now, and what the record holds, for a browser. It only reads.
