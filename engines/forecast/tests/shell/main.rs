//! Shells of places that inform each other, and the value of looks at them, against joints worked out in full.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod answers;
mod brute;
mod limits;
mod look;
mod trade;
