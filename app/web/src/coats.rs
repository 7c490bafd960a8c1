//! The Coats sheet: may I spray now, how many litres, are the film readings accepted.

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::car::Car;
use job::coating::climate::{Air, margin_precision_c};
use job::coating::quantity::{Batch, Coat, Extra, Quantity as Litres, quantity};
use job::coats::{judge_film, limits, may_spray};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::validate::{FieldError, instances};
use job::what::{Quantity, What};
use maud::{Markup, html};

use crate::access::Access;
use crate::colour::decided;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{add, entries, field, link};

/// The sheet, with what was asked in its address.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let typed = Typed::from_pairs(pairs.iter().take(200).map(|(k, v)| (k.as_str(), v.clone())));
    Ok(draw(&app, &access, &car, &typed, &[]))
}

/// The sheet again, with what is wrong.
pub(crate) fn refused(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, draw(app, access, car, typed, errors)).into_response()
}

fn draw(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    let kept = typed.get("kept").parse().ok();
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Plain,
        sheet: Sheet::Coats,
        title: "Coats",
        says: "",
        legend: false,
        deed: Bar::Send("climate", "Ask"),
    };
    page.draw(html! {
        (entries::flash(app, car, kept))
        (field::problems(errors))
        (decided::waits(app, car))
        (climate(app, access, car, typed, errors))
        (litres(app, car, typed))
        (film(app, access, car, typed, errors))
        (judged(app, car))
        p.note { "Two-pack coats: air-fed breathing set with the product's own data sheet in hand. Know the booth's measured clearing time; do not lift the visor before it. Local codes decide." }
    })
}

fn products(app: &App, typed: &Typed) -> Markup {
    html! {
        div.field {
            label for="product" { "Product" }
            p.hint { "Starting guesses; the data sheet in hand always wins." }
            select #product name="product" {
                option value="" { "in general" }
                @for layer in app.shop.catalogue().layers() { option value=(layer.id) selected[typed.get("product") == layer.id] { (upper(&layer.name)) } }
            }
        }
    }
}

fn climate(app: &App, access: &Access, car: &Car, typed: &Typed, refused: &[FieldError]) -> Markup {
    let refused = if typed.get("kind") == "climate_read" { refused } else { &[] };
    let asked = !typed.get("air").is_empty() || !typed.get("panel").is_empty();
    let layer = app.shop.catalogue().layer(typed.get("product"));
    let numbers = (typed.number("air", "air"), typed.number("rh", "humidity"), typed.number("panel", "panel surface"));
    let mut errors: Vec<FieldError> = Vec::new();
    let answer = match (asked, numbers) {
        (false, _) => None,
        (true, (Ok(air), Ok(rh), Ok(panel))) => match may_spray(air, rh, panel, layer) {
            Ok(decision) => Some((air, rh, panel, decision)),
            Err((name, say)) => {
                errors.push(FieldError::new(name, say, ""));
                None
            }
        },
        (true, (air, rh, panel)) => {
            errors.extend([air.err(), rh.err(), panel.err()].into_iter().flatten());
            None
        }
    };
    let figure = |id: &str, label: &str, unit: &str| {
        field::Text { id, name: id, label, hint: "", value: typed.get(id), unit, errors: &errors }.draw()
    };
    html! {
        div.two {
            div {
                @match &answer {
                    None => div.wait.stack { h2 { "May I spray now?" } p { "Read the air, the humidity and the panel, and ask." } },
                    Some((air, rh, _, decision)) => div.note.stop.stack aria-live="polite" {
                        h2 { "May I spray now?" }
                        p.yes { @if decision.spray { "Yes" } @else { "Not yet" } }
                        p.says { (sentence(&decision.why)) }
                        @for warning in &decision.warnings { p { b { "Close: " } (warning.what) } }
                        @if let Ok(precision) = margin_precision_c(Air { temperature_c: *air, rh_pct: *rh }) {
                            p.small { "With instruments good to 0.5 \u{b0}C and 3 % the margin is good to about " (format!("{precision:.1}")) " \u{b0}C." }
                        }
                    },
                }
            }
            form #climate.stack action={ (link::shell(car.id)) "/coats" } {
                (figure("air", "Air", "\u{b0}C"))
                (figure("rh", "Humidity", "%"))
                (figure("panel", "Panel surface", "\u{b0}C"))
                (products(app, typed))
                button.main.wide { @if answer.is_some() { "Ask again" } @else { "Ask" } }
            }
        }
        (field::complaint("entry", refused))
        (field::complaint("who", refused))
        @if let Some((air, _, panel, decision)) = &answer {
            (margin_chart(decision.dew_point_c, *panel, limits(layer).margin_min_c, *air))
            @if access.role.may(Deed::Write) {
                details.no-print open[!refused.is_empty()] {
                    summary { "Keep this in the record" }
                    form.stack-l method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data" {
                        input type="hidden" name="kind" value="climate_read";
                        input type="hidden" name="entry" value=(EntryId::fresh());
                        @for name in ["air", "rh", "panel", "product"] { input type="hidden" name=(name) value=(typed.get(name)); }
                        (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                        button.main { "Keep it" }
                    }
                }
            }
        }
    }
}

