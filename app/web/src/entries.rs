//! Keeping what was typed, and one entry's own page.

use axum::Json;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::{Car, Entry};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::shop::ShopError;
use job::validate::{FieldError, body, instance};
use job::what::{Mark, What};
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::{Access, remember, wants_json};
use crate::add::{self, Sent};
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{coats, entry_form, link, record, zone};

/// Keeps an entry.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Response, Fault> {
    let json = wants_json(&headers);
    match kept(&app, &access, id, form, json).await {
        Err(fault) if json => {
            let (status, say) = fault.say();
            Ok((status, Json(serde_json::json!({ "say": say }))).into_response())
        }
        other => other,
    }
}

async fn kept(app: &App, access: &Access, id: CarId, form: Multipart, json: bool) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let mut typed = Typed::read(form).await?;
    if !typed.get("take").is_empty() {
        typed.set("value", typed.get("take").to_string());
    }
    if typed.get("kind") == "withdrawn" {
        access.may(Deed::Manage)?;
    }
    let car = app.shop.car(id).await?;
    match take_picture(app, &mut typed).await {
        Ok(Ok(())) => {}
        Ok(Err(error)) => return Ok(refuse(app, access, &car, &typed, &[error], json)),
        Err(fault) => return Ok(again(fault, app, access, &car, &typed, json)),
    }
    let draft = match entry_form::draft(&typed, &car, app.shop.catalogue()) {
        Ok(draft) => draft,
        Err(errors) => return Ok(refuse(app, access, &car, &typed, &errors, json)),
    };
    match app.shop.keep(id, &draft, Timestamp::now()).await {
        Ok(kept) => {
            let go = after(id, &draft.what, kept.seq);
            let set = remember(draft.by);
            if json {
                let status = if kept.repeat { StatusCode::OK } else { StatusCode::CREATED };
                let say = format!("Kept as entry {}.", kept.seq);
                return Ok(
                    (status, set, Json(serde_json::json!({ "kept": kept.seq, "go": go, "say": say }))).into_response()
                );
            }
            Ok((set, Redirect::to(&go)).into_response())
        }
        Err(ShopError::Invalid(errors)) => Ok(refuse(app, access, &car, &typed, &errors, json)),
        Err(ShopError::NoSuchPerson(_)) => {
            let error = FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.");
            Ok(refuse(app, access, &car, &typed, &[error], json))
        }
        Err(ShopError::AlreadySuperseded(seq)) if draft.corrects.is_some() => {
            let car = app.shop.car(id).await?;
            Ok(corrected_meanwhile(app, access, &car, typed, seq, json))
        }
        Err(ShopError::Overtaken(theirs)) => Ok(overtaken(app, access, &car, &typed, &theirs, &draft.what, json)),
        Err(e) => Ok(again(e.into(), app, access, &car, &typed, json)),
    }
}

/// The form again, with everything typed, when what went wrong is not in the form.
fn again(fault: Fault, app: &App, access: &Access, car: &Car, typed: &Typed, json: bool) -> Response {
    let (status, say) = fault.say();
    if status.is_server_error() {
        tracing::error!(%status, ?fault, "nothing was kept");
    }
    (status, refuse(app, access, car, typed, &[FieldError::new("", say, "")], json)).into_response()
}

/// Somebody corrected the same entry first, or took it out: the form comes back as typed, for what stands there now.
fn corrected_meanwhile(app: &App, access: &Access, car: &Car, mut typed: Typed, seq: u64, json: bool) -> Response {
    let mut later = car.entry(seq);
    while let Some(by) = later.and_then(|entry| entry.superseded_by) {
        later = car.entry(by);
    }
    let (say, right) = match later {
        Some(later) if later.what.kind() == typed.get("kind") => {
            typed.set("corrects", later.id.to_string());
            let say = format!(
                "entry {seq} was already corrected by {} in entry {}: {}",
                later.by.name,
                later.seq,
                later.what.say()
            );
            (say, "Send it again and yours corrects that one.")
        }
        _ => {
            typed.set("corrects", String::new());
            (format!("entry {seq} was already taken out"), "Send it again and yours is kept as a new entry.")
        }
    };
    let error = FieldError::new("corrects", say, right);
    (StatusCode::CONFLICT, refuse(app, access, car, &typed, &[error], json)).into_response()
}

