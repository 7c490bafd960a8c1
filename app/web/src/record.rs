//! The Record sheet: everything that happened, in order; the check; the ways out.

use std::io::{Seek, SeekFrom};

use axum::body::Body;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use job::body::{View, svg};
use job::car::{Car, Entry};
use job::chain::Verdict;
use job::ids::{CarId, Hash};
use job::person::Deed;
use job::what::What;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::audit::{self, By};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet};
use crate::state::App;
use crate::typed::Typed;
use crate::{cars, entries, link, zone};

/// How many entries stand on one page.
const ON_A_PAGE: usize = 100;

#[derive(Deserialize)]
pub(crate) struct Ask {
    #[serde(default)]
    kind: String,
    #[serde(default)]
    who: String,
    #[serde(default)]
    zone: String,
    before: Option<u64>,
    kept: Option<u64>,
}

impl Ask {
    fn wants(&self, entry: &Entry) -> bool {
        (self.kind.is_empty() || entry.what.kind() == self.kind)
            && (self.who.is_empty() || entry.by.id.to_string() == self.who)
            && (self.zone.is_empty() || entry.what.zone() == Some(self.zone.as_str()))
            && self.before.is_none_or(|before| entry.seq < before)
    }

    fn filtered(&self) -> bool {
        !(self.kind.is_empty() && self.who.is_empty() && self.zone.is_empty())
    }
}

/// The sheet.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let found: Vec<&Entry> = car.entries().iter().rev().filter(|e| ask.wants(e)).take(ON_A_PAGE + 1).collect();
    let shown = &found[..found.len().min(ON_A_PAGE)];
    let older = found.get(ON_A_PAGE).is_some().then(|| shown.last()).flatten();
    let unplaced = car.photographs().filter(|(_, p)| p.zone.is_none()).count();
    let says = match car.count {
        1 => "One entry so far.".to_string(),
        n => format!("{n} entries, each holding the hash of the one before."),
    };
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Record,
        title: "Record",
        says: &says,
        legend: false,
        deed: Bar::Go(format!("{}/add", link::shell(id)), "Add"),
    };
    let shell = link::shell(id);
    Ok(page.draw(html! {
        (entries::flash(&app, &car, ask.kept))
        @if let Some(newer) = car.newer() {
            div.note.stop { p { "Entry " (newer.seq) " was written by a newer version of this program. The car can be looked at here; to add to it, use the newer version." } }
        }
        p.row.no-print {
            a.btn.main href={ (shell) "/dossier.pdf" } { "Dossier as PDF" }
            a.btn href={ (shell) "/verify" } { "Check the record" }
            @if access.role.may(Deed::Manage) {
                a.btn href={ (shell) "/export.zip" } download { "Whole car as ZIP" }
                a.btn href={ (shell) "/details" } { "Change the details" }
            }
        }
        @if unplaced > 0 {
            p.note { (unplaced) " photographs have no zone yet. They are listed as unplaced, and are not in the dossier's zones." }
        }
        @if access.role.may(Deed::Write) {
            details.no-print { summary { "Stage: " (car.stage.words()) } (entries::stage_form(&access, &car)) }
        }
        section {
            h2 { "What happened, latest first" }
            (filters(&car, &ask, &shell))
            @if shown.is_empty() {
                div.wait { p { "Nothing in this record matches." } p { a.btn href={ (shell) "/record" } { "Show everything" } } }
            }
            ol.stack { @for entry in shown { li { (zone::row(&app, &car, entry)) } } }
            @if let Some(last) = older {
                p.row.no-print { a.btn href={ (shell) "/record?before=" (last.seq) "&kind=" (link::escape(&ask.kind)) "&who=" (link::escape(&ask.who)) "&zone=" (link::escape(&ask.zone)) } { "Older entries" } }
            }
        }
    }))
}

fn filters(car: &Car, ask: &Ask, shell: &str) -> Markup {
    let mut people: Vec<_> = car.entries().iter().map(|e| (e.by.id, e.by.name.as_str())).collect();
    people.sort();
    people.dedup_by_key(|(id, _)| *id);
    let zones: Vec<_> =
        job::validate::instances(&car.details).into_iter().filter(|i| car.zone(&i.id).is_some()).collect();
    html! {
        form.row.filters.no-print action={ (shell) "/record" } {
            div.field {
                label for="kind" { "Kind" }
                select #kind name="kind" {
                    option value="" { "all kinds" }
                    @for (key, words) in What::KINDS { option value=(key) selected[ask.kind == *key] { (words) } }
                }
            }
            div.field {
                label for="who" { "By" }
                select #who name="who" {
                    option value="" { "everybody" }
                    @for (id, name) in &people { option value=(id) selected[ask.who == id.to_string()] { (name) } }
                }
            }
            div.field {
                label for="zone" { "Zone" }
                select #zone name="zone" {
                    option value="" { "all zones" }
                    @for zone in &zones { option value=(zone.id) selected[ask.zone == zone.id] { (zone.name()) } }
                }
            }
            button { "Show" }
            @if ask.filtered() { a.btn href={ (shell) "/record" } { "Everything" } }
        }
    }
}

#[derive(Deserialize)]
pub(crate) struct Printed {
    #[serde(default)]
    head: String,
}

