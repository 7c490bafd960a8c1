//! Paint by angle: from spectra to colour, from a shop's toners to what a film of them looks like, and back
//! from a wanted colour to a recipe.
//!
//! # Colour
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
//! # Paint
//!
//! A [`Shelf`] holds a shop's toners with what each does to light ([`Optics`]), its primers and its clear
//! coat; [`calibrate`] learns one from sprayed [`Panels`]. A [`Bench`] makes it ready: it predicts any [`Mix`]
//! at the six angles of [`Geometry::ALL`], with derivatives ([`Bench::gradient`]), and a base under a mid coat
//! ([`Bench::predict_layers`]). [`radiance_factors`] does the same for a film described directly, at any
//! angles. On these stand the search for a recipe ([`recipe`]), weighing out ([`pour`]), correction from
//! sprayed cards ([`card`]) and changes to what is wanted ([`brief`]); [`thin_film`] computes interference
//! flakes, [`diffuse`] plain Kubelka-Munk. [`preview`] shows a paint on a curved panel under sky and lamps.
//!
//! ```
//! use colour::{Bench, Mix, Optics, Part, Shelf, Spectrum, Substrate, Toner, TonerKind};
//!
//! let black = Toner {
//!     name: "black".into(),
//!     kind: TonerKind::Solid,
//!     density_g_cm3: 1.8,
//!     max_fraction: 0.35,
//!     solids_fraction: None,
//!     optics: Optics {
//!         absorption: [10.0; 31],
//!         scattering: [0.2; 31],
//!         forwardness: 0.0,
//!         crowding: 0.0,
//!         widening: 0.0,
//!         flake: None,
//!     },
//! };
//! let white = Substrate { name: "white".into(), reflectance: Spectrum::new([0.85; 31])? };
//! let bench = Bench::new(&Shelf::new(vec![black], vec![white], [0.0; 31])?);
//! let mix = |fraction| Mix { parts: vec![Part { toner: 0, fraction }], film_um: 20.0, substrate: 0 };
//! // At 45 degrees and 550 nm: a little black greys the white card, more hides it.
//! let [little, more] = [0.001, 0.05].map(|fraction| bench.predict(&mix(fraction))[3][15]);
//! assert!(little > 0.1 && more < 0.01, "{little} {more}");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Angles on this surface are degrees, because CIELAB hue and instrument geometry are defined in
//! degrees; XYZ and L\* run from 0 to 100 for surfaces up to a perfect diffuser.
//!
//! Not done here: reading files, texture and sparkle (only colour by angle), fluorescence, wavelength
//! steps other than 10 nm, differences under light sources other than D65, A and FL11 (pictures know CIE
//! daylight as well); films whose flakes are so coarse that they are no continuum, rough surfaces, layers of
//! different refractive index.

pub mod brief;
pub mod card;
mod daylight;
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
pub mod preview;
pub mod recipe;
mod shelf;
mod spectrum;
pub mod thin_film;
mod toner;
mod travel;
mod weights;

pub use daylight::chromaticity as daylight_chromaticity;
pub use difference::{Difference, ciede2000, ciede2000_many, difference};
pub use display::{Swatch, swatch};
pub use error::ColourError;
pub use film::{
    Bench, Direction, FilmError, Gradient, MOST_PARTS, MOST_WAVELENGTHS, PlainFilm, PlainFlakes, Prediction,
    radiance_factors,
};
pub use geometry::Geometry;
pub use lab::{Lab, Lch, lab, lab_of_many};
pub use light::{Illuminant, Observer, Xyz, tristimulus, white};
pub use measurement::Measurement;
pub use shelf::{
    FLAKE_NODES, Flake, MOST_SUBSTRATES, MOST_TONERS, Mix, Optics, Part, Shelf, ShelfError, Substrate, TAIL, Toner,
    TonerKind,
};
pub use spectrum::{Spectrum, WAVELENGTHS_NM};
pub use toner::{
    CalibrateError, Calibration, MOST_PANELS, NextPanel, Panel, PanelFit, Panels, Progress, TonerFit, TonerInfo, Watch,
    calibrate,
};
pub use travel::{Travel, hue_name, travel};