/// Makes the photograph that came with a form ready and keeps it, so that a refused form need not send it again.
async fn take_picture(app: &App, typed: &mut Typed) -> Result<Result<(), FieldError>, Fault> {
    let Some((_, bytes)) = typed.file.take().filter(|_| typed.get("kind") == "photographed") else { return Ok(Ok(())) };
    let _permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let ready = tokio::task::spawn_blocking(move || job::photograph::prepare(&bytes))
        .await
        .map_err(|e| Fault::Internal(e.to_string()))?;
    let ready = match ready {
        Ok(ready) => ready,
        Err(e) => return Ok(Err(FieldError::new("photo", e.to_string(), ""))),
    };
    let (picture, thumb) = app.shop.keep_picture(&ready).await?;
    typed.set("picture", picture.to_string());
    typed.set("thumb", thumb.to_string());
    typed.set("width_px", ready.width_px.to_string());
    typed.set("height_px", ready.height_px.to_string());
    Ok(Ok(()))
}

/// Where to go on after an entry was kept.
fn after(car: CarId, what: &What, seq: u64) -> String {
    match what {
        What::FilmJudged(_) | What::ClimateRead(_) => format!("{}/coats?kept={seq}", link::shell(car)),
        what => match what.zone() {
            Some(zone) => format!("{}?kept={seq}", link::zone(car, zone)),
            None => format!("{}/record?kept={seq}", link::shell(car)),
        },
    }
}

/// What is wrong with a field and what would be right, one after the other.
fn in_one_line(error: &FieldError) -> String {
    format!("{} {}", sentence(&error.say), error.right).trim_end().to_string()
}

fn refuse(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError], json: bool) -> Response {
    if json {
        let list: Vec<_> = errors
            .iter()
            .map(|e| serde_json::json!({ "field": e.field, "say": sentence(&e.say), "right": e.right }))
            .collect();
        let say = errors.first().map(in_one_line).unwrap_or_default();
        return (StatusCode::UNPROCESSABLE_ENTITY, Json(serde_json::json!({ "say": say, "errors": list })))
            .into_response();
    }
    match typed.get("kind") {
        "looked" | "read" | "photographed" | "opened" | "made_good" | "worked" => {
            add::refused(&Sent { app, access, car, typed, errors })
        }
        "climate_read" | "film_judged" => coats::refused(app, access, car, typed, errors),
        _ => {
            let say = errors.iter().map(in_one_line).collect::<Vec<_>>().join(" ");
            Fault::Bad(format!("Nothing was kept. {say}")).into_response()
        }
    }
}

fn overtaken(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    theirs: &Entry,
    yours: &What,
    json: bool,
) -> Response {
    if json {
        let say = format!("{} changed this zone while you were writing.", theirs.by.name);
        let answer = serde_json::json!({ "say": say, "theirs": theirs.what.say(), "yours": yours.say() });
        return (StatusCode::CONFLICT, Json(answer)).into_response();
    }
    add::overtaken(&Sent { app, access, car, typed, errors: &[] }, theirs, &yours.say())
}

