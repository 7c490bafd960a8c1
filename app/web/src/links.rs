//! Owner's links: made, shown once, taken back; and who opened what of this car.

use axum::extract::{Multipart, Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::Car;
use job::ids::{CarId, Hash, PersonId};
use job::person::{Deed, Person, Role};
use job::ports::OwnerLink;
use job::shop::{LINK_DAYS, NewLink, ShopError, USUAL_LINK_DAYS};
use job::validate::FieldError;
use maud::{Markup, html};

use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{audit, field, link, token};

/// How many visits stand on the page.
const VISITS: u32 = 100;

/// The links of a car.
pub(crate) async fn page(State(app): State<App>, access: Access, Path(id): Path<CarId>) -> Result<Markup, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::from_pairs([("days", USUAL_LINK_DAYS.to_string())]);
    draw(&app, &access, id, &Shown { typed: &typed, errors: &[], fresh: None }).await
}

/// What stands on the page besides the links.
struct Shown<'a> {
    typed: &'a Typed,
    errors: &'a [FieldError],
    /// The address of the link that was just made.
    fresh: Option<&'a str>,
}

async fn draw(app: &App, access: &Access, id: CarId, shown: &Shown<'_>) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let links = app.shop.links(id).await?;
    let visits = app.shop.visits(Some(id), VISITS).await?;
    let people = app.shop.people().await?;
    let now = Timestamp::now();
    let open = links.iter().filter(|l| is_open(l, now)).count();
    let says = match open {
        0 => "Nobody outside the shop can see this car.".to_string(),
        1 => "One link leads to the owner's page of this car.".to_string(),
        n => format!("{n} links lead to the owner's page of this car."),
    };
    let page = CarPage {
        app,
        access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Questions,
        title: "Owner's links",
        says: &says,
        legend: false,
        deed: Bar::Go(format!("{}/questions", link::shell(id)), "Questions"),
    };
    Ok(page.draw(html! {
        (field::problems(shown.errors))
        @if let Some(address) = shown.fresh { (once(address)) }
        (reach(app, &car))
        (make(access, &car, &people, shown))
        section {
            h2 { "Links so far" }
            @if links.is_empty() {
                div.wait { p { "None has been made for this car." } }
            } @else {
                table {
                    thead { tr { th scope="col" { "For" } th scope="col" { "Made" } th scope="col" { "State" } } }
                    tbody { @for made in &links { (row(app, &car, made, &people, now)) } }
                }
            }
        }
        section {
            h2 { "Who opened what" }
            @if visits.is_empty() {
                div.wait { p { "Nothing of this car has been opened that leaves the shop." } }
            } @else {
                (audit::table(app, &visits, &people, &format!("The latest {}, the newest first", visits.len())))
            }
        }
    }))
}

fn is_open(link: &OwnerLink, now: Timestamp) -> bool {
    link.revoked.is_none() && link.expires > now
}

fn once(address: &str) -> Markup {
    html! {
        div.note.stop.stack role="status" {
            h2 { "Copy this address now: it is shown only here, and only once" }
            div.field {
                label for="address" { "The owner's link" }
                input #address value=(address) readonly;
            }
            p { a.btn href=(address) target="_blank" rel="noreferrer" { "Open it as the owner will" } }
            p { "Whoever has it sees this car and can answer. Send it to the owner alone. If it goes astray, take it back below and make another." }
        }
    }
}

/// Where a link works, said plainly.
fn reach(app: &App, car: &Car) -> Markup {
    html! {
        @match &app.public_url {
            Some(url) => p.small.soft { "Links begin with " (url) ", where owners reach this computer." },
            None => div.note {
                p { b { "A link made here works only where this computer can be reached" } ", such as on the shop's own network. The program was started without an address for the outside (" code { "--public-url" } ")." }
                p { "For an owner elsewhere, send the question as a file: it opens on any phone without a connection. It is on " a href={ (link::shell(car.id)) "/questions" } { "the page of each question" } "." }
            },
        }
    }
}

