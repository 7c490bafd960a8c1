//! The one binary: command line, server start and the demo.
//!
//! Each noun of the command line has its file. A command reads its input whole, calls one use case or engine,
//! and gives back an [`answer::Answer`], which is printed as a table or as one JSON value. Whatever goes wrong
//! ends in a [`stop::Stop`]: one line on standard error and an exit code.
//!
//! Not here: formulas (the engines), rules of the record (`job`), SQL (`store`), pages (`web`).

mod address;
mod answer;
mod backup;
mod car;
mod coating;
mod colour;
mod command;
mod demo;
mod file;
mod forecast;
mod key;
mod people;
mod progress;
mod schedule;
mod serve;
mod shop;
mod stop;

use std::process::ExitCode;

fn main() -> ExitCode {
    match command::run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => {
            eprintln!("{stop}");
            ExitCode::from(stop.code())
        }
    }
}
