//! The list of cars, and the form that opens one.

use std::collections::BTreeSet;
use std::io::Cursor;

use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::body::BodyStyle;
use job::car::{Car, ZoneState};
use job::details::{Aim, CarDetails, Climate, Fitted, History, Kept, Rates, USUAL_ASK_OVER_H};
use job::ids::CarId;
use job::person::Deed;
use job::shop::{Draft, ShopError};
use job::validate::{FieldError, body, instances};
use job::what::What;
use maud::{Markup, html};

use crate::access::Access;
use crate::drawing::{self, Drawn};
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, shop_page, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// Every car in the shop.
pub(crate) async fn list(State(app): State<App>, access: Access) -> Result<Markup, Fault> {
    let cars = app.shop.cars().await?;
    let says = match cars.len() {
        0 => "No car is in the shop yet.".to_string(),
        1 => "One shell in the shop.".to_string(),
        n => format!("{n} shells in the shop."),
    };
    Ok(shop_page(
        &access,
        "Cars",
        &says,
        html! {
            @if cars.is_empty() {
                div.wait.stack {
                    p { "A car begins with what is known before anybody looks: its body, year, climate and aim." }
                    @if access.writers.is_empty() {
                        p.row { a.btn.main href="/people" { "First enter the people" } }
                    } @else {
                        p.row { a.btn.main href="/cars/new" { "Open the first car" } }
                    }
                }
            } @else {
                ul.cars {
                    @for (id, car) in &cars {
                        li.opt {
                            @match car {
                                Ok(car) => (card(&app, car)),
                                Err(e) => {
                                    h2 { a href={ (link::shell(*id)) "/verify" } { "Car " (id) } }
                                    div.note.stop { p { (sentence(&e.to_string())) } }
                                }
                            }
                        }
                    }
                }
            }
            @if !cars.is_empty() { p.row.no-print { a.btn href="/learned" { "What this shop has found" } } }
            @if access.role.may(Deed::Manage) {
                section {
                    h2 { "Bring a car" }
                    p.row.no-print { a.btn.main href="/cars/new" { "Open a new car" } }
                    form.stack method="post" action="/cars/import" enctype="multipart/form-data" {
                        div.field {
                            label for="zip" { "Or take one in from another installation" }
                            p.hint { "The ZIP that \"export\" made, whole. Its record is checked before anything is taken." }
                            input #zip type="file" name="zip" accept=".zip,application/zip" required;
                        }
                        button { "Take it in" }
                    }
                }
            }
        },
    ))
}

fn card(app: &App, car: &Car) -> Markup {
    let all = instances(&car.details);
    let open = all.iter().filter(|i| car.state(&i.id) == ZoneState::NotLooked).count();
    let bad = all.iter().filter(|i| matches!(car.state(&i.id), ZoneState::Bad(_))).count();
    let last = car.entries().last();
    html! {
        h2 { a href=(link::shell(car.id)) { (car.details.title) } }
        @if let Some(view) = body(&car.details).and_then(|b| b.view("left")) {
            (drawing::plot(view, &Drawn { car, on: None, marks: &[], links: false }))
        }
        dl.facts {
            div { dt { "Year and aim" } dd { (car.details.year) ", " (car.details.aim.words()) } }
            div { dt { "Stage" } dd { (car.stage.words()) } }
            div { dt { "Not looked" } dd { (open) " of " (all.len()) " zones" } }
            div { dt { "Looked: bad" } dd { (bad) } }
            @if let Some(last) = last { div { dt { "Last entry" } dd { (when(app, last.at)) } } }
            @if car.details.invented { div { dt { "Invented" } dd { "this car exists nowhere" } } }
        }
    }
}

/// The form for a new car.
pub(crate) async fn new(access: Access) -> Result<Markup, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::from_pairs([
        ("body", BodyStyle::TwoDoorClosed.id().to_string()),
        ("climate", Climate::TemperateSalted.key().to_string()),
        ("kept", Kept::Unknown.key().to_string()),
        ("aim", Aim::FineDriver.key().to_string()),
    ]);
    Ok(new_page(&access, &typed, &[]))
}

