//! The frame of the owner's pages: the shop's stylesheet in larger type, no script but where panels turn, no way into
//! the shop.

use job::car::Car;
use maud::{DOCTYPE, Markup, html};

use crate::drawing;

/// What a page lies on and may do.
#[derive(Debug, Clone, Copy, Default)]
struct Kind {
    /// Neutral grey, for a page that shows a colour.
    grey: bool,
    /// With the program's script, which turns panels.
    script: bool,
}

/// A page about the owner's car.
pub(super) fn page(car: &Car, title: &str, says: &str, body: Markup) -> Markup {
    of_car(car, title, says, body, Kind::default())
}

/// The same on neutral grey, with colours on it.
pub(super) fn grey(car: &Car, title: &str, says: &str, body: Markup) -> Markup {
    of_car(car, title, says, body, Kind { grey: true, script: false })
}

/// A page with panels that turn. The only one with a script; see [`Turns`](super::colour::Turns).
pub(super) fn turning(car: &Car, title: &str, says: &str, body: Markup) -> Markup {
    of_car(car, title, says, body, Kind { grey: true, script: true })
}

fn of_car(car: &Car, title: &str, says: &str, body: Markup, kind: Kind) -> Markup {
    let name = &car.details.title;
    document(
        title,
        Some(name),
        kind,
        html! {
            h1 { (title) }
            p.says { (says) }
            @if car.details.invented { p.small { b { "An invented car" } ", made to show how this page works." } }
            (body)
        },
    )
}

/// A page that says why there is nothing here, without a word about any car.
pub(super) fn said(say: &str, more: &str) -> Markup {
    document(
        "Not shown",
        None,
        Kind::default(),
        html! {
            h1 { "Not shown" }
            div.note.stop.stack role="alert" { h2 { (say) } @if !more.is_empty() { p { (more) } } }
        },
    )
}

fn document(title: &str, car: Option<&str>, kind: Kind, content: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" class=[kind.grey.then_some("grey")] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="robots" content="noindex";
                title { (title) }
                link rel="icon" href="/ui/mark.svg";
                link rel="stylesheet" href="/ui/guidecoat.css";
                @if kind.script { script type="module" src="/ui/guidecoat.js" {} }
            }
            body.owner {
                a.skip href="#main" { "To the page" }
                (drawing::patterns())
                header.top { nav.crumb aria-label="Where you are" { span { (car.unwrap_or("Your car")) } } }
                div.sheet.solo { main #main { (content) } }
            }
        }
    }
}
