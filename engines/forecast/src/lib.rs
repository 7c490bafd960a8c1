//! What is probably hidden: the chance of a finding from a base rate and from what was seen.
//!
//! [`odds`] multiplies odds: a base rate, times one ratio for each independent piece of evidence.
//!
//! Not done here: the rates and ratios themselves, which are the shop's and come in as arguments;
//! networks of zones that inform each other in both directions; learning from opened zones.

pub mod bif;
mod error;
pub mod learn;
pub mod look;
pub mod network;
pub mod odds;
pub mod shell;

pub use error::OddsError;
