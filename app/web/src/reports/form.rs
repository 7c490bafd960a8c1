//! A report as a form: drafted for its days, edited line by line, shown as the owner will read it, kept.

use std::sync::Arc;

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use job::car::{Car, Entry};
use job::fortnight;
use job::ids::{CarId, EntryId, Hash};
use job::person::Deed;
use job::question::Report;
use job::shop::{Draft, ShopError};
use job::validate::{FieldError, instance};
use job::what::{Photograph, What};
use maud::{Markup, html};
use serde::Deserialize;

use super::sheet::{Shown, sheet};
use crate::access::{Access, remember};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, who_picks};
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The five headings: name of the field, what it asks, and a hint.
const PARTS: [(&str, &str, &str); 5] = [
    ("done", "Done", "One line each."),
    ("found", "Found", "One line each."),
    (
        "changed",
        "Changed range",
        "One line each: how the hours changed, and what moved them. The range itself is drawn beside it.",
    ),
    ("need", "Need your answer by", "One line each, with the day."),
    ("next", "Next", "One line each."),
];
/// How many photographs are offered, the latest ones.
const OFFERED: usize = 60;

#[derive(Deserialize)]
pub(crate) struct Ask {
    from: Option<String>,
    to: Option<String>,
}

/// The form, drafted for the days asked for, or since the last report.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let (from, to) = fortnight::days(&car, Timestamp::now().to_zoned(app.zone.clone()).date(), &app.zone);
    let day = |asked: Option<String>, usual: Date| asked.and_then(|text| text.parse().ok()).unwrap_or(usual);
    let typed = drafted(&app, &car, day(ask.from, from), day(ask.to, to)).await?;
    draw(&Sent { app: &app, access: &access, car: &car, typed: &typed, errors: &[] }, None).await
}

/// A fresh draft as a form, over the record as it stands.
async fn drafted(app: &App, car: &Car, from: Date, to: Date) -> Result<Typed, Fault> {
    let taught = app.shop.taught(car.id).await?;
    let report = fortnight::draft(car, &taught.catalogue, from, to, &app.zone).map_err(ShopError::from)?;
    let mut pairs = vec![
        ("entry", EntryId::fresh().to_string()),
        ("base", car.count.to_string()),
        ("from", report.from.to_string()),
        ("to", report.to.to_string()),
        ("says", report.says),
        ("done", report.done.join("\n")),
        ("found", report.found.join("\n")),
        ("changed", report.changed.join("\n")),
        ("need", report.need.join("\n")),
        ("next", report.next.join("\n")),
    ];
    pairs.extend(report.photographs.iter().map(|id| ("photographs", id.to_string())));
    Ok(Typed::from_pairs(pairs))
}

fn days(typed: &Typed) -> Result<(Date, Date), Vec<FieldError>> {
    let mut errors = Vec::new();
    let mut day = |name: &'static str, what: &str| {
        let read = typed.get(name).parse::<Date>();
        if read.is_err() {
            let say = format!("\"{}\" was typed for the {what} day", typed.get(name));
            errors.push(FieldError::new(name, say, "Type a day, such as 2026-11-24."));
        }
        read.ok()
    };
    match (day("from", "first"), day("to", "last")) {
        (Some(from), Some(to)) if from <= to => Ok((from, to)),
        (Some(from), Some(to)) => {
            let say = format!("it begins on {from} and ends on {to}");
            Err(vec![FieldError::new("to", say, "The last day comes after the first.")])
        }
        _ => Err(errors),
    }
}

/// The car as it stood when the form was drawn. A report says what it was drawn from and is the same page
/// however often it is sent, so it never looks at what came after.
fn drawn_from(car: &Arc<Car>, typed: &Typed) -> Arc<Car> {
    match typed.get("base").parse::<u64>() {
        Ok(base) if base < car.count => Arc::new(car.at(base)),
        _ => car.clone(),
    }
}

/// The report that a form holds, or everything that cannot be read of it.
async fn report(app: &App, car: &Car, typed: &Typed) -> Result<Result<Report, Vec<FieldError>>, Fault> {
    let (from, to) = match days(typed) {
        Ok(days) => days,
        Err(errors) => return Ok(Err(errors)),
    };
    let lines = |name: &str| -> Vec<String> {
        typed.get(name).lines().map(|line| line.trim().to_string()).filter(|line| !line.is_empty()).collect()
    };
    let mut photographs: Vec<EntryId> = Vec::new();
    for text in typed.all("photographs") {
        match text.parse() {
            Ok(id) if photographs.contains(&id) => {}
            Ok(id) => photographs.push(id),
            Err(_) => {
                let error = FieldError::new("photographs", "a photograph was chosen that is none", "Choose again.");
                return Ok(Err(vec![error]));
            }
        }
    }
    // The form offers the latest first; a report tells them as they came.
    photographs.sort_by_key(|id| car.entry_by_id(*id).map(|entry| entry.seq));
    Ok(Ok(Report {
        from,
        to,
        says: typed.get("says").split_whitespace().collect::<Vec<_>>().join(" "),
        done: lines("done"),
        found: lines("found"),
        changed: lines("changed"),
        need: lines("need"),
        next: lines("next"),
        photographs,
        range: app.shop.told(car).await?,
        pdf: Hash::NONE,
    }))
}

