//! The record: its events, its chain, what they add up to, and the use cases that write it.
//!
//! The use cases run on a store in memory that keeps the promises of the port; the databases have tests of
//! their own in `store`.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod ask;
mod backup;
mod car;
mod chain;
mod coats;
mod colour;
mod event;
mod hostile_zip;
mod keep;
mod lessons;
mod mixing;
mod owner;
mod paint;
mod parcel;
mod people;
mod photograph;
mod questions;
mod released;
mod sheets;
mod shop;
mod support;
mod validate;
mod worked;
