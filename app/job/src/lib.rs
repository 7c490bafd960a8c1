//! The car's record, what its events add up to, the one body model, and the use cases; no I/O.
//!
//! A car is an append-only list of [`event::Event`]s, each holding the hash of the one before. Everything a
//! page or the dossier shows is a [`car::Car`], folded from that list. [`shop::Shop`] holds the use cases that
//! the pages and the command line both call; it reaches the outside only through the ports of [`ports`].
//!
//! Not here: databases (`store`), markup (`web`), PDF (`dossier`), formulas (the engines).

pub mod ask;
pub mod body;
pub mod car;
pub mod catalogue;
pub mod chain;
pub mod coats;
pub mod details;
pub mod era;
pub mod event;
pub mod fortnight;
pub mod ids;
pub mod json;
pub mod lessons;
pub mod mixing;
pub mod outlook;
pub mod pace;
pub mod paint;
pub mod paintwork;
pub mod panels;
pub mod parcel;
pub mod person;
pub mod photograph;
pub mod pigment;
pub mod ports;
pub mod question;
pub mod recipe_file;
pub mod sampled;
pub mod sheets;
pub mod shelf_file;
pub mod shop;
pub mod table;
pub mod validate;
pub mod what;
pub(crate) mod words;
pub mod worked;

// The pages reach the engines through here, so that a value always passes through the job.
pub use {coating, colour, forecast, schedule};
