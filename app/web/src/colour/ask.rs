//! The question about the colour: kept recipes to choose from, the day, what waits, and what the colour is for. What
//! is drafted here stands among the Questions, where every word can be changed before it is sent.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use jiff::civil::Date;
use job::ask::colour::{Asking, Candidate, NotDrafted, draft, usual_waits};
use job::car::{Car, Entry};
use job::colour::Illuminant;
use job::era::{self, Era};
use job::ids::{CarId, EntryId};
use job::mixing::Formulated;
use job::paintwork::decided::{car_colour, colour_waits};
use job::paintwork::{self, Told, engine};
use job::person::Deed;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::swatches::{self, CAUTION, one_place};
use super::{Part, decided, keeping, parts};
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, who_picks};
use crate::questions::form::photographs;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// How many days an owner usually gets to choose a colour: a card has to be looked at on more than one day. Common
/// practice, no source.
const USUAL_DAYS: i32 = 14;
/// The most recipes that are offered, the latest first.
const OFFERED: usize = 24;
/// The size of the picture of a recipe, px.
const SIZE: [usize; 2] = [480, 270];

/// The form.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let mut typed = Typed::default();
    let asked = pairs.iter().take(100).filter(|(name, _)| name == "recipe");
    let ticked = asked.filter_map(|(_, seq)| {
        let entry = car.entry(seq.parse().ok()?)?;
        Some(paintwork::recipe_of(&car, entry.id)?.0.id.to_string())
    });
    typed.set_all("recipe", ticked.collect());
    for (entry, _) in offered(&car) {
        // The card that was measured last is the one that lies on the table.
        let last = paintwork::cards_of(&car, entry.id).into_iter().next_back();
        typed.set(&card_field(entry), last.map(|(card, _)| card.id.to_string()).unwrap_or_default());
    }
    let by = decided::today(&app).checked_add(USUAL_DAYS.days()).map_err(|e| Fault::Internal(e.to_string()))?;
    typed.set("by", by.to_string());
    typed.set("waits", usual_waits().join("\n"));
    let serves = car_colour(&car).map(|colour| colour.serves).unwrap_or_else(|| decided::told(&car));
    typed.set("serves", decided::serves_text(&car, &serves));
    Ok(form(&app, &access, &car, &typed, &[]))
}

/// The recipes that count, the latest first.
fn offered(car: &Car) -> Vec<Told<'_, Formulated>> {
    paintwork::recipes(car).into_iter().rev().take(OFFERED).collect()
}

fn card_field(recipe: &Entry) -> String {
    format!("card-{}", recipe.seq)
}

fn form(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    let recipes = offered(car);
    let ready = recipes.len() > 1;
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Ask about the colour",
        says: if ready {
            "Which recipes shall the owner choose from, and by when?"
        } else {
            "A question about the colour needs two recipes or more."
        },
        legend: false,
        deed: if ready { Bar::Send("ask-form", "Draft") } else { Bar::Go(link::colour(car.id, "recipes"), "Recipes") },
    };
    page.draw(html! {
        (parts(car.id, Part::Recipes))
        // Without the form there is no field to lead to.
        @if ready { (field::problems(errors)) } @else { (field::problems(&field::at_their_place(errors, &[]))) }
        (decided::waits(app, car))
        @if colour_waits(car).is_some() { p.note { "A question about the colour stands already. A second one goes beside it; to change the one there is, change it on its own page." } }
        @if !ready {
            div.wait.stack {
                p { @if recipes.is_empty() { "No recipe has been kept for this car yet." } @else { "Only one recipe has been kept: one thing to choose is no question." } }
                p { a.btn.main href=(link::colour(car.id, "recipes")) { "Find recipes" } }
            }
        } @else {
            form.stack-l #ask-form method="post" action=(link::colour(car.id, "ask")) enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                (field::complaint("entry", errors))
                fieldset {
                    legend { "Two to four recipes" }
                    p.hint { "They are offered in the order in which they stand here, the first as A." }
                    @for name in ["recipe", "card"] { (field::complaint(name, errors)) }
                    div.picks.recipes { @for told in &recipes { (one(car, *told, typed)) } }
                }
                p.small { (CAUTION) }
                (photographs(car, typed, &[], errors))
                section {
                    h2 { "Until when, what waits, and what it is for" }
                    div.field.err[field::is_wrong("by", errors)] {
                        label for="by" { "To be decided by" }
                        p.hint { "Work that needs the colour waits for this day. No answer is not a yes." }
                        (field::complaint("by", errors))
                        div.in { input #by type="date" name="by" value=(typed.get("by")); }
                    }
                    (field::note("waits", "What waits for the colour", "One line each. These are the usual ones.", typed.get("waits"), errors))
                    (decided::serves_field(typed.get("serves"), errors))
                }
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                button.main.wide { "Draft the question" }
                p.small { "Nothing is sent yet: the draft stands among the Questions, and every word of it can be changed there." }
            }
        }
    })
}

