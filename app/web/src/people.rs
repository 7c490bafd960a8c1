//! The people of the shop, and the copy of everything.

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};
use job::ids::PersonId;
use job::person::{Deed, Person, Role};
use job::shop::ShopError;
use job::validate::FieldError;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::fault::Fault;
use crate::field;
use crate::state::App;
use crate::{audit, layout, passphrase};

/// How many visits stand on the page.
const VISITS: u32 = 30;

/// Everybody, and the form to enter somebody.
pub(crate) async fn page(State(app): State<App>, access: Access) -> Result<Markup, Fault> {
    draw(&app, &access, None, &[]).await
}

async fn draw(app: &App, access: &Access, typed: Option<&Entered>, errors: &[FieldError]) -> Result<Markup, Fault> {
    let people = app.shop.people().await?;
    let lead = access.role.may(Deed::Manage);
    let visits = if lead { app.shop.visits(None, VISITS).await? } else { Vec::new() };
    let locked = people.iter().any(|p| p.active && p.passphrase.is_some());
    let says = match (people.len(), locked) {
        (0, _) => "Nobody is entered yet: begin with the lead.".to_string(),
        (_, false) => "No passphrase is set: whoever sits at this computer acts as the lead.".to_string(),
        (_, true) => "This shop asks every device for a passphrase.".to_string(),
    };
    Ok(layout::shop_page(
        access,
        "People",
        &says,
        html! {
            (field::problems(errors))
            @if !people.is_empty() {
                section {
                    h2 { "Who works here" }
                    div.stack {
                        @for person in &people { (person_form(person, lead, typed, errors)) }
                    }
                }
            }
            @if lead {
                section {
                    h2 { "Enter somebody" }
                    @let new = typed.filter(|t| t.id.is_empty());
                (enter_form(new, if new.is_some() { errors } else { &[] }))
                }
                section {
                    h2 { "A copy of everything" }
                    p { "One file with every car, photograph and person. It can be made while others work, and restored at the command line with " code { "guidecoat restore FILE" } "." }
                    p.row { a.btn href="/backup.zip" download { "Make a copy now" } }
                }
                @if !visits.is_empty() {
                    section {
                        h2 { "Who opened what leaves the shop" }
                        (audit::table(app, &visits, &people, &format!("Of all cars, the latest {}", visits.len())))
                    }
                }
            }
        },
    ))
}

fn person_form(person: &Person, lead: bool, typed: Option<&Entered>, errors: &[FieldError]) -> Markup {
    let state = match (person.active, person.passphrase.is_some()) {
        (false, _) => "has left",
        (true, true) => "signs in with a passphrase",
        (true, false) => "no passphrase",
    };
    let here = typed.filter(|t| t.id == person.id.to_string());
    html! {
        details.opt open[here.is_some()] {
            summary { (person.name) ", " (person.role.words()) span.soft { (state) } }
            @if lead {
                form.stack-l method="post" action="/people" {
                    input type="hidden" name="id" value=(person.id);
                    (fields(&person.id.to_string(), here.map_or(person.name.as_str(), |t| &t.name), here.map_or(person.role, |t| t.role), if here.is_some() { errors } else { &[] }))
                    label.pick {
                        input type="checkbox" name="left" value="1" checked[!person.active];
                        span { b { "Has left" } small { "the name stays on what they wrote; they are signed out" } }
                    }
                    @if person.passphrase.is_some() {
                        label.pick {
                            input type="checkbox" name="no_passphrase" value="1";
                            span { b { "Take the passphrase away" } small { "they can no longer sign in" } }
                        }
                    }
                    button { "Keep" }
                }
            }
        }
    }
}

fn enter_form(typed: Option<&Entered>, errors: &[FieldError]) -> Markup {
    html! {
        form.stack-l method="post" action="/people" {
            (fields("new", typed.map_or("", |t| &t.name), typed.map_or(Role::Bench, |t| t.role), errors))
            button.main { "Enter" }
        }
    }
}

fn fields(key: &str, name: &str, role: Role, errors: &[FieldError]) -> Markup {
    let id = |what: &str| format!("{what}-{key}");
    html! {
        (field::Text { id: &id("name"), name: "name", label: "Name", hint: "As it should stand beside what they write.", value: name, unit: "", errors }.draw())
        fieldset {
            legend { "What they do" }
            (field::complaint("role", errors))
            div.picks.side {
                @for r in Role::ALL {
                    label.pick { input type="radio" name="role" value=(r.key()) checked[*r == role]; span { (r.words()) } }
                }
            }
        }
        div.field {
            label for=(id("passphrase")) { "New passphrase, if they sign in" }
            p.hint { "At least " (passphrase::SHORTEST) " characters. Left empty, nothing changes." }
            (field::complaint("passphrase", errors))
            div.in { input id=(id("passphrase")) type="password" name="passphrase" autocomplete="new-password"; }
        }
    }
}

#[derive(Deserialize)]
pub(crate) struct Entered {
    #[serde(default)]
    id: String,
    name: String,
    role: Role,
    #[serde(default)]
    passphrase: String,
    #[serde(default)]
    left: String,
    #[serde(default)]
    no_passphrase: String,
}

/// Enters or changes a person.
pub(crate) async fn enter(
    State(app): State<App>,
    access: Access,
    Form(entered): Form<Entered>,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let people = app.shop.people().await?;
    let old = people.iter().find(|p| p.id.to_string() == entered.id);
    let mut kept = old.and_then(|p| p.passphrase.clone()).filter(|_| entered.no_passphrase.is_empty());
    if !entered.passphrase.is_empty() {
        let typed = entered.passphrase.clone();
        let hashed = tokio::task::spawn_blocking(move || passphrase::hash(&typed)).await;
        match hashed.map_err(|e| Fault::Internal(e.to_string()))? {
            Ok(hash) => kept = Some(hash),
            Err(e) => {
                let errors =
                    [FieldError::new("passphrase", e.to_string(), "Four words that do not belong together will do.")];
                return Ok(refused(&app, &access, &entered, &errors).await?.into_response());
            }
        }
    }
    let person = Person {
        id: old.map_or_else(PersonId::fresh, |p| p.id),
        name: entered.name.trim().to_string(),
        role: entered.role,
        passphrase: kept,
        active: entered.left.is_empty(),
    };
    match app.shop.put_person(&person).await {
        Ok(()) => Ok(Redirect::to("/people").into_response()),
        Err(ShopError::Invalid(errors)) => Ok(refused(&app, &access, &entered, &errors).await?.into_response()),
        Err(e) => Err(e.into()),
    }
}

async fn refused(app: &App, access: &Access, entered: &Entered, errors: &[FieldError]) -> Result<Response, Fault> {
    let page = draw(app, access, Some(entered), errors).await?;
    Ok((axum::http::StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
