//! The printed page of a fortnight report: one sheet, to be shown to the owner or sent by mail.

use jiff::civil::DateTime;

use crate::view::{OutlineMap, Photo};
use crate::{DossierError, print, values, world};

/// Photographs on the printed page of a report.
pub const MOST_PHOTOGRAPHS: usize = 6;
/// Outlines on it, those with most of its photographs.
pub(crate) const MOST_MAPS: usize = 3;

/// What the page of a report shows: plain data, whose texts are never read as markup.
#[derive(Debug, Clone)]
pub struct ReportView {
    /// The car's name, as the shop calls it.
    pub title: String,
    /// The name of the report, such as "Fortnight to 24 November 2026".
    pub period: String,
    /// The days it covers.
    pub days: String,
    /// The fortnight in one sentence.
    pub says: String,
    /// What was done, a line each.
    pub done: Vec<String>,
    /// What was found.
    pub found: Vec<String>,
    /// How the range changed, and what moved it.
    pub changed: Vec<String>,
    /// What the shop needs an answer to.
    pub need: Vec<String>,
    /// The day by which the first answer is wanted; empty when no question is open.
    pub need_by: String,
    /// What comes next.
    pub next: Vec<String>,
    /// The range in words.
    pub range: String,
    /// The range as a dimension, a stand-alone SVG.
    pub range_svg: String,
    /// The hours agreed with the owner, in words; empty when none are.
    pub agreed: String,
    /// Its photographs, at most [`MOST_PHOTOGRAPHS`].
    pub photographs: Vec<Photo>,
    /// How many more photographs the report has.
    pub photographs_left_out: usize,
    /// The outlines on which the photographs are marked.
    pub maps: Vec<OutlineMap>,
    /// The stage of the job.
    pub stage: String,
    /// The head of the record it was drawn from: 64 hexadecimal digits.
    pub head_hash: String,
    /// How many entries that record has.
    pub count: u64,
    /// When the last of them was kept, in the shop's zone, in words.
    pub as_of: String,
    /// The same moment in UTC, written into the file's properties.
    pub as_of_utc: DateTime,
    /// True when the car is invented, for the demonstration.
    pub invented: bool,
}

/// Prints a report: one A4 page, whatever was typed. The same view gives the same bytes.
///
/// Long lines are set smaller, and then shortened with a word on how much more stands in the record. A
/// photograph or drawing that is missing, damaged or past a limit becomes a framed box that says so.
///
/// # Errors
/// [`DossierError`] when typst refuses its own sheet, which no text or picture of a user should cause.
pub fn render_report(view: &ReportView) -> Result<Vec<u8>, DossierError> {
    let office = world::Office::report(values::of_report(view));
    print(&office, format!("guidecoat report {} {} {}", view.head_hash, view.count, view.days), view.as_of_utc)
}

#[cfg(test)]
mod tests;