/// Dew point, panel and the margin needed, drawn as a dimension.
fn margin_chart(dew_c: f64, panel_c: f64, needed_c: f64, air_c: f64) -> Markup {
    let low = dew_c.min(panel_c).min(air_c).floor() - 1.0;
    let high = (dew_c + needed_c).max(panel_c).max(air_c).ceil() + 1.0;
    let x = |c: f64| 24.0 + (c - low) / (high - low) * 392.0;
    let step = if high - low > 30.0 {
        10.0
    } else if high - low > 12.0 {
        5.0
    } else {
        1.0
    };
    let ticks =
        std::iter::successors(Some((low / step).ceil() * step), |t| Some(t + step)).take_while(|t| *t <= high).take(60);
    let (d, n, p) = (x(dew_c), x(dew_c + needed_c), x(panel_c));
    html! {
        figure.stack {
            svg.plot.chart viewBox="0 0 440 156" role="img" aria-label={ "Dew point " (format!("{dew_c:.1}")) ", panel " (format!("{panel_c:.1}")) ", needed " (format!("{:.1}", dew_c + needed_c)) " or more" } {
                path.d.thin d="M14 96H426" {}
                @for tick in ticks {
                    path.d.hair d={ "M" (format!("{:.1}", x(tick))) " 96v10" } {}
                    text.t.mid x=(format!("{:.1}", x(tick))) y="126" { (format!("{tick:.0}")) }
                }
                path d={ "M" (format!("{d:.1}")) " 60H" (format!("{n:.1}")) "V96H" (format!("{d:.1}")) "Z" } fill="url(#past)" {}
                path.d d={ "M" (format!("{d:.1}")) " 40V96M" (format!("{n:.1}")) " 40V96" } {}
                path.d.thin d={ "M" (format!("{d:.1}")) " 48H" (format!("{n:.1}")) } {}
                text.t.mid x=(format!("{:.1}", (d + n) / 2.0)) y="34" { (format!("{needed_c:.1}")) " needed above " (format!("{dew_c:.1}")) }
                path.solid d={ "M" (format!("{p:.1}")) " 66l11 15-11 15-11-15Z" } {}
                path.d.cut d={ "M" (format!("{p:.1}")) " 96v16" } {}
                text.t.b.mid x=(format!("{:.1}", p.clamp(50.0, 390.0))) y="150" { "panel " (format!("{panel_c:.1}")) " \u{b0}C" }
            }
            figcaption { "Dew point by the Magnus formula after Sonntag 1990. Margin of 3 \u{b0}C and 85 % humidity: ISO 8502-4 practice." }
        }
    }
}

fn litres(app: &App, car: &Car, typed: &Typed) -> Markup {
    let layer = app.shop.catalogue().layer(typed.get("product"));
    let given = |name: &str, guess: Option<f64>| match typed.get(name) {
        "" => guess.map(job_plain).unwrap_or_default(),
        text => text.to_string(),
    };
    let filled = Typed::from_pairs([
        ("area", typed.get("area").to_string()),
        ("dft", given("dft", layer.map(|l| l.dft_um.likely))),
        ("solids", given("solids", layer.map(|l| l.solids_pct.likely))),
        ("transfer", given("transfer", layer.map(|l| l.transfer_flat))),
    ]);
    let mut errors: Vec<FieldError> = Vec::new();
    let answer = if filled.get("area").is_empty() { None } else { amount(&filled).map_err(|e| errors.extend(e)).ok() };
    let figure = |id: &str, label: &str, hint: &str, unit: &str| {
        field::Text { id, name: id, label, hint, value: filled.get(id), unit, errors: &errors }.draw()
    };
    html! {
        section #litres {
            h2 { "Litres" }
            div.two {
                form.stack action={ (link::shell(car.id)) "/coats#litres" } {
                    @for name in ["air", "rh", "panel", "product"] { input type="hidden" name=(name) value=(typed.get(name)); }
                    (figure("area", "Area", "", "m\u{b2}"))
                    (figure("dft", "Dry film, all coats", "", "\u{b5}m"))
                    (figure("solids", "Solids by volume, ready to spray", "", "%"))
                    (figure("transfer", "Share that reaches the panel", "Car side 0.5 to 0.6, jambs 0.35 to 0.45.", "of 1"))
                    button.wide { "Work it out" }
                }
                div {
                    @match answer {
                        None => div.wait { p { "Area, film, solids and transfer give the litres. Choose a product above for starting guesses." } },
                        Some((litres, batch)) => {
                            table {
                                tbody {
                                    tr { th scope="row" { "Ready to spray" } td.r { (format!("{:.1} L", litres.litres)) } }
                                    tr { th scope="row" { "Reserve, 15 percent" } td.r { (format!("{:.1} L", batch.reserve_l)) } }
                                    tr { th scope="row" { "Keep sealed for later" } td.r { (format!("{:.1} L", batch.keep_sealed_l)) } }
                                    tr { th scope="row" { "Mix" } td.r { b { (format!("{:.1} L", batch.total_l())) } } }
                                    tr { th scope="row" { "Wet film, all coats" } td.r { (format!("{:.0} \u{b5}m", litres.wet_um)) } }
                                    tr { th scope="row" { "Covers, nothing lost" } td.r { (format!("{:.1} m\u{b2}/L", litres.coverage_m2_l)) } }
                                }
                            }
                            p.small.soft { "Ready-to-spray litres are not tin litres: thinner and hardener are in them. Reserve and sealed share: common practice, no source." }
                        }
                    }
                }
            }
        }
    }
}

