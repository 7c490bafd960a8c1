//! The Shell sheet: the outline, hatched by what is known, and the list of every zone beside it.

use axum::extract::{Path, Query, State};
use job::body::Instance;
use job::car::{Car, Entry, ZoneState};
use job::ids::CarId;
use job::validate::{body, instances, zone_of};
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::drawing::{self, Drawn};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet, when};
use crate::link;
use crate::state::App;

#[derive(Deserialize)]
pub(crate) struct Ask {
    view: Option<String>,
    list: Option<String>,
}

/// The sheet.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let body = body(&car.details).ok_or(Fault::NotFound("body style of this car in this version"))?;
    let view = match &ask.view {
        Some(asked) => body.view(asked).ok_or(Fault::NotFound("view of this name"))?,
        None => body.views().first().ok_or(Fault::NotFound("view"))?,
    };
    let all = instances(&car.details);
    let count = |wanted: fn(ZoneState) -> bool| all.iter().filter(|i| wanted(car.state(&i.id))).count();
    let open = count(|s| s == ZoneState::NotLooked);
    let in_view = |id: &str| view.patch(id).is_some();
    let everything = ask.list.as_deref() == Some("all");
    let listed: Vec<_> = all.iter().filter(|i| everything || in_view(&i.id)).collect();
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Shell,
        title: "Shell",
        says: &says(&car, open, all.len()),
        legend: true,
        deed: Deed::Go(format!("{}/add", link::shell(id)), "Add"),
    };
    let marks: Vec<drawing::Numbered> = car
        .photographs()
        .enumerate()
        .filter_map(|(n, (_, photo))| {
            let mark = photo.mark.as_ref().filter(|m| m.view == view.id)?;
            Some(drawing::Numbered { number: n + 1, u_mm: mark.u_mm, v_mm: mark.v_mm })
        })
        .collect();
    let address = |view: &str, list: &str| {
        format!("{}?view={view}{}", link::shell(id), if list == "all" { "&list=all" } else { "" })
    };
    Ok(page.draw(html! {
        nav.row.views.no-print aria-label="View" {
            @for v in body.views() {
                a.btn.main[v.id == view.id] href=(address(&v.id, "")) aria-current=[(v.id == view.id).then_some("true")] { (button(&v.id)) }
            }
        }
        (drawing::map(view, &Drawn { car: &car, on: None, marks: &marks, links: true }))
        @if !marks.is_empty() { p.small.soft { "Circled numbers are photographs." } }
        dl.facts {
            div { dt { "Not looked" } dd { (open) " of " (all.len()) " zones" } }
            div { dt { "Looked: clear" } dd { (count(|s| s == ZoneState::Clear)) } }
            div { dt { "Looked: bad" } dd { (count(|s| matches!(s, ZoneState::Bad(_)))) } }
            div { dt { "Made good" } dd { (count(|s| s == ZoneState::MadeGood)) } }
            @let waiting = waiting(&car);
            @if waiting > 0 { div { dt { "Waits for the owner" } dd { a href={ (link::shell(id)) "/questions" } { (waiting) @if waiting == 1 { " zone" } @else { " zones" } } } } }
        }
        section #list {
            h2 { "Zone list" }
            nav.row.no-print aria-label="Which zones" {
                a.btn.main[!everything] href={ (address(&view.id, "")) "#list" } { "In this view" }
                a.btn.main[everything] href={ (address(&view.id, "all")) "#list" } { "All " (all.len()) }
            }
            (zone_table(&app, &car, &listed, all.len()))
        }
    }))
}

/// How many zones wait for an answer of the owner.
fn waiting(car: &Car) -> usize {
    let threads = car.threads();
    let blocking = threads.iter().filter(|t| t.blocks()).filter_map(|t| t.latest());
    let zones: std::collections::BTreeSet<&str> =
        blocking.flat_map(|(_, q)| q.zones.iter().map(String::as_str)).collect();
    zones.len()
}

/// The list beside the drawing: every row can be touched with a glove, however small its zone is drawn.
fn zone_table(app: &App, car: &Car, listed: &[&&'static Instance], all: usize) -> Markup {
    html! {
        table {
            caption { (listed.len()) " of " (all) " zones" }
            thead { tr { th scope="col" { "State" } th scope="col" { "Zone and last entry" } th.wide-only scope="col" { "By" } } }
            tbody {
                @for instance in listed {
                    @let last = last_entry(car, &instance.id);
                    tr {
                        td { (drawing::mark(car.state(&instance.id), true)) }
                        th scope="row" {
                            a href=(link::zone(car.id, &instance.id)) { (upper(&instance.name())) }
                            br;
                            span.soft.small {
                                @match last {
                                    Some(entry) => { (entry.what.say()) @if !entry.what.note().is_empty() { ". " (clip(entry.what.note())) } },
                                    None => { (hidden_by(app, &instance.id)) },
                                }
                            }
                        }
                        td.wide-only.small.soft { @if let Some(entry) = last { (entry.by.name) br; (when(app, entry.when())) } }
                    }
                }
            }
        }
    }
}

fn says(car: &Car, open: usize, all: usize) -> String {
    let sills = ["Z01.L", "Z01.R", "Z02.L", "Z02.R", "Z03.L", "Z03.R"];
    let hidden = sills.iter().filter(|id| car.state(id) == ZoneState::NotLooked).count();
    match (open, hidden) {
        (0, _) => format!("All {all} zones have been looked at."),
        (open, 0) => format!("{open} of {all} zones have not been looked at."),
        (open, 6) => {
            format!("{open} of {all} zones have not been looked at. Both sills are among them, all three walls.")
        }
        (open, n) => {
            format!("{open} of {all} zones have not been looked at. Of the six sill walls, {n} are among them.")
        }
    }
}

/// What the list says of a zone: the last entry that says what it is like, else the last one at all.
fn last_entry<'a>(car: &'a Car, instance: &str) -> Option<&'a Entry> {
    let counting = || car.about(instance).rev().filter(|e| e.counts());
    counting().find(|e| e.what.sets_state()).or_else(|| counting().next())
}

fn hidden_by(app: &App, instance: &str) -> String {
    match app.shop.catalogue().zone(zone_of(instance)) {
        Some(zone) if !zone.remove_to_see.is_empty() => {
            format!("Nobody has looked. In the way: {}.", zone.remove_to_see)
        }
        _ => "Nobody has looked.".into(),
    }
}

/// The words on a view's button.
pub(crate) fn button(view: &str) -> &'static str {
    match view {
        "left" => "Left",
        "right" => "Right",
        "above" => "Above",
        "below" => "Below",
        "front" => "Front",
        "rear" => "Rear",
        "inside" => "Inside",
        "bay" => "Engine bay",
        "skins_left" => "Left, skins off",
        "skins_right" => "Right, skins off",
        "section" => "Sill section",
        _ => "View",
    }
}

/// Text that begins large.
pub(crate) fn upper(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default() + chars.as_str()
}

/// Text short enough for a list.
pub(crate) fn clip(text: &str) -> String {
    let short: String = text.chars().take(140).collect();
    if short.len() < text.len() { format!("{short} ...") } else { short }
}