/// One entry: what it says, its hash, what became of it.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let entry = car.entry(seq).ok_or(Fault::NotFound("entry"))?;
    let stored = app.shop.stored(id, seq).await?;
    let correctable = entry.counts() && entry_form::typed(&entry.what, app.shop.catalogue()).is_some();
    let withdrawable = entry.counts()
        && access.role.may(Deed::Manage)
        && !matches!(
            entry.what,
            What::CarOpened(_)
                | What::CarChanged(_)
                | What::Answered(_)
                | What::OwnerWrote(_)
                | What::Withdrawn(_)
                | What::Newer { .. }
        );
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Record,
        title: &format!("Entry {seq}"),
        says: &sentence(&format!("{}: {}", entry.what.kind_words(), entry.what.say())),
        legend: false,
        deed: Bar::Go(format!("{}/record", link::shell(id)), "Record"),
    };
    Ok(page.draw(html! {
        (zone::row(&app, &car, entry))
        @if let What::Photographed(photo) = &entry.what {
            @let number = car.photographs().position(|(e, _)| e.seq == seq).map_or(0, |n| n + 1);
            (zone::figure(&app, &car, number, entry, photo))
        }
        @if let What::Looked(look) = &entry.what {
            @if !look.clues.is_empty() {
                section { h2 { "Clues" } ul.plain-list {
                    @for clue in &look.clues {
                        li { (app.shop.catalogue().clue(&clue.clue).map_or(clue.clue.as_str(), |c| &c.clue)) ": " @if clue.there { b { "there" } } @else { "looked for, not there" } }
                    }
                } }
            }
        }
        p.row.no-print {
            @if let Some(form) = corrected_elsewhere(id, entry) { a.btn.main href=(form) { "Correct this" } }
            @if correctable { a.btn.main href={ (link::shell(id)) "/add?corrects=" (seq) } { "Correct this" } }
            @if correctable && matches!(entry.what, What::Photographed(_)) { a.btn href={ (link::entry(id, seq)) "/mark" } { "Move the mark" } }
            @if let Some(zone) = entry.what.zone() { a.btn href=(link::zone(id, zone)) { "The zone" } }
        }
        @if withdrawable { (withdraw_form(&access, &car, entry)) }
        section {
            h2 { "In the chain" }
            dl.facts {
                div { dt { "Kept" } dd { (when(&app, entry.at)) } }
                @if let Some(noted) = entry.noted { div { dt { "Typed" } dd { (when(&app, noted)) } } }
                div { dt { "By" } dd { (entry.by.name) ", " (entry.by.role.words()) } }
            }
            p.small { "Its hash, which the next entry carries:" }
            p.chain.small { (entry.hash) }
            @if let Some(stored) = stored {
                details { summary { "The exact text that is hashed" } pre.small { (stored.body) } }
            }
        }
    }))
}

/// The form of an entry that is corrected on a page of its own.
fn corrected_elsewhere(car: CarId, entry: &Entry) -> Option<String> {
    let at = |page: &str, form: &str| Some(format!("{}?corrects={}#{form}", link::colour(car, page), entry.seq));
    match entry.what {
        _ if !entry.counts() => None,
        What::Mixed(_) => at("batches", "correct"),
        What::Carded(_) => at("cards", "import"),
        _ => None,
    }
}

fn withdraw_form(access: &Access, car: &Car, entry: &Entry) -> Markup {
    html! {
        details.no-print {
            summary { "Take this entry out" }
            form.stack-l method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data" {
                p { "It stays in the record, struck through, and counts no longer." }
                input type="hidden" name="kind" value="withdrawn";
                input type="hidden" name="entry" value=(EntryId::fresh());
                input type="hidden" name="withdraws" value=(entry.id);
                div.field { label for="why" { "Why" } div.in { input #why name="why" required maxlength="200"; } }
                (who_picks(access, None))
                button { "Take it out" }
            }
        }
    }
}

#[derive(Deserialize)]
pub(crate) struct MarkAsk {
    view: Option<String>,
}

/// How wide the outline is drawn where a mark is set: a pixel of it is known to the server without scripts.
const MARK_PX: f64 = 340.0;

/// The page on which a photograph's mark is moved. It works without scripts: the outline is a picture that
/// sends where it was touched.
pub(crate) async fn mark_page(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
    Query(ask): Query<MarkAsk>,
) -> Result<Markup, Fault> {
    access.may(Deed::Write)?;
    let car = app.shop.car(id).await?;
    let photo = match car.entry(seq).map(|e| &e.what) {
        Some(What::Photographed(photo)) => photo,
        _ => return Err(Fault::NotFound("photograph")),
    };
    let body = body(&car.details).ok_or(Fault::NotFound("outline"))?;
    let best = || body.best_view(photo.zone.as_deref().unwrap_or_default()).or(body.views().first());
    let view =
        ask.view.as_deref().or(photo.mark.as_ref().map(|m| m.view.as_str())).and_then(|v| body.view(v)).or_else(best);
    let view = view.ok_or(Fault::NotFound("view"))?;
    let height = MARK_PX * view.height / view.width;
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Record,
        title: "Move the mark",
        says: "Touch the outline where the photograph was taken.",
        legend: false,
        deed: Bar::Go(link::entry(id, seq), "Back"),
    };
    Ok(page.draw(html! {
        nav.row.no-print aria-label="View" {
            @for v in body.views() { a.btn.main[v.id == view.id] href={ (link::entry(id, seq)) "/mark?view=" (v.id) } { (v.caption.to_lowercase()) } }
        }
        form.stack-l method="post" action={ (link::entry(id, seq)) "/mark" } enctype="multipart/form-data" {
            input type="hidden" name="entry" value=(EntryId::fresh());
            input type="hidden" name="view" value=(view.id);
            (who_picks(&access, None))
            input.outline type="image" name="at" src={ (link::shell(id)) "/map/" (view.id) ".svg" } width=(MARK_PX) height=(format!("{height:.0}"))
                alt={ "Set the mark on the outline, " (view.caption) };
        }
    }))
}

