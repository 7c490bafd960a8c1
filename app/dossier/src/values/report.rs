//! The one page of a report as values.

use typst::foundations::{Dict, Value, dict};

use super::{drawing, grouped, list, number, photograph, rows};
use crate::report::{MOST_MAPS, MOST_PHOTOGRAPHS, ReportView};
use crate::words::Words;

/// Lines under one heading that can be on the page at all.
const MOST_LINES: usize = 12;

/// The values of one report.
pub(crate) fn of_report(view: &ReportView) -> Dict {
    let mut words = Words::default();
    let printed = &view.photographs[..view.photographs.len().min(MOST_PHOTOGRAPHS)];
    let more = view.photographs.len() - printed.len() + view.photographs_left_out;
    let photographs = list(printed.iter().map(|photo| photograph(&mut words, photo)), more);
    let mut lines = |all: &[String]| -> Value {
        let within = &all[..all.len().min(MOST_LINES)];
        list(within.iter().map(|line| words.line(line)), all.len() - within.len())
    };
    let parts = [&view.done, &view.found, &view.changed, &view.need, &view.next].map(|part| lines(part));
    let [done, found, changed, need, next] = parts;
    dict! {
        "title" => words.line(&view.title),
        "period" => words.line(&view.period),
        "days" => words.line(&view.days),
        "says" => words.line(&view.says),
        "done" => done,
        "found" => found,
        "changed" => changed,
        "need" => need,
        "need-by" => words.line(&view.need_by),
        "next" => next,
        "range" => words.line(&view.range),
        "range-drawn" => drawing(&view.range_svg),
        "agreed" => words.line(&view.agreed),
        "photographs" => photographs,
        "maps" => rows(&view.maps[..view.maps.len().min(MOST_MAPS)], |map| dict! {
            "caption" => words.line(&map.caption),
            "svg" => drawing(&map.svg),
        }),
        "stage" => words.line(&view.stage),
        "head" => grouped(&view.head_hash),
        "head-short" => grouped(view.head_hash.get(..16).unwrap_or(&view.head_hash)),
        "count" => number(view.count),
        "as-of" => words.line(&view.as_of),
        "foot" => words.line(&format!("Record as of {}", view.as_of)),
        "invented" => view.invented,
    }
}
