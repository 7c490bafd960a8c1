//! Climate, litres and film acceptance for the paint on the shell.
//!
//! [`climate`] says whether the air and the panel allow spraying now, and what would; [`quantity`] how many
//! litres a coat takes; [`acceptance`] whether film readings agree with the film that was wanted.
//!
//! Not done here: coating systems, mixing and recoat windows, and film build by panel.

pub mod acceptance;
pub mod climate;
mod error;
pub mod quantity;
mod words;

pub use error::CoatingError;
