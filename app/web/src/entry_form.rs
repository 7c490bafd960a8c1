//! Between what somebody typed and what the record keeps: both ways, kind by kind.

use job::car::Car;
use job::catalogue::{Catalogue, Instrument, Quantity as Measures};
use job::details::Stage;
use job::ids::{EntryId, Hash};
use job::shop::Draft;
use job::validate::{FieldError, body};
use job::what::{
    ClimateRead, ClueSeen, FilmJudged, How, Limit, Look, MadeGood, Mark, Opened, Photograph, Quantity, Reading, Seen,
    Severity, Side, StageReached, What, Withdrawn,
};
use job::worked::{Part, Worked};

use crate::typed::Typed;

/// The draft that a form holds, or everything that is wrong with it.
pub(crate) fn draft(typed: &Typed, car: &Car, catalogue: &Catalogue) -> Result<Draft, Vec<FieldError>> {
    let mut errors = Errors::default();
    let what = errors.take(what(typed, car, catalogue));
    let entry = errors.take(id(typed.get("entry"), "entry", "The page was drawn by another version: open it again."));
    let by = errors.take(id(typed.get("who"), "who", "Pick who is writing."));
    let corrects = match typed.get("corrects") {
        "" => None,
        text => errors.take(id::<EntryId>(text, "corrects", "Open the entry and choose \"correct this\" again.")),
    };
    // A time that a device made up is no reason to lose an entry: it is left out instead.
    let noted = typed.get("noted").parse().ok();
    match (what, entry, by) {
        (Some(what), Some(entry), Some(by)) if errors.0.is_empty() => Ok(Draft {
            entry,
            base: typed.get("base").parse().ok(),
            by,
            noted,
            corrects,
            keep_both: typed.is("resolve", "keep_both"),
            what,
        }),
        _ => Err(errors.0),
    }
}

#[derive(Default)]
struct Errors(Vec<FieldError>);

impl Errors {
    fn take<T>(&mut self, result: Result<T, Vec<FieldError>>) -> Option<T> {
        result.map_err(|e| self.0.extend(e)).ok()
    }

    fn one<T>(&mut self, result: Result<T, FieldError>) -> Option<T> {
        result.map_err(|e| self.0.push(e)).ok()
    }

    fn done<T>(self, value: Option<T>) -> Result<T, Vec<FieldError>> {
        match value {
            Some(value) if self.0.is_empty() => Ok(value),
            _ => Err(self.0),
        }
    }
}

fn id<T: std::str::FromStr>(text: &str, field: &'static str, right: &str) -> Result<T, Vec<FieldError>> {
    let missing = if text.is_empty() { "nothing was picked".to_string() } else { format!("\"{text}\" was sent") };
    text.parse().map_err(|_| vec![FieldError::new(field, missing, right)])
}

fn pick<T>(typed: &Typed, field: &'static str, from: fn(&str) -> Option<T>, right: &str) -> Result<T, FieldError> {
    from(typed.get(field)).ok_or_else(|| {
        let say = if typed.get(field).is_empty() { "nothing was chosen" } else { "that is not one of the choices" };
        FieldError::new(field, say, right)
    })
}

fn what(typed: &Typed, car: &Car, catalogue: &Catalogue) -> Result<What, Vec<FieldError>> {
    match typed.get("kind") {
        "looked" => look(typed, catalogue).map(What::Looked),
        "read" => reading(typed, catalogue).map(What::Read),
        "photographed" => photograph(typed, car).map(What::Photographed),
        "opened" => opened(typed).map(What::Opened),
        "made_good" => Ok(What::MadeGood(MadeGood { zone: typed.get("zone").into(), note: typed.get("note").into() })),
        "worked" => worked(typed).map(What::Worked),
        "stage_reached" => pick(typed, "stage", Stage::from_key, "Choose the stage.")
            .map(|stage| What::StageReached(StageReached { stage }))
            .map_err(|e| vec![e]),
        "climate_read" => climate(typed, catalogue).map(What::ClimateRead),
        "film_judged" => film(typed, catalogue).map(What::FilmJudged),
        "withdrawn" => {
            let entry = id(typed.get("withdraws"), "withdraws", "Open the entry and choose \"take out\" again.")?;
            Ok(What::Withdrawn(Withdrawn { entry, why: typed.get("why").into() }))
        }
        kind => {
            Err(vec![FieldError::new("kind", format!("\"{kind}\" is not a kind of entry"), "Open the page again.")])
        }
    }
}

