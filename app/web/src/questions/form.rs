//! A question as a form: drafted from a finding, changed by the lead, shown as the owner will read it, sent.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use job::ask;
use job::car::{Car, Entry};
use job::ids::{CarId, EntryId};
use job::paintwork;
use job::person::Deed;
use job::question::{Choice, Hours, Question};
use job::shop::{Draft, ShopError};
use job::validate::{FieldError, instance};
use job::what::{Photograph, What};
use maud::{Markup, html};

use super::one;
use crate::access::{Access, remember};
use crate::colour::decided;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The fields of an option: title, what it means, what it risks, the three hours, where hours go wrong, and the
/// recipe and card that a question about the colour names.
const FIELDS: [[&str; 9]; 4] = [
    ["title_a", "means_a", "risks_a", "low_a", "likely_a", "high_a", "hours_a", "recipe_a", "card_a"],
    ["title_b", "means_b", "risks_b", "low_b", "likely_b", "high_b", "hours_b", "recipe_b", "card_b"],
    ["title_c", "means_c", "risks_c", "low_c", "likely_c", "high_c", "hours_c", "recipe_c", "card_c"],
    ["title_d", "means_d", "risks_d", "low_d", "likely_d", "high_d", "hours_d", "recipe_d", "card_d"],
];
const KEYS: [&str; 4] = ["A", "B", "C", "D"];
/// How many options a question about zones may have.
const OF_ZONES: usize = 3;
/// How many photographs are offered.
const OFFERED: usize = 60;

/// The form, drafted from the zones asked for, or filled with the question to be changed.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let corrects = ask.iter().find(|(name, _)| name == "corrects").map(|(_, value)| value);
    let typed = match corrects {
        Some(number) => {
            let thread = one::thread(&car, number.parse().map_err(|_| Fault::NotFound("question"))?)?;
            let (entry, question) = thread.latest().ok_or(Fault::NotFound("question"))?;
            let mut typed = typed(&car, question);
            typed.set("corrects", entry.id.to_string());
            typed
        }
        None => {
            let zones: Vec<String> =
                ask.into_iter().filter(|(name, value)| name == "zone" && !value.is_empty()).map(|(_, v)| v).collect();
            if zones.is_empty() {
                return Ok(Redirect::to(&format!("{}/questions", link::shell(id))).into_response());
            }
            let today = Timestamp::now().to_zoned(app.zone.clone()).date();
            let drafted = ask::draft(&car, app.shop.catalogue(), &zones, today);
            typed(&car, &drafted.ok_or(Fault::NotFound("zone of this car"))?)
        }
    };
    Ok(draw(&app, &access, &car, &typed, &[], None).await?.into_response())
}

/// A question as a form that could have made it.
fn typed(car: &Car, question: &Question) -> Typed {
    let mut pairs = vec![
        ("ask", question.ask.clone()),
        ("found", question.found.clone()),
        ("by", question.by.to_string()),
        ("waits", question.waits.join("\n")),
        ("finding", question.finding.map(|id| id.to_string()).unwrap_or_default()),
        ("serves", decided::serves_text(car, &question.serves)),
    ];
    pairs.extend(question.zones.iter().map(|zone| ("zones", zone.clone())));
    pairs.extend(question.photographs.iter().map(|id| ("photographs", id.to_string())));
    let named = |id: Option<EntryId>| id.map(|id| id.to_string()).unwrap_or_default();
    for (option, [title, means, risks, low, likely, high, _, recipe, card]) in question.options.iter().zip(FIELDS) {
        pairs.extend([
            (title, option.title.clone()),
            (means, option.means.clone()),
            (risks, option.risks.clone()),
            (low, option.hours.low.to_string()),
            (likely, option.hours.likely.to_string()),
            (high, option.hours.high.to_string()),
            (recipe, named(option.recipe)),
            (card, named(option.card)),
        ]);
    }
    Typed::from_pairs(pairs)
}

/// Whether the form is about the colour: its options name recipes.
fn is_of_colour(typed: &Typed) -> bool {
    FIELDS.iter().any(|[.., recipe, _]| !typed.get(recipe).is_empty())
}

