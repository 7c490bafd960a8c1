//! The brief: this paint, but without that. Said in plain words or angle by angle, shown beside the donor before it
//! is kept, and kept with why.

pub(crate) mod ask;
mod form;
mod kept;
pub(crate) mod pick;
mod shown;

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use job::car::Car;
use job::ids::CarId;
use job::paintwork::Told;
use job::paintwork::briefs::{self, Telling};
use job::person::Deed;
use job::validate::FieldError;
use job::what::{Measured, What};
use maud::{Markup, html};

use super::panel::drawn::fields;
use super::{Part, check_screen, curve, keeping, parts};
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

pub(crate) use kept::page as one;

/// What the brief in an address or a form wishes for.
///
/// # Errors
/// In words, when it wishes for what cannot be.
pub(crate) fn tell(car: &Car, typed: &Typed) -> Result<Telling, Fault> {
    let (donor, _) = ask::donor(car, typed)?.ok_or(Fault::NotFound("measured paint"))?;
    let briefing = ask::briefing(car, donor.id, typed).map_err(|errors| ask::refused(&errors))?;
    briefs::tell(car, &briefing).map_err(|e| ask::refused(&[ask::wrong(&e)]))
}

/// The page: what the address asks for, beside the donor.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let typed = fields(&pairs);
    let near = match ask::donor(&car, &typed)? {
        Some(donor) if typed.is("near", "1") && access.role.may(Deed::Write) => match drafted(&car, &donor, &typed) {
            Ok(telling) => {
                curve::beside(&app, &car, curve::From::Form(&donor, &telling), typed.is("only_then", "1")).await?
            }
            Err(_) => html! {},
        },
        _ => html! {},
    };
    draw_with(&app, &access, &car, &typed, &[], near)
}

/// The page of a form. What is wrong is said on it, and its status says so too.
pub(crate) fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    errors: &[FieldError],
) -> Result<Response, Fault> {
    draw_with(app, access, car, typed, errors, html! {})
}

/// The same, with how near the toners come.
fn draw_with(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    errors: &[FieldError],
    near: Markup,
) -> Result<Response, Fault> {
    let may = access.role.may(Deed::Write);
    let page = |says: &'static str, deed: Bar| CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Brief",
        says,
        legend: false,
        deed,
    };
    let Some(donor) = ask::donor(car, typed)? else {
        let deed = Bar::Go(format!("{}/colour#import", link::shell(car.id)), "Import");
        let body = html! {
            (parts(car.id, Part::Brief))
            (field::problems(&field::at_their_place(errors, &[])))
            div.wait.stack {
                p { "A brief starts from a paint that somebody likes, measured, and none was for this car yet. A picture does for a first idea." }
                p { a.btn.main href={ (link::shell(car.id)) "/colour#import" } { "Import a measurement" } }
            }
        };
        let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
        return Ok((status, page("No paint has been measured for this car.", deed).draw(body)).into_response());
    };
    let told = ask::briefing(car, donor.0.id, typed).and_then(|briefing| {
        briefs::tell(car, &briefing).map_err(|e| vec![ask::wrong(&e)]).map(|told| (briefing, told))
    });
    let mut errors = errors.to_vec();
    if let Err(more) = &told {
        errors.extend(
            more.iter()
                .filter(|error| !errors.iter().any(|known| known.field == error.field))
                .cloned()
                .collect::<Vec<_>>(),
        );
    }
    let told = told.ok();
    let body = html! {
        (parts(car.id, Part::Brief))
        div data-brief-shown {
            (field::problems(&field::at_their_place(&errors, &form::FIELDS)))
            @match &told {
                Some((briefing, telling)) => (shown::told(car, &donor, briefing, telling)),
                None => (shown::donor_alone(car, &donor)),
            }
            (near)
        }
        (form::form(access, car, &donor, told.as_ref().map(|(_, telling)| telling), typed, &errors))
        (kept::list(app, car, may))
        (check_screen())
    };
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let deed = if may { Bar::Go("#keep".into(), "Keep") } else { Bar::Send("brief", "Show it") };
    Ok((status, page("", deed).draw(body)).into_response())
}

/// Keeps a brief.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let Some(donor) = ask::donor(&car, &typed)? else {
        let error = FieldError::new("donor", "there is no measured paint to start from", "Import one first.");
        return draw(&app, &access, &car, &typed, &[error]);
    };
    match drafted(&car, &donor, &typed) {
        Ok(telling) => match keeping::keep(&app, id, &typed, What::Briefed(telling.briefed)).await? {
            Ok(kept) => Ok(kept.go(&format!("{}?kept={}", link::brief(id, kept.seq), kept.seq))),
            Err(errors) => draw(&app, &access, &car, &typed, &errors),
        },
        Err(errors) => draw(&app, &access, &car, &typed, &errors),
    }
}

fn drafted(car: &Car, donor: &Told<'_, Measured>, typed: &Typed) -> Result<Telling, Vec<FieldError>> {
    let mut briefing = ask::briefing(car, donor.0.id, typed)?;
    if briefing.name.is_empty() {
        briefing.name = usual_name(&donor.1.name);
    }
    briefs::tell(car, &briefing).map_err(|e| vec![ask::wrong(&e)])
}

/// What a brief is called when nobody gives it a name.
fn usual_name(donor: &str) -> String {
    let short: String = donor.chars().take(150).collect();
    format!("{short}, as it is meant")
}

/// Begins the work that finds how near the toners come, from a kept brief or from the form as it stands.
pub(crate) async fn near(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    if !typed.get("brief").is_empty() {
        let seq = typed.get("brief").parse().unwrap_or_default();
        let told = kept::find(&car, seq)?;
        return match curve::begin(&app, &car, curve::From::Kept(told), typed.is("only_then", "1")).await? {
            Ok(to) => Ok(Redirect::to(&to).into_response()),
            Err(errors) => {
                let page = kept::draw(&app, &access, &car, told, None, &errors);
                Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
            }
        };
    }
    let named = !typed.get("donor").is_empty();
    let Some(donor) = ask::donor(&car, &typed)?.filter(|_| named) else {
        let error = FieldError::new("donor", "no paint to start from was named", "Choose one, then ask again.");
        return draw(&app, &access, &car, &typed, &[error]);
    };
    let begun = match drafted(&car, &donor, &typed) {
        Ok(telling) => {
            curve::begin(&app, &car, curve::From::Form(&donor, &telling), typed.is("only_then", "1")).await?
        }
        Err(errors) => Err(errors),
    };
    match begun {
        Ok(to) => Ok(Redirect::to(&to).into_response()),
        Err(errors) => draw(&app, &access, &car, &typed, &errors),
    }
}

/// The choice of leaving out what was not there yet, or no longer, in the car's year.
pub(crate) fn only_then(car: &Car, typed: &Typed) -> Markup {
    html! {
        label.pick {
            input type="checkbox" name="only_then" value="1" checked[typed.is("only_then", "1")];
            span { b { "Only what there was in " (car.details.year) } small { "leaves out toners that the catalogue dates later, or gone by then" } }
        }
    }
}
