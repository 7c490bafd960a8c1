//! Deterministic maths and doubtful-data warnings that every engine shares.
//!
//! [`math`] gives the transcendental functions from one `libm`, so that a recorded result repeats
//! bit for bit on every machine. [`lane`] gives branch-free versions of a few of them with a stated
//! error, for loops that the compiler turns into vector code. [`stream`] gives seeded random numbers and
//! [`normal`] the normal distribution. [`Warning`] carries a doubt about data whose value is still
//! returned.
//!
//! Not done here: units, solvers. They come when an engine needs them.

pub mod lane;
pub mod math;
pub mod normal;
pub mod stream;
mod warning;

pub use warning::Warning;