fn look(typed: &Typed, catalogue: &Catalogue) -> Result<Look, Vec<FieldError>> {
    let mut errors = Errors::default();
    let how = errors.one(pick(typed, "how", How::from_key, "Choose how you looked."));
    let seen = match typed.get("result") {
        "not_looked" => Some(Seen::NotLooked),
        "clear" => Some(Seen::Clear),
        "bad" => errors
            .one(pick(typed, "severity", Severity::from_key, "Choose how bad it is at the worst place."))
            .map(Seen::Bad),
        _ => errors.one(Err(FieldError::new("result", "nothing was chosen", "Choose what the look said."))),
    };
    let rest = typed.is("rest_absent", "1");
    let offered = typed.all("offered").filter(|id| catalogue.clue(id).is_some());
    let clues = offered
        .filter(|id| rest || typed.is("clue", id))
        .map(|id| ClueSeen { clue: id.to_string(), there: typed.is("clue", id) })
        .collect();
    let zone = typed.get("zone").to_string();
    let note = typed.get("note").to_string();
    errors.done(how.zip(seen).map(|(how, seen)| Look { zone, how, seen, clues, note }))
}

fn reading(typed: &Typed, catalogue: &Catalogue) -> Result<Reading, Vec<FieldError>> {
    let mut errors = Errors::default();
    let quantity = errors.one(pick(typed, "quantity", Quantity::from_key, "Choose what you measured."));
    let value = errors.one(typed.number("value", "reading"));
    let instrument = quantity.and_then(|quantity| errors.one(instrument(typed, quantity, catalogue)));
    let limit = errors.one(typed.number_if_any("limit", "limit"));
    let limit = limit.flatten().map(|value| Limit { value, source: typed.get("limit_source").into() });
    let all = quantity.zip(value).zip(instrument);
    errors.done(all.map(|((quantity, value), (instrument, precision_abs, precision_rel_pct))| Reading {
        zone: typed.get("zone").into(),
        quantity,
        value,
        instrument,
        precision_abs,
        precision_rel_pct,
        place: typed.get("place").into(),
        limit,
        note: typed.get("note").into(),
    }))
}

/// The instrument's name and what it is good to: one of the shop's list, or another as typed.
fn instrument(typed: &Typed, quantity: Quantity, catalogue: &Catalogue) -> Result<(String, f64, f64), FieldError> {
    match typed.get("instrument") {
        "" => Err(FieldError::new("instrument", "no instrument was chosen", "Choose the instrument.")),
        "other" => Ok((
            typed.get("instrument_name").to_string(),
            typed.number("precision_abs", "precision")?,
            typed.number_if_any("precision_rel_pct", "precision")?.unwrap_or(0.0),
        )),
        id => match catalogue.instrument(id) {
            Some(known) if measures(known) == Some(quantity) => {
                Ok((known.name.clone(), known.precision_abs, known.precision_rel_pct))
            }
            Some(known) => Err(FieldError::new(
                "instrument",
                format!("the {} does not measure {}", known.name, quantity.words().to_lowercase()),
                "Choose another instrument, or the other quantity.",
            )),
            None => Err(FieldError::new(
                "instrument",
                "that instrument is not in the catalogue",
                "Choose one from the list.",
            )),
        },
    }
}

/// What an instrument of the catalogue measures, if a reading can be entered with it.
pub(crate) fn measures(instrument: &Instrument) -> Option<Quantity> {
    match instrument.measures {
        Measures::FilmUm => Some(Quantity::Film),
        Measures::WallMm => Some(Quantity::Wall),
        _ => None,
    }
}

fn photograph(typed: &Typed, car: &Car) -> Result<Photograph, Vec<FieldError>> {
    let mut errors = Errors::default();
    let side = errors.one(pick(typed, "side", Side::from_key, "Choose the side by hand: a picture can be mirrored."));
    let stage = errors.one(pick(typed, "stage", Stage::from_key, "Choose the stage it shows."));
    let picture = errors.one(kept_picture(typed));
    let zone = Some(typed.get("zone").to_string()).filter(|z| !z.is_empty());
    let mark = mark(typed).filter(|mark| !follows(mark, typed, car)).or_else(|| {
        let (view, u_mm, v_mm) = body(&car.details)?.centre(zone.as_deref()?)?;
        Some(Mark { view: view.id.clone(), u_mm, v_mm })
    });
    let caption = typed.get("caption").to_string();
    errors.done(side.zip(stage).zip(picture).map(|((side, stage), (picture, thumb, width_px, height_px))| Photograph {
        zone,
        side,
        stage,
        caption,
        mark,
        picture,
        thumb,
        width_px,
        height_px,
    }))
}

