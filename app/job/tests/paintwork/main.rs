//! Paint that is understood: toner files, recipes and briefs as files, panels, angles, sampled pictures, and
//! what was there in a car's year.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod angle;
mod engine;
mod era;
mod panels;
mod recipe_file;
mod sampled;
mod shelf_file;
mod support;
