//! What the record says about hidden metal: odds, next looks, the range and what moved it.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod hours;
mod next;
mod odds;
mod record;
mod trouble;