fn new_page(access: &Access, typed: &Typed, errors: &[FieldError]) -> Markup {
    shop_page(
        access,
        "New car",
        "What is known before anybody looks.",
        html! {
            (field::problems(errors))
            form.stack-l method="post" action="/cars/new" enctype="multipart/form-data" {
                (details_fields(typed, errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                button.main.wide { "Open this car" }
            }
        },
    )
}

fn details_fields(typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        (field::Text { id: "title", name: "title", label: "What the shop calls it", hint: "Such as its colour and body: it stands on every sheet.", value: typed.get("title"), unit: "", errors }.draw())
        (field::complaint("body", errors))
        (field::radios("Body", "body", &BodyStyle::ALL, Some(typed.get("body")), |s| (s.id(), s.name())))
        (field::Text { id: "year", name: "year", label: "Year built", hint: "", value: typed.get("year"), unit: "year", errors }.draw())
        (field::complaint("climate", errors))
        (field::radios("Climate it lived in", "climate", Climate::ALL, Some(typed.get("climate")), |c| (c.key(), c.words())))
        (field::complaint("kept", errors))
        (field::radios("Where it was kept", "kept", Kept::ALL, Some(typed.get("kept")), |k| (k.key(), k.words())))
        fieldset {
            legend { "What is fitted" }
            div.picks.side {
                @for fitted in Fitted::ALL {
                    label.pick { input type="checkbox" name="fitted" value=(fitted.key()) checked[typed.is("fitted", fitted.key())]; span { (fitted.words()) } }
                }
            }
        }
        fieldset {
            legend { "What is known of its life" }
            div.picks.side {
                @for history in History::ALL {
                    label.pick { input type="checkbox" name="history" value=(history.key()) checked[typed.is("history", history.key())]; span { (history.words()) } }
                }
            }
        }
        (field::complaint("aim", errors))
        (field::radios("What the job is for", "aim", Aim::ALL, Some(typed.get("aim")), |a| (a.key(), a.words())))
        fieldset {
            legend { "Agreed with the owner" }
            div.two {
                (field::Text { id: "budget_h", name: "budget_h", label: "Hours of metal work in mind", hint: "", value: typed.get("budget_h"), unit: "h", errors }.draw())
                (field::Text { id: "ask_over_h", name: "ask_over_h", label: "Stop and ask over", hint: &format!("A single finding of more hours goes to the owner first. Left empty: {USUAL_ASK_OVER_H:.0} h, or 5 percent of the hours in mind if that is less."), value: typed.get("ask_over_h"), unit: "h", errors }.draw())
            }
        }
        fieldset {
            legend { "Hourly rates, only if money is to be shown" }
            p.hint { "Left empty, everything is counted in hours." }
            div.two {
                (field::Text { id: "currency", name: "currency", label: "Currency", hint: "", value: typed.get("currency"), unit: "", errors }.draw())
                (field::Text { id: "rate_bench", name: "rate_bench", label: "Bench", hint: "", value: typed.get("rate_bench"), unit: "an hour", errors }.draw())
                (field::Text { id: "rate_painter", name: "rate_painter", label: "Painter", hint: "", value: typed.get("rate_painter"), unit: "an hour", errors }.draw())
                (field::Text { id: "rate_materials", name: "rate_materials", label: "Materials", hint: "Sheet, wire, gas, filler and paint for each hour. Left empty, they are not counted.", value: typed.get("rate_materials"), unit: "an hour", errors }.draw())
            }
        }
        (field::note("note", "Anything else", "", typed.get("note"), errors))
    }
}

/// The details that a form holds, or everything that is wrong with it.
fn details(typed: &Typed, invented: bool) -> Result<CarDetails, Vec<FieldError>> {
    let mut errors = Vec::new();
    let year = typed.number("year", "year").and_then(|year| {
        if year.fract() == 0.0 && (0.0..=9999.0).contains(&year) {
            Ok(year as u16)
        } else {
            Err(FieldError::new(
                "year",
                format!("\"{}\" was typed for the year", typed.get("year")),
                "Four digits, such as 1968.",
            ))
        }
    });
    let rates = rates(typed);
    let budget_h = typed.number_if_any("budget_h", "hours in mind");
    let ask_over_h = typed.number_if_any("ask_over_h", "stop-and-ask limit");
    let picked = |name: &'static str, ok: bool, errors: &mut Vec<FieldError>| {
        if !ok {
            errors.push(FieldError::new(name, "nothing was chosen", "Choose one."));
        }
    };
    let (climate, kept, aim) =
        (Climate::from_key(typed.get("climate")), Kept::from_key(typed.get("kept")), Aim::from_key(typed.get("aim")));
    picked("climate", climate.is_some(), &mut errors);
    picked("kept", kept.is_some(), &mut errors);
    picked("aim", aim.is_some(), &mut errors);
    match (year, rates, budget_h, ask_over_h, climate, kept, aim) {
        (Ok(year), Ok(rates), Ok(budget_h), Ok(ask_over_h), Some(climate), Some(kept), Some(aim)) => Ok(CarDetails {
            title: typed.get("title").to_string(),
            body: typed.get("body").to_string(),
            year,
            climate,
            kept,
            fitted: typed.all("fitted").filter_map(Fitted::from_key).collect::<BTreeSet<_>>(),
            history: typed.all("history").filter_map(History::from_key).collect::<BTreeSet<_>>(),
            budget_h,
            ask_over_h,
            aim,
            rates,
            note: typed.get("note").to_string(),
            invented,
        }),
        (year, rates, budget_h, ask_over_h, ..) => {
            errors.extend(year.err());
            errors.extend(rates.err());
            errors.extend(budget_h.err());
            errors.extend(ask_over_h.err());
            Err(errors)
        }
    }
}

