//! Spectra to colour: tristimulus values, CIELAB, CIEDE2000 and the travel of an effect paint by angle.
//!
//! A [`Spectrum`] is what an instrument gives at one angle; a [`Measurement`] holds several of them by
//! [`Geometry`]. Under an [`Illuminant`] and for an [`Observer`], [`tristimulus`] turns a spectrum into
//! [`Xyz`], and [`lab`] into [`Lab`]. [`ciede2000`] compares two colours, [`travel`] says what a paint
//! does from face to flop, [`swatch`] gives the nearest screen colour.
//!
//! ```
//! use colour::{Geometry, Illuminant, Measurement, Observer, Spectrum, ciede2000, lab, travel};
//!
//! let face = Spectrum::new([0.60; 31])?;
//! let flop = Spectrum::new([0.10; 31])?;
//! let (light, observer) = (Illuminant::D65, Observer::Deg10);
//! assert!(ciede2000(lab(&face, light, observer), lab(&flop, light, observer)) > 30.0);
//!
//! let silver = Measurement::new(vec![(Geometry::As15, face), (Geometry::As110, flop)])?;
//! let travel = travel(&silver, light, observer)?;
//! assert_eq!(travel.words(), "goes darker by 44; too near grey for its hue to mean anything");
//! # Ok::<(), colour::ColourError>(())
//! ```
//!
//! Angles on this surface are degrees, because CIELAB hue and instrument geometry are defined in
//! degrees; XYZ and L\* run from 0 to 100 for surfaces up to a perfect diffuser.
//!
//! Not done here: reading files, texture and sparkle (only colour by angle), fluorescence, wavelength
//! steps other than 10 nm, light sources other than D65, A and FL11.

pub mod brief;
pub mod card;
mod difference;
pub mod diffuse;
mod display;
mod error;
mod film;
mod geometry;
mod lab;
mod light;
mod measurement;
pub mod munsell;
pub mod pour;
pub mod recipe;
mod shelf;
mod spectrum;
pub mod thin_film;
mod toner;
mod travel;
mod weights;

pub use difference::{Difference, ciede2000, ciede2000_many, difference};
pub use display::{Swatch, swatch};
pub use error::ColourError;
pub use film::{Bench, Direction, FilmError, Gradient, MOST_PARTS, MOST_WAVELENGTHS, PlainFilm, PlainFlakes, Prediction, radiance_factors};
pub use geometry::Geometry;
pub use lab::{Lab, Lch, lab, lab_of_many};
pub use light::{Illuminant, Observer, Xyz, tristimulus, white};
pub use measurement::Measurement;
pub use shelf::{FLAKE_NODES, Flake, MOST_SUBSTRATES, MOST_TONERS, Mix, Optics, Part, Shelf, ShelfError, Substrate, TAIL, Toner, TonerKind};
pub use spectrum::{Spectrum, WAVELENGTHS_NM};
pub use toner::{CalibrateError, Calibration, MOST_PANELS, Panel, PanelFit, Panels, Progress, TonerFit, TonerInfo, Watch, calibrate};
pub use travel::{Travel, travel};
