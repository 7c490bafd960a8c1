//! The pages as a browser meets them: the real router over a real database, asked request by request.

#![allow(clippy::unwrap_used)] // A test may stop where it finds what it did not expect.

mod access;
mod bad;
mod colour;
mod entries;
mod links;
mod map;
mod next;
mod owner;
mod pages;
mod parcel;
mod questions;
mod range;
mod reports;
mod routes;
mod security;
mod sign_in;
mod support;
