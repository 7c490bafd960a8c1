//! The toner shelf: each toner from face to flop, how well it is known, and how a shelf comes into the record.

mod again;
mod view;

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use job::car::Car;
use job::ids::{CarId, EntryId};
use job::mixing::{Shelved, kept_doubts};
use job::paintwork::{self, Told};
use job::panels::{self, Lab, LabFile, LabFiles, NAMES, PanelsError};
use job::person::Deed;
use job::shelf_file::ShelfFile;
use job::shop::ShopError;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};
use serde::Deserialize;

use super::swatches::one_place;
use super::work::Task;
use super::{Part, keeping, learned, parts};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};

pub(crate) use view::{fit_words, shelf_view};

/// The most bytes of panel files together: 2 000 panels of 80 toners at six angles need about 5 MB.
const MOST_BYTES: usize = 8 * 1024 * 1024;
/// What each of the files of panels holds, in the order of [`NAMES`].
const HOLDS: [(&str, &str); 4] = [
    (
        "Toners",
        "Columns toner, kind (solid, aluminium, pearl, flop adjuster), density_g_cm3, max_mass_fraction; solids_mass_fraction where a tin is not dry matter alone.",
    ),
    (
        "Panels",
        "Columns panel_id, one for each toner with its mass fraction of the dry film, binder, dft_um_gauge, substrate.",
    ),
    ("Measurements", "Columns panel_id, geometry, 400, 410 to 700: radiance factors, one row an angle."),
    ("Primers", "Columns substrate, 400, 410 to 700: what each primer sends back, seen from inside the film."),
];

#[derive(Deserialize, Default)]
pub(crate) struct Ask {
    /// A shelf other than the one in use, by its place in the record.
    shelf: Option<u64>,
    kept: Option<u64>,
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    draw(&app, &access, &car, &ask, &Typed::default(), &[]).await
}

fn find(car: &Car, seq: u64) -> Option<Told<'_, Shelved>> {
    let entry = car.entry(seq)?;
    match &entry.what {
        What::Shelved(shelved) => Some((entry, shelved)),
        _ => None,
    }
}

async fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    ask: &Ask,
    typed: &Typed,
    errors: &[FieldError],
) -> Result<Markup, Fault> {
    let in_use = paintwork::shelf_in_use(car);
    let shown = match ask.shelf {
        Some(seq) => Some(find(car, seq).ok_or(Fault::NotFound("toner shelf"))?),
        None => in_use,
    };
    let (file, unread) = match shown {
        Some((_, shelved)) => match app.shop.shelf(shelved).await {
            Ok(file) => (Some(file), None),
            // The forms stay: that is how another shelf comes in its place.
            Err(ShopError::Shelf(e)) => (None, Some(e.to_string())),
            Err(e) => return Err(e.into()),
        },
        None => (None, None),
    };
    let says = match (&file, &unread) {
        (Some(file), _) => fit_words(file),
        (None, Some(_)) => "This shelf cannot be read by this version of the program.".into(),
        (None, None) => "No toners are known for this car yet.".into(),
    };
    let others = others(app, car).await?;
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Toners",
        says: &says,
        legend: false,
        deed: match (in_use, access.role.may(Deed::Write)) {
            (None, true) => Bar::Send("learn", "Learn"),
            _ => Bar::Go(link::colour(car.id, "recipes"), "Recipes"),
        },
    };
    Ok(page.draw(html! {
        (parts(car.id, Part::Toners))
        (entries::flash(app, car, ask.kept))
        (field::problems(errors))
        @if let Some(work) = app.works.under_way(car.id) {
            p.note { "Work on this car's colour is under way: " a.touch href=(link::work(car.id, work)) { "see how far it is" } "." }
        }
        @match (&shown, &file) {
            (Some(told), Some(file)) => (one(app, car, *told, file, in_use)),
            _ if unread.is_some() => div.note.stop.stack {
                @if let Some(why) = &unread { p { (sentence(why)) } }
                p { "What is in the record is as it was. Learn the toners again from their panels, or take a toner file that can be read." }
            },
            _ => div.wait.stack {
                p { "A recipe is made of the shop's own toners. They are learned from panels sprayed with them: each toner by itself and let down with white, black and aluminium, over black and over white, film read with a gauge, measured at six angles." }
                p { "Learn them here, take a toner file, or take the shelf of another car." }
            },
        }
        (older(app, car, shown))
        @if access.role.may(Deed::Write) {
            @if let (Some(told), Some(file)) = (shown, &file) { (again::form(app, car, told, file)) }
            (learn_form(car, errors))
            (file_form(car, errors))
            @if !others.is_empty() { (copy_form(access, car, &others, typed, errors)) }
        }
    }))
}

