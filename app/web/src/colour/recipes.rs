//! Recipes: those that were kept, and the form that has new ones searched for.

use std::sync::Arc;

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use job::car::Car;
use job::colour::recipe::Limits;
use job::colour::{Geometry, Illuminant, Measurement};
use job::ids::{CarId, EntryId};
use job::mixing::{Brief, BriefEdit, Briefed, Formulated, Shelved};
use job::paint;
use job::paintwork::{self, Told, briefs, engine};
use job::person::Deed;
use job::shelf_file::ShelfFile;
use job::shop::ShopError;
use job::validate::FieldError;
use job::what::Measured;
use maud::{Markup, html};
use serde::Deserialize;

use super::brief::ask::edits;
use super::brief::only_then;
use super::found::Asked;
use super::swatches::{degrees, near, one_place, shown};
use super::work::Task;
use super::{Part, era, found, parts};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The fields of a change at one angle: lightness, strength, hue.
pub(crate) const EDITS: [(Geometry, [&str; 3]); 6] = [
    (Geometry::AsMinus15, ["dl_-15", "dc_-15", "dh_-15"]),
    (Geometry::As15, ["dl_15", "dc_15", "dh_15"]),
    (Geometry::As25, ["dl_25", "dc_25", "dh_25"]),
    (Geometry::As45, ["dl_45", "dc_45", "dh_45"]),
    (Geometry::As75, ["dl_75", "dc_75", "dh_75"]),
    (Geometry::As110, ["dl_110", "dc_110", "dh_110"]),
];
/// The most targets that are offered with their swatches.
const OFFERED: usize = 24;
/// How many toners a recipe may have at most, as it is asked for.
const SIZES: [&str; 6] = ["1", "2", "3", "4", "5", "6"];

#[derive(Deserialize, Default)]
pub(crate) struct Ask {
    /// The target that is chosen beforehand, by its place in the record.
    target: Option<u64>,
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let mut typed = Typed::default();
    if let Some(seq) = ask.target {
        typed.set("target", seq.to_string());
    }
    draw(&app, &access, &car, &typed, &[]).await
}

async fn draw(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Result<Markup, Fault> {
    let lines = paintwork::lines(car);
    let targets = paintwork::targets(car);
    let briefs = paintwork::briefs(car);
    let in_use = paintwork::shelf_in_use(car);
    let says = match lines.len() {
        0 => "No recipe has been kept for this car.".to_string(),
        1 => "One colour has a recipe.".to_string(),
        n => format!("{n} colours have recipes."),
    };
    let may = access.role.may(Deed::Write);
    let ready = may && in_use.is_some() && !targets.is_empty();
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Recipes",
        says: &says,
        legend: false,
        deed: if ready { Bar::Send("search", "Search") } else { Bar::Go(link::colour(car.id, "toners"), "Toners") },
    };
    let (shelf, unread) = match in_use {
        Some((_, shelved)) => match app.shop.shelf(shelved).await {
            Ok(file) => (Some((shelved, file)), None),
            Err(ShopError::Shelf(e)) => (None, Some(e.to_string())),
            Err(e) => return Err(e.into()),
        },
        None => (None, None),
    };
    Ok(page.draw(html! {
        (parts(car.id, Part::Recipes))
        (field::problems(errors))
        @if let Some(work) = app.works.under_way(car.id) {
            p.note { "Work on this car's colour is under way: " a.touch href=(link::work(car.id, work)) { "see how far it is" } "." }
        }
        (kept(app, car, &lines))
        @match (&shelf, targets.is_empty(), may) {
            (_, _, false) => {}
            (Some((shelved, file)), false, true) => (form(car, shelved, file, (&targets, &briefs), typed, errors)),
            (None, ..) => div.wait.stack {
                @match &unread {
                    Some(why) => p { (sentence(why)) },
                    None => p { "A recipe is made of the shop's own toners, and none are known for this car yet." },
                }
                p { a.btn.main href=(link::colour(car.id, "toners")) { "Learn the toners" } }
            },
            (_, true, _) => div.wait.stack {
                p { "A recipe is found for a paint that was measured, and none was for this car yet." }
                p { a.btn.main href={ (link::shell(car.id)) "/colour#import" } { "Import a measurement" } }
            },
        }
    }))
}

