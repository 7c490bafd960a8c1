//! Hours as a range: uncertain tasks and findings added up, with what they have in common.
//!
//! A [`Spread`] is a low, likely and high guess, drawn as a [`Shape`]. [`risk`] adds tasks that are
//! certain to be done; [`range`] adds work that findings may call for, with the findings drawn elsewhere.
//! Both give an [`Outcome`]. [`factor`] learns from finished work what this shop's hours are of the guesses.
//!
//! Numbers that depend on each other do so through one common factor: every pair of them has the same
//! [`Correlation`] of normal scores (a Gaussian copula). That is a model, not a measurement: a shop
//! that has no figure of its own is better off with a moderate one than with none.
//!
//! ```
//! use schedule::{Correlation, Shape, Spread, Task, risk};
//!
//! let task = |low, likely, high| Ok(Task { spread: Spread::new(low, likely, high)?, shape: Shape::Pert });
//! let sill = [task(12.0, 20.0, 34.0)?, task(3.0, 6.0, 10.0)?, task(2.5, 5.0, 9.0)?];
//! let hours = risk::sum(&sill, Correlation::new(0.3)?, 20_000, 1)?;
//! assert!(hours.p10 < hours.mean && hours.mean < hours.p95);
//! # Ok::<(), schedule::RiskError>(())
//! ```
//!
//! Not done here: order of work, calendars, and the guesses themselves.

mod beta;
mod common;
mod correlation;
mod error;
mod exact;
pub mod factor;
mod findings;
mod histogram;
mod item;
mod outcome;
pub mod range;
pub mod risk;
mod spread;
mod student;
mod table;
mod unit;

pub use common::{Common, Shop};
pub use correlation::Correlation;
pub use error::RiskError;
pub use factor::{Calibration, Done, Factor};
pub use findings::{Findings, MOST_COLUMNS, MOST_DRAWS};
pub use item::{Item, MOST_PARTS, MOST_STAGES, MOST_WAYS, Part, Way};
pub use outcome::Outcome;
pub use range::Ranged;
pub use risk::Task;
pub use spread::{Shape, Spread};
