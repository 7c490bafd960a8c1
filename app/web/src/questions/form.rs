//! A question as a form: drafted from a finding, changed by the lead, shown as the owner will read it, sent.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use job::ask;
use job::car::{Car, Entry};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::question::{Choice, Hours, Question};
use job::shop::{Draft, ShopError};
use job::validate::{FieldError, instance};
use job::what::{Photograph, What};
use maud::{Markup, html};

use super::one;
use crate::access::{Access, remember};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The fields of an option: title, what it means, what it risks, the three hours, and where hours go wrong.
const FIELDS: [[&str; 7]; 3] = [
    ["title_a", "means_a", "risks_a", "low_a", "likely_a", "high_a", "hours_a"],
    ["title_b", "means_b", "risks_b", "low_b", "likely_b", "high_b", "hours_b"],
    ["title_c", "means_c", "risks_c", "low_c", "likely_c", "high_c", "hours_c"],
];
const KEYS: [&str; 3] = ["A", "B", "C"];
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
            let mut typed = typed(question);
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
            typed(&drafted.ok_or(Fault::NotFound("zone of this car"))?)
        }
    };
    Ok(draw(&app, &access, &car, &typed, &[], None).await?.into_response())
}

/// A question as a form that could have made it.
fn typed(question: &Question) -> Typed {
    let mut pairs = vec![
        ("ask", question.ask.clone()),
        ("found", question.found.clone()),
        ("by", question.by.to_string()),
        ("waits", question.waits.join("\n")),
        ("finding", question.finding.map(|id| id.to_string()).unwrap_or_default()),
    ];
    pairs.extend(question.zones.iter().map(|zone| ("zones", zone.clone())));
    pairs.extend(question.photographs.iter().map(|id| ("photographs", id.to_string())));
    for (option, [title, means, risks, low, likely, high, _]) in question.options.iter().zip(FIELDS) {
        pairs.extend([
            (title, option.title.clone()),
            (means, option.means.clone()),
            (risks, option.risks.clone()),
            (low, option.hours.low.to_string()),
            (likely, option.hours.likely.to_string()),
            (high, option.hours.high.to_string()),
        ]);
    }
    Typed::from_pairs(pairs)
}

/// Moves an option that stands behind an empty one forward, so that the letters have no gap.
fn close_ranks(typed: &mut Typed) {
    let empty = |typed: &Typed, n: usize| FIELDS[n].iter().all(|name| typed.get(name).is_empty());
    for _ in 0..KEYS.len() {
        for n in 0..KEYS.len() - 1 {
            if empty(typed, n) && !empty(typed, n + 1) {
                for (to, from) in FIELDS[n].iter().zip(FIELDS[n + 1]) {
                    typed.set(to, typed.get(from).to_string());
                    typed.set(from, String::new());
                }
            }
        }
    }
}

