//! The printed dossier: a view of one car turned into a PDF.
//!
//! [`DossierView`] is plain data; [`render`] sets it on A4 sheets with typst and returns the file. The same
//! view gives the same bytes: the sheets see no clock, no file, no network and no font but their own.
//!
//! [`view_of`] draws the view of a car from the shop. [`ReportView`], [`render_report`] and [`report_view_of`] do
//! the same for the one page of a fortnight report. Not done here: computing any figure, storing anything.
//!
//! # Limits
//! What goes beyond a limit is left out and the sheet says how much; the record still holds it.

mod dimension;
mod error;
mod of_car;
mod of_report;
mod owner;
mod panel;
mod picture;
mod report;
mod values;
mod view;
mod words;
mod world;

#[cfg(test)]
mod tests;

pub use dimension::one as range_drawing;
pub use error::DossierError;
pub use of_car::view_of;
pub use of_report::{answer_wanted_by, report_title, report_view_of};
pub use owner::*;
pub use panel::{PanelPicture, small_png};
pub use report::{MOST_PHOTOGRAPHS, ReportView, render_report};
pub use view::*;

use jiff::civil::DateTime;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_pdf::{PdfOptions, Timestamp};

/// Photographs printed in one dossier.
pub const MAX_PHOTOGRAPHS: usize = 400;
/// Bytes of one photograph; one with more stands as a framed box.
pub const MAX_PHOTO_BYTES: usize = 8 << 20;
/// Pixels of one photograph; one with more stands as a framed box.
pub const MAX_PHOTO_PIXELS: u64 = 12_000_000;
/// The longer side of a photograph as printed: 300 dots an inch at half the width of a sheet.
pub const PRINTED_PX: u32 = 960;
/// Bytes of one drawing.
pub const MAX_DRAWING_BYTES: usize = 4 << 20;
/// Paints, and pairs of paints, in one dossier: each takes a page.
pub const MAX_PAINTS: usize = 40;
/// Rows of any one list: zones, entries of a zone, checks, colours, the record.
pub const MAX_ROWS: usize = 5_000;

/// Prints a dossier: A4, numbered pages, a contents list.
///
/// A photograph or drawing that is missing, damaged or past a limit becomes a framed box that says so.
///
/// # Errors
/// [`DossierError`] when typst refuses its own sheets, which no text or picture of a user should cause.
pub fn render(view: &DossierView) -> Result<Vec<u8>, DossierError> {
    let office = world::Office::new(values::of(view));
    print(&office, format!("guidecoat dossier {} {}", view.head_hash, view.count), view.printed_utc)
}

fn print(office: &world::Office, ident: String, at_utc: DateTime) -> Result<Vec<u8>, DossierError> {
    let set = typst::compile(office).output.map_err(|all| DossierError::Setting(said(&all)));
    let pdf = set.and_then(|document| {
        typst_pdf::pdf(&document, &options(ident, at_utc)).map_err(|all| DossierError::Writing(said(&all)))
    });
    // Typst keeps what it computed in a store shared by the whole process: pictures would pile up there.
    typst::comemo::evict(0);
    pdf
}

fn options(ident: String, utc: DateTime) -> PdfOptions {
    let part = |n: i8| u8::try_from(n).unwrap_or_default();
    let printed = Datetime::from_ymd_hms(
        utc.year().into(),
        part(utc.month()),
        part(utc.day()),
        part(utc.hour()),
        part(utc.minute()),
        part(utc.second()),
    );
    PdfOptions {
        ident: Smart::Custom(ident),
        creator: Smart::Custom(Some("guidecoat".to_owned())),
        timestamp: printed.map(Timestamp::new_utc),
        ..PdfOptions::default()
    }
}

/// What typst said, in one line.
fn said(all: &[SourceDiagnostic]) -> String {
    let mut words: Vec<&str> = all.iter().map(|one| one.message.as_str()).collect();
    words.truncate(3);
    words.join("; ")
}
