//! The pages as a browser meets them: the real router over a real database, asked request by request.

mod access;
mod bad;
mod colour;
mod entries;
mod map;
mod pages;
mod parcel;
mod routes;
mod sign_in;
mod support;
