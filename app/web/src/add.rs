//! The Add sheet: every form of the bench on one page, so that an open page works without a signal.

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::car::{Car, Entry, ZoneState};
use job::details::Stage;
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::validate::{FieldError, body, instance, instances, zone_of};
use job::what::{How, Quantity, Severity, Side, What};
use job::worked::Part;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::drawing::{self, Drawn};
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{entry_form, field, link};

/// The forms, by the kind they send.
const FORMS: [(&str, &str, &str); 6] = [
    ("looked", "look", "A look: clear or bad"),
    ("read", "reading", "A reading: film or wall"),
    ("photographed", "photograph", "A photograph"),
    ("opened", "opened", "Opened, and what was found"),
    ("made_good", "made-good", "Made good"),
    ("worked", "worked", "Hours worked"),
];
/// The forms of what need not be about a zone, and what the list of zones says then.
const WITHOUT_ZONE: [(&str, &str); 2] =
    [("photographed", "no zone yet: unplaced"), ("worked", "no zone: the car as a whole")];

#[derive(Deserialize)]
pub(crate) struct Ask {
    #[serde(default)]
    zone: String,
    #[serde(default)]
    kind: String,
    corrects: Option<u64>,
}

/// The sheet, empty or filled with an entry that is to be corrected.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    access.may(Deed::Write)?;
    let car = app.shop.car(id).await?;
    let (typed, corrects) = match ask.corrects {
        None => {
            let kind = FORMS.iter().find(|(_, anchor, _)| *anchor == ask.kind).map_or("", |(kind, ..)| kind);
            (Typed::from_pairs([("kind", kind.to_string()), ("zone", ask.zone)]), None)
        }
        Some(seq) => {
            let entry = car.entry(seq).ok_or(Fault::NotFound("entry"))?;
            let typed = entry_form::typed(&entry.what, app.shop.catalogue())
                .ok_or_else(|| Fault::Bad("This kind of entry is corrected where it was made, or taken out.".into()))?;
            (typed, Some(entry))
        }
    };
    Ok(draw(&Sent { app: &app, access: &access, car: &car, typed: &typed, errors: &[] }, corrects))
}

/// A page of forms with what was typed.
pub(crate) struct Sent<'a> {
    pub(crate) app: &'a App,
    pub(crate) access: &'a Access,
    pub(crate) car: &'a Car,
    pub(crate) typed: &'a Typed,
    pub(crate) errors: &'a [FieldError],
}

/// The page again, with what is wrong; everything typed is still in it.
pub(crate) fn refused(sent: &Sent<'_>) -> Response {
    let corrects = sent.typed.get("corrects").parse::<EntryId>().ok().and_then(|id| sent.car.entry_by_id(id));
    (StatusCode::UNPROCESSABLE_ENTITY, draw(sent, corrects)).into_response()
}

fn draw(sent: &Sent<'_>, corrects: Option<&Entry>) -> Markup {
    let Sent { app, access, car, typed, errors } = sent;
    let zone = instance(&car.details, typed.get("zone"));
    let kind = typed.get("kind");
    let shown: Vec<_> = FORMS.iter().filter(|(k, ..)| corrects.is_none() || *k == kind).collect();
    let says = match (corrects, zone) {
        (Some(entry), _) => format!("This corrects entry {}; the first version stays in the record.", entry.seq),
        (None, Some(zone)) => format!("{}: {}.", upper(&zone.name()), car.state(&zone.id).words()),
        (None, None) => "Choose the zone in the form, or from the outline.".into(),
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Paper,
        sheet: Sheet::Shell,
        title: if corrects.is_some() { "Correct an entry" } else { "Add to the record" },
        says: &says,
        legend: true,
        deed: Bar::Go(link::shell(car.id), "Outline"),
    };
    page.draw(html! {
        (field::problems(errors))
        @if let Some(zone) = zone {
            p.row {
                (drawing::mark(car.state(&zone.id), true)) b { (upper(&zone.name())) }
                a.touch href=(link::shell(car.id)) { "Choose another zone" }
            }
        }
        @for (k, anchor, words) in shown {
            @let here = *k == kind;
            details.opt id=(anchor) open[here || corrects.is_some()] {
                summary { (words) }
                (form(sent, k, if here { typed } else { &BLANK }, zone.map_or("", |z| &z.id), corrects))
            }
        }
        section #unsent hidden { h2 { "Not sent yet" } div.wait.stack data-unsent="list" {} }
    })
}

