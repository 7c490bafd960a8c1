//! Card measurements come in from a file, and what was typed beside them can be corrected.

use axum::extract::{Multipart, Path, State};
use axum::response::Response;
use job::car::Car;
use job::ids::{CarId, EntryId, PersonId};
use job::mixing::{Carded, kept_doubts};
use job::paint::{self, Found};
use job::paintwork;
use job::person::Deed;
use job::shop::Draft;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::{recipe_asked, refused};
use crate::access::Access;
use crate::colour::formula::{self, Formula};
use crate::colour::keeping::keep_draft;
use crate::fault::Fault;
use crate::layout::who_picks;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The most cards taken from one file.
const MOST: usize = 20;

/// The fields of the form, as their complaints are named.
pub(super) const FIELDS: [&str; 14] = [
    "entry",
    "corrects",
    "recipe",
    "file",
    "batch",
    "name",
    "only",
    "coats",
    "film_um",
    "gun",
    "master",
    "instrument",
    "note",
    "who",
];

/// Takes cards in from a file, or corrects one.
pub(crate) async fn import(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let drafts = match drafts(&app, &car, &typed).await? {
        Ok(drafts) => drafts,
        Err(errors) => return refused(&app, &access, &car, &typed, &errors).await,
    };
    let mut last = None;
    for draft in &drafts {
        match keep_draft(&app, id, draft).await? {
            Ok(kept) => last = Some(kept),
            Err(errors) => return refused(&app, &access, &car, &typed, &errors).await,
        }
    }
    let Some(last) = last else { return Err(Fault::Internal("a file of cards without a card".into())) };
    let back = match (typed.get("then"), recipe_asked(&car, &typed)?) {
        ("batches", _) => format!("{}?kept={}#drift", link::colour(id, "batches"), last.seq),
        (_, Some(recipe)) => format!("{}?recipe={recipe}&kept={}", link::colour(id, "cards"), last.seq),
        (_, None) => format!("{}?kept={}", link::colour(id, "cards"), last.seq),
    };
    Ok(last.go(&back))
}

/// Who writes, and the name that the entry was given when its form was drawn.
pub(crate) fn signed(typed: &Typed) -> Result<(PersonId, EntryId), FieldError> {
    let by =
        typed.get("who").parse().map_err(|_| FieldError::new("who", "nobody was picked", "Pick who is writing."))?;
    let entry = typed
        .get("entry")
        .parse()
        .map_err(|_| FieldError::new("entry", "the form came without its mark", "Open the page again."))?;
    Ok((by, entry))
}

async fn drafts(app: &App, car: &Car, typed: &Typed) -> Result<Result<Vec<Draft>, Vec<FieldError>>, Fault> {
    let old = match typed.get("corrects") {
        "" => None,
        seq => Some(card_at(car, seq)?),
    };
    let mut errors = Vec::new();
    let signed = signed(typed).map_err(|e| errors.push(e)).ok();
    let beside = beside(car, typed)?.map_err(|e| errors.extend(e)).ok();
    let files = match (&typed.file, old) {
        (Some((file, bytes)), _) => read(file, bytes, typed).map_err(|e| errors.push(e)).ok(),
        (None, Some(_)) => Some((Vec::new(), Vec::new())),
        (None, None) => {
            errors.push(FieldError::new("file", "no file came with it", "Choose the CSV file."));
            None
        }
    };
    let (Some((by, entry)), Some(beside), Some((found, doubts))) = (signed, beside, files) else {
        return Ok(Err(errors));
    };
    if old.is_some() && found.len() > 1 {
        let say = format!("the file holds {} cards, and one is corrected", found.len());
        return Ok(Err(vec![FieldError::new("only", say, "Name the one.")]));
    }
    let mut cards = Vec::new();
    if let Some((file, bytes)) = &typed.file {
        let source = app.shop.keep_file(bytes).await?;
        let several = found.len() > 1;
        for one in found {
            let name = match (typed.get("name"), one.name.as_str(), several) {
                ("", "", _) => file.clone(),
                ("", name, _) => name.to_owned(),
                (name, _, false) => name.to_owned(),
                (name, own, true) => format!("{name}, {own}"),
            };
            cards.push(Carded {
                name,
                file: file.clone(),
                source,
                spectra: one.spectra,
                doubts: doubts.clone(),
                ..beside.clone()
            });
        }
    } else if let Some((_, old)) = old {
        cards.push(Carded {
            name: typed.get("name").to_owned(),
            file: old.file.clone(),
            source: old.source,
            spectra: old.spectra.clone(),
            doubts: old.doubts.clone(),
            ..beside
        });
    }
    let corrects = old.map(|(id, _)| id);
    let draft = |(n, card): (usize, Carded)| {
        // Each of several gets a name of its own that a second sending makes again.
        let own = EntryId(uuid::Uuid::from_u128(entry.0.as_u128().wrapping_add(n as u128)));
        Draft { entry: own, base: None, by, noted: None, corrects, keep_both: false, what: What::Carded(card) }
    };
    Ok(Ok(cards.into_iter().enumerate().map(draft).collect()))
}

