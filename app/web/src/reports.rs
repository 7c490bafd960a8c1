//! Fortnight reports: drafted from the record, edited by the lead, kept with their printed page, and shown.

mod form;
mod sheet;

use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use job::car::{Car, Entry};
use job::ids::CarId;
use job::person::Deed;
use job::question::Report;
use job::what::What;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::audit::{self, By};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::link;
use crate::state::App;

pub(crate) use form::{keep, page as new};
pub(crate) use sheet::{Shown, sheet};

#[derive(Deserialize)]
pub(crate) struct After {
    kept: Option<u64>,
}

/// A report that was kept, as it was told then.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let (entry, report) = find(&car, seq)?;
    // Hatched as the shell stood then, not as it stands today.
    let then = car.at(seq);
    let shown = Shown::of(&app, &then, report, |hash| link::picture(id, hash)).await?;
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Questions,
        title: &dossier::report_title(report.from, report.to),
        says: &report.says,
        legend: true,
        deed: Bar::Go(format!("{}/questions", link::shell(id)), "Questions"),
    };
    let pdf = format!("{}/reports/{seq}/report.pdf", link::shell(id));
    Ok(page.draw(html! {
        @if after.kept == Some(seq) { div.flash.note role="status" { p { "Kept, with its printed page. It stands on the owner's page now." } } }
        @if let Some(by) = entry.superseded_by {
            div.note.stop { p { "This report no longer counts: see " a.touch href=(link::entry(id, by)) { "entry " (by) } ". The owner is not shown it any more." } }
        }
        (sheet(&shown))
        section.no-print {
            h2 { "To the owner" }
            p { "It stands on the owner's page from the moment it was kept, for everybody who has a link to it. An owner who cannot reach that page gets the PDF by mail." }
            p.row {
                a.btn.main href=(pdf) { "The page as a PDF" }
                @if access.role.may(Deed::Manage) { a.btn href={ (link::shell(id)) "/links" } { "Links to the owner's page" } }
            }
            p.small.soft {
                "Kept as " a.touch href=(link::entry(id, seq)) { "entry " (seq) } " by " (entry.by.name) ", " (when(&app, entry.at)) ". "
                "The PDF names the head of the record it was drawn from, and the entry holds the hash of the PDF."
            }
        }
    }))
}

/// The printed page, byte for byte as it was kept.
pub(crate) async fn pdf(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let (_, report) = find(&car, seq)?;
    audit::opened(&app, Some(id), By::Shop(&access), &format!("the report of {}, as PDF", report.to)).await;
    let bytes = app.shop.blob(report.pdf).await?.ok_or(Fault::NotFound(
        "printed page of this report any more: its file is gone from the shop, and the check of the record says so",
    ))?;
    Ok(send(bytes.to_vec(), report))
}

/// A printed page, to be read in the browser.
fn send(pdf: Vec<u8>, report: &Report) -> Response {
    let name = format!("inline; filename=\"report-{}.pdf\"", report.to);
    ([(header::CONTENT_TYPE, "application/pdf".to_string()), (header::CONTENT_DISPOSITION, name)], pdf).into_response()
}

fn find(car: &Car, seq: u64) -> Result<(&Entry, &Report), Fault> {
    match car.entry(seq) {
        Some(entry) => match &entry.what {
            What::Reported(report) => Ok((entry, report)),
            _ => Err(Fault::NotFound("report")),
        },
        None => Err(Fault::NotFound("report")),
    }
}