fn one(
    app: &App,
    car: &Car,
    (entry, shelved): Told<'_, Shelved>,
    file: &ShelfFile,
    in_use: Option<Told<'_, Shelved>>,
) -> Markup {
    let used = in_use.is_some_and(|(current, _)| current.seq == entry.seq);
    html! {
        @if !used { p.note { "This is not the shelf in use. " a.touch href=(link::colour(car.id, "toners")) { "To the one in use" } } }
        dl.facts {
            div { dt { "Shelf" } dd { (shelved.name) } }
            div { dt { "Kept" } dd { (when(app, entry.when())) ", " (entry.by.name) } }
            div { dt { "From its panels, mean" } dd { (one_place(shelved.mean_de00)) } }
            div { dt { "Nine in ten under" } dd { (one_place(shelved.p90_de00)) } }
        }
        @if !shelved.note.is_empty() { p { (shelved.note) } }
        p.small.no-print {
            a.touch href=(link::entry(car.id, entry.seq)) { "Entry " (entry.seq) } ", "
            a.touch href={ (link::colour(car.id, "toners")) "/" (entry.seq) "/toners.json" } download { "its toner file" }
        }
        (shelf_view(file, &shelved.doubts))
    }
}

fn older(app: &App, car: &Car, shown: Option<Told<'_, Shelved>>) -> Markup {
    let all = paintwork::shelves(car);
    let shown = shown.map(|(entry, _)| entry.seq);
    let rest: Vec<_> = all.into_iter().filter(|(entry, _)| Some(entry.seq) != shown).collect();
    html! {
        @if !rest.is_empty() {
            section {
                h2 { "Other shelves of this car" }
                ul.rows {
                    @for (entry, shelved) in rest {
                        li {
                            a.touch href={ (link::colour(car.id, "toners")) "?shelf=" (entry.seq) } { (shelved.name) }
                            span.small { (when(app, entry.when())) ", " (shelved.toners) " toners, mean " (one_place(shelved.mean_de00)) }
                        }
                    }
                }
            }
        }
    }
}

fn learn_form(car: &Car, errors: &[FieldError]) -> Markup {
    html! {
        section.no-print {
            h2 { "Learn from panels" }
            p { "Four CSV files. It takes from seconds to a minute; the result is shown before anything is kept." }
            form #learn.stack-l method="post" action=(link::colour(car.id, "toners")) enctype="multipart/form-data" {
                input type="hidden" name="do" value="learn";
                div.two {
                    @for (name, (label, holds)) in NAMES.iter().zip(HOLDS) {
                        (file_field(field_of(name), label, &format!("{name}. {holds}"), ".csv,text/csv,text/plain", errors))
                    }
                }
                button.main { "Learn the toners" }
            }
        }
    }
}

fn file_form(car: &Car, errors: &[FieldError]) -> Markup {
    html! {
        section.no-print {
            h2 { "Take a toner file" }
            form.stack-l method="post" action=(link::colour(car.id, "toners")) enctype="multipart/form-data" {
                input type="hidden" name="do" value="file";
                (file_field("toner_file", "Toner file", "TONERS.json as this program writes it, here or at the command line.", ".json,application/json", errors))
                button { "Read it" }
            }
        }
    }
}

