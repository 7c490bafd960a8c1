//! Who opened what leaves the shop: the owner's page, the dossier, a copy.

use jiff::Timestamp;
use job::ids::{CarId, Hash, PersonId};
use job::person::Person;
use job::ports::{OwnerLink, Visit};
use maud::{Markup, html};

use crate::access::Access;
use crate::layout::when;
use crate::state::App;

/// Who opened it.
#[derive(Debug, Clone, Copy)]
pub(crate) enum By<'a> {
    /// A device of the shop.
    Shop(&'a Access),
    /// Somebody with an owner's link.
    Link(&'a OwnerLink),
}

/// Notes that something was opened. The page still comes when this cannot be noted; the log then says so.
pub(crate) async fn opened(app: &App, car: Option<CarId>, by: By<'_>, what: &str) {
    let (person, link): (Option<PersonId>, Option<Hash>) = match by {
        By::Shop(access) => (access.session.as_ref().map(|s| s.person).or(access.who), None),
        By::Link(link) => (Some(link.person), Some(link.token)),
    };
    let visit = Visit { at: Timestamp::now(), car, person, link, what: what.into() };
    if let Err(e) = app.shop.note_visit(&visit).await {
        tracing::error!(%e, what, "who opened this could not be noted");
    }
}

/// Visits as a table, the newest first.
pub(crate) fn table(app: &App, visits: &[Visit], people: &[Person], caption: &str) -> Markup {
    let name = |id: Option<PersonId>| {
        let known = id.and_then(|id| people.iter().find(|p| p.id == id));
        known.map_or("a device on which nobody was picked".to_string(), |p| p.name.clone())
    };
    html! {
        table {
            caption { (caption) }
            thead { tr { th scope="col" { "When" } th scope="col" { "What" } th scope="col" { "Who" } } }
            tbody {
                @for visit in visits {
                    tr {
                        td { (when(app, visit.at)) }
                        td { (visit.what) }
                        td { (name(visit.person)) @if visit.link.is_some() { ", through a link" } }
                    }
                }
            }
        }
    }
}