fn rates(typed: &Typed) -> Result<Option<Rates>, FieldError> {
    let (bench, painter) =
        (typed.number_if_any("rate_bench", "bench rate")?, typed.number_if_any("rate_painter", "painter's rate")?);
    let materials = typed.number_if_any("rate_materials", "materials")?;
    match (bench, painter, typed.get("currency")) {
        (None, None, "") if materials.is_none() => Ok(None),
        (bench, painter, currency) => {
            let missing = |name, what: &str| {
                FieldError::new(name, format!("the {what} is missing"), "Enter currency, bench and painter, or none.")
            };
            Ok(Some(Rates {
                currency: currency.to_string(),
                bench: bench.ok_or_else(|| missing("rate_bench", "bench rate"))?,
                painter: painter.ok_or_else(|| missing("rate_painter", "painter's rate"))?,
                materials,
            }))
        }
    }
}

/// Opens a car.
pub(crate) async fn open(State(app): State<App>, access: Access, form: Multipart) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let refuse =
        |errors: &[FieldError]| (StatusCode::UNPROCESSABLE_ENTITY, new_page(&access, &typed, errors)).into_response();
    let Ok(who) = typed.get("who").parse() else {
        return Ok(refuse(&[FieldError::new("who", "nobody was picked", "Pick who is writing.")]));
    };
    match details(&typed, false) {
        Err(errors) => Ok(refuse(&errors)),
        Ok(details) => match app.shop.open_car(details, who, Timestamp::now()).await {
            Ok(car) => Ok(Redirect::to(&link::shell(car)).into_response()),
            Err(ShopError::Invalid(errors)) => Ok(refuse(&errors)),
            Err(ShopError::NoSuchPerson(_)) => Ok(refuse(&[nobody()])),
            Err(e) => Err(e.into()),
        },
    }
}

