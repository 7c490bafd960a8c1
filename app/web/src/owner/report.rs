//! The fortnight reports on the owner's side.

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use job::car::{Car, Entry};
use job::fortnight;
use job::question::Report;
use job::what::What;
use maud::{Markup, html};

use super::{Visitor, frame};
use crate::fault::Fault;
use crate::reports::{Shown, sheet};
use crate::state::App;

/// The last report on the owner's page, and the way to the earlier ones.
pub(super) fn news(visitor: &Visitor) -> Markup {
    let car = visitor.car();
    let Some((entry, report)) = fortnight::last(car) else { return html! {} };
    let earlier: Vec<(&Entry, &Report)> = reports(car).filter(|(e, _)| e.seq != entry.seq).take(12).collect();
    html! {
        section {
            h2 { "News of the fortnight" }
            p { b { (days(report)) } }
            p { (report.says) }
            p { a.btn.wide href=(visitor.to(&format!("/reports/{}", entry.seq))) { "Read the report" } }
            @if !earlier.is_empty() {
                details {
                    summary { "Earlier reports" }
                    ul.index { @for (entry, report) in earlier { li { a href=(visitor.to(&format!("/reports/{}", entry.seq))) { (days(report)) } } } }
                }
            }
        }
    }
}

fn reports(car: &Car) -> impl Iterator<Item = (&Entry, &Report)> {
    car.counting().rev().filter_map(|entry| match &entry.what {
        What::Reported(report) => Some((entry, report)),
        _ => None,
    })
}

fn days(report: &Report) -> String {
    format!("{} to {}", report.from.strftime("%-d %B"), report.to.strftime("%-d %B %Y"))
}

fn find(car: &Car, seq: u64) -> Result<&Report, Fault> {
    reports(car).find(|(entry, _)| entry.seq == seq).map(|(_, report)| report).ok_or(Fault::NotFound("report"))
}

/// One report, as it was told then.
pub(crate) async fn page(
    State(app): State<App>,
    visitor: Visitor,
    Path((_, seq)): Path<(String, u64)>,
) -> Result<Markup, Fault> {
    let car = visitor.car();
    let report = find(car, seq)?;
    visitor.opened(&app, &format!("the report of {}", report.to)).await;
    let then = car.at(seq);
    let shown = Shown::of(&app, &then, report, |hash| visitor.to(&format!("/pictures/{hash}"))).await?;
    Ok(frame::page(
        car,
        &dossier::report_title(report.from, report.to),
        &report.says,
        html! {
            p { a.btn href=(visitor.to("")) { "Back to your page" } }
            (sheet(&shown))
            p { a.btn.wide href=(visitor.to(&format!("/reports/{seq}/report.pdf"))) { "The same as a PDF" } }
        },
    ))
}

/// The report as it was printed then.
pub(crate) async fn pdf(
    State(app): State<App>,
    visitor: Visitor,
    Path((_, seq)): Path<(String, u64)>,
) -> Result<Response, Fault> {
    let report = find(visitor.car(), seq)?;
    visitor.opened(&app, &format!("the report of {}, as PDF", report.to)).await;
    let bytes = app.shop.blob(report.pdf).await?.ok_or(Fault::NotFound("printed page of this report any more"))?;
    let name = format!("inline; filename=\"report-{}.pdf\"", report.to);
    let headers = [(header::CONTENT_TYPE, "application/pdf".to_string()), (header::CONTENT_DISPOSITION, name)];
    Ok((headers, bytes.to_vec()).into_response())
}