/// Whether nothing stands in an option. One that offers a recipe is left out by emptying its words.
fn is_empty(typed: &Typed, names: &[&'static str; 9]) -> bool {
    let [title, means, risks, low, likely, high, hours, recipe, _] = names;
    let words = [title, means, risks].into_iter().all(|name| typed.get(name).is_empty());
    words
        && (!typed.get(recipe).is_empty()
            || [low, likely, high, hours].into_iter().all(|name| typed.get(name).is_empty()))
}

/// Moves an option that stands behind an empty one forward, so that the letters have no gap.
fn close_ranks(typed: &mut Typed) {
    for _ in 0..KEYS.len() {
        for (one, next) in FIELDS.iter().zip(FIELDS.iter().skip(1)) {
            if is_empty(typed, one) && !is_empty(typed, next) {
                for (to, from) in one.iter().zip(next) {
                    typed.set(to, typed.get(from).to_string());
                    typed.set(from, String::new());
                }
            }
        }
    }
}

/// The name of an entry that a form carries unseen; nothing where it carries none.
fn carried(typed: &Typed, name: &str, field: &'static str) -> Result<Option<EntryId>, FieldError> {
    match typed.get(name) {
        "" => Ok(None),
        text => text.parse().map(Some).map_err(|_| {
            let say = format!("what the form carried for the {field} did not come through whole");
            FieldError::new(field, say, "Open the page again.")
        }),
    }
}

/// One option as it was typed.
fn choice(typed: &Typed, key: &str, names: &[&'static str; 9], errors: &mut Vec<FieldError>) -> Choice {
    let [title, means, risks, low, likely, high, hours, recipe, card] = *names;
    let of_colour = !typed.get(recipe).is_empty();
    let mut figure = |name: &'static str, what: &str| match typed.number(name, what) {
        _ if of_colour && typed.get(name).is_empty() => 0.0,
        Ok(value) => value,
        Err(error) => {
            errors.push(FieldError { field: hours, ..error });
            0.0
        }
    };
    let hours = Hours {
        low: figure(low, &format!("low hours of option {key}")),
        likely: figure(likely, &format!("likely hours of option {key}")),
        high: figure(high, &format!("high hours of option {key}")),
    };
    let mut named = |name: &str, field: &'static str| {
        carried(typed, name, field).unwrap_or_else(|error| {
            errors.push(error);
            None
        })
    };
    Choice {
        key: key.to_string(),
        title: typed.get(title).into(),
        means: typed.get(means).into(),
        risks: typed.get(risks).into(),
        hours,
        recipe: named(recipe, "recipe"),
        card: named(card, "card"),
    }
}

/// The question that a form holds, or everything that cannot be read of it. `zone` gives the zone of a name.
fn question(typed: &Typed, sent: bool, zone: decided::Zones<'_>) -> Result<Question, Vec<FieldError>> {
    let mut errors = Vec::new();
    let by = typed.get("by").parse::<Date>().map_err(|_| {
        let say = format!("\"{}\" was typed for the day", typed.get("by"));
        errors.push(FieldError::new("by", say, "Type a day, such as 2026-12-02."));
    });
    let mut options = Vec::new();
    for (key, names) in KEYS.iter().zip(&FIELDS) {
        if !is_empty(typed, names) {
            options.push(choice(typed, key, names, &mut errors));
        }
    }
    let serves = decided::read_serves(typed.get("serves"), zone).map_err(|error| errors.push(error));
    let photographs: Vec<EntryId> = typed.all("photographs").filter_map(|id| id.parse().ok()).collect();
    match (by, serves) {
        (Ok(by), Ok(serves)) if errors.is_empty() => Ok(Question {
            zones: typed.all("zones").map(String::from).collect(),
            finding: typed.get("finding").parse().ok(),
            ask: typed.get("ask").into(),
            found: typed.get("found").into(),
            photographs,
            options,
            by,
            waits: typed.get("waits").lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()).collect(),
            serves,
            sent,
        }),
        _ => Err(errors),
    }
}