/// Drafts anew, shows, or keeps a report with its printed page.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    if typed.get("do") == "draft" {
        return draft_anew(&app, &access, &car, &typed).await;
    }
    let then = drawn_from(&car, &typed);
    let report = match report(&app, &then, &typed).await? {
        Ok(report) => report,
        Err(errors) => return refuse(&app, &access, &car, &typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
    };
    match typed.get("do") {
        "preview" => {
            let sent = Sent { app: &app, access: &access, car: &car, typed: &typed, errors: &[] };
            Ok(draw(&sent, Some((&then, &report))).await?.into_response())
        }
        "pdf" => Ok(super::send(print(&app, &then, &report).await?, &report)),
        _ => kept(&app, &access, &car, &then, &typed, report).await,
    }
}

async fn draft_anew(app: &App, access: &Access, car: &Arc<Car>, typed: &Typed) -> Result<Response, Fault> {
    let (from, to) = match days(typed) {
        Ok(days) => days,
        Err(errors) => return refuse(app, access, car, typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
    };
    let mut anew = drafted(app, car, from, to).await?;
    anew.set("who", typed.get("who").into());
    Ok(draw(&Sent { app, access, car, typed: &anew, errors: &[] }, None).await?.into_response())
}

async fn print(app: &App, then: &Car, report: &Report) -> Result<Vec<u8>, Fault> {
    let _permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    crate::print::report(&app.shop, then, report, &app.zone).await.map_err(|e| Fault::Dossier(e.to_string()))
}

async fn kept(
    app: &App,
    access: &Access,
    car: &Arc<Car>,
    then: &Car,
    typed: &Typed,
    mut report: Report,
) -> Result<Response, Fault> {
    let unreadable = StatusCode::UNPROCESSABLE_ENTITY;
    let (Ok(by), Ok(entry)) = (typed.get("who").parse(), typed.get("entry").parse()) else {
        let error = FieldError::new("who", "nobody was picked", "Pick who is writing.");
        return refuse(app, access, car, typed, &[error], unreadable).await;
    };
    let printed = print(app, then, &report).await;
    let file = match printed {
        Ok(pdf) => app.shop.keep_file(&pdf).await.map_err(Fault::from),
        Err(fault) => Err(fault),
    };
    report.pdf = match file {
        Ok(hash) => hash,
        Err(fault) => return again(app, access, car, typed, fault).await,
    };
    let what = What::Reported(report);
    let draft = Draft { entry, base: None, by, noted: None, corrects: None, keep_both: false, what };
    match app.shop.keep(car.id, &draft, Timestamp::now()).await {
        Ok(kept) => {
            let go = format!("{}/reports/{seq}?kept={seq}", link::shell(car.id), seq = kept.seq);
            Ok((remember(by), Redirect::to(&go)).into_response())
        }
        Err(ShopError::Invalid(errors)) => refuse(app, access, car, typed, &errors, unreadable).await,
        Err(ShopError::NoSuchPerson(_)) => {
            let error = FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.");
            refuse(app, access, car, typed, &[error], unreadable).await
        }
        Err(e) => again(app, access, car, typed, e.into()).await,
    }
}

/// The form again, with everything typed, when what went wrong is not in the form.
async fn again(app: &App, access: &Access, car: &Car, typed: &Typed, fault: Fault) -> Result<Response, Fault> {
    let (status, say) = fault.say();
    if status.is_server_error() {
        tracing::error!(%status, ?fault, "no report was kept");
    }
    refuse(app, access, car, typed, &[FieldError::new("", say, "")], status).await
}

async fn refuse(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    errors: &[FieldError],
    status: StatusCode,
) -> Result<Response, Fault> {
    Ok((status, draw(&Sent { app, access, car, typed, errors }, None).await?).into_response())
}

/// The form with what was typed.
struct Sent<'a> {
    app: &'a App,
    access: &'a Access,
    car: &'a Car,
    typed: &'a Typed,
    errors: &'a [FieldError],
}