/// What the unsent list calls an entry; the island adds zone and choice.
fn short(kind: &str) -> &'static str {
    What::KINDS.iter().find(|(key, _)| *key == kind).map_or("Entry", |(_, words)| words)
}

static BLANK: std::sync::LazyLock<Typed> = std::sync::LazyLock::new(Typed::default);

fn form(sent: &Sent<'_>, kind: &str, typed: &Typed, zone: &str, corrects: Option<&Entry>) -> Markup {
    let Sent { app, access, car, errors, .. } = sent;
    let here = std::ptr::eq(typed, sent.typed);
    let errors = if here { errors } else { &[][..] };
    let entry =
        Some(typed.get("entry")).filter(|e| !e.is_empty()).map_or_else(|| EntryId::fresh().to_string(), String::from);
    html! {
        form.stack-l method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data"
            data-queue data-label=(short(kind)) id={ "form-" (kind) } {
            input type="hidden" name="kind" value=(kind);
            input type="hidden" name="entry" value=(entry);
            input type="hidden" name="base" value=(Some(typed.get("base")).filter(|b| !b.is_empty()).map_or_else(|| car.count.to_string(), String::from));
            input type="hidden" name="noted" value=(typed.get("noted"));
            @if let Some(entry) = corrects { input type="hidden" name="corrects" value=(entry.id); }
            @for unseen in ["entry", "corrects", "mark", "clue"] { (field::complaint(unseen, errors)) }
            (zone_select(sent, kind, if here { typed.get("zone") } else { zone }, errors))
            @match kind {
                "looked" => (look(app, typed, zone, errors)),
                "read" => (reading(app, typed, zone, errors)),
                "photographed" => (photograph(car, typed, zone, errors)),
                "opened" => (opened(typed, errors)),
                "worked" => (worked(typed, errors)),
                _ => (field::note_with_id("made-note", "note", "What was done", "Metal and gauge let in, welds, what was coated inside.", typed.get("note"), errors)),
            }
            (field::complaint("who", errors))
            (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
            button.main.wide { "Keep this" }
        }
    }
}

fn zone_select(sent: &Sent<'_>, kind: &str, picked: &str, errors: &[FieldError]) -> Markup {
    let catalogue = sent.app.shop.catalogue();
    let all = instances(&sent.car.details);
    let mut groups: Vec<(&str, Vec<_>)> = Vec::new();
    for instance in &all {
        let group = catalogue.zone(zone_of(&instance.id)).map_or("other", |z| z.group.as_str());
        match groups.iter_mut().find(|(name, _)| *name == group) {
            Some((_, list)) => list.push(instance),
            None => groups.push((group, vec![instance])),
        }
    }
    let id = format!("zone-{kind}");
    let without = WITHOUT_ZONE.iter().find(|(of, _)| *of == kind).map(|(_, words)| *words);
    html! {
        div.field.err[field::is_wrong("zone", errors)] {
            label for=(id) { "Zone" }
            (field::complaint("zone", errors))
            select id=(id) name="zone" required[without.is_none()] {
                option value="" { (without.unwrap_or("choose a zone")) }
                @for (group, list) in &groups {
                    optgroup label=(upper(group)) {
                        @for instance in list { option value=(instance.id) selected[instance.id == picked] { (instance.name()) } }
                    }
                }
            }
        }
    }
}

fn look(app: &App, typed: &Typed, zone: &str, errors: &[FieldError]) -> Markup {
    let observations = app.shop.catalogue().observations_for(zone_of(zone));
    let result = typed.get("result");
    html! {
        fieldset {
            legend { "What did the look say?" }
            (field::complaint("result", errors))
            div.picks {
                label.pick { input type="radio" name="result" value="not_looked" data-say="not seen" checked[result == "not_looked"]; (drawing::mark(ZoneState::NotLooked, false)) span { b { "Could not see it" } small { "stays open, changes nothing" } } }
                label.pick { input type="radio" name="result" value="clear" data-say="clear" checked[result == "clear"]; (drawing::mark(ZoneState::Clear, false)) span { b { "Looked: clear" } small { "nothing found where I could see" } } }
                label.pick { input type="radio" name="result" value="bad" data-say="bad" checked[result == "bad"]; (drawing::mark(ZoneState::Bad(Severity::Thin), false)) span { b { "Looked: bad" } small { "pitted, thin or holed" } } }
            }
        }
        fieldset {
            legend { "If bad: how bad, at the worst place?" }
            (field::complaint("severity", errors))
            div.picks.side {
                @for severity in Severity::ALL {
                    label.pick { input type="radio" name="severity" value=(severity.key()) checked[typed.is("severity", severity.key())]; (drawing::mark(ZoneState::Bad(*severity), false)) span { b { (upper(severity.words())) } } }
                }
            }
        }
        div {
            (field::complaint("how", errors))
            (field::radios("How did you look?", "how", How::ALL, Some(typed.get("how")), |h| (h.key(), h.words())))
        }
        @if !observations.is_empty() {
            fieldset {
                legend { "Clues seen" }
                p.hint { "Tick what is there. What was not looked for is left alone: that is not the same as clear." }
                div.picks {
                    @for o in &observations {
                        label.pick {
                            input type="checkbox" name="clue" value=(o.id) checked[typed.is("clue", &o.id)];
                            span { b { (upper(&o.text)) } small { (o.how) } }
                        }
                    }
                    label.pick {
                        input type="checkbox" name="rest_absent" value="1" checked[typed.is("rest_absent", "1")];
                        span { b { "None of the others, and I checked them all" } small { "only then do they count as absent" } }
                    }
                }
                @for o in &observations { input type="hidden" name="offered" value=(o.id); }
            }
        }
        (field::note_with_id("look-note", "note", "Note", "Where on the zone, how long, what it did under the thumb.", typed.get("note"), errors))
    }
}

fn reading(app: &App, typed: &Typed, zone: &str, errors: &[FieldError]) -> Markup {
    let catalogue = app.shop.catalogue();
    let gauge = catalogue.zone(zone_of(zone)).map(|z| z.gauge_mm);
    let hint = gauge.map_or_else(
        || "Film 0 to 20 000 \u{b5}m; wall 0.1 to 4.0 mm.".to_string(),
        |g| format!("Sheet here is usually {} mm new. Film 0 to 20 000 \u{b5}m; wall 0.1 to 4.0 mm.", g.likely),
    );
    html! {
        fieldset {
            legend { "What did you measure?" }
            (field::complaint("quantity", errors))
            div.picks.side {
                label.pick { input type="radio" name="quantity" value=(Quantity::Wall.key()) checked[typed.is("quantity", Quantity::Wall.key())]; span { b { "Wall left" } small { "metal, in mm" } } }
                label.pick { input type="radio" name="quantity" value=(Quantity::Film.key()) checked[typed.is("quantity", Quantity::Film.key())]; span { b { "Film" } small { "paint, filler or lead, in \u{b5}m" } } }
            }
        }
        (field::Text { id: "value", name: "value", label: "Reading at the worst place", hint: &hint, value: typed.get("value"), unit: "mm or \u{b5}m", errors }.draw())
        div.field.err[field::is_wrong("instrument", errors)] {
            label for="instrument" { "Instrument" }
            (field::complaint("instrument", errors))
            (instrument_select("instrument", typed, catalogue, None))
        }
        (other_instrument("read", typed, errors))
        (field::Text { id: "place", name: "place", label: "Where on the zone", hint: "Such as 640 mm back from the front end, 30 mm up.", value: typed.get("place"), unit: "", errors }.draw())
        details open[!typed.get("limit").is_empty() || field::is_wrong("limit", errors) || field::is_wrong("limit_source", errors)] {
            summary { "Judged against a limit" }
            (field::Text { id: "limit", name: "limit", label: "Limit", hint: "In the same unit. Such as 80 percent of new gauge where a cut line is to go.", value: typed.get("limit"), unit: "mm or \u{b5}m", errors }.draw())
            (field::Text { id: "limit_source", name: "limit_source", label: "Where the limit comes from", hint: "", value: typed.get("limit_source"), unit: "", errors }.draw())
        }
        (field::note_with_id("read-note", "note", "Note", "", typed.get("note"), errors))
    }
}

/// The shop's instruments for readings, of one quantity or of both.
pub(crate) fn instrument_select(
    id: &str,
    typed: &Typed,
    catalogue: &job::catalogue::Catalogue,
    only: Option<Quantity>,
) -> Markup {
    let picked = typed.get("instrument");
    html! {
        select id=(id) name="instrument" {
            option value="" { "choose an instrument" }
            @for quantity in Quantity::ALL.iter().filter(|q| only.is_none_or(|only| only == **q)) {
                optgroup label=(quantity.words()) {
                    @for i in catalogue.instruments().filter(|i| entry_form::measures(i) == Some(*quantity)) {
                        option value=(i.id) selected[picked == i.id] {
                            (i.name) ", good to " (i.precision_abs) " " (quantity.unit())
                            @if i.precision_rel_pct > 0.0 { " and " (i.precision_rel_pct) " %" }
                        }
                    }
                }
            }
            option value="other" selected[picked == "other"] { "another, described below" }
        }
    }
}

/// An instrument that is not in the shop's list.
pub(crate) fn other_instrument(key: &str, typed: &Typed, errors: &[FieldError]) -> Markup {
    let id = |name: &str| format!("{key}-{name}");
    let wrong = ["instrument_name", "precision_abs", "precision_rel_pct"].iter().any(|n| field::is_wrong(n, errors));
    html! {
        details open[wrong || typed.get("instrument") == "other"] {
            summary { "Another instrument" }
            (field::Text { id: &id("instrument_name"), name: "instrument_name", label: "Its name", hint: "", value: typed.get("instrument_name"), unit: "", errors }.draw())
            (field::Text { id: &id("precision_abs"), name: "precision_abs", label: "Good to", hint: "In the unit of the reading.", value: typed.get("precision_abs"), unit: "\u{b1}", errors }.draw())
            (field::Text { id: &id("precision_rel_pct"), name: "precision_rel_pct", label: "and besides", hint: "In percent of the reading; empty if none.", value: typed.get("precision_rel_pct"), unit: "%", errors }.draw())
        }
    }
}

fn photograph(car: &Car, typed: &Typed, zone: &str, errors: &[FieldError]) -> Markup {
    let kept = !typed.get("picture").is_empty();
    let place = instance(&car.details, zone);
    let side = Some(typed.get("side")).filter(|s| !s.is_empty()).map(String::from).or_else(|| {
        use job::body::Side as Half;
        place.map(|i| match i.side {
            Half::Left => Side::Left.key().to_string(),
            Half::Right => Side::Right.key().to_string(),
            Half::Centre => Side::Centre.key().to_string(),
        })
    });
    let stage = Some(typed.get("stage")).filter(|s| !s.is_empty()).unwrap_or(car.stage.key());
    html! {
        div.field.err[field::is_wrong("photo", errors)] {
            label for="photo" { "Photograph" }
            p.hint { "Straight from the camera, with a rule or gauge in the picture for scale. JPEG, PNG or WebP, at most 40 MB." }
            (field::complaint("photo", errors))
            @if kept {
                p.note { "The photograph you sent is kept; you need not send it again." }
                @for name in ["picture", "thumb", "width_px", "height_px"] { input type="hidden" name=(name) value=(typed.get(name)); }
            }
            input #photo type="file" name="photo" accept="image/jpeg,image/png,image/webp,image/*" capture="environment" data-max-bytes=(job::photograph::MAX_BYTES) required[!kept];
        }
        (field::complaint("side", errors))
        (field::radios("Side, as seen sitting in the car", "side", Side::ALL, side.as_deref(), |s| (s.key(), s.words())))
        (field::complaint("stage", errors))
        (field::radios("Stage it shows", "stage", Stage::ALL, Some(stage), |s| (s.key(), s.words())))
        (field::Text { id: "caption", name: "caption", label: "What it shows", hint: "", value: typed.get("caption"), unit: "", errors }.draw())
        (mark_field(car, typed, zone))
    }
}

/// The place on the outline: the middle of the zone unless somebody sets it. With scripts it is set here by a tap.
fn mark_field(car: &Car, typed: &Typed, zone: &str) -> Markup {
    let view = body(&car.details).and_then(|b| b.view(typed.get("mark_view")).or_else(|| b.best_view(zone)));
    html! {
        fieldset {
            legend { "Place on the outline" }
            p.hint { "Marked in the middle of the zone. It can be moved afterwards, on the entry's own page." }
            @for name in ["mark_view", "mark_u", "mark_v"] { input type="hidden" name=(name) value=(typed.get(name)); }
            @if let Some(view) = view {
                div data-mark { (drawing::map(view, &Drawn { car, on: Some(zone), marks: &[], links: false })) }
            }
        }
    }
}

fn opened(typed: &Typed, errors: &[FieldError]) -> Markup {
    let found = typed.get("found");
    html! {
        fieldset {
            legend { "What was found?" }
            (field::complaint("found", errors))
            div.picks.side {
                label.pick { input type="radio" name="found" value="sound" checked[found == "sound"]; (drawing::mark(ZoneState::Clear, false)) span { b { "Sound" } } }
                @for severity in Severity::ALL {
                    label.pick { input type="radio" name="found" value=(severity.key()) checked[found == severity.key()]; (drawing::mark(ZoneState::Bad(*severity), false)) span { b { (upper(severity.words())) } } }
                }
            }
        }
        (field::Text { id: "through", name: "through", label: "What came off, or where the hole was made", hint: "", value: typed.get("through"), unit: "", errors }.draw())
        div.two {
            (field::Text { id: "length_mm", name: "length_mm", label: "Length of the bad place", hint: "", value: typed.get("length_mm"), unit: "mm", errors }.draw())
            (field::Text { id: "width_mm", name: "width_mm", label: "Width", hint: "", value: typed.get("width_mm"), unit: "mm", errors }.draw())
        }
        (field::note_with_id("opened-note", "note", "Note", "", typed.get("note"), errors))
    }
}

fn worked(typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        div {
            (field::complaint("part", errors))
            (field::radios("What did they go into?", "part", Part::ALL, Some(typed.get("part")), |p| (p.key(), p.words())))
        }
        (field::Text { id: "hours", name: "hours", label: "Hours", hint: "Of everybody together, such as 6.5. The shop's own factor is learned from those put down on zones that were made good.", value: typed.get("hours"), unit: "h", errors }.draw())
        (field::note_with_id("worked-note", "note", "Note", "", typed.get("note"), errors))
    }
}