/// Whether a mark stands in the middle of the zone that is being corrected: nobody set it, so it follows the zone.
fn follows(mark: &Mark, typed: &Typed, car: &Car) -> bool {
    let old = typed.get("corrects").parse().ok().and_then(|id| car.entry_by_id(id));
    let middle = old.and_then(|old| body(&car.details)?.centre(old.what.zone()?));
    middle.is_some_and(|(view, u_mm, v_mm)| mark.view == view.id && mark.u_mm == u_mm && mark.v_mm == v_mm)
}

fn mark(typed: &Typed) -> Option<Mark> {
    let view = typed.get("mark_view");
    let number = |name| typed.get(name).parse::<f64>().ok().filter(|v| v.is_finite());
    (!view.is_empty()).then(|| Some(Mark { view: view.into(), u_mm: number("mark_u")?, v_mm: number("mark_v")? }))?
}

fn kept_picture(typed: &Typed) -> Result<(Hash, Hash, u32, u32), FieldError> {
    let missing = || FieldError::new("photo", "no photograph came with it", "Take one, or choose one.");
    let hash = |name| typed.get(name).parse::<Hash>().map_err(|_| missing());
    let px = |name| typed.get(name).parse::<u32>().map_err(|_| missing());
    Ok((hash("picture")?, hash("thumb")?, px("width_px")?, px("height_px")?))
}

fn opened(typed: &Typed) -> Result<Opened, Vec<FieldError>> {
    let mut errors = Errors::default();
    let found = match typed.get("found") {
        "sound" => Some(None),
        _ => errors.one(pick(typed, "found", Severity::from_key, "Choose what was found.")).map(Some),
    };
    let length = errors.one(typed.number_if_any("length_mm", "length of the bad place")).flatten();
    let width = errors.one(typed.number_if_any("width_mm", "width of the bad place")).flatten();
    let extent_mm = match (length, width) {
        (Some(length), Some(width)) => Some((length, width)),
        (Some(_), None) => {
            errors.0.push(FieldError::new("width_mm", "the width is missing", "Enter both, or neither."));
            None
        }
        (None, Some(_)) => {
            errors.0.push(FieldError::new("length_mm", "the length is missing", "Enter both, or neither."));
            None
        }
        (None, None) => None,
    };
    errors.done(found.map(|found| Opened {
        zone: typed.get("zone").into(),
        found,
        through: typed.get("through").into(),
        extent_mm,
        note: typed.get("note").into(),
    }))
}

fn worked(typed: &Typed) -> Result<Worked, Vec<FieldError>> {
    let mut errors = Errors::default();
    let part = errors.one(pick(typed, "part", Part::from_key, "Choose what the hours went into."));
    let hours_h = errors.one(typed.number("hours", "hours"));
    let zone = Some(typed.get("zone").to_string()).filter(|zone| !zone.is_empty());
    let note = typed.get("note").to_string();
    errors.done(part.zip(hours_h).map(|(part, hours_h)| Worked { zone, part, hours_h, note }))
}

/// The climate as typed, with the answer worked out here: figures from outside are not believed.
pub(crate) fn climate(typed: &Typed, catalogue: &Catalogue) -> Result<ClimateRead, Vec<FieldError>> {
    let mut errors = Errors::default();
    let air = errors.one(typed.number("air", "air"));
    let rh = errors.one(typed.number("rh", "humidity"));
    let panel = errors.one(typed.number("panel", "panel surface"));
    let layer = catalogue.layer(typed.get("product"));
    let answer = match (air, rh, panel) {
        (Some(air_c), Some(rh_pct), Some(panel_c)) => {
            let spray = job::coats::may_spray(air_c, rh_pct, panel_c, layer);
            errors.one(spray.map_err(|(field, say)| FieldError::new(field, say, "Read the instrument again.")))
        }
        _ => None,
    };
    errors.done(answer.map(|answer| ClimateRead {
        air_c: air.unwrap_or_default(),
        rh_pct: rh.unwrap_or_default(),
        panel_c: panel.unwrap_or_default(),
        product: layer.map(|l| l.name.clone()).unwrap_or_default(),
        dew_point_c: answer.dew_point_c,
        margin_c: answer.margin_c,
        spray: answer.spray,
        why: answer.why,
    }))
}

