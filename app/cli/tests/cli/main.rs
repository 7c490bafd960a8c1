//! The command line as scripts, outside checks and people meet it: the real program, run from outside.

mod bad_input;
mod bench;
mod car;
mod coating;
mod colour;
mod demo;
mod forecast;
mod kill;
mod marginals;
mod owner;
mod paint;
mod people;
mod questions;
mod record;
mod serve;
mod wish;
