//! Signing a device in and out.

use std::net::SocketAddr;

use axum::extract::{ConnectInfo, Form, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::{SignedDuration, Timestamp};
use job::ids::Hash;
use job::person::{Person, Role};
use job::ports::Session;
use job::shop::ShopError;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::{self, SESSION, WHO};
use crate::fault::Fault;
use crate::state::App;
use crate::{layout, link, passphrase, token};

/// How long a device stays signed in.
const LASTS: SignedDuration = SignedDuration::from_hours(14 * 24);

#[derive(Deserialize)]
pub(crate) struct Next {
    #[serde(default)]
    next: String,
}

/// The form.
pub(crate) async fn page(State(app): State<App>, Query(query): Query<Next>) -> Result<Markup, Fault> {
    draw(&app, &query.next, None).await
}

async fn draw(app: &App, next: &str, wrong: Option<&str>) -> Result<Markup, Fault> {
    let people = signers(app).await?;
    Ok(layout::bare(
        "Sign in",
        html! {
            p.says { "This shop asks for a passphrase." }
            @if let Some(wrong) = wrong {
                div.note.stop role="alert" { h2 { (wrong) } }
            }
            form.stack-l method="post" action="/sign-in" {
                input type="hidden" name="next" value=(link::local(next));
                fieldset {
                    legend { "Who are you?" }
                    div.picks.side {
                        @for person in &people {
                            label.pick {
                                input type="radio" name="person" value=(person.id) required checked[people.len() == 1];
                                span { (person.name) small { (person.role.words()) } }
                            }
                        }
                    }
                }
                div.field {
                    label for="passphrase" { "Passphrase" }
                    div.in { input #passphrase type="password" name="passphrase" autocomplete="current-password" required; }
                }
                fieldset {
                    legend { "Who uses this device?" }
                    div.picks.side {
                        @for role in [Role::Lead, Role::Bench, Role::Painter] {
                            label.pick {
                                input type="radio" name="role" value=(role.key()) checked[role == Role::Bench];
                                span { (role.words()) small { (reach(role)) } }
                            }
                        }
                    }
                    p.hint { "A device can be given less than you may do yourself, never more." }
                }
                button.main.wide { "Sign in" }
            }
        },
    ))
}

fn reach(role: Role) -> &'static str {
    match role {
        Role::Lead => "everything",
        _ => "look and write entries",
    }
}

async fn signers(app: &App) -> Result<Vec<Person>, Fault> {
    let people = app.shop.people().await?;
    Ok(people.into_iter().filter(|p| p.active && p.passphrase.is_some() && p.role != Role::Owner).collect())
}

#[derive(Deserialize)]
pub(crate) struct Attempt {
    person: String,
    passphrase: String,
    role: Role,
    #[serde(default)]
    next: String,
}

/// Checks an attempt and signs the device in.
pub(crate) async fn sign_in(
    State(app): State<App>,
    ConnectInfo(from): ConnectInfo<SocketAddr>,
    headers: HeaderMap,
    Form(attempt): Form<Attempt>,
) -> Result<Response, Fault> {
    // A few at a time: hashing takes memory, and attempts sent all at once must not slip past the wait.
    let _permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let now = Timestamp::now();
    let wait_s = app.attempts.wait_s(from.ip(), now);
    if wait_s > 0 {
        let say = format!("Too many wrong attempts from this device: wait {wait_s} seconds, then try again.");
        let page = draw(&app, &attempt.next, Some(&say)).await?;
        return Ok((StatusCode::TOO_MANY_REQUESTS, [(header::RETRY_AFTER, wait_s.to_string())], page).into_response());
    }
    let person = signers(&app).await?.into_iter().find(|p| p.id.to_string() == attempt.person);
    let kept = person.as_ref().and_then(|p| p.passphrase.clone());
    // An unknown person costs the same work as a known one, so that the time tells nothing.
    let kept_or_none = kept.unwrap_or_else(|| {
        "$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA".into()
    });
    let typed = attempt.passphrase;
    let right = tokio::task::spawn_blocking(move || passphrase::verify(&typed, &kept_or_none))
        .await
        .map_err(|e| Fault::Internal(e.to_string()))?;
    let Some(person) = person.filter(|_| right) else {
        app.attempts.wrong(from.ip(), now);
        tracing::warn!(from = %from.ip(), "wrong passphrase");
        let page = draw(&app, &attempt.next, Some("That passphrase is not the one kept for this person.")).await?;
        return Ok((StatusCode::UNAUTHORIZED, page).into_response());
    };
    app.attempts.right(from.ip());
    let role = match (person.role, attempt.role) {
        (Role::Lead, asked) if asked != Role::Owner => asked,
        (own, _) => own,
    };
    let token = token::fresh();
    let session = Session {
        token: Hash::of(token.as_bytes()),
        person: person.id,
        role,
        expires: now.saturating_add(LASTS).map_err(|e| Fault::Internal(e.to_string()))?,
    };
    app.shop.store().put_session(&session, now).await.map_err(ShopError::from)?;
    tracing::info!(person = %person.id, role = role.key(), "signed in");
    let secure = access::secure(&app, &headers);
    let cookie = format!("{SESSION}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={}{secure}", LASTS.as_secs());
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(link::local(&attempt.next))).into_response())
}

/// Signs the device out.
pub(crate) async fn sign_out(State(app): State<App>, headers: HeaderMap) -> Result<Response, Fault> {
    if let Some(token) = access::cookie(&headers, SESSION) {
        app.shop.store().drop_session(Hash::of(token.as_bytes())).await.map_err(ShopError::from)?;
    }
    let gone = [SESSION, WHO]
        .map(|name| (header::SET_COOKIE, format!("{name}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0")));
    Ok((axum::response::AppendHeaders(gone), Redirect::to("/")).into_response())
}