fn file_field(name: &str, label: &str, hint: &str, accept: &str, errors: &[FieldError]) -> Markup {
    html! {
        div.field.err[field::is_wrong(name, errors)] {
            label for=(name) { (label) }
            p.hint id={ (name) "-h" } { (hint) }
            (field::complaint(name, errors))
            input id=(name) type="file" name=(name) accept=(accept) required aria-describedby={ (name) "-h" };
        }
    }
}

/// The field of a file of panels: its name without what follows the dot.
fn field_of(name: &'static str) -> &'static str {
    name.split('.').next().unwrap_or(name)
}

/// Other cars that have a shelf, and that shelf.
async fn others(app: &App, car: &Car) -> Result<Vec<(Arc<Car>, u64)>, Fault> {
    let all = app.shop.cars().await?;
    let with_shelf = |(id, other): (CarId, Result<Arc<Car>, _>)| {
        let other = other.ok().filter(|_| id != car.id)?;
        let seq = paintwork::shelf_in_use(&other)?.0.seq;
        Some((other, seq))
    };
    Ok(all.into_iter().filter_map(with_shelf).collect())
}

fn copy_form(access: &Access, car: &Car, others: &[(Arc<Car>, u64)], typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        section.no-print {
            h2 { "Use the shelf of another car" }
            form.stack-l method="post" action=(link::colour(car.id, "toners")) enctype="multipart/form-data" {
                input type="hidden" name="do" value="copy";
                input type="hidden" name="entry" value=(EntryId::fresh());
                div.field.err[field::is_wrong("from", errors)] {
                    label for="from" { "Car" }
                    (field::complaint("from", errors))
                    select #from name="from" {
                        @for (other, seq) in others {
                            option value=(other.id) selected[typed.get("from") == other.id.to_string()] {
                                (other.details.title) @if let Some((_, shelved)) = find(other, *seq) { ": " (shelved.name) ", " (shelved.toners) " toners" }
                            }
                        }
                    }
                }
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                button { "Use this shelf" }
            }
        }
    }
}

