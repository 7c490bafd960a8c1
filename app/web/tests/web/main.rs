//! The pages as a browser meets them: the real router over a real database, asked request by request.

#![allow(clippy::unwrap_used)] // A test may stop where it finds what it did not expect.

mod access;
mod ask;
mod bad;
mod batches;
mod brief;
mod cards;
mod colour;
mod entries;
mod learned;
mod links;
mod map;
mod next;
mod owner;
mod pages;
mod panel;
mod parcel;
mod pour;
mod questions;
mod range;
mod recipes;
mod reports;
mod routes;
mod security;
mod sign_in;
mod support;
mod toners;
mod work;
mod worked;
