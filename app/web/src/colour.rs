//! The Colour sheet: a paint by angle, and two paints as split swatches. Neutral grey, nothing else coloured.

pub(crate) mod ask;
pub(crate) mod batches;
pub(crate) mod brief;
pub(crate) mod cards;
mod curve;
pub(crate) mod decided;
mod era;
mod formula;
mod found;
pub(crate) mod keeping;
mod learned;
pub(crate) mod panel;
pub(crate) mod picture;
pub(crate) mod pour;
pub(crate) mod recipe_page;
pub(crate) mod recipes;
pub(crate) mod swatches;
pub(crate) mod toners;
pub(crate) mod work;

use axum::extract::{Multipart, Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::{Car, Entry};
use job::colour::{Geometry, Illuminant, Lab, Measurement, travel};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::shop::{Draft, ShopError};
use job::validate::FieldError;
use job::what::{Measured, What};
use job::{paint, sheets};
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};
use swatches::{CAUTION, OBSERVER, degrees, light_words};

/// The parts of the sheet, each a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    /// Paints that were measured.
    Target,
    /// What is wanted of a paint, and what not.
    Brief,
    /// Paints on a curved panel.
    Panel,
    /// The toner shelf.
    Toners,
    /// Recipes found and kept.
    Recipes,
    /// Weighing out.
    Pour,
    /// Cards sprayed and measured.
    Cards,
    /// What was mixed, by part of the car.
    Batches,
}

/// The row that leads from one part of the sheet to the others.
pub(crate) fn parts(car: CarId, here: Part) -> Markup {
    const ALL: [(Part, &str, &str); 8] = [
        (Part::Target, "Target", ""),
        (Part::Brief, "Brief", "/brief"),
        (Part::Panel, "Panel", "/panel"),
        (Part::Toners, "Toners", "/toners"),
        (Part::Recipes, "Recipes", "/recipes"),
        (Part::Pour, "Pour", "/pour"),
        (Part::Cards, "Cards", "/cards"),
        (Part::Batches, "Batches", "/batches"),
    ];
    html! {
        nav.views.no-print aria-label="Parts of this sheet" {
            @for (part, words, address) in ALL {
                a href={ (link::shell(car)) "/colour" (address) } aria-current=[(part == here).then_some("page")] { (words) }
            }
        }
    }
}

#[derive(Deserialize, Default)]
pub(crate) struct Ask {
    m: Option<u64>,
    /// Empty when "nothing" was chosen.
    #[serde(default)]
    with: String,
    kept: Option<u64>,
}

struct Shown<'a> {
    entry: &'a Entry,
    measured: &'a Measured,
    paint: Measurement,
}

fn find(car: &Car, seq: u64) -> Option<Shown<'_>> {
    let entry = car.entry(seq)?;
    let What::Measured(measured) = &entry.what else { return None };
    Some(Shown { entry, measured, paint: paint::measurement(measured).ok()? })
}

/// The sheet.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let missing = || Fault::NotFound("measurement");
    let with = (!ask.with.is_empty()).then(|| ask.with.parse().map_err(|_| missing())).transpose()?;
    for seq in ask.m.into_iter().chain(with) {
        find(&car, seq).ok_or_else(missing)?;
    }
    Ok(draw(&app, &access, &car, &ask, &Typed::default(), &[]))
}

fn draw(app: &App, access: &Access, car: &Car, ask: &Ask, typed: &Typed, errors: &[FieldError]) -> Markup {
    let all: Vec<(&Entry, &Measured)> = car.measurements().collect();
    let first = ask.m.or_else(|| all.first().map(|(e, _)| e.seq)).and_then(|seq| find(car, seq));
    let second = ask
        .with
        .parse()
        .ok()
        .filter(|with| Some(*with) != first.as_ref().map(|f| f.entry.seq))
        .and_then(|seq| find(car, seq));
    let says = match (&first, &second) {
        (None, _) => "No paint has been measured for this car.".to_string(),
        (Some(one), None) => match travel(&one.paint, Illuminant::D65, OBSERVER) {
            Ok(travel) => sentence(&format!("{} {}", one.measured.name, travel.words())),
            Err(_) => format!("{}, at {} angles.", one.measured.name, one.paint.by_angle().len()),
        },
        (Some(one), Some(two)) => format!("{} left, {} right.", one.measured.name, two.measured.name),
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Colour",
        says: &says,
        legend: false,
        deed: Bar::Go(format!("{}/colour#import", link::shell(car.id)), "Import"),
    };
    page.draw(html! {
        (parts(car.id, Part::Target))
        (entries::flash(app, car, ask.kept))
        (field::problems(errors))
        (decided::block(app, access, car))
        @if all.len() > 1 { (chooser(app, car, &all, first.as_ref(), second.as_ref())) }
        @match (&first, &second) {
            (Some(one), Some(two)) => (pairs(one, two)),
            (Some(one), None) => (single(one)),
            _ => div.wait { p { "A paint is measured at several angles, and imported here as a CSV file." } },
        }
        @if let Some(one) = &first {
            p.row.no-print {
                a.btn.main href={ (link::colour(car.id, "brief")) "?donor=" (one.entry.seq) } { "This, but without that" }
                a.btn href={ (link::colour(car.id, "recipes")) "?target=" (one.entry.seq) } { "Look for a recipe" }
                a.btn href={ (link::colour(car.id, "panel")) "?what=m" (one.entry.seq) @if let Some(two) = &second { "&what=m" (two.entry.seq) } } { "On the panel" }
            }
            p.small.no-print {
                "Measured " (when(app, one.entry.when())) ", " (one.entry.by.name) ". "
                a.touch href=(link::entry(car.id, one.entry.seq)) { "Entry " (one.entry.seq) } ", "
                a.touch href={ (link::shell(car.id)) "/colour/" (one.entry.seq) ".csv" } download { "its spectra as CSV" }
            }
        }
        @if access.role.may(Deed::Write) { (import_form(car, access, typed, errors)) (picture::form(car, errors)) }
        (check_screen())
    })
}

