//! Interference: what thin layers send back, by wavelength and angle.
//!
//! A [`Stack`] is any number of flat, parallel layers, clear or absorbing, between two media; its
//! amplitudes are built up from the back, layer by layer (see `stack.rs`), which is the transfer-matrix
//! result in a form that no thickness can overflow. A [`CoatedFlake`] is a pearl: a clear core wrapped
//! in a coat of high index, lying in paint binder, its thicknesses spread as those of real flakes are.
//! A [`FlakeTable`] holds one ready for quick use.
//!
//! ```
//! use colour::thin_film::{Coat, CoatedFlake, Core, FlakeDesign};
//!
//! let flake = CoatedFlake::new(FlakeDesign {
//!     core: Core::Mica,
//!     core_nm: 450.0,
//!     core_spread: 0.15,
//!     coat: Coat::Titania,
//!     coat_nm: 115.0,
//!     coat_spread: 0.06,
//! })?;
//! let table = flake.table();
//! let (square_on, tilted) = (table.at(1.0), table.at(0.6));
//! // 115 nm of titania: violet strong and green weak square on; at 39 degrees blue-green (500 nm) fades.
//! assert!(square_on[0] > 10.0 * square_on[15] && tilted[10] < 0.5 * square_on[10]);
//! # Ok::<(), colour::ColourError>(())
//! ```
//!
//! Incidence is always that in the first medium: for a flake, inside the binder. Light is unpolarised
//! unless said otherwise; layers are coherent, media on both sides have no end.
//!
//! Not done here: rough layers, edges and finite width of flakes, coats of more than one layer averaged
//! over thickness (a [`Stack`] takes them one thickness at a time), crystals whose index depends on
//! direction.

mod complex;
mod flake;
mod haematite;
mod material;
mod stack;
mod table;

pub use flake::{COAT_NODES, CoatedFlake, FlakeDesign, FlakeOptics};
pub use material::{BINDER_INDEX, Coat, Core};
pub use stack::{Index, Layer, MOST_LAYERS, Polarisation, Response, Stack};
pub use table::{FlakeTable, TABLE_NODES};