/// Moves a photograph's mark: a correction like any other.
pub(crate) async fn move_mark(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let sent = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let old = car.entry(seq).ok_or(Fault::NotFound("photograph"))?;
    let What::Photographed(photo) = &old.what else { return Err(Fault::NotFound("photograph")) };
    let view = body(&car.details).and_then(|b| b.view(sent.get("view"))).ok_or(Fault::NotFound("view"))?;
    let px = |name| {
        sent.get(name)
            .parse::<f64>()
            .map_err(|_| Fault::Bad("The place did not come through: touch the outline again.".into()))
    };
    let scale = view.width / MARK_PX;
    let (u_mm, v_mm) = view.place(px("at.x")? * scale, px("at.y")? * scale);
    let by = sent.get("who").parse().map_err(|_| Fault::Bad("Pick who is writing, then touch the outline.".into()))?;
    let entry = sent.get("entry").parse().map_err(|_| Fault::Bad("Open the page again.".into()))?;
    let mut photo = photo.clone();
    photo.mark = Some(Mark { view: view.id.clone(), u_mm, v_mm });
    let draft = job::shop::Draft {
        entry,
        base: None,
        by,
        noted: None,
        corrects: Some(old.id),
        keep_both: false,
        what: What::Photographed(photo),
    };
    let kept = app.shop.keep(id, &draft, Timestamp::now()).await?;
    Ok(Redirect::to(&link::entry(id, kept.seq)).into_response())
}

/// A stage reached, from the record's page.
pub(crate) fn stage_form(access: &Access, car: &Car) -> Markup {
    html! {
        form.stack-l method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data" {
            input type="hidden" name="kind" value="stage_reached";
            input type="hidden" name="entry" value=(EntryId::fresh());
            (crate::field::radios("The job has reached", "stage", job::details::Stage::ALL, Some(car.stage.key()), |s| (s.key(), s.words())))
            (who_picks(access, None))
            button { "Keep this stage" }
        }
    }
}

/// What became of the entry that was just kept, on top of the page it led to.
pub(crate) fn flash(app: &App, car: &Car, kept: Option<u64>) -> Markup {
    let entry = kept.and_then(|seq| car.entry(seq));
    html! {
        @if let Some(entry) = entry {
            div.flash.note role="status" {
                p { "Kept as " a.touch href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) } ": " (entry.what.say()) "." }
                @for doubt in job::validate::doubts(&entry.what, app.shop.catalogue()) { p { b { "Doubtful: " } (doubt) } }
                @if let Some(doubt) = before_the_answer(car, &entry.what) { p { b { "Doubtful: " } (doubt) } }
            }
        }
    }
}

/// What is doubtful about work on a zone that waits for the owner. It is kept all the same: it was done.
fn before_the_answer(car: &Car, what: &What) -> Option<String> {
    let What::MadeGood(made) = what else { return None };
    let thread = car.waits_for(&made.zone)?;
    let number = thread.number;
    Some(format!("this zone waits for the answer to question {number}, and the owner has not chosen an option yet."))
}

/// A view of the outline as a file.
pub(crate) async fn map_svg(
    State(app): State<App>,
    _access: Access,
    Path((id, file)): Path<(CarId, String)>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let view =
        file.strip_suffix(".svg").and_then(|name| body(&car.details)?.view(name)).ok_or(Fault::NotFound("view"))?;
    let svg = record::outline_svg(&car, view, |i| instance(&car.details, i).is_some());
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}