fn chooser(
    app: &App,
    car: &Car,
    all: &[(&Entry, &Measured)],
    first: Option<&Shown<'_>>,
    second: Option<&Shown<'_>>,
) -> Markup {
    let select = |name: &str, label: &str, picked: Option<u64>, none: bool| {
        html! {
            div.field {
                label for=(name) { (label) }
                select id=(name) name=(name) {
                    @if none { option value="" { "nothing" } }
                    @for (entry, measured) in all {
                        option value=(entry.seq) selected[picked == Some(entry.seq)] { (measured.name) ", " (when(app, entry.when())) }
                    }
                }
            }
        }
    };
    html! {
        form.row.filters.tray.no-print action={ (link::shell(car.id)) "/colour" } {
            (select("m", "Paint", first.map(|f| f.entry.seq), false))
            (select("with", "beside", second.map(|s| s.entry.seq), true))
            button.main { "Show" }
        }
    }
}

/// The page again, with what is wrong in a form on it.
fn refused(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Response {
    let page = draw(app, access, car, &Ask::default(), typed, errors);
    (axum::http::StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

fn single(one: &Shown<'_>) -> Markup {
    let warnings = one.paint.warnings();
    html! {
        @if one.measured.is_picture() { p.note.stop { b { "A picture is not a measurement: " } "these are areas of a picture, and their spectra are made up." } }
        (swatches::single(&one.paint))
        p.small { (CAUTION) }
        section {
            h2 { "From face to flop" }
            (travel_chart(&one.paint))
            @match travel(&one.paint, Illuminant::D65, OBSERVER) {
                Ok(t) => {
                    dl.facts {
                        div { dt { "Lightness, face to flop" } dd { (signed(t.lightness, 1)) } }
                        div { dt { "Hue, face to flop" } dd { @match t.hue_deg { Some(h) => { (signed(h, 0)) "\u{b0}" } None => "no hue to speak of" } } }
                        div { dt { "Flop index" } dd { @match t.flop_index { Some(f) => (format!("{f:.1}")), None => "not known" } } }
                    }
                    p.small { "Flop index about 0 is a solid, 5 to 8 a soft flake, 12 to 18 a bright one (common practice, no source; formula of Alman 1987, from memory)." }
                    @for warning in &t.warnings { p.note { b { "Doubtful: " } (warning.what) } }
                }
                Err(e) => p.note { (sentence(&e.to_string())) },
            }
            @for warning in &warnings { p.note { b { "Doubtful: " } (warning.what) } }
            @for doubt in &one.measured.doubts { p.note { b { "When it was read: " } (doubt) } }
        }
        section {
            h2 { "L*a*b* by angle" }
            (lab_table(&one.paint, Illuminant::D65))
            @for light in [Illuminant::A, Illuminant::Fl11] {
                details { summary { "The same under: " (light_words(light).0.to_lowercase()) } (lab_table(&one.paint, light)) }
            }
            p.small { "10 degree observer, ASTM E308 weights at 10 nm. " (one.measured.instrument) @if !one.measured.note.is_empty() { " " (one.measured.note) } }
        }
    }
}

fn lab_table(paint: &Measurement, light: Illuminant) -> Markup {
    let (words, name) = light_words(light);
    html! {
        div.scroll tabindex="0" role="group" aria-label={ "L*a*b*, " (words) } {
            table {
                caption { (words) " " (name) }
                thead { tr { th scope="col" { "Angle" } @for head in ["L*", "a*", "b*", "C*", "h"] { th.r scope="col" { (head) } } } }
                tbody {
                    @for (geometry, lab) in paint.labs(light, OBSERVER) {
                        tr {
                            th scope="row" { (degrees(geometry)) " " (geometry.word()) }
                            td.r { (format!("{:.1}", lab.l)) } td.r { (signed(lab.a, 1)) } td.r { (signed(lab.b, 1)) }
                            td.r { (format!("{:.1}", lab.chroma())) } td.r { (hue(lab)) }
                        }
                    }
                }
            }
        }
    }
}

/// A hue angle in whole degrees, 0 to 359.
fn hue(lab: Lab) -> String {
    format!("{:.0}\u{b0}", lab.hue_deg().round() % 360.0)
}

/// A difference with its sign; a true minus, so that figures keep their width.
fn signed(value: f64, places: usize) -> String {
    let text = format!("{:.places$}", value.abs());
    if value < 0.0 && text.chars().any(|c| ('1'..='9').contains(&c)) { format!("\u{2212}{text}") } else { text }
}

/// Lightness and hue by angle, each a line of lozenges, in a box of 440.
fn travel_chart(paint: &Measurement) -> Markup {
    let labs = paint.labs(Illuminant::D65, OBSERVER);
    let x = |g: Geometry| 40.0 + (f64::from(g.aspecular_deg()) + 15.0) / 125.0 * 380.0;
    let top = labs.iter().map(|(_, l)| l.l).fold(100.0_f64, f64::max);
    let line = |y: &dyn Fn(Lab) -> f64| {
        labs.iter()
            .enumerate()
            .map(|(i, (g, lab))| format!("{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, x(*g), y(*lab)))
            .collect::<String>()
    };
    let l_y = move |lab: Lab| 150.0 - lab.l / top * 130.0;
    html! {
        svg.plot.chart viewBox="0 0 440 200" role="img" aria-label="Lightness by angle; the figures are in the tables below" {
            path.d.hair d="M40 20V150H425" {}
            text.t.end x="34" y="25" { (format!("{top:.0}")) } text.t.end x="34" y="154" { "0" }
            text.t x="46" y="16" { "L* by angle, overcast day" }
            path.d d=(line(&l_y)) {}
            @for (geometry, lab) in &labs {
                @let (cx, cy) = (x(*geometry), l_y(*lab));
                path.solid d={ "M" (format!("{cx:.1} {:.1}", cy - 7.0)) "l7 7-7 7-7-7Z" } {}
                text.t.mid x=(format!("{cx:.1}")) y="170" { (geometry.aspecular_deg()) "\u{b0}" }
                @if lab.chroma() >= 5.0 { text.t.mid x=(format!("{cx:.1}")) y="190" { "h " (hue(*lab)) } }
            }
        }
    }
}

fn pairs(one: &Shown<'_>, two: &Shown<'_>) -> Markup {
    html! {
        (swatches::pairs(&one.paint, &two.paint, [&one.measured.name, &two.measured.name]))
        (swatches::reading())
        section {
            h2 { "Which way it differs, overcast day" }
            div.scroll tabindex="0" role="group" aria-label="Differences" {
                table {
                    caption { (two.measured.name) " against " (one.measured.name) }
                    thead { tr { th scope="col" { "Angle" } @for head in ["lighter", "stronger", "turned in hue", "CIEDE2000"] { th.r scope="col" { (head) } } } }
                    tbody {
                        @for (geometry, d) in one.paint.differences(&two.paint, Illuminant::D65, OBSERVER) {
                            tr {
                                th scope="row" { (degrees(geometry)) " " (geometry.word()) }
                                td.r { (signed(d.dl, 1)) } td.r { (signed(d.dc, 1)) } td.r { (signed(d.dh, 1)) } td.r { (format!("{:.1}", d.de00)) }
                            }
                        }
                    }
                }
            }
            p.small { "Lighter: L* more. Stronger: C* more. Turned in hue: H* difference, towards yellow for a red, towards green for a yellow." }
        }
    }
}

fn import_form(car: &Car, access: &Access, typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        section #import.no-print {
            h2 { "Import a measurement" }
            form.stack-l method="post" action={ (link::shell(car.id)) "/colour" } enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                div.field.err[field::is_wrong("file", errors)] #f-file {
                    label for="file" { "CSV file" }
                    p.hint { "Columns geometry, 400, 410 to 700; one row an angle (45as-15, 45as15, 45as25, 45as45, 45as75, 45as110). Radiance factors: a perfect diffuser is 1. With a column name, one file may hold several." }
                    (field::complaint("file", errors))
                    input #file type="file" name="file" accept=".csv,text/csv,text/plain" required;
                }
                (field::Text { id: "name", name: "name", label: "What was measured", hint: "Left empty, the name in the file is taken.", value: typed.get("name"), unit: "", errors }.draw())
                (field::Text { id: "only", name: "only", label: "Only this one of the file", hint: "When the file holds several: its name there. Left empty, all are taken, at most 20.", value: typed.get("only"), unit: "", errors }.draw())
                (field::Text { id: "instrument", name: "instrument", label: "Instrument", hint: "", value: typed.get("instrument"), unit: "", errors }.draw())
                (field::note("note", "Note", "Where on the car, cleaned with what, sun or shade side.", typed.get("note"), errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                button.main { "Import" }
            }
        }
    }
}

/// Eight greys: a screen that cannot show them apart cannot show a difference between paints.
pub(crate) fn check_screen() -> Markup {
    let greys = ["#141414", "#303030", "#4d4d4d", "#6b6b6b", "#868686", "#a2a2a2", "#c4c4c4", "#efefef"];
    html! {
        section {
            h2 { "Check this screen first" }
            svg.plot viewBox="0 0 640 64" shape-rendering="crispEdges" role="img" aria-label="Eight steps of grey" {
                @for (i, grey) in greys.iter().enumerate() { rect x=(i * 80) width="80" height="64" fill=(grey) {} }
            }
            p.small { "You should see eight steps and no tint. If two run together, or a step looks pink or green, this screen cannot show the difference." }
        }
    }
}

/// The most measurements taken from one file on this page.
const MOST: usize = 20;

/// Takes measurements in from a CSV file.
pub(crate) async fn import(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let refuse = |error: FieldError| {
        let page = draw(&app, &access, &car, &Ask::default(), &typed, &[error]);
        Ok((axum::http::StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    let Some((file, bytes)) = &typed.file else {
        return refuse(FieldError::new("file", "no file came with it", "Choose the CSV file."));
    };
    let (Ok(by), Ok(entry)) = (typed.get("who").parse(), typed.get("entry").parse::<EntryId>()) else {
        return refuse(FieldError::new("who", "nobody was picked", "Pick who is writing."));
    };
    let (found, doubts) = match paint::read(file, bytes) {
        Ok(read) => read,
        Err(e) => return refuse(FieldError::new("file", e.to_string(), "Nothing was kept.")),
    };
    let only = typed.get("only");
    let wanted: Vec<_> = found.iter().filter(|f| only.is_empty() || f.name == only).collect();
    if wanted.is_empty() || wanted.len() > MOST {
        let names: Vec<&str> = found.iter().map(|f| f.name.as_str()).take(8).collect();
        let say = format!(
            "the file holds {} measurements ({} ...), and {} of them were asked for",
            found.len(),
            names.join(", "),
            wanted.len()
        );
        return refuse(FieldError::new("only", say, format!("Name one, or send at most {MOST}.")));
    }
    let source = app.shop.keep_file(bytes).await?;
    let mut last = 0;
    for (n, one) in wanted.iter().enumerate() {
        let name = match (typed.get("name"), one.name.as_str(), wanted.len()) {
            ("", "", _) => file.clone(),
            ("", name, _) => name.to_string(),
            (name, _, 1) => name.to_string(),
            (name, own, _) => format!("{name}, {own}"),
        };
        let what = What::Measured(Measured {
            name,
            instrument: typed.get("instrument").into(),
            file: file.clone(),
            source,
            spectra: one.spectra.clone(),
            doubts: doubts.iter().map(|d| d.what.clone()).take(20).collect(),
            areas: Vec::new(),
            note: typed.get("note").into(),
        });
        // Each of several gets a name of its own that a second sending makes again.
        let own =
            if n == 0 { entry } else { EntryId(uuid::Uuid::from_u128(entry.0.as_u128().wrapping_add(n as u128))) };
        let draft = Draft { entry: own, base: None, by, noted: None, corrects: None, keep_both: false, what };
        match app.shop.keep(id, &draft, Timestamp::now()).await {
            Ok(kept) => last = kept.seq,
            Err(ShopError::Invalid(errors)) => match errors.into_iter().next() {
                Some(error) => return refuse(error),
                None => return Err(Fault::Internal("a refusal without a reason".into())),
            },
            Err(e) => return Err(e.into()),
        }
    }
    Ok(Redirect::to(&format!("{}/colour?m={last}&kept={last}", link::shell(id))).into_response())
}

/// A measurement as CSV.
pub(crate) async fn csv(
    State(app): State<App>,
    _access: Access,
    Path((id, file)): Path<(CarId, String)>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let seq = file.strip_suffix(".csv").and_then(|s| s.parse().ok());
    let text = seq.and_then(|seq| sheets::spectra_csv(&car, seq)).ok_or(Fault::NotFound("measurement"))?;
    let name = format!("attachment; filename=\"measurement-{}.csv\"", seq.unwrap_or_default());
    Ok(([(header::CONTENT_TYPE, "text/csv; charset=utf-8".into()), (header::CONTENT_DISPOSITION, name)], text)
        .into_response())
}
