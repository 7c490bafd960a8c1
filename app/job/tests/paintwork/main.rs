//! Paint that is understood: toner files, recipes and briefs as files, panels, angles.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod angle;
mod engine;
mod panels;
mod recipe_file;
mod shelf_file;
mod support;
