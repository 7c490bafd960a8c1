//! Areas of a picture in place of a measurement: face, flash and flop are touched on it, and kept as a wish to start
//! from. It works without scripts: the picture is one that sends where it was touched.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use job::car::Car;
use job::colour::brief::Place;
use job::ids::{CarId, EntryId, Hash};
use job::person::Deed;
use job::photograph::{self, PICTURE_PX};
use job::sampled::{self, SampleError, Sampled, Spot};
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::panel::drawn::fields;
use super::{Part, keeping, parts, swatches};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// How wide the picture is where it is touched, px: the server knows what a pixel of it means, and a phone shows
/// the whole.
const TOUCHED_PX: f64 = 340.0;
/// How large an area is, as its radius by the picture's longer side.
const SIZES: [(&str, &str, f64); 3] = [("small", "small", 0.008), ("medium", "medium", 0.02), ("large", "large", 0.05)];
/// The fields that can be wrong and are on the page.
const FIELDS: [&str; 3] = ["name", "who", "note"];

/// The form that takes a picture in, as part of the Target page.
pub(crate) fn form(car: &Car, errors: &[FieldError]) -> Markup {
    html! {
        section #picture.no-print {
            h2 { "Start from a picture" }
            p { b { "A picture is not a measurement. " } "It does for a first idea of what is liked: a recipe needs the paint itself under an instrument." }
            form.stack-l method="post" action=(link::colour(car.id, "picture")) enctype="multipart/form-data" {
                div.field.err[field::is_wrong("photo", errors)] {
                    label for="photo" { "Picture" }
                    p.hint { "JPEG, PNG or WebP. Best by one soft light, with face, flash and flop in it and nothing burnt out. Its position data is taken out." }
                    (field::complaint("photo", errors))
                    input #photo type="file" name="photo" accept="image/jpeg,image/png,image/webp" required;
                }
                button { "Go on and touch it" }
            }
        }
    }
}

/// Where a picture is touched and kept.
fn address(car: CarId, hash: Hash) -> String {
    format!("{}/{hash}", link::colour(car, "picture"))
}

/// Takes a picture in, upright and without position data; it counts for nothing until it is kept.
pub(crate) async fn take(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let refuse = |error| super::refused(&app, &access, &car, &typed, &[error]);
    let Some((name, bytes)) = typed.file.clone() else {
        return Ok(refuse(FieldError::new("photo", "no picture came with it", "Choose one.")));
    };
    let permit = app.heavy.clone().acquire_owned().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let work = move || {
        let _permit = permit;
        photograph::prepare(&bytes)
    };
    let ready = tokio::task::spawn_blocking(work).await.map_err(|e| Fault::Internal(e.to_string()))?;
    let ready = match ready {
        Ok(ready) => ready,
        Err(e) => return Ok(refuse(FieldError::new("photo", e.to_string(), "Nothing was kept."))),
    };
    let hash = app.shop.keep_file(&ready.picture).await?;
    let query = format!("w={}&h={}&file={}", ready.width_px, ready.height_px, link::escape(&name));
    Ok(Redirect::to(&format!("{}?{query}", address(id, hash))).into_response())
}

/// What stands in the address of the page.
struct Touched {
    /// The picture's sides, px; they only shape it.
    sides: [f64; 2],
    file: String,
    size: (&'static str, f64),
    spots: Vec<Spot>,
    /// What is touched next.
    next: Place,
}

impl Touched {
    fn read(typed: &Typed) -> Result<Self, Fault> {
        let bad = |what: &str| Fault::Bad(format!("The address does not say {what} as this program does."));
        let side = |name: &str| match typed.get(name) {
            "" => Ok(TOUCHED_PX),
            text => text
                .parse()
                .ok()
                .filter(|px| (1.0..=f64::from(PICTURE_PX)).contains(px))
                .ok_or_else(|| bad("how large the picture is")),
        };
        let sides = [side("w")?, side("h")?];
        let (key, _, radius) = SIZES.into_iter().find(|(key, ..)| *key == typed.get("size")).unwrap_or(SIZES[1]);
        let mut spots = Vec::new();
        for place in Place::ALL {
            let text = typed.get(place.key());
            if text.is_empty() {
                continue;
            }
            let figures: Vec<f64> = text.split(',').filter_map(|part| part.parse().ok()).collect();
            let [x, y, radius] = figures[..] else { return Err(bad("what was touched")) };
            spots.push(Spot { place, x, y, radius });
        }
        let mut touched =
            Self { sides, file: typed.get("file").to_owned(), size: (key, radius), spots, next: Place::Face };
        // The pixel that a picture in a form sends, by the size it is drawn at.
        let at = |name: &str| typed.get(name).parse::<f64>().ok().filter(|px| px.is_finite());
        if let (Some(x), Some(y), Ok(place)) = (at("at.x"), at("at.y"), typed.get("place").parse::<Place>()) {
            let [width, height] = touched.drawn();
            let spot = Spot { place, x: part(x, width), y: part(y, height), radius };
            touched.spots.retain(|known| known.place != place);
            touched.spots.push(spot);
            touched.spots.sort_by_key(|spot| spot.place);
        }
        let missing = Place::ALL.into_iter().find(|place| !touched.spots.iter().any(|spot| spot.place == *place));
        touched.next = missing.unwrap_or(Place::Face);
        Ok(touched)
    }