/// Somebody else wrote first: theirs and yours side by side, and both can be kept.
pub(crate) fn overtaken(sent: &Sent<'_>, theirs: &Entry, yours: &str) -> Response {
    let Sent { app, access, car, typed, .. } = sent;
    let says = sentence(&format!("{} changed this zone while you were writing", theirs.by.name));
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Paper,
        sheet: Sheet::Shell,
        title: "Somebody else wrote first",
        says: &says,
        legend: true,
        deed: Bar::Send("both", "Keep both"),
    };
    let markup = page.draw(html! {
        div.note.stop.stack {
            p { "Theirs, " (when(app, theirs.when())) ": " b { (theirs.what.say()) } @if !theirs.what.note().is_empty() { ". " (theirs.what.note()) } }
            p { "Yours, not kept yet: " b { (yours) } @if !typed.get("note").is_empty() { ". " (typed.get("note")) } }
            form #both method="post" action={ (link::shell(car.id)) "/entries" } enctype="multipart/form-data"
                data-queue data-label=(short(typed.get("kind"))) {
                @for (name, value) in typed.pairs() { input type="hidden" name=(name) value=(value); }
                input type="hidden" name="resolve" value="keep_both";
                p.row { button.main { "Keep both, mine last" } a.btn href=(link::zone(car.id, typed.get("zone"))) { "Drop mine" } }
            }
        }
    });
    (StatusCode::CONFLICT, markup).into_response()
}
