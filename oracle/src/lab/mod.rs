//! An invented shop: toners, a gun and an instrument, with everything known that a real shop hides.
//!
//! **Every number is invented.** No maker, product or measured paint is behind any of them. The toners
//! do what simple film formulas leave out: pigments scatter forwards, strong whites crowd each other,
//! flakes lie less flat the more there are, the flop adjuster tilts them, pearls let light through by
//! the angle at which it meets each flake, and the clear coat is slightly yellow. The gun varies from
//! panel to panel and the instrument errs. So a recipe tool can be tested by something other than its
//! own equations.

mod design;
mod donors;
mod gun;
mod instrument;
mod mixture;
mod pearl;
mod shop;
mod spectra;
mod substrate;
mod toner;

pub use design::{Trial, panels};
pub use donors::{Donor, donors};
pub use gun::Gun;
pub use instrument::{GEOMETRIES, gauge_um, noisy};
pub use shop::{Coat, Panel, Shop};
pub use spectra::{Spectrum, WAVELENGTHS, wavelength_nm};
pub use substrate::{SUBSTRATES, substrate};
pub use toner::{Kind, Toner};