/// Begins to learn toners from panels, reads a toner file, or takes the shelf of another car.
pub(crate) async fn learn(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let begun = match typed.get("do") {
        "copy" => copy(&app, &car, &typed).await?,
        "file" => from_file(&app, id, &typed),
        "again" => again::begin(&app, &car, &typed).await?,
        _ => from_panels(&app, id, &typed).await?,
    };
    match begun {
        Ok(response) => Ok(response),
        Err(errors) => {
            let page = draw(&app, &access, &car, &Ask::default(), &typed, &errors).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

async fn from_panels(app: &App, id: CarId, typed: &Typed) -> Result<Result<Response, Vec<FieldError>>, Fault> {
    let mut sent: Vec<(String, Bytes)> = Vec::new();
    let mut errors = Vec::new();
    for (name, (label, _)) in NAMES.into_iter().zip(HOLDS) {
        match typed.files.get(field_of(name)) {
            Some(file) => sent.push(file.clone()),
            None => {
                let say = format!("no file came for: {}", label.to_lowercase());
                errors.push(FieldError::new(field_of(name), say, format!("Choose {name}.")));
            }
        }
    }
    if sent.iter().map(|(_, bytes)| bytes.len()).sum::<usize>() > MOST_BYTES {
        let say = "the four files together have more than 8 MB";
        errors.push(FieldError::new("measurements", say, "Leave out panels that others stand for."));
    }
    if !errors.is_empty() {
        return Ok(Err(errors));
    }
    let files: Vec<(&'static str, Bytes)> =
        NAMES.into_iter().zip(&sent).map(|(name, (_, bytes))| (name, bytes.clone())).collect();
    let names: Vec<String> = sent.iter().map(|(name, _)| name.clone()).collect();
    let (lab, doubts) = match read(sent).await? {
        Ok(read) => read,
        Err(e) => {
            // The message begins with the file that is wrong.
            let say = e.to_string();
            let at = names.iter().position(|name| say.starts_with(name.as_str())).unwrap_or(1);
            let name = NAMES.get(at).map_or("panels", |name| field_of(name));
            return Ok(Err(vec![FieldError::new(name, say, "Put it right and send all four again.")]));
        }
    };
    let name = format!("{} panels of {} toners", lab.panels.panels().len(), lab.panels.toners().len());
    let work = move |watch: job::colour::Watch<'_>| learned::learn(&lab.panels, lab.pigments, files, 0, doubts, watch);
    Ok(match app.works.start(id, Task::Toners, name, work) {
        Ok(work) => Ok(Redirect::to(&link::work(id, work)).into_response()),
        Err(busy) => Err(vec![busy.error()]),
    })
}

/// Reads the four files of panels, in the order of [`NAMES`], each with the name that messages give; with what
/// is doubtful about them, as an entry keeps it.
async fn read(files: Vec<(String, Bytes)>) -> Result<Result<(Lab, Vec<String>), PanelsError>, Fault> {
    let read = tokio::task::spawn_blocking(move || {
        let [toners, panels, measurements, substrate] = files.as_slice() else { return None };
        Some(panels::read(&LabFiles {
            toners: LabFile { name: &toners.0, bytes: &toners.1 },
            panels: LabFile { name: &panels.0, bytes: &panels.1 },
            measurements: LabFile { name: &measurements.0, bytes: &measurements.1 },
            substrate: LabFile { name: &substrate.0, bytes: &substrate.1 },
        }))
    });
    let read = read.await.map_err(|e| Fault::Internal(e.to_string()))?;
    let read = read.ok_or_else(|| Fault::Internal("four files became fewer".into()))?;
    Ok(read.map(|(lab, doubts)| (lab, kept_doubts(&doubts))))
}

fn from_file(app: &App, id: CarId, typed: &Typed) -> Result<Response, Vec<FieldError>> {
    let wrong = |say: String, right: &str| vec![FieldError::new("toner_file", say, right)];
    let (name, bytes) = typed
        .files
        .get("toner_file")
        .ok_or_else(|| wrong("no file came with it".into(), "Choose the toner file."))?
        .clone();
    // Read before the work begins, so that what is wrong stands at the field; it takes milliseconds.
    let outcome = learned::read(&name, bytes).map_err(|say| wrong(say, "Nothing was kept."))?;
    match app.works.start(id, Task::Toners, name, move |_| Ok(outcome)) {
        Ok(work) => Ok(Redirect::to(&link::work(id, work)).into_response()),
        Err(busy) => Err(vec![busy.error()]),
    }
}

async fn copy(app: &App, car: &Car, typed: &Typed) -> Result<Result<Response, Vec<FieldError>>, Fault> {
    let wrong = || vec![FieldError::new("from", "no car with a shelf was chosen", "Choose one from the list.")];
    let Ok(from) = typed.get("from").parse::<CarId>() else { return Ok(Err(wrong())) };
    let Some((other, seq)) = others(app, car).await?.into_iter().find(|(other, _)| other.id == from) else {
        return Ok(Err(wrong()));
    };
    let Some((_, shelved)) = find(&other, seq) else { return Ok(Err(wrong())) };
    let mut shelved = shelved.clone();
    shelved.note = format!("Taken from the record of {}, entry {seq}.", other.details.title);
    let kept = keeping::keep(app, car.id, typed, What::Shelved(shelved)).await?;
    Ok(kept.map(|kept| kept.go(&format!("{}?kept={}", link::colour(car.id, "toners"), kept.seq))))
}

/// A toner file of the record.
pub(crate) async fn file(
    State(app): State<App>,
    _access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let (_, shelved) = find(&car, seq).ok_or(Fault::NotFound("toner shelf"))?;
    let bytes = app.shop.blob(shelved.file).await?.ok_or(Fault::NotFound("toner file"))?;
    let head = [
        (header::CONTENT_TYPE, "application/json"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"TONERS.json\""),
    ];
    Ok((head, bytes.to_vec()).into_response())
}
