//! Deterministic maths and doubtful-data warnings that every engine shares.
//!
//! [`math`] gives the transcendental functions from one `libm`, so that a recorded result repeats
//! bit for bit on every machine. [`lane`] gives branch-free versions of a few of them with a stated
//! error, for loops that the compiler turns into vector code. [`Warning`] carries a doubt about data
//! whose value is still returned.
//!
//! Not done here: units, solvers, random streams. They come when an engine needs them.

pub mod lane;
pub mod math;
mod warning;

pub use warning::Warning;