/// One recipe to be ticked, with what it looks like and its cards.
fn one(car: &Car, (entry, recipe): Told<'_, Formulated>, typed: &Typed) -> Markup {
    let id = entry.id.to_string();
    let cards = paintwork::cards_of(car, entry.id);
    let field = card_field(entry);
    let [width, height] = SIZE;
    let picture = format!(
        "{}?what=r{}&light=overcast&turn=20&w={width}&h={height}",
        link::colour(car.id, "panel.png"),
        entry.seq
    );
    html! {
        div.opt.stack {
            label.pick {
                input type="checkbox" name="recipe" value=(id) checked[typed.is("recipe", &id)];
                span { b { (recipe.name) } small { "over " (recipe.primer) "; " (one_place(recipe.mean_de00)) " from the wish, predicted; entry " (entry.seq) } }
            }
            img src=(picture) width=(width) height=(height) loading="lazy" alt={ (recipe.name) " on a curved panel, overcast sky" };
            @if let Ok(predicted) = engine::predicted(recipe) { (swatches::strip(&predicted, Illuminant::D65)) }
            @if cards.is_empty() { p { b { "No card has been sprayed of it." } } }
            @else {
                div.field {
                    label for=(field) { "Card that the owner sees" }
                    select id=(field) name=(field) {
                        option value="" { "none" }
                        @for (card, carded) in cards.iter().rev() { option value=(card.id) selected[typed.get(&field) == card.id.to_string()] { (carded.name) } }
                    }
                }
            }
        }
    }
}

/// What the form asks for, or everything that is wrong with it.
fn read(app: &App, car: &Car, typed: &Typed) -> Result<Asking, Vec<FieldError>> {
    let mut errors = Vec::new();
    let mut candidates = Vec::new();
    for text in typed.all("recipe").take(OFFERED) {
        let entry = text.parse::<EntryId>().ok().and_then(|id| paintwork::recipe_of(car, id));
        let Some((entry, _)) = entry else {
            errors.push(FieldError::new(
                "recipe",
                "a recipe that was ticked is not in this car's record, or was taken out",
                "Open the page again.",
            ));
            continue;
        };
        let card = match typed.get(&card_field(entry)) {
            "" => None,
            text => text.parse().ok().or_else(|| {
                errors.push(FieldError::new("card", "a card did not come through whole", "Choose it again."));
                None
            }),
        };
        candidates.push(Candidate { recipe: entry.id, card, era: None });
    }
    let today = decided::today(app);
    let by = match typed.get("by").parse::<Date>() {
        Ok(by) if by >= today => Some(by),
        Ok(by) => {
            let say = format!("{} is past", by.strftime("%-d %B %Y"));
            errors.push(FieldError::new("by", say, "Name a day from today on."));
            None
        }
        Err(_) => {
            let say = format!("\"{}\" was typed for the day", typed.get("by").chars().take(40).collect::<String>());
            errors.push(FieldError::new("by", say, "Type a day, such as 2026-12-02."));
            None
        }
    };
    let zone = |name: &str| decided::zone_named(car, name);
    let serves = decided::read_serves(typed.get("serves"), &zone).unwrap_or_else(|error| {
        errors.push(error);
        Vec::new()
    });
    match by {
        Some(by) if errors.is_empty() => Ok(Asking {
            candidates,
            by,
            waits: typed
                .get("waits")
                .lines()
                .map(|line| line.trim().to_owned())
                .filter(|line| !line.is_empty())
                .collect(),
            serves,
            photographs: typed.all("photographs").filter_map(|id| id.parse().ok()).collect(),
        }),
        _ => Err(errors),
    }
}

/// What is known of a recipe beside the car's year; nothing where it cannot be told.
async fn era(app: &App, car: &Car, recipe: EntryId) -> Option<Era> {
    let (_, recipe) = paintwork::recipe_of(car, recipe)?;
    let (_, shelved) = paintwork::shelf_of(car, recipe.shelf)?;
    let file = app.shop.shelf(shelved).await.ok()?;
    era::of_recipe(app.shop.catalogue(), &file, recipe, car.details.year).ok()
}

fn refusal(why: NotDrafted) -> FieldError {
    let (field, right) = match why {
        NotDrafted::Count(_) => ("recipe", "Tick two, three or four."),
        NotDrafted::NoRecipe => ("recipe", "Open the page again."),
        NotDrafted::NoCard => ("card", "Choose a card of that recipe, or none."),
    };
    FieldError::new(field, why.to_string(), right)
}

/// Keeps the question as a draft.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    typed: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(typed).await?;
    let car = app.shop.car(id).await?;
    let refuse = |errors: &[FieldError]| {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, form(&app, &access, &car, &typed, errors)).into_response())
    };
    let mut asking = match read(&app, &car, &typed) {
        Ok(asking) => asking,
        Err(errors) => return refuse(&errors),
    };
    for candidate in &mut asking.candidates {
        candidate.era = era(&app, &car, candidate.recipe).await;
    }
    let question = match draft(&car, &asking) {
        Ok(question) => question,
        Err(why) => return refuse(&[refusal(why)]),
    };
    match keeping::keep(&app, id, &typed, What::Asked(question)).await? {
        Ok(kept) => {
            let car = app.shop.car(id).await?;
            let number =
                car.entry(kept.seq).and_then(|entry| car.thread_of(entry.id)).map_or(0, |thread| thread.number);
            Ok(kept.go(&format!("{}?kept={}", link::question(id, number), kept.seq)))
        }
        Err(errors) => refuse(&errors),
    }
}