/// The form that changes a car's details.
pub(crate) async fn change_form(app: &App, access: &Access, id: CarId) -> Result<Markup, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let d = &car.details;
    let mut pairs = vec![
        ("title", d.title.clone()),
        ("body", d.body.clone()),
        ("year", d.year.to_string()),
        ("climate", d.climate.key().into()),
        ("kept", d.kept.key().into()),
        ("aim", d.aim.key().into()),
        ("note", d.note.clone()),
    ];
    pairs.extend(d.fitted.iter().map(|f| ("fitted", f.key().into())));
    pairs.extend(d.history.iter().map(|h| ("history", h.key().into())));
    pairs.extend(d.budget_h.map(|hours| ("budget_h", hours.to_string())));
    pairs.extend(d.ask_over_h.map(|hours| ("ask_over_h", hours.to_string())));
    if let Some(rates) = &d.rates {
        pairs.extend([
            ("currency", rates.currency.clone()),
            ("rate_bench", rates.bench.to_string()),
            ("rate_painter", rates.painter.to_string()),
        ]);
        pairs.extend(rates.materials.map(|materials| ("rate_materials", materials.to_string())));
    }
    Ok(change_page(app, access, &car, &Typed::from_pairs(pairs), &[]))
}

fn change_page(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    CarPage {
        app,
        access,
        car,
        ground: Ground::Paper,
        sheet: Sheet::Record,
        title: "Details",
        says: "A change is a new entry; the old details stay in the record.",
        legend: false,
        deed: Bar::Send("f", "Keep"),
    }
    .draw(html! {
        (field::problems(errors))
        form #f .stack-l method="post" action={ (link::shell(car.id)) "/details" } enctype="multipart/form-data" {
            input type="hidden" name="entry" value=(job::ids::EntryId::fresh());
            input type="hidden" name="base" value=(car.count);
            (field::complaint("entry", errors))
            (details_fields(typed, errors))
            (field::complaint("who", errors))
            (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
            button.main.wide { "Keep these details" }
        }
    })
}

/// Keeps changed details.
pub(crate) async fn change(app: &App, access: &Access, id: CarId, typed: Typed) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let refuse = |errors: &[FieldError]| {
        (StatusCode::UNPROCESSABLE_ENTITY, change_page(app, access, &car, &typed, errors)).into_response()
    };
    let (Ok(by), Ok(entry)) = (typed.get("who").parse(), typed.get("entry").parse()) else {
        return Ok(refuse(&[FieldError::new("who", "nobody was picked", "Pick who is writing.")]));
    };
    let details = match details(&typed, car.details.invented) {
        Ok(details) => details,
        Err(errors) => return Ok(refuse(&errors)),
    };
    let what = What::CarChanged(details);
    let base = typed.get("base").parse().ok();
    let draft = Draft { entry, base, by, noted: None, corrects: None, keep_both: false, what };
    match app.shop.keep(id, &draft, Timestamp::now()).await {
        Ok(_) => Ok(Redirect::to(&format!("{}/record", link::shell(id))).into_response()),
        Err(ShopError::Overtaken(theirs)) => {
            let say = format!("{} changed the details while you were writing", theirs.by.name);
            let right = format!("Look at entry {} first; sent again, yours stand instead of theirs.", theirs.seq);
            Ok(refuse(&[FieldError::new("entry", say, right)]))
        }
        Err(ShopError::Invalid(errors)) => Ok(refuse(&errors)),
        Err(ShopError::NoSuchPerson(_)) => Ok(refuse(&[nobody()])),
        Err(e) => Err(e.into()),
    }
}

fn nobody() -> FieldError {
    FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.")
}

/// Takes a car in from a ZIP.
pub(crate) async fn import(State(app): State<App>, access: Access, form: Multipart) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let Some((name, bytes)) = typed.file else {
        return Err(Fault::Bad("No ZIP came with it: choose the file that \"export\" made.".into()));
    };
    let done = app.shop.import(Cursor::new(bytes), &name).await?;
    Ok(Redirect::to(&link::shell(done.car)).into_response())
}