fn make(access: &Access, car: &Car, people: &[Person], shown: &Shown<'_>) -> Markup {
    let Shown { typed, errors, .. } = shown;
    let owners: Vec<&Person> = people.iter().filter(|p| p.active && p.role == Role::Owner).collect();
    html! {
        section {
            h2 { "Make a link" }
            @if owners.is_empty() {
                div.wait.stack {
                    p { "Nobody is entered as an owner. An owner is a person like any other, with the role " b { "Owner" } "." }
                    p.row { a.btn.main href="/people" { "Enter the owner" } }
                }
            } @else {
                form.stack-l method="post" action={ (link::shell(car.id)) "/links" } enctype="multipart/form-data" {
                    fieldset {
                        legend { "For whom?" }
                        (field::complaint("owner", errors))
                        div.picks.side {
                            @for owner in &owners {
                                label.pick {
                                    input type="radio" name="owner" value=(owner.id) required checked[owners.len() == 1 || typed.is("owner", &owner.id.to_string())];
                                    span { (owner.name) }
                                }
                            }
                        }
                    }
                    (field::Text { id: "days", name: "days", label: "It lasts", hint: &format!("From {} to {} days. It can be taken back any day.", LINK_DAYS.start(), LINK_DAYS.end()), value: typed.get("days"), unit: "days", errors }.draw())
                    (field::complaint("who", errors))
                    (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                    button.main { "Make a link" }
                }
            }
        }
    }
}

fn row(app: &App, car: &Car, made: &OwnerLink, people: &[Person], now: Timestamp) -> Markup {
    let name = |id: PersonId| people.iter().find(|p| p.id == id).map_or("somebody no longer known", |p| &p.name);
    html! {
        tr {
            th scope="row" { (name(made.person)) }
            td { (when(app, made.made)) br; span.soft.small { "by " (name(made.made_by)) } }
            td {
                @match made.revoked {
                    Some(at) => { "taken back " (when(app, at)) },
                    None if made.expires <= now => { "ended " (when(app, made.expires)) },
                    None => {
                        "open until " (when(app, made.expires))
                        form method="post" action={ (link::shell(car.id)) "/links/revoke" } enctype="multipart/form-data" {
                            input type="hidden" name="link" value=(made.token);
                            button { "Take it back" }
                        }
                    },
                }
            }
        }
    }
}

/// Makes a link and shows it, once.
pub(crate) async fn create(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let token = token::fresh();
    let made = match new_link(&typed, &token) {
        Ok(new) => app.shop.make_link(id, new, Timestamp::now()).await,
        Err(errors) => Err(ShopError::Invalid(errors)),
    };
    let no_store = [(header::CACHE_CONTROL, "no-store")];
    match made {
        Ok(_) => {
            let address = format!("{}/o/{token}", base(&app, &headers));
            let page = draw(&app, &access, id, &Shown { typed: &typed, errors: &[], fresh: Some(&address) }).await?;
            Ok((no_store, page).into_response())
        }
        Err(ShopError::Invalid(errors)) => {
            let page = draw(&app, &access, id, &Shown { typed: &typed, errors: &errors, fresh: None }).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Err(ShopError::NoSuchPerson(_)) => {
            let errors = [FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.")];
            let page = draw(&app, &access, id, &Shown { typed: &typed, errors: &errors, fresh: None }).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Err(e) => Err(e.into()),
    }
}

fn new_link(typed: &Typed, token: &str) -> Result<NewLink, Vec<FieldError>> {
    let mut errors = Vec::new();
    let owner = typed.get("owner").parse::<PersonId>();
    if owner.is_err() {
        errors.push(FieldError::new("owner", "nobody was picked", "Pick the owner of this car."));
    }
    let by = typed.get("who").parse::<PersonId>();
    if by.is_err() {
        errors.push(FieldError::new("who", "nobody was picked", "Pick who is writing."));
    }
    let days = typed.number("days", "number of days").and_then(|days| {
        let whole = days.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&days);
        let right = "Type whole days, such as 60.";
        let wrong =
            || FieldError::new("days", format!("\"{}\" was typed for the number of days", typed.get("days")), right);
        if whole { Ok(days as u32) } else { Err(wrong()) }
    });
    let days = days.map_err(|e| errors.push(e));
    match (owner, by, days) {
        (Ok(owner), Ok(by), Ok(days)) => Ok(NewLink { token: Hash::of(token.as_bytes()), owner, by, days }),
        _ => Err(errors),
    }
}

/// Where this program is reached: from outside if it is, else as it was asked just now.
fn base(app: &App, headers: &HeaderMap) -> String {
    match &app.public_url {
        Some(url) => url.to_string(),
        None => {
            let host = headers.get(header::HOST).and_then(|v| v.to_str().ok()).unwrap_or("127.0.0.1");
            format!("http://{host}")
        }
    }
}

/// Takes a link back.
pub(crate) async fn revoke(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let token = typed.get("link").parse().map_err(|_| Fault::Bad("No link was named: open the page again.".into()))?;
    app.shop.revoke_link(id, token, Timestamp::now()).await?;
    Ok(Redirect::to(&format!("{}/links", link::shell(id))).into_response())
}