    /// The size at which the picture is touched.
    fn drawn(&self) -> [f64; 2] {
        let [width, height] = self.sides;
        [TOUCHED_PX, (height * TOUCHED_PX / width).round().max(1.0)]
    }

    /// The fields that go along with whatever is sent next.
    fn pairs(&self) -> Vec<(String, String)> {
        let mut pairs: Vec<(String, String)> =
            ["w", "h"].into_iter().zip(self.sides).map(|(name, px)| (name.to_owned(), px.to_string())).collect();
        pairs.push(("file".into(), self.file.clone()));
        pairs.extend(
            self.spots.iter().map(|s| (s.place.key().to_owned(), format!("{:.4},{:.4},{}", s.x, s.y, s.radius))),
        );
        pairs
    }
}

fn part(px: f64, of: f64) -> f64 {
    // To the middle of the pixel.
    ((px + 0.5) / of).clamp(0.0, 1.0)
}

/// The bytes of a picture that somebody took in.
async fn bytes(app: &App, hash: Hash) -> Result<std::sync::Arc<[u8]>, Fault> {
    let bytes = app.shop.blob(hash).await?;
    bytes.filter(|bytes| bytes.starts_with(&[0xff, 0xd8, 0xff])).ok_or(Fault::NotFound("picture"))
}

/// Samples the areas beside the pages.
async fn sample(app: &App, hash: Hash, name: String, touched: &Touched) -> Result<Result<Sampled, SampleError>, Fault> {
    let picture = bytes(app, hash).await?;
    let (file, spots) = (touched.file.clone(), touched.spots.clone());
    let permit = app.heavy.clone().acquire_owned().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let work = move || {
        let _permit = permit;
        sampled::sample(&name, &file, &picture, &spots)
    };
    tokio::task::spawn_blocking(work).await.map_err(|e| Fault::Internal(e.to_string()))
}

/// The picture itself.
pub(crate) async fn jpeg(
    State(app): State<App>,
    _access: Access,
    Path((id, hash)): Path<(CarId, Hash)>,
) -> Result<Response, Fault> {
    app.shop.car(id).await?;
    let bytes = bytes(&app, hash).await?;
    let head = [(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, "private, max-age=31536000, immutable")];
    Ok((head, bytes.to_vec()).into_response())
}

/// The page on which the picture is touched.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, hash)): Path<(CarId, Hash)>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let car = app.shop.car(id).await?;
    let typed = fields(&pairs);
    draw(&app, &access, &car, hash, &typed, &[]).await
}

async fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    hash: Hash,
    typed: &Typed,
    errors: &[FieldError],
) -> Result<Response, Fault> {
    bytes(app, hash).await?;
    let touched = Touched::read(typed)?;
    let sampled = match touched.spots.is_empty() {
        true => None,
        false => Some(sample(app, hash, String::new(), &touched).await?),
    };
    let says = match touched.spots.len() {
        0 => "Touch the paint: first where it is brightest beside the light.",
        3 => "Face, flash and flop are touched.",
        _ => "Touch the next place, or keep what there is.",
    };
    let ready = matches!(sampled, Some(Ok(_)));
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Areas of a picture",
        says,
        legend: false,
        deed: if ready {
            Bar::Go("#keep".into(), "Keep")
        } else {
            Bar::Go(format!("{}/colour", link::shell(car.id)), "Target")
        },
    };
    let wrong = matches!(sampled, Some(Err(_))) || !errors.is_empty();
    let body = page.draw(html! {
        (parts(car.id, Part::Target))
        (field::problems(&field::at_their_place(errors, &FIELDS)))
        p.note { b { "A picture is not a measurement. " } "Camera, light and screen have all had their part in these colours." }
        (touch(car, hash, &touched))
        @match &sampled {
            None => {}
            Some(Err(e)) => div.note.stop.stack role="alert" { h2 { (sentence(&e.to_string())) } p { "Touch another place." } },
            Some(Ok(sampled)) => {
                (found(car, hash, &touched, sampled))
                (keep_form(access, car, hash, &touched, typed, errors))
            }
        }
    });
    Ok((if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK }, body).into_response())
}