/// The form, below the report as the owner will read it if that was asked for.
async fn draw(sent: &Sent<'_>, preview: Option<(&Car, &Report)>) -> Result<Markup, Fault> {
    let Sent { app, access, car, errors, .. } = sent;
    let preview = match preview {
        Some((then, report)) => {
            let shown = Shown::of(app, then, report, |hash| link::picture(car.id, hash)).await?;
            Some(html! {
                section.wait #preview {
                    h2 { "As the owner will read it" }
                    p { b { (dossier::report_title(report.from, report.to)) } }
                    p { (report.says) }
                    (sheet(&shown))
                }
            })
        }
        None => None,
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Paper,
        sheet: Sheet::Questions,
        title: "Fortnight report",
        says: "Drafted from the record. Nothing is kept or sent yet.",
        legend: false,
        deed: Bar::Send("report-form", "Keep and send"),
    };
    Ok(page.draw(html! {
        (field::problems(errors))
        @if let Some(preview) = preview { (preview) }
        (form(sent))
    }))
}

fn form(sent: &Sent<'_>) -> Markup {
    let Sent { access, car, typed, errors, .. } = sent;
    let base = typed.get("base").parse::<u64>().unwrap_or(car.count).min(car.count);
    let newer = car.count - base;
    let entry = Some(typed.get("entry")).filter(|e| !e.is_empty());
    let entry = entry.map_or_else(|| EntryId::fresh().to_string(), String::from);
    html! {
        form.stack-l #report-form method="post" action={ (link::shell(car.id)) "/reports" } enctype="multipart/form-data" {
            input type="hidden" name="entry" value=(entry);
            input type="hidden" name="base" value=(base);
            fieldset.stack {
                legend { "The days it covers" }
                div.two { (day("from", "First day", typed, errors)) (day("to", "Last day", typed, errors)) }
                @if newer > 0 {
                    p.note { "The record has grown by " (newer) @if newer == 1 { " entry" } @else { " entries" } " since this was drafted; the report does not hold them." }
                }
                p { button name="do" value="draft" formnovalidate { "Draft anew for these days" } }
                p.hint { "A new draft takes the place of everything below. It is drawn from " @if newer > 0 { "the record as it stands now." } @else { "entry " (base) ", the last one of the record." } }
            }
            (field::note("says", "The fortnight in one sentence", "", typed.get("says"), errors))
            @for (name, label, hint) in PARTS { (field::note(name, label, hint, typed.get(name), errors)) }
            (photographs(car, base, typed, errors))
            @for unseen in ["entry", "photo"] { (field::complaint(unseen, errors)) }
            (field::complaint("who", errors))
            (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
            div.row {
                button name="do" value="preview" formnovalidate { "Show it as the owner will read it" }
                button name="do" value="pdf" formnovalidate formtarget="_blank" { "Show the printed page" }
                button.main name="do" value="send" { "Keep and send" }
            }
            p.small.soft { "Sent means that it stands on the owner's page from now on. Its printed page is kept with it as a PDF, to be mailed to an owner who cannot reach that page. It can be taken out, never changed." }
        }
    }
}

fn day(name: &str, label: &str, typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        div.field.err[field::is_wrong(name, errors)] {
            label for=(name) { (label) }
            (field::complaint(name, errors))
            div.in { input id=(name) type="date" name=(name) value=(typed.get(name)); }
        }
    }
}

/// Photographs that have a place, the latest first; those that are ticked are always among them.
fn photographs(car: &Car, base: u64, typed: &Typed, errors: &[FieldError]) -> Markup {
    let ticked = |entry: &Entry| typed.is("photographs", &entry.id.to_string());
    let mut all: Vec<(&Entry, &Photograph)> =
        car.photographs().filter(|(entry, photo)| photo.zone.is_some() && entry.seq <= base).collect();
    all.reverse();
    let late: Vec<_> = all.iter().skip(OFFERED).filter(|(entry, _)| ticked(entry)).copied().collect();
    let shown: Vec<_> = all.into_iter().take(OFFERED).chain(late).collect();
    html! {
        fieldset #photographs {
            legend { "Photographs" }
            p.hint { "The printed page has room for " (dossier::MOST_PHOTOGRAPHS) ". Only photographs with a zone are offered." }
            (field::complaint("photographs", errors))
            @if shown.is_empty() {
                div.wait { p { "No photograph has a zone yet." } }
            } @else {
                div.thumbs {
                    @for (entry, photo) in shown {
                        @let place = photo.zone.as_deref().and_then(|id| instance(&car.details, id)).map(|i| upper(&i.name()));
                        label.pick.photo-pick {
                            input type="checkbox" name="photographs" value=(entry.id) checked[ticked(entry)];
                            span {
                                img src=(link::picture(car.id, photo.thumb)) alt="" loading="lazy" width="140" height="105";
                                small { (photo.caption) br; (place.unwrap_or_default()) ", " (photo.stage.words()) }
                            }
                        }
                    }
                }
            }
        }
    }
}