/// The card at a place of the record, with the name of its entry.
fn card_at<'a>(car: &'a Car, seq: &str) -> Result<(EntryId, &'a Carded), Fault> {
    let entry = seq.parse().ok().and_then(|seq| car.entry(seq));
    match entry.map(|entry| (entry.id, &entry.what)) {
        Some((id, What::Carded(card))) => Ok((id, card)),
        _ => Err(Fault::NotFound("card")),
    }
}

/// The cards that were asked for in a file, with what was doubtful about it.
fn read(file: &str, bytes: &[u8], typed: &Typed) -> Result<(Vec<Found>, Vec<String>), FieldError> {
    let (found, doubts) =
        paint::read(file, bytes).map_err(|e| FieldError::new("file", e.to_string(), "Nothing was kept."))?;
    let count = found.len();
    let names = found.iter().map(|one| one.name.as_str()).take(8).collect::<Vec<_>>().join(", ");
    let only = typed.get("only");
    let wanted: Vec<Found> = found.into_iter().filter(|one| only.is_empty() || one.name == only).collect();
    if wanted.is_empty() || wanted.len() > MOST {
        let say = format!("the file holds {count} cards ({names} ...), and {} of them were asked for", wanted.len());
        return Err(FieldError::new("only", say, format!("Name one, or send at most {MOST}.")));
    }
    Ok((wanted, kept_doubts(&doubts)))
}

/// What was typed beside the measurement.
fn beside(car: &Car, typed: &Typed) -> Result<Result<Carded, Vec<FieldError>>, Fault> {
    let recipe = recipe_asked(car, typed)?.and_then(|seq| formula::standing(car, seq)).map(|(entry, _)| entry.id);
    let batch = match typed.get("batch") {
        "" => None,
        seq => match seq.parse().ok().and_then(|seq| car.entry(seq)) {
            Some(entry) if matches!(entry.what, What::Mixed(_)) => Some(entry.id),
            _ => return Err(Fault::NotFound("batch")),
        },
    };
    let mut errors = Vec::new();
    if recipe.is_none() {
        errors.push(FieldError::new("recipe", "no recipe was chosen", "Choose the recipe the card was sprayed from."));
    }
    let coats = typed.number("coats", "coats").and_then(|coats| {
        let whole = coats.fract() == 0.0 && (1.0..=40.0).contains(&coats);
        let wrong = || FieldError::new("coats", format!("{coats} coats were typed"), "A whole number, 1 to 40.");
        if whole { Ok(coats as u32) } else { Err(wrong()) }
    });
    let film = typed.number_if_any("film_um", "film");
    let master = Some(typed.get("master")).filter(|place| !place.is_empty());
    let (Some(recipe), Ok(coats), Ok(film_um)) = (recipe, &coats, &film) else {
        errors.extend([coats.err(), film.err()].into_iter().flatten());
        return Ok(Err(errors));
    };
    Ok(Ok(Carded {
        name: String::new(),
        recipe,
        batch,
        instrument: typed.get("instrument").into(),
        file: String::new(),
        source: job::ids::Hash::NONE,
        spectra: Vec::new(),
        coats: *coats,
        film_um: *film_um,
        gun: typed.get("gun").into(),
        master: master.map(str::to_owned),
        doubts: Vec::new(),
        note: typed.get("note").into(),
    }))
}