/// Keeps a question as a draft, sends it, or shows it as the owner will read it.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let mut typed = Typed::read(form).await?;
    close_ranks(&mut typed);
    let car = app.shop.car(id).await?;
    let refuse = async |typed: &Typed, errors: &[FieldError], status: StatusCode| {
        Ok((status, draw(&app, &access, &car, typed, errors, None).await?).into_response())
    };
    let zone = |name: &str| decided::zone_named(&car, name);
    let question = match question(&typed, typed.get("do") == "send", &zone) {
        Ok(question) => question,
        Err(errors) => return refuse(&typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
    };
    if typed.get("do") == "preview" {
        return Ok(draw(&app, &access, &car, &typed, &[], Some(&question)).await?.into_response());
    }
    let picked = |name: &'static str| typed.get(name).parse().ok();
    let (Some(by), Some(entry)) = (typed.get("who").parse().ok(), picked("entry")) else {
        let error = FieldError::new("who", "nobody was picked", "Pick who is writing.");
        return refuse(&typed, &[error], StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let corrects = picked("corrects");
    let what = What::Asked(question);
    let draft = Draft { entry, base: None, by, noted: None, corrects, keep_both: false, what };
    match app.shop.keep(id, &draft, Timestamp::now()).await {
        Ok(kept) => {
            let car = app.shop.car(id).await?;
            let number = car.entry(kept.seq).and_then(|e| car.thread_of(e.id)).map_or(0, |thread| thread.number);
            let go = format!("{}?kept={}", link::question(id, number), kept.seq);
            Ok((remember(by), Redirect::to(&go)).into_response())
        }
        Err(ShopError::Invalid(errors)) => refuse(&typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
        Err(ShopError::NoSuchPerson(_)) => {
            let error = FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.");
            refuse(&typed, &[error], StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(ShopError::AlreadySuperseded(_)) => {
            let now = app.shop.car(id).await?;
            let error = meanwhile(&now, corrects, &mut typed);
            refuse(&typed, &[error], StatusCode::CONFLICT).await
        }
        Err(e) => {
            let (status, say) = Fault::from(e).say();
            refuse(&typed, &[FieldError::new("", say, "")], status).await
        }
    }
}

/// Somebody changed the question first, or took it back: the form stays as typed, for what stands there now.
fn meanwhile(car: &Car, corrects: Option<EntryId>, typed: &mut Typed) -> FieldError {
    let thread = corrects.and_then(|id| car.thread_of(id));
    let latest: Option<&Entry> = thread.as_ref().and_then(|t| t.latest()).map(|(entry, _)| entry);
    match latest.filter(|entry| entry.counts()) {
        Some(entry) => {
            typed.set("corrects", entry.id.to_string());
            let say = format!("{} changed this question meanwhile, in entry {}", entry.by.name, entry.seq);
            FieldError::new("", say, "Send it again and yours stands instead; theirs stays to be read.")
        }
        None => {
            typed.set("corrects", String::new());
            FieldError::new("", "this question was taken back meanwhile", "Send it again and it is asked as a new one.")
        }
    }
}

async fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    errors: &[FieldError],
    preview: Option<&Question>,
) -> Result<Markup, Fault> {
    let zones: Vec<String> = typed.all("zones").map(String::from).collect();
    let of_colour = is_of_colour(typed);
    let names = if of_colour { "colour of the car".into() } else { super::names(car, &zones) };
    let old = typed.get("corrects").parse::<EntryId>().ok().and_then(|id| car.thread_of(id));
    let (title, says) = match &old {
        Some(thread) if thread.asked().is_some() => (
            format!("Change question {}", thread.number),
            "The owner has seen it. A change is a new version, and wants a new answer; both stay to be read.".into(),
        ),
        Some(thread) => {
            (format!("Draft of question {}", thread.number), format!("About the {names}. The owner has not seen it."))
        }
        None => ("New question".into(), format!("About the {names}. Nothing is kept or sent yet.")),
    };
    // Nothing was kept under the name that was sent, or it would not be shown again.
    let entry = Some(typed.get("entry")).filter(|e| !e.is_empty());
    let entry = entry.map_or_else(|| EntryId::fresh().to_string(), String::from);
    let page = CarPage {
        app,
        access,
        car,
        ground: if of_colour { Ground::Grey } else { Ground::Paper },
        sheet: Sheet::Questions,
        title: &title,
        says: &says,
        legend: false,
        deed: Bar::Go(format!("{}/questions", link::shell(car.id)), "Questions"),
    };
    let shown = match preview {
        Some(question) => Some(app.shop.shown(car, question).await?),
        None => None,
    };
    Ok(page.draw(html! {
        (field::problems(errors))
        @if let (Some(question), Some(shown)) = (preview, &shown) {
            section.wait #preview {
                h2 { "As the owner will read it" }
                (super::read(app, car, question, shown))
            }
        }
        form.stack-l #question-form method="post" action={ (link::shell(car.id)) "/questions" } enctype="multipart/form-data" {
            input type="hidden" name="entry" value=(entry);
            input type="hidden" name="corrects" value=(typed.get("corrects"));
            input type="hidden" name="finding" value=(typed.get("finding"));
            @for zone in &zones { input type="hidden" name="zones" value=(zone); }
            @for unseen in ["zones", "zone", "finding", "corrects", "entry", "recipe", "card"] { (field::complaint(unseen, errors)) }
            (field::note("ask", "The question in one sentence", "", typed.get("ask"), errors))
            @if of_colour { (field::note("found", "What was wished for", "In plain words, for somebody who mixes no paint.", typed.get("found"), errors)) }
            @else { (field::note("found", "What was found", "In plain words, for somebody who has never seen the inside of a sill.", typed.get("found"), errors)) }
            (photographs(car, typed, &zones, errors))
            section {
                @if of_colour {
                    h2 { "What can be chosen" }
                    p.hint { "Two to four recipes. Empty all words of one to leave it out; for other recipes, begin again from the Colour sheet." }
                } @else {
                    h2 { "What can be done" }
                    p.hint { "Two or three things. Leave the third empty if there are only two." }
                }
                (field::complaint("options", errors))
                @for (n, (key, names)) in KEYS.iter().zip(FIELDS).enumerate() {
                    @if if of_colour { !is_empty(typed, &names) } else { n < OF_ZONES } { (option(car, key, names, typed, errors)) }
                }
            }
            section {
                h2 { "Until when, and what waits" }
                div.field.err[field::is_wrong("by", errors)] {
                    label for="by" { "Answer needed by" }
                    p.hint { "After this day waiting costs something. No answer is not a yes." }
                    (field::complaint("by", errors))
                    div.in { input #by type="date" name="by" value=(typed.get("by")); }
                }
                (field::note("waits", "What waits for the answer", "One line each.", typed.get("waits"), errors))
                @if of_colour { (decided::serves_field(typed.get("serves"), errors)) }
            }
            (field::complaint("who", errors))
            (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
            div.row {
                button name="do" value="preview" { "Show it as the owner will read it" }
                button name="do" value="draft" { "Keep as a draft" }
                button.main name="do" value="send" { "Send to the owner" }
            }
            p.small.soft { "Sent means that it stands on the owner's page from now on. A question file for an owner who cannot reach that page is made afterwards, on the page of the question." }
        }
    }))
}

fn option(car: &Car, key: &str, names: [&'static str; 9], typed: &Typed, errors: &[FieldError]) -> Markup {
    let [title, means, risks, low, likely, high, hours, recipe, card] = names;
    let of_colour = !typed.get(recipe).is_empty();
    let figures = html! {
        div.field.err[field::is_wrong(hours, errors)] {
            p.q { @if of_colour { "Hours, only if this one takes more or fewer than the others" } @else { "Hours for everything still to be done there" } }
            (field::complaint(hours, errors))
            div.three {
                @for (name, label) in [(low, "Low"), (likely, "Likely"), (high, "High")] {
                    (field::Text { id: name, name, label, hint: "", value: typed.get(name), unit: "h", errors: &[] }.draw())
                }
            }
        }
    };
    html! {
        fieldset.opt.stack {
            legend { "Option " (key) }
            (field::Text { id: title, name: title, label: "What it is, in a few words", hint: "", value: typed.get(title), unit: "", errors }.draw())
            (field::note(means, "What it means for the car", "", typed.get(means), errors))
            (field::note(risks, "What it risks", "", typed.get(risks), errors))
            @if of_colour {
                (offered(car, typed.get(recipe), typed.get(card)))
                input type="hidden" name=(recipe) value=(typed.get(recipe));
                input type="hidden" name=(card) value=(typed.get(card));
                details open[field::is_wrong(hours, errors)] { summary { "Hours" } (figures) }
            } @else { (figures) }
        }
    }
}

/// The recipe that an option offers and its card, in a line.
fn offered(car: &Car, recipe: &str, card: &str) -> Markup {
    let named = |id: &str| id.parse().ok().and_then(|id: EntryId| car.standing(id));
    let recipe = named(recipe).and_then(|entry| Some((entry.seq, paintwork::recipe_of(car, entry.id)?.1)));
    let card = named(card).and_then(|entry| paintwork::card_of(car, entry.id));
    html! {
        p.small {
            @match recipe {
                Some((seq, recipe)) => { "Recipe " a.touch href=(link::recipe(car.id, seq)) { (recipe.name) } ", over " (recipe.primer) ". " }
                None => "Its recipe was taken out of the record. ",
            }
            @match card { Some((_, card)) => { "Card: " (card.name) "." } None => "No card goes with it." }
        }
    }
}

/// Photographs with a place, those of the zones first; for a question about the colour those without a place, which
/// a card has none of, before the others.
pub(crate) fn photographs(car: &Car, typed: &Typed, zones: &[String], errors: &[FieldError]) -> Markup {
    let of_colour = zones.is_empty();
    let mut placed: Vec<(&Entry, &Photograph, Option<&String>)> = car
        .photographs()
        .map(|(entry, photo)| (entry, photo, photo.zone.as_ref()))
        .filter(|(.., zone)| of_colour || zone.is_some())
        .collect();
    let first = |zone: &Option<&String>| match zone {
        Some(zone) => zones.contains(zone),
        None => true,
    };
    placed.sort_by_key(|(entry, _, zone)| (!first(zone), std::cmp::Reverse(entry.seq)));
    let chosen = |entry: &Entry| typed.is("photographs", &entry.id.to_string());
    let offered = placed.iter().enumerate().filter(|(n, (entry, ..))| *n < OFFERED || chosen(entry)).map(|(_, p)| p);
    html! {
        fieldset {
            legend { @if of_colour { "Photographs of cards that go with it" } @else { "Photographs that go with it" } }
            (field::complaint("photographs", errors))
            @if placed.is_empty() {
                p.wait { @if of_colour { "No photograph yet. Photograph the cards in daylight, side by side; such a photograph needs no zone." } @else { "No photograph of this car has a zone yet. Photographs for the owner need a place and a caption." } }
            }
            div.thumbs {
                @for (entry, photo, zone) in offered {
                    label.pick.photo-pick {
                        input type="checkbox" name="photographs" value=(entry.id) checked[chosen(entry)];
                        span {
                            img src=(link::picture(car.id, photo.thumb)) alt="" loading="lazy" width="140" height="105";
                            small { (photo.caption) br; (zone.and_then(|zone| instance(&car.details, zone)).map(|i| i.name()).unwrap_or_default()) }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_option_left_out_in_the_middle_leaves_no_gap_in_the_letters() {
        let all = |n: usize, text: &str| {
            FIELDS[n].map(|name| {
                let carried = ["recipe", "card"].iter().any(|field| name.starts_with(field));
                (name, if name.starts_with("title") { text.into() } else { if carried { "" } else { "1" }.to_string() })
            })
        };
        let mut typed = Typed::from_pairs(
            all(0, "first").into_iter().chain(all(2, "third")).chain([("by", "2026-03-02".to_string())]),
        );
        close_ranks(&mut typed);
        let question = question(&typed, false, &|_| None).unwrap();
        let options: Vec<_> = question.options.iter().map(|o| (o.key.as_str(), o.title.as_str())).collect();
        assert_eq!(options, [("A", "first"), ("B", "third")]);
    }

    #[test]
    fn a_recipe_whose_words_were_emptied_is_left_out_and_takes_its_card_with_it() {
        let ids = [EntryId::fresh(), EntryId::fresh(), EntryId::fresh()];
        let mut pairs = vec![("by", "2026-03-02".to_string()), ("serves", "Left door, 2026-05-04".into())];
        for (n, id) in ids.iter().enumerate() {
            let [title, _, _, low, likely, high, _, recipe, card] = FIELDS[n];
            pairs.extend([(recipe, id.to_string()), (low, "0".into()), (likely, "0".into()), (high, String::new())]);
            if n != 1 {
                pairs.extend([(title, format!("recipe {n}")), (card, ids[n].to_string())]);
            }
        }
        let mut typed = Typed::from_pairs(pairs);
        assert!(is_of_colour(&typed));
        close_ranks(&mut typed);
        let question = question(&typed, true, &|_| None).unwrap();
        let options: Vec<_> = question.options.iter().map(|o| (o.key.as_str(), o.recipe, o.card)).collect();
        assert_eq!(options, [("A", Some(ids[0]), Some(ids[0])), ("B", Some(ids[2]), Some(ids[2]))]);
        assert!(question.is_of_colour() && question.options.iter().all(|o| o.hours.are_none()));
        assert_eq!(question.serves[0].on, Some("2026-05-04".parse().unwrap()));
        typed.set("recipe_a", "no id".into());
        assert_eq!(super::question(&typed, true, &|_| None).unwrap_err()[0].field, "recipe");
    }
}
