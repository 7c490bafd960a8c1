//! What the record says about hidden metal: odds, next looks, the range and what moved it.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod contradiction;
mod history;
mod hours;
mod next;
mod odds;
mod own_figures;
mod reasons;
mod record;
mod trouble;
mod what_if;