/// The question that a form holds, or everything that cannot be read of it.
fn question(typed: &Typed, sent: bool) -> Result<Question, Vec<FieldError>> {
    let mut errors = Vec::new();
    let by = typed.get("by").parse::<Date>().map_err(|_| {
        let say = format!("\"{}\" was typed for the day", typed.get("by"));
        errors.push(FieldError::new("by", say, "Type a day, such as 2026-12-02."));
    });
    let mut options = Vec::new();
    for (key, names) in KEYS.iter().zip(FIELDS) {
        let [title, means, risks, low, likely, high, hours] = names;
        if names.iter().all(|name| typed.get(name).is_empty()) {
            continue;
        }
        let mut figure = |name: &'static str, what: &str| match typed.number(name, what) {
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
        options.push(Choice {
            key: key.to_string(),
            title: typed.get(title).into(),
            means: typed.get(means).into(),
            risks: typed.get(risks).into(),
            hours,
        });
    }
    let photographs: Vec<EntryId> = typed.all("photographs").filter_map(|id| id.parse().ok()).collect();
    match by {
        Ok(by) if errors.is_empty() => Ok(Question {
            zones: typed.all("zones").map(String::from).collect(),
            finding: typed.get("finding").parse().ok(),
            ask: typed.get("ask").into(),
            found: typed.get("found").into(),
            photographs,
            options,
            by,
            waits: typed.get("waits").lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()).collect(),
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
    let question = match question(&typed, typed.get("do") == "send") {
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
    let names = super::names(car, &zones);
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
        ground: Ground::Paper,
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
            @for unseen in ["zones", "zone", "finding", "corrects", "entry"] { (field::complaint(unseen, errors)) }
            (field::note("ask", "The question in one sentence", "", typed.get("ask"), errors))
            (field::note("found", "What was found", "In plain words, for somebody who has never seen the inside of a sill.", typed.get("found"), errors))
            (photographs(car, typed, &zones, errors))
            section {
                h2 { "What can be done" }
                p.hint { "Two or three things. Leave the third empty if there are only two." }
                (field::complaint("options", errors))
                @for (key, names) in KEYS.iter().zip(FIELDS) { (option(key, names, typed, errors)) }
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

fn option(key: &str, names: [&'static str; 7], typed: &Typed, errors: &[FieldError]) -> Markup {
    let [title, means, risks, low, likely, high, hours] = names;
    html! {
        fieldset.opt.stack {
            legend { "Option " (key) }
            (field::Text { id: title, name: title, label: "What it is, in a few words", hint: "", value: typed.get(title), unit: "", errors }.draw())
            (field::note(means, "What it means for the car", "", typed.get(means), errors))
            (field::note(risks, "What it risks", "", typed.get(risks), errors))
            div.field.err[field::is_wrong(hours, errors)] {
                p.q { "Hours for everything still to be done there" }
                (field::complaint(hours, errors))
                div.three {
                    @for (name, label) in [(low, "Low"), (likely, "Likely"), (high, "High")] {
                        (field::Text { id: name, name, label, hint: "", value: typed.get(name), unit: "h", errors: &[] }.draw())
                    }
                }
            }
        }
    }
}

/// Photographs with a place, those of the zones first.
fn photographs(car: &Car, typed: &Typed, zones: &[String], errors: &[FieldError]) -> Markup {
    let mut placed: Vec<(&Entry, &Photograph, &String)> =
        car.photographs().filter_map(|(entry, photo)| Some((entry, photo, photo.zone.as_ref()?))).collect();
    placed.sort_by_key(|(entry, _, zone)| (!zones.contains(zone), std::cmp::Reverse(entry.seq)));
    let chosen = |entry: &Entry| typed.is("photographs", &entry.id.to_string());
    let offered = placed.iter().enumerate().filter(|(n, (entry, ..))| *n < OFFERED || chosen(entry)).map(|(_, p)| p);
    html! {
        fieldset {
            legend { "Photographs that go with it" }
            (field::complaint("photographs", errors))
            @if placed.is_empty() {
                p.wait { "No photograph of this car has a zone yet. Photographs for the owner need a place and a caption." }
            }
            div.thumbs {
                @for (entry, photo, zone) in offered {
                    label.pick.photo-pick {
                        input type="checkbox" name="photographs" value=(entry.id) checked[chosen(entry)];
                        span {
                            img src=(link::picture(car.id, photo.thumb)) alt="" loading="lazy" width="140" height="105";
                            small { (photo.caption) br; (instance(&car.details, zone).map(|i| i.name()).unwrap_or_default()) }
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
            FIELDS[n].map(|name| (name, if name.starts_with("title") { text.to_string() } else { "1".into() }))
        };
        let mut typed = Typed::from_pairs(
            all(0, "first").into_iter().chain(all(2, "third")).chain([("by", "2026-03-02".to_string())]),
        );
        close_ranks(&mut typed);
        let question = question(&typed, false).unwrap();
        let options: Vec<_> = question.options.iter().map(|o| (o.key.as_str(), o.title.as_str())).collect();
        assert_eq!(options, [("A", "first"), ("B", "third")]);
    }
}