/// Fills the form with the card that is to be corrected.
pub(super) fn refill(car: &Car, typed: &mut Typed) -> Result<(), Fault> {
    let (_, card) = card_at(car, typed.get("corrects"))?;
    let place = |id: EntryId| car.standing(id).map_or_else(String::new, |entry| entry.seq.to_string());
    let fields = [
        ("recipe", place(card.recipe)),
        ("batch", card.batch.map_or_else(String::new, place)),
        ("name", card.name.clone()),
        ("coats", card.coats.to_string()),
        ("film_um", card.film_um.map_or_else(String::new, |film| film.to_string())),
        ("gun", card.gun.clone()),
        ("master", card.master().unwrap_or_default().to_owned()),
        ("instrument", card.instrument.clone()),
        ("note", card.note.clone()),
    ];
    for (name, value) in fields {
        typed.set(name, value);
    }
    Ok(())
}

/// The form by which cards come in.
pub(super) fn form(access: &Access, car: &Car, formula: &Formula<'_>, typed: &Typed, errors: &[FieldError]) -> Markup {
    let corrects = typed.get("corrects");
    // A page that only shows a correction of the recipe shares fields with this form.
    let text = |name: &'static str, label: &str, hint: &str, unit: &str, usual: &str| {
        let value = if typed.get(name).is_empty() { usual } else { typed.get(name) };
        field::Text { id: &format!("card-{name}"), name, label, hint, value, unit, errors }.draw()
    };
    let batches = paintwork::batches_of(car, formula.entry.id);
    let numbered = paintwork::batches(car);
    let number = |seq: u64| numbered.iter().find(|b| b.entry.seq == seq).map(|b| b.number);
    let entry = Some(typed.get("entry")).filter(|e| !e.is_empty());
    html! {
        section #import.no-print {
            h2 { @if corrects.is_empty() { "Import a card" } @else { "Correct this card" } }
            form #card-form.stack-l method="post" action=(link::colour(car.id, "cards")) enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(entry.map_or_else(|| EntryId::fresh().to_string(), str::to_owned));
                input type="hidden" name="recipe" value=(formula.entry.seq);
                input type="hidden" name="then" value=(typed.get("then"));
                @if !corrects.is_empty() { input type="hidden" name="corrects" value=(corrects); }
                @for unseen in ["entry", "corrects", "recipe"] { (field::complaint(unseen, errors)) }
                div.field.err[field::is_wrong("file", errors)] #f-file {
                    label for="file" { "CSV file" }
                    p.hint {
                        @if !corrects.is_empty() { "Left empty, the measurement stays as it is. " }
                        "As for a target: columns geometry, 400, 410 to 700; one row an angle. With a column name, one file may hold several cards."
                    }
                    (field::complaint("file", errors))
                    input #file type="file" name="file" accept=".csv,text/csv,text/plain" required[corrects.is_empty()];
                }
                div.field.err[field::is_wrong("batch", errors)] {
                    label for="card-batch" { "Sprayed from" }
                    (field::complaint("batch", errors))
                    select #card-batch name="batch" {
                        option value="" { "a small mix of its own" }
                        @for (entry, _) in &batches {
                            option value=(entry.seq) selected[typed.get("batch") == entry.seq.to_string()] {
                                @match number(entry.seq) { Some(n) => { "batch " (n) } None => { "an addition" } } ", entry " (entry.seq)
                            }
                        }
                    }
                }
                (text("name", "What stands on its back", "Left empty, the name in the file is taken.", "", ""))
                (text("only", "Only this one of the file", "Its name there. Left empty, all are taken, at most 20.", "", ""))
                div.two {
                    (text("coats", "Coats of colour", "", "coats", &formula.recipe.coats.to_string()))
                    (text("film_um", "Film of colour by the gauge", "Left empty if it was not read.", "\u{b5}m", ""))
                }
                (text("gun", "Gun", "Tip, pressure, distance, thinner: what the car will get.", "", ""))
                (text("master", "If it is a sealed master card: where it is kept", "Dark and dry, such as drawer 3, envelope 12. Left empty for any other card.", "", ""))
                (text("instrument", "Instrument", "", "", ""))
                (field::note_with_id("card-note", "note", "Note", "", typed.get("note"), errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                button.main { @if corrects.is_empty() { "Import" } @else { "Keep the correction" } }
            }
        }
    }
}