/// What each place is, for whoever looks for it in the picture.
fn place_words(place: Place) -> (&'static str, &'static str) {
    match place {
        Place::Face => ("Face", "brightest, just beside the light's mirror image"),
        Place::Flash => ("Flash", "half way"),
        Place::Flop => ("Flop", "where the panel turns away from the light"),
    }
}

fn touch(car: &Car, hash: Hash, touched: &Touched) -> Markup {
    let [width, height] = touched.drawn();
    html! {
        form.stack.no-print method="get" action=(address(car.id, hash)) {
            @for (name, value) in touched.pairs() { input type="hidden" name=(name) value=(value); }
            fieldset {
                legend { "What will you touch?" }
                div.picks.side {
                    @for place in Place::ALL {
                        @let (words, where_) = place_words(place);
                        label.pick { input type="radio" name="place" value=(place.key()) checked[place == touched.next]; span { b { (words) } small { (where_) } } }
                    }
                }
            }
            fieldset {
                legend { "How large an area?" }
                div.views.sizes { @for (key, words, _) in SIZES { label { input type="radio" name="size" value=(key) checked[key == touched.size.0]; (words) } } }
            }
            p { "Now touch the picture there. Every touch is shown below, and can be made again." }
            div.scroll tabindex="0" role="group" aria-label="The picture to touch" {
                input.outline type="image" name="at" src={ (address(car.id, hash)) "/picture.jpg" } width=(width) height=(height) alt="The picture: touch the paint on it";
            }
        }
    }
}

/// The picture with what was touched, and what came of it.
fn found(car: &Car, hash: Hash, touched: &Touched, sampled: &Sampled) -> Markup {
    let [width, height] = touched.drawn();
    let longer = width.max(height);
    html! {
        section {
            h2 { "What was touched" }
            svg.plot viewBox=(format!("0 0 {width} {height}")) role="img" aria-label="The picture with the touched areas ringed" {
                image href={ (address(car.id, hash)) "/picture.jpg" } width=(width) height=(height) {}
                @for spot in &touched.spots {
                    @let (x, y, r) = (spot.x * width, spot.y * height, (spot.radius * longer).max(4.0));
                    circle cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r=(format!("{r:.1}")) fill="none" stroke="#000000" stroke-width="5" {}
                    circle cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r=(format!("{r:.1}")) fill="none" stroke="#FFFFFF" stroke-width="2" {}
                }
            }
            ul.plain-list {
                @for area in &sampled.areas {
                    li { (place_words(area.place).0) ": " (area.count) " pixels, spread " (format!("{:.0}", area.spread)) " of 255." }
                }
            }
            h3 { "As a paint, overcast day" }
            (swatches::strip(&sampled.measurement, job::colour::Illuminant::D65))
            p.small { (swatches::CAUTION) }
            ul.plain-list { @for doubt in &sampled.doubts { li { (sentence(&doubt.what)) } } }
        }
    }
}

fn keep_form(
    access: &Access,
    car: &Car,
    hash: Hash,
    touched: &Touched,
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    html! {
        section #keep.no-print {
            h2 { "Keep it as a paint to start from" }
            form.stack-l method="post" action=(address(car.id, hash)) enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                @for (name, value) in touched.pairs() { input type="hidden" name=(name) value=(value); }
                (field::Text { id: "name", name: "name", label: "What it is called", hint: "", value: typed.get("name"), unit: "", errors }.draw())
                (field::note("note", "Note", "Whose picture, of what, in which light.", typed.get("note"), errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                button.main { "Keep these areas" }
            }
        }
    }
}

/// Keeps the areas as a paint to start from.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path((id, hash)): Path<(CarId, Hash)>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let touched = Touched::read(&typed)?;
    let name = match typed.get("name") {
        "" => format!("From {}", if touched.file.is_empty() { "a picture" } else { &touched.file }),
        name => name.to_owned(),
    };
    let sampled = match sample(&app, hash, name, &touched).await? {
        Ok(sampled) => sampled,
        // The page says what is wrong with the areas; without any there is nothing on it to keep.
        Err(_) if !touched.spots.is_empty() => return draw(&app, &access, &car, hash, &typed, &[]).await,
        Err(e) => return draw(&app, &access, &car, hash, &typed, &[FieldError::new("", e.to_string(), "")]).await,
    };
    app.shop.keep_file(&sampled.picture).await?;
    let mut measured = sampled.measured;
    measured.note = typed.get("note").to_owned();
    match keeping::keep(&app, id, &typed, What::Measured(measured)).await? {
        Ok(kept) => Ok(kept.go(&format!("{}/colour?m={}&kept={}", link::shell(id), kept.seq, kept.seq))),
        Err(errors) => draw(&app, &access, &car, hash, &typed, &errors).await,
    }
}
