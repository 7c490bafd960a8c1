//! A shelf learned again: from the panels kept with it, and the cards of this car that were sprayed with it since.

use axum::body::Bytes;
use axum::response::{IntoResponse, Redirect, Response};
use job::car::Car;
use job::colour::Watch;
use job::mixing::{KeptFile, Shelved};
use job::paintwork::Told;
use job::paintwork::again::{Names, sprayed, with_cards};
use job::panels::NAMES;
use job::shelf_file::ShelfFile;
use job::validate::FieldError;
use maud::{Markup, html};

use super::{find, read};
use crate::colour::learned;
use crate::colour::work::Task;
use crate::fault::Fault;
use crate::link;
use crate::state::App;
use crate::typed::Typed;

/// The files of panels kept with a shelf, in the order of [`NAMES`], if all were.
fn kept(shelved: &Shelved) -> Option<Vec<&KeptFile>> {
    NAMES.iter().map(|name| shelved.panels_files.iter().find(|kept| kept.name == *name)).collect()
}

/// The form; nothing where no card of this car was sprayed with these toners.
pub(super) fn form(app: &App, car: &Car, (entry, shelved): Told<'_, Shelved>, file: &ShelfFile) -> Markup {
    let cards = sprayed(car, &Names::of_shelf(&file.shelf), &app.zone).len();
    html! {
        @if cards > 0 {
            section.no-print {
                h2 { "Learn again" }
                @if kept(shelved).is_some() {
                    p { "Cards sprayed with these toners teach as panels do. Each counts as its recipe says, with the film that the gauge read or else the recipe's. The result is shown before anything is kept." }
                    form method="post" action=(link::colour(car.id, "toners")) enctype="multipart/form-data" {
                        input type="hidden" name="do" value="again";
                        input type="hidden" name="shelf" value=(entry.seq);
                        button { "Learn again, with the " (words(cards)) " of this car too" }
                    }
                } @else {
                    p { "The panels were not kept with this shelf, so the " (words(cards)) " of this car cannot be added to them. Learn from the panels here once, and they can." }
                }
            }
        }
    }
}

fn words(cards: usize) -> String {
    if cards == 1 { "1 card".into() } else { format!("{cards} cards") }
}

/// Begins to learn a shelf again, the cards of its car with it.
pub(super) async fn begin(app: &App, car: &Car, typed: &Typed) -> Result<Result<Response, Vec<FieldError>>, Fault> {
    let wrong = |say: &str, right: &str| Ok(Err(vec![FieldError::new("", say, right)]));
    let shelf = typed.get("shelf").parse().ok().and_then(|seq| find(car, seq));
    let Some((_, shelved)) = shelf else { return wrong("no shelf of this car was chosen", "Open its page again.") };
    let Some(kept) = kept(shelved) else {
        return wrong("the panels were not kept with this shelf", "Learn from the panels once.");
    };
    let mut files = Vec::new();
    for file in kept {
        let Some(bytes) = app.shop.blob(file.hash).await? else {
            return wrong(&format!("{} is not among the kept files", file.name), "Learn from the panels once.");
        };
        files.push((file.name.clone(), Bytes::from_owner(bytes)));
    }
    let (lab, doubts) = match read(files.clone()).await? {
        Ok(read) => read,
        Err(e) => return wrong(&e.to_string(), "Learn from panels that can be read."),
    };
    let panels = match with_cards(car, &lab.panels, &app.zone) {
        Ok(panels) => panels,
        Err(e) => return wrong(&e.to_string(), "Learn from fewer panels."),
    };
    let (all, before) = (panels.panels().len(), lab.panels.panels().len());
    let cards = all.saturating_sub(before);
    if cards == 0 {
        return wrong("no card of this car was sprayed with these toners", "Keep a card first.");
    }
    let name = format!("{before} panels of {} toners, and {}", panels.toners().len(), words(cards));
    let files = NAMES.into_iter().zip(files).map(|(name, (_, bytes))| (name, bytes)).collect();
    let work = move |watch: Watch<'_>| learned::learn(&panels, lab.pigments, files, cards, doubts, watch);
    Ok(match app.works.start(car.id, Task::Toners, name, work) {
        Ok(work) => Ok(Redirect::to(&link::work(car.id, work)).into_response()),
        Err(busy) => Err(vec![busy.error()]),
    })
}
