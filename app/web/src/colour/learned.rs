//! Toners that were just learned, or read from their file: looked at, then kept as an entry.

use std::sync::Arc;

use axum::body::Bytes;
use axum::response::Response;
use job::colour::{Panels, Watch, calibrate};
use job::ids::{CarId, EntryId};
use job::mixing::{KeptFile, kept_doubts};
use job::paintwork::engine;
use job::pigment::Pigments;
use job::shelf_file::{self, Learned as From, ShelfFile};
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::keeping;
use super::toners::{fit_words, shelf_view};
use super::work::{Outcome, Shown};
use crate::fault::Fault;
use crate::layout::who_picks;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// A shelf that is not kept yet.
pub(crate) struct Learned {
    file: Arc<ShelfFile>,
    /// The toner file, byte for byte as it will be kept.
    bytes: Bytes,
    /// The files of panels, by the names under which they are kept.
    panels: Vec<(&'static str, Bytes)>,
    /// How many of those it was learned from are cards of the car.
    cards: usize,
    doubts: Vec<String>,
    stopped: bool,
}

/// Learns toners from panels, the last `cards` of which are cards of the car; `pigments` are those of the toners,
/// `files` those of the other panels, kept with the shelf.
pub(crate) fn learn(
    panels: &Panels,
    pigments: Pigments,
    files: Vec<(&'static str, Bytes)>,
    cards: usize,
    mut doubts: Vec<String>,
    watch: Watch<'_>,
) -> Result<Outcome, String> {
    let learned = calibrate(panels, watch).map_err(|e| e.to_string())?;
    for doubt in kept_doubts(&learned.warnings) {
        if !doubts.contains(&doubt) {
            doubts.push(doubt);
        }
    }
    let from = From::of(panels, &learned, files.iter().map(|(name, _)| (*name).to_owned()).collect());
    let file = ShelfFile { shelf: learned.shelf, learned: Some(from), pigments };
    let bytes = Bytes::from(shelf_file::write(&file));
    let (file, stopped) = (Arc::new(file), learned.stopped);
    Ok(Outcome::Toners(Box::new(Learned { file, bytes, panels: files, cards, doubts, stopped })))
}

/// A toner file that was read: nothing is left to learn.
pub(crate) fn read(name: &str, bytes: Bytes) -> Result<Outcome, String> {
    let (file, doubts) = shelf_file::read(name, &bytes).map_err(|e| e.to_string())?;
    let doubts = kept_doubts(&doubts);
    let file = Arc::new(file);
    Ok(Outcome::Toners(Box::new(Learned { file, bytes, panels: Vec::new(), cards: 0, doubts, stopped: false })))
}

/// The shelf with the form that keeps it.
pub(crate) fn page(shown: &Shown<'_>, learned: &Learned) -> Markup {
    let says = format!("{} Not kept yet.", fit_words(&learned.file));
    let with_cards = match learned.cards {
        0 => String::new(),
        1 => "One of the panels is a card of this car.".into(),
        n => format!("{n} of the panels are cards of this car."),
    };
    let body = html! {
        (field::problems(shown.errors))
        @if learned.stopped { p.note { b { "Stopped early: " } "these are the best toners up to then. Learned to the end they may come nearer." } }
        @if !with_cards.is_empty() { p { (with_cards) } }
        (shelf_view(&learned.file, &learned.doubts))
        section #keep.no-print {
            h2 { "Keep these toners" }
            form.stack-l.no-print method="post" action={ (link::work(shown.car.id, shown.piece.id)) "/keep" } enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                p { "Recipes are found on the shelf that was kept last." }
                (field::Text { id: "name", name: "name", label: "Name of the shelf", hint: "", value: or(shown.typed.get("name"), "Toners of the shop"), unit: "", errors: shown.errors }.draw())
                (field::note("note", "Note", "Which tins, which clear coat, sprayed by whom.", or(shown.typed.get("note"), &with_cards), shown.errors))
                (field::complaint("who", shown.errors))
                (who_picks(shown.access, Some(shown.typed.get("who")).filter(|who| !who.is_empty())))
                button.main { "Keep these toners" }
            }
        }
    };
    shown.page("Toners, not kept yet", &says, body)
}

fn or<'a>(typed: &'a str, usual: &'a str) -> &'a str {
    if typed.is_empty() { usual } else { typed }
}

/// Keeps the shelf, its files before the entry that names them.
pub(crate) async fn keep(
    app: &App,
    car: CarId,
    typed: &Typed,
    learned: &Learned,
) -> Result<Result<Response, Vec<FieldError>>, Fault> {
    let hash = app.shop.keep_file(&learned.bytes).await?;
    let mut files = Vec::new();
    for (name, bytes) in &learned.panels {
        files.push(KeptFile { name: (*name).into(), hash: app.shop.keep_file(bytes).await? });
    }
    let mut shelved = match engine::shelved(typed.get("name"), hash, &learned.file, files, &[]) {
        Ok(shelved) => shelved,
        Err(e) => return Ok(Err(vec![FieldError::new("", e.to_string(), "")])),
    };
    shelved.doubts = learned.doubts.clone();
    shelved.note = typed.get("note").into();
    let kept = keeping::keep(app, car, typed, What::Shelved(shelved)).await?;
    Ok(kept.map(|kept| kept.go(&format!("{}?kept={}", link::colour(car, "toners"), kept.seq))))
}