fn kept(app: &App, car: &Car, lines: &[Vec<Told<'_, Formulated>>]) -> Markup {
    html! {
        @if !lines.is_empty() {
            section {
                h2 { "Kept" }
                ul.rows {
                    @for line in lines.iter().rev() {
                        @if let Some((entry, recipe)) = line.last() {
                            li {
                                span {
                                    a.touch href=(link::recipe(car.id, entry.seq)) { b { (recipe.name) } }
                                    @if let Some((_, briefed)) = recipe.briefed.and_then(|id| paintwork::brief_of(car, id)) { br; span.small { "for the brief " (briefed.name) } }
                                    @else if let Some((_, target)) = paintwork::target_of(car, recipe.target) { br; span.small { "for " (target.name) } }
                                    br;
                                    span.small {
                                        (one_place(recipe.mean_de00)) " from the wish on average, over " (recipe.primer) ", " (recipe.coats) " coats"
                                        @if line.len() > 1 { "; corrected " @if line.len() == 2 { "once" } @else { (line.len() - 1) " times" } }
                                        "; " (when(app, entry.when())) ", " (entry.by.name)
                                    }
                                }
                                span.row {
                                    a.btn href={ (link::colour(car.id, "pour")) "?recipe=" (entry.seq) } { "Pour" }
                                    a.btn href={ (link::colour(car.id, "cards")) "?recipe=" (entry.seq) } { "Cards" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn form(
    car: &Car,
    shelved: &Shelved,
    file: &ShelfFile,
    (targets, briefs): (&[Told<'_, Measured>], &[Told<'_, Briefed>]),
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let size = if typed.get("size").is_empty() { "6" } else { typed.get("size") };
    let last = targets.last().map(|(entry, _)| entry.seq.to_string()).unwrap_or_default();
    let picked = if typed.get("target").is_empty() { last.as_str() } else { typed.get("target") };
    let edited = EDITS.iter().any(|(_, names)| names.iter().any(|name| !typed.get(name).is_empty()));
    html! {
        section.no-print {
            h2 { "Look for recipes" }
            form #search.stack-l method="post" action=(link::colour(car.id, "recipes")) enctype="multipart/form-data" {
                fieldset.err[field::is_wrong("target", errors)] {
                    legend { "Which paint, or which brief?" }
                    (field::complaint("target", errors))
                    div.picks.targets {
                        @for (entry, briefed) in briefs.iter().rev().take(OFFERED) {
                            label.pick {
                                input type="radio" name="target" value=(entry.seq) required checked[picked == entry.seq.to_string()];
                                span { (briefed.name) small { "brief" } @if let Ok(wish) = briefs::wish(car, briefed) { (strip(&wish.wish.target, &briefed.name)) } }
                            }
                        }
                        @for (entry, measured) in targets.iter().rev().take(OFFERED) {
                            label.pick {
                                input type="radio" name="target" value=(entry.seq) required checked[picked == entry.seq.to_string()];
                                span { (measured.name) @if measured.is_picture() { small { "from a picture: not a measurement" } } (small_strip(measured)) }
                            }
                        }
                    }
                    @if targets.len() > OFFERED { p.hint { "The latest " (OFFERED) " are offered; open an earlier one on the Target page." } }
                }
                fieldset.err[field::is_wrong("size", errors)] {
                    legend { "How many toners at most?" }
                    (field::complaint("size", errors))
                    div.views.sizes { @for n in SIZES { label { input type="radio" name="size" value=(n) checked[size == n]; (n) } } }
                    p.hint { "Fewer are quicker to weigh; more come nearer." }
                }
                div.field.err[field::is_wrong("primer", errors)] {
                    label for="primer" { "Primer" }
                    (field::complaint("primer", errors))
                    select #primer name="primer" {
                        option value="" { "whichever serves best" }
                        @for primer in file.shelf.substrates() { option value=(primer.name) selected[typed.get("primer") == primer.name] { (primer.name) } }
                    }
                }
                details open[typed.all("out").next().is_some() || field::is_wrong("out", errors)] {
                    summary { "Toners out of stock" }
                    (field::complaint("out", errors))
                    div.picks.side {
                        @for toner in file.shelf.toners() {
                            label.pick { input type="checkbox" name="out" value=(toner.name) checked[typed.is("out", &toner.name)]; span { (toner.name) small { (toner.kind.word()) } } }
                        }
                    }
                }
                (only_then(car, typed))
                details open[edited || field::is_wrong("edits", errors)] {
                    summary { "Wanted other than measured" }
                    p { "By angle, left empty where the paint is to stay; a brief says it itself. Lighter and stronger in L* and C*, less with a minus; hue in degrees, a plus from red towards yellow, from blue towards violet." }
                    (field::complaint("edits", errors))
                    @for (geometry, [dl, dc, dh]) in EDITS {
                        fieldset {
                            legend { (degrees(geometry)) " " (geometry.word()) }
                            div.three {
                                (figure(dl, "Lighter by", "L*", typed, errors))
                                (figure(dc, "Stronger by", "C*", typed, errors))
                                (figure(dh, "Hue turned by", "\u{b0}", typed, errors))
                            }
                        }
                    }
                }
                p.small { "On the shelf \"" (shelved.name) "\", " (shelved.toners) " toners. It takes a few seconds; nothing is kept until you say so." }
                button.main { "Look for recipes" }
            }
        }
    }
}

fn figure(name: &str, label: &str, unit: &str, typed: &Typed, errors: &[FieldError]) -> Markup {
    field::Text { id: name, name, label, hint: "", value: typed.get(name), unit, errors }.draw()
}

/// A paint from face to flop as one small strip, overcast day.
pub(crate) fn small_strip(measured: &Measured) -> Markup {
    let paint = paint::measurement(measured).ok();
    html! { @if let Some(paint) = paint { (strip(&paint, &measured.name)) } }
}

fn strip(paint: &Measurement, name: &str) -> Markup {
    let angles = paint.by_angle();
    html! {
        svg.swatch viewBox={ "0 0 " (angles.len() * 40) " 32" } shape-rendering="crispEdges" role="img" aria-label={ (name) ", from face to flop" } {
            @for (n, (_, spectrum)) in angles.iter().enumerate() {
                rect x=(n * 40) width="40" height="32" fill=(shown(spectrum, Illuminant::D65).0) {}
            }
        }
    }
}

/// How near a recipe comes, in words and figures: the mean, then the worst angle.
pub(crate) fn nearness(mean: f64, by_angle: impl Iterator<Item = (Geometry, f64)>) -> String {
    let worst = by_angle.max_by(|a, b| a.1.total_cmp(&b.1));
    let at = |(geometry, de00): (Geometry, f64)| format!("; worst at {}, {}", degrees(geometry), one_place(de00));
    format!("{} on average, {}{}.", one_place(mean), near(mean), worst.map(at).unwrap_or_default())
}

/// Begins a search.
pub(crate) async fn search(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    match begin(&app, &car, &typed).await? {
        Ok(to) => Ok(Redirect::to(&to).into_response()),
        Err(errors) => {
            let page = draw(&app, &access, &car, &typed, &errors).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

async fn begin(app: &App, car: &Car, typed: &Typed) -> Result<Result<String, Vec<FieldError>>, Fault> {
    let (shelf, file) = match toners_in_use(app, car).await? {
        Ok(found) => found,
        Err(error) => return Ok(Err(vec![error])),
    };
    let mut errors = Vec::new();
    let edits = edits(typed, &mut errors);
    let mut limits = limits(typed, &file, &mut errors);
    let wanted = match wanted(car, typed, edits) {
        Ok(wanted) => Some(wanted),
        Err(error) => {
            errors.push(error);
            None
        }
    };
    let Some(wanted) = wanted.filter(|_| errors.is_empty()) else { return Ok(Err(errors)) };
    let mut doubts: Vec<String> = wanted.wish.warnings.iter().map(|doubt| sentence(&doubt.what)).collect();
    if typed.is("only_then", "1") {
        let (places, words) = era::left_out(app.shop.catalogue(), &file, car.details.year);
        limits.out_of_stock.extend(places);
        doubts.push(sentence(&words));
    }
    let asked = Asked {
        target: wanted.target,
        again: format!("{}?target={}", link::colour(car.id, "recipes"), wanted.picked),
        target_name: wanted.name,
        briefed: wanted.briefed,
        shelf,
        file,
        brief: wanted.brief,
        wish: wanted.wish.wish,
        doubts,
    };
    let name = format!("for {}", asked.target_name);
    Ok(match app.works.start(car.id, Task::Recipes, name, move |watch| found::search(asked, &limits, watch)) {
        Ok(work) => Ok(link::work(car.id, work)),
        Err(busy) => Err(vec![busy.error()]),
    })
}

/// The toners of the car's shelf, with the entry that keeps them.
pub(crate) async fn toners_in_use(
    app: &App,
    car: &Car,
) -> Result<Result<(EntryId, Arc<ShelfFile>), FieldError>, Fault> {
    let Some((shelf, shelved)) = paintwork::shelf_in_use(car) else {
        return Ok(Err(FieldError::new("", "no toners are known for this car yet", "Learn them first.")));
    };
    match app.shop.shelf(shelved).await {
        Ok(file) => Ok(Ok((shelf.id, file))),
        Err(ShopError::Shelf(e)) => Ok(Err(FieldError::new("", e.to_string(), "Learn the toners again."))),
        Err(e) => Err(e.into()),
    }
}

/// What a recipe is searched for.
struct Wanted {
    target: EntryId,
    /// The paint or brief that was picked, by its place in the record.
    picked: u64,
    name: String,
    briefed: Option<EntryId>,
    brief: Brief,
    wish: job::colour::brief::Brief,
}

fn wanted(car: &Car, typed: &Typed, edits: Vec<BriefEdit>) -> Result<Wanted, FieldError> {
    let seq: Option<u64> = typed.get("target").parse().ok();
    if let Some((entry, briefed)) = paintwork::briefs(car).into_iter().find(|(entry, _)| Some(entry.seq) == seq) {
        if !edits.is_empty() {
            let say = "a brief was picked, and changes were typed beside it";
            return Err(FieldError::new("edits", say, "Leave these empty, or change the brief and keep it."));
        }
        return Ok(Wanted {
            target: briefed.donor,
            picked: entry.seq,
            name: briefed.name.clone(),
            briefed: Some(entry.id),
            brief: briefed.brief.clone(),
            wish: briefs::wish(car, briefed)
                .map_err(|e| FieldError::new("target", e.to_string(), "Choose another."))?,
        });
    }
    let Some((target, measured)) = paintwork::targets(car).into_iter().find(|(entry, _)| Some(entry.seq) == seq) else {
        return Err(FieldError::new("target", "no measured paint was chosen", "Choose one from the list."));
    };
    let paint =
        paint::measurement(measured).map_err(|e| FieldError::new("target", e.to_string(), "Choose another."))?;
    let brief = Brief { edits, weights: Vec::new() };
    let mut wish = engine::wish(&paint, &brief).map_err(|e| FieldError::new("edits", e.to_string(), ""))?;
    if measured.is_picture() {
        // The spectra of a picture are made up: its colours alone can be asked for.
        wish.wish.spectral.clear();
    }
    Ok(Wanted { target: target.id, picked: target.seq, name: measured.name.clone(), briefed: None, brief, wish })
}

fn limits(typed: &Typed, file: &Arc<ShelfFile>, errors: &mut Vec<FieldError>) -> Limits {
    let shelf = &file.shelf;
    let mut limits = Limits::usual(shelf);
    match typed.get("size") {
        "" => {}
        size if SIZES.contains(&size) => limits.max_toners = size.parse().unwrap_or(limits.max_toners),
        size => errors.push(FieldError::new("size", format!("\"{size}\" toners were asked for"), "Choose 1 to 6.")),
    }
    match typed.get("primer") {
        "" => {}
        name => match shelf.substrate(name) {
            Some(place) => limits.substrates = vec![place],
            None => errors.push(FieldError::new(
                "primer",
                format!("the primer \"{name}\" is not on the shelf"),
                "Choose one from the list.",
            )),
        },
    }
    for name in typed.all("out").filter(|name| !name.is_empty()) {
        match shelf.toner(name) {
            Some(place) => limits.out_of_stock.push(place),
            None => errors.push(FieldError::new(
                "out",
                format!("the toner \"{name}\" is not on the shelf"),
                "Choose from the list.",
            )),
        }
    }
    limits
}
