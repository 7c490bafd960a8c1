//! What is probably hidden: the chance of a finding from a base rate and from what was seen.
//!
//! - [`odds`] multiplies odds: a base rate, times one ratio for each independent piece of evidence.
//! - [`network`] answers questions to a discrete Bayesian network, exactly; [`bif`] reads one from a file.
//! - [`shell`] makes such a network of places that are bad together, and says what each piece seen tells of the others.
//! - [`look`] says what a look into a place is worth before it is taken.
//! - [`learn`] learns rates from places that were opened: of findings and of clues, and holds what was foretold against
//!   what was found.
//!
//! Not done here: the rates, ratios and factors to begin with, which are the shop's and come in as arguments; learning
//! how strongly places go together; approximate answers, where a network is too tightly woven for an exact one; causes
//! that are there by degrees, and not just on or off.

pub mod bif;
mod error;
pub mod learn;
pub mod look;
pub mod network;
pub mod odds;
pub mod shell;

pub use error::OddsError;