/// The check of a record, against a head printed earlier if one is typed in.
pub(crate) async fn verify(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(printed): Query<Printed>,
) -> Result<Markup, Fault> {
    let head = match printed.head.trim() {
        "" => None,
        text => Some(text.parse::<Hash>().map_err(|e| Fault::Bad(format!("{}.", e)))?),
    };
    let verdict = app.shop.verify(id, head).await?;
    let body = verdict_page(&verdict, &printed.head, id);
    match app.shop.car(id).await {
        Ok(car) => {
            let page = CarPage {
                app: &app,
                access: &access,
                car: &car,
                ground: Ground::Paper,
                sheet: Sheet::Record,
                title: "Check the record",
                says: if verdict.intact() { "The record is intact." } else { "The record is broken." },
                legend: false,
                deed: Bar::Go(format!("{}/record", link::shell(id)), "Record"),
            };
            Ok(page.draw(body))
        }
        // A record too broken to be drawn still says where it breaks.
        Err(_) => Ok(crate::layout::shop_page(&access, "Check the record", "The record is broken.", body)),
    }
}

fn verdict_page(verdict: &Verdict, head: &str, id: CarId) -> Markup {
    html! {
        @match &verdict.broken {
            None => div.note.stack {
                p { "All " (verdict.events) " entries follow each other, every text has its hash, and every picture is there and unaltered." }
                @if !head.trim().is_empty() { p { "The printed head is in this record: nothing that was printed has been cut off or altered since." } }
            },
            Some(broken) => div.note.stop.stack role="alert" {
                h2 { "It breaks at entry " (broken.at) }
                p { (crate::fault::sentence(&broken.why)) }
                p { "Entries before it are whole. A copy of the car made earlier can be checked at the command line with " code { "guidecoat car verify FILE.zip" } "." }
            },
        }
        dl.facts {
            div { dt { "Entries" } dd { (verdict.events) } }
            div { dt { "Head of the record" } dd.chain { (verdict.head) } }
        }
        form.stack.no-print action={ (link::shell(id)) "/verify" } {
            div.field {
                label for="head" { "Check against a printed head" }
                p.hint { "The 64 digits under \"head of the record\" in a dossier. Blanks do not matter." }
                div.in { input #head name="head" value=(head) autocomplete="off"; }
            }
            button { "Check" }
        }
    }
}

/// The form for changed details.
pub(crate) async fn details_page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
) -> Result<Markup, Fault> {
    cars::change_form(&app, &access, id).await
}

/// Keeps changed details.
pub(crate) async fn details(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    let typed = Typed::read(form).await?;
    cars::change(&app, &access, id, typed).await
}

/// The whole car as a ZIP.
pub(crate) async fn export(State(app): State<App>, access: Access, Path(id): Path<CarId>) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let file = app.shop.export(id, scratch()?).await?;
    audit::opened(&app, Some(id), By::Shop(&access), "the whole car as a ZIP").await;
    send(file, "application/zip", &format!("{}.zip", file_name(&car))).await
}

/// The whole shop as a backup.
pub(crate) async fn backup(State(app): State<App>, access: Access) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let mut file = scratch()?;
    app.shop.backup(&mut file, "backup.zip").await?;
    audit::opened(&app, None, By::Shop(&access), "a copy of everything").await;
    let day = Timestamp::now().to_zoned(app.zone.clone()).strftime("%Y-%m-%d").to_string();
    send(file, "application/zip", &format!("guidecoat-{day}.zip")).await
}

/// The dossier.
pub(crate) async fn dossier(State(app): State<App>, access: Access, Path(id): Path<CarId>) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    audit::opened(&app, Some(id), By::Shop(&access), "the dossier").await;
    let _permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let pdf = crate::print::dossier(&app.shop, id, &app.zone, Timestamp::now())
        .await
        .map_err(|e| Fault::Dossier(e.to_string()))?;
    let name = format!("inline; filename=\"{}-dossier.pdf\"", file_name(&car));
    Ok(([(header::CONTENT_TYPE, "application/pdf".to_string()), (header::CONTENT_DISPOSITION, name)], pdf)
        .into_response())
}

/// A file without a name, gone when it is closed.
fn scratch() -> Result<std::fs::File, Fault> {
    tempfile::tempfile().map_err(|e| Fault::Internal(format!("there is no room to put the file together ({e})")))
}

async fn send(mut file: std::fs::File, kind: &str, name: &str) -> Result<Response, Fault> {
    let wrong = |e: std::io::Error| Fault::Internal(e.to_string());
    let length = file.seek(SeekFrom::End(0)).map_err(wrong)?;
    file.seek(SeekFrom::Start(0)).map_err(wrong)?;
    let body = Body::from_stream(tokio_util::io::ReaderStream::new(tokio::fs::File::from_std(file)));
    let headers = [
        (header::CONTENT_TYPE, kind.to_string()),
        (header::CONTENT_LENGTH, length.to_string()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    Ok((headers, body).into_response())
}

/// A car's title as a file name.
fn file_name(car: &Car) -> String {
    let name: String = car
        .details
        .title
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' })
        .collect();
    let name = name.trim_matches('-').to_string();
    if name.is_empty() { "car".into() } else { name.chars().take(60).collect() }
}

/// A view as a file of its own.
pub(crate) fn outline_svg(car: &Car, view: &View, has: impl Fn(&str) -> bool) -> String {
    let states = view
        .patches
        .iter()
        .filter(|p| has(&p.instance))
        .map(|p| (p.instance.clone(), car.state(&p.instance)))
        .collect();
    let missing: Vec<&str> = view.patches.iter().map(|p| p.instance.as_str()).filter(|i| !has(i)).collect();
    svg::map_svg(view, &states, &[], &missing, svg::Palette::SHEET)
}
