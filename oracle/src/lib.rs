//! An independent Monte Carlo simulator of paint films: photons, flakes, a gun and an instrument.
//!
//! [`simulate`] follows photons through a [`Film`]: a smooth surface, layers of one refractive index
//! that hold absorbing binder, scattering [`Pigment`]s and mirror-like [`Flake`]s, and a matt ground.
//! It gives radiance factors, without the mirror reflection of the surface. [`lab`] builds an invented
//! shop on it, whose toners do what the formulas of the colour engine leave out.
//!
//! For checks only: it is slow, and it must share no optics with the engine that it checks. A test
//! fails if the engine appears among its dependencies.
//!
//! Not done here: coarse flakes that do not act as a continuum, sparkle, polarisation, fluorescence,
//! a rough surface, layers of different index.

mod error;
mod film;
mod flake;
mod geometry;
mod interface;
mod scene;
mod simulate;
mod slopes;
mod walk;

pub mod lab;

pub use error::Error;
pub use film::{Film, Layer, Medium, Pigment};
pub use flake::{Face, Flake};
pub use geometry::{Geometry, View};
pub use interface::{INDEX, reflectance};
pub use simulate::{Estimate, Photons, simulate};
pub use slopes::Slopes;