fn job_plain(value: f64) -> String {
    format!("{value}")
}

fn amount(typed: &Typed) -> Result<(Litres, Batch), Vec<FieldError>> {
    let numbers = (
        typed.number("area", "area"),
        typed.number("dft", "dry film"),
        typed.number("solids", "solids"),
        typed.number("transfer", "share that reaches the panel"),
    );
    match numbers {
        (Ok(area_m2), Ok(dft_um), Ok(solids_pct), Ok(transfer)) => {
            let coat = Coat { area_m2, dft_um, solids_pct, transfer };
            let both = quantity(&coat).and_then(|litres| Ok((litres, litres.with(&Extra::COLOUR)?)));
            both.map_err(|e| {
                let say = e.to_string();
                let field = match () {
                    () if say.contains("area") => "area",
                    () if say.contains("film") => "dft",
                    () if say.contains("solids") => "solids",
                    () => "transfer",
                };
                vec![FieldError::new(field, say, "")]
            })
        }
        (a, d, s, t) => Err([a.err(), d.err(), s.err(), t.err()].into_iter().flatten().collect()),
    }
}

fn film(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    let errors = if typed.get("kind") == "climate_read" { &[] } else { errors };
    let zone = typed.get("zone");
    let from_record = car.film_um(zone).iter().map(|v| format!("{v:.0}")).collect::<Vec<_>>().join(" ");
    let readings = if typed.get("readings").is_empty() { from_record.as_str() } else { typed.get("readings") };
    let mut with = typed.clone();
    with.set("readings", readings.to_string());
    let preview = with.number("nominal_um", "nominal film").ok().and_then(|nominal| {
        let values: Vec<f64> = readings.split_whitespace().filter_map(|w| w.parse().ok()).collect();
        judge_film(&values, nominal).ok()
    });
    html! {
        section #film {
            h2 { "Film readings: accepted?" }
            p.small.soft { "Mean at least nominal; none under 80 percent of it; fewer than a fifth between 80 percent and nominal; none over three times nominal (ISO 19840 practice, written for structural steelwork: for skins the film-build sheet decides)." }
            form.stack-l method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data" {
                input type="hidden" name="kind" value="film_judged";
                input type="hidden" name="entry" value=(EntryId::fresh());
                div.field.err[field::is_wrong("zone", errors)] {
                    label for="film-zone" { "Zone" }
                    (field::complaint("zone", errors))
                    select #film-zone name="zone" {
                        option value="" { "choose a zone" }
                        @for i in instances(&car.details) { option value=(i.id) selected[i.id == zone] { (i.name()) } }
                    }
                }
                (field::Text { id: "nominal_um", name: "nominal_um", label: "Nominal film", hint: "What the coating system asks for.", value: typed.get("nominal_um"), unit: "\u{b5}m", errors }.draw())
                (field::note("readings", "Readings", "In \u{b5}m, with blanks between them.", readings, errors))
                div.field.err[field::is_wrong("instrument", errors)] {
                    label for="film-instrument" { "Instrument" }
                    (field::complaint("instrument", errors))
                    (add::instrument_select("film-instrument", typed, app.shop.catalogue(), Some(Quantity::Film)))
                }
                (add::other_instrument("film", typed, errors))
                @if let Some(judged) = preview {
                    p.note.stop { b { @if judged.accept { "Accepted. " } @else { "Not accepted. " } } (sentence(&judged.why)) }
                }
                @if access.role.may(Deed::Write) {
                    (field::complaint("entry", errors))
                    (field::complaint("who", errors))
                    (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                    p.row {
                        button.main { "Judge and keep" }
                        button formmethod="get" formaction={ (link::shell(car.id)) "/coats#film" } formenctype="application/x-www-form-urlencoded" { "Only judge" }
                    }
                }
            }
        }
    }
}

fn judged(app: &App, car: &Car) -> Markup {
    let kept: Vec<_> = car
        .counting()
        .rev()
        .filter(|e| matches!(e.what, What::FilmJudged(_) | What::ClimateRead(_)))
        .take(12)
        .collect();
    html! {
        @if !kept.is_empty() {
            section {
                h2 { "Kept before" }
                ul.plain-list {
                    @for entry in kept {
                        li { a.touch href=(link::entry(car.id, entry.seq)) { (entry.seq) } " " (entry.what.say()) ", " (entry.by.name) ", " (when(app, entry.when())) }
                    }
                }
            }
        }
    }
}