/// Film readings as typed, judged here.
pub(crate) fn film(typed: &Typed, catalogue: &Catalogue) -> Result<FilmJudged, Vec<FieldError>> {
    let mut errors = Errors::default();
    let nominal = errors.one(typed.number("nominal_um", "nominal film"));
    let readings = errors.one(readings(typed.get("readings")));
    let instrument = errors.one(instrument(typed, Quantity::Film, catalogue));
    let judged = match (nominal, &readings) {
        (Some(nominal), Some(readings)) => {
            let judged = job::coats::judge_film(readings, nominal);
            errors.one(judged.map_err(|(field, say)| FieldError::new(field, say, "Enter film in \u{b5}m.")))
        }
        _ => None,
    };
    errors.done(judged.zip(instrument).map(|(judged, (instrument, ..))| FilmJudged {
        zone: typed.get("zone").into(),
        nominal_um: nominal.unwrap_or_default(),
        readings_um: readings.unwrap_or_default(),
        instrument,
        accept: judged.accept,
        mean_um: judged.mean_um,
        why: judged.why,
    }))
}

/// Figures with blanks, new lines or semicolons between them.
fn readings(text: &str) -> Result<Vec<f64>, FieldError> {
    let wrong = |word: &str| {
        FieldError::new(
            "readings",
            format!("\"{}\" is not a reading", word.chars().take(30).collect::<String>()),
            "Enter figures in \u{b5}m with blanks between them, such as 82 79 91.",
        )
    };
    let words: Vec<&str> = text.split(|c: char| c.is_whitespace() || c == ';').filter(|w| !w.is_empty()).collect();
    if words.is_empty() || words.len() > 1000 {
        return Err(FieldError::new(
            "readings",
            format!("{} readings were typed", words.len()),
            "Enter 1 to 1000 readings.",
        ));
    }
    let read = |word: &&str| word.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| wrong(word));
    words.iter().map(read).collect()
}

/// An entry of the record as a form that could have made it, to correct it.
pub(crate) fn typed(what: &What, catalogue: &Catalogue) -> Option<Typed> {
    let mut pairs = vec![("kind", what.kind().to_string()), ("zone", what.zone().unwrap_or_default().to_string())];
    match what {
        What::Looked(look) => {
            pairs.push(("how", look.how.key().into()));
            pairs.push(("note", look.note.clone()));
            match look.seen {
                Seen::NotLooked => pairs.push(("result", "not_looked".into())),
                Seen::Clear => pairs.push(("result", "clear".into())),
                Seen::Bad(severity) => {
                    pairs.push(("result", "bad".into()));
                    pairs.push(("severity", severity.key().into()));
                }
            }
            pairs.extend(look.clues.iter().filter(|c| c.there).map(|c| ("clue", c.clue.clone())));
            if look.clues.iter().any(|c| !c.there) {
                pairs.push(("rest_absent", "1".into()));
            }
        }
        What::Read(reading) => {
            let known = catalogue.instruments().find(|i| i.name == reading.instrument);
            pairs.extend([
                ("quantity", reading.quantity.key().to_string()),
                ("value", reading.value.to_string()),
                ("instrument", known.map_or("other", |i| &i.id).to_string()),
                ("place", reading.place.clone()),
                ("note", reading.note.clone()),
                ("instrument_name", reading.instrument.clone()),
                ("precision_abs", reading.precision_abs.to_string()),
                ("precision_rel_pct", reading.precision_rel_pct.to_string()),
            ]);
            if let Some(limit) = &reading.limit {
                pairs.push(("limit", limit.value.to_string()));
                pairs.push(("limit_source", limit.source.clone()));
            }
        }
        What::Photographed(photo) => {
            pairs.extend([
                ("side", photo.side.key().to_string()),
                ("stage", photo.stage.key().to_string()),
                ("caption", photo.caption.clone()),
                ("picture", photo.picture.to_string()),
                ("thumb", photo.thumb.to_string()),
                ("width_px", photo.width_px.to_string()),
                ("height_px", photo.height_px.to_string()),
            ]);
            if let Some(mark) = &photo.mark {
                pairs.push(("mark_view", mark.view.clone()));
                pairs.push(("mark_u", mark.u_mm.to_string()));
                pairs.push(("mark_v", mark.v_mm.to_string()));
            }
        }
        What::Opened(opened) => {
            pairs.push(("found", opened.found.map_or("sound", Severity::key).into()));
            pairs.push(("through", opened.through.clone()));
            pairs.push(("note", opened.note.clone()));
            if let Some((length, width)) = opened.extent_mm {
                pairs.push(("length_mm", length.to_string()));
                pairs.push(("width_mm", width.to_string()));
            }
        }
        What::MadeGood(made) => pairs.push(("note", made.note.clone())),
        What::Worked(worked) => pairs.extend([
            ("part", worked.part.key().to_string()),
            ("hours", worked.hours_h.to_string()),
            ("note", worked.note.clone()),
        ]),
        _ => return None,
    }
    Some(Typed::from_pairs(pairs))
}
