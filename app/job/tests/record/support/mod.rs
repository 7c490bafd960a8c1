//! What the tests share: a store in memory, a record written by hand, a shop with its people, an opened ZIP.

mod desk;
mod examples;
mod record;
mod store;
mod zip;

pub(crate) use desk::{Desk, at, shop_over};
pub(crate) use examples::{
    answered, asked, bad, briefed, by, carded, clear, colour_asked, details, every_kind, film, formulated, made_good,
    measured, mixed, not_looked, opened, photographed, reported, serves, shelved, stage, wall, withdraws, worked,
};
pub(crate) use record::{Record, stored};
pub(crate) use store::Memory;
pub(crate) use zip::{Files, packed};
