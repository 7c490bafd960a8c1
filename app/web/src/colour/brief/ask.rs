//! A brief as a form or an address asks for it, and the other way round.

use job::car::Car;
use job::colour::recipe::USUAL_WEIGHTS;
use job::colour::{Geometry, brief::BriefError};
use job::ids::EntryId;
use job::mixing::{AngleWeight, BriefEdit, Briefed, Said, Wanted};
use job::paintwork::briefs::{self, Briefing, WishError};
use job::paintwork::{self, Told};
use job::validate::FieldError;
use job::what::Measured;

use crate::colour::recipes::EDITS;
use crate::colour::swatches::degrees;
use crate::fault::{Fault, sentence};
use crate::link;
use crate::typed::Typed;

/// How much of a plain word is asked for, where it is not all.
pub(crate) const AMOUNTS: [(f64, &str); 4] =
    [(0.3, "a little"), (0.5, "half"), (0.9, "nearly all"), (1.0, "all of it")];
/// How much it is when nothing else is said.
pub(crate) const USUAL_AMOUNT: f64 = 0.5;
/// How much an angle counts, as a part of what it usually does.
pub(crate) const WEIGHTS: [(&str, &str); 4] =
    [("", "as much as usual"), ("2", "twice as much"), ("0.5", "half as much"), ("0", "not at all")];
/// The most that an angle may count, as a multiple of what it usually does.
const MOST_WEIGHT: f64 = 100.0;
/// What a change smaller than this is worth, by lightness and strength, and by hue: nobody sees it.
const SLIGHT: [f64; 3] = [0.05, 0.05, 0.25];
/// The steps of the sliders, for the same.
pub(crate) const STEPS: [f64; 3] = [0.1, 0.1, 0.5];

/// The field of an amount.
pub(crate) fn much(want: Wanted) -> String {
    format!("much-{}", want.key())
}

/// The field of an angle's weight.
pub(crate) fn weight_field(geometry: Geometry) -> &'static str {
    match geometry {
        Geometry::AsMinus15 => "w_-15",
        Geometry::As15 => "w_15",
        Geometry::As25 => "w_25",
        Geometry::As45 => "w_45",
        Geometry::As75 => "w_75",
        Geometry::As110 => "w_110",
    }
}

/// The measured paint that the form starts from; where none is named, that of the latest brief, else the latest.
/// `None` where there is none.
pub(crate) fn donor<'a>(car: &'a Car, typed: &Typed) -> Result<Option<Told<'a, Measured>>, Fault> {
    let targets = paintwork::targets(car);
    match typed.get("donor") {
        "" => {
            let brief = paintwork::briefs(car).pop();
            let its = brief.and_then(|(_, briefed)| paintwork::target_of(car, briefed.donor));
            Ok(its.or_else(|| targets.last().copied()))
        }
        text => {
            let seq: Option<u64> = text.parse().ok();
            let found = targets.into_iter().find(|(entry, _)| Some(entry.seq) == seq);
            found.map(Some).ok_or(Fault::NotFound("measured paint"))
        }
    }
}

/// Everything that the form asks for.
pub(crate) fn briefing(car: &Car, donor: EntryId, typed: &Typed) -> Result<Briefing, Vec<FieldError>> {
    let mut errors = Vec::new();
    let mut other = |name: &'static str| {
        let seq: u64 = match typed.get(name) {
            "" => return None,
            text => text.parse().unwrap_or_default(),
        };
        let found = paintwork::targets(car).into_iter().find(|(entry, _)| entry.seq == seq).map(|(entry, _)| entry.id);
        if found.is_none() {
            errors.push(FieldError::new(name, "no measured paint of this car was chosen", "Choose one from the list."));
        }
        found
    };
    let (face_of, flop_of) = (other("face_of"), other("flop_of"));
    let words = words(typed, &mut errors);
    let by_hand = edits(typed, &mut errors);
    let weights = weights(typed, &mut errors);
    let name = typed.get("name").to_owned();
    let (why, note) = (typed.get("why").to_owned(), typed.get("note").to_owned());
    let briefing = Briefing { name, donor, words, face_of, flop_of, by_hand, weights, why, note };
    if errors.is_empty() { Ok(briefing) } else { Err(errors) }
}

fn words(typed: &Typed, errors: &mut Vec<FieldError>) -> Vec<Said> {
    let mut words = Vec::new();
    for key in typed.all("want").filter(|key| !key.is_empty()) {
        let Some(what) = Wanted::from_key(key) else {
            let short: String = key.chars().take(40).collect();
            errors.push(FieldError::new(
                "words",
                format!("\"{short}\" is no word of a brief"),
                "Choose from the cards.",
            ));
            continue;
        };
        let text = typed.get(&much(what)).to_owned();
        let how_much = match text.as_str() {
            _ if what == Wanted::KeepFace => 1.0,
            "" => USUAL_AMOUNT,
            text => match text.parse::<f64>() {
                Ok(amount) if (0.0..=1.0).contains(&amount) => amount,
                _ => {
                    let short: String = text.chars().take(20).collect();
                    let say = format!("\"{short}\" was asked of \"{}\"", what.words());
                    errors.push(FieldError::new("words", say, "It must be 0 for nothing to 1 for all of it."));
                    continue;
                }
            },
        };
        if !words.iter().any(|said: &Said| said.what == what) {
            words.push(Said { what, how_much });
        }
    }
    words
}

/// Changes by hand: angles at which nothing is changed are left out.
pub(crate) fn edits(typed: &Typed, errors: &mut Vec<FieldError>) -> Vec<BriefEdit> {
    let mut edits = Vec::new();
    for (geometry, [dl, dc, dh]) in EDITS {
        let mut figure = |name, what: &str| match typed.number_if_any(name, what) {
            Ok(value) => value.unwrap_or(0.0),
            Err(error) => {
                errors.push(error);
                0.0
            }
        };
        let at = |what: &str| format!("{what} at {}", degrees(geometry));
        let (dl, dc, dh_deg) = (figure(dl, &at("lightness")), figure(dc, &at("strength")), figure(dh, &at("hue")));
        if dl != 0.0 || dc != 0.0 || dh_deg != 0.0 {
            edits.push(BriefEdit { geometry: geometry.to_string(), dl, dc, dh_deg });
        }
    }
    edits
}

fn usual_weight(geometry: Geometry) -> f64 {
    USUAL_WEIGHTS.into_iter().find(|(known, _)| *known == geometry).map_or(0.0, |(_, weight)| weight)
}

fn weights(typed: &Typed, errors: &mut Vec<FieldError>) -> Vec<AngleWeight> {
    let mut weights = Vec::new();
    for (geometry, _) in EDITS {
        let name = weight_field(geometry);
        match typed.number_if_any(name, &format!("weight of {}", degrees(geometry))) {
            Ok(None) => {}
            Ok(Some(times)) if (0.0..=MOST_WEIGHT).contains(&times) => {
                let weight = AngleWeight { geometry: geometry.to_string(), weight: times * usual_weight(geometry) };
                weights.push(weight);
            }
            Ok(Some(times)) => {
                let say = format!("{} was to count {times} times as much as usual", degrees(geometry));
                errors.push(FieldError::new(name, say, format!("It must be 0 to {MOST_WEIGHT}.")));
            }
            Err(error) => errors.push(error),
        }
    }
    weights
}

/// What the engine says no to, as something wrong with the form.
pub(crate) fn wrong(error: &WishError) -> FieldError {
    match error {
        WishError::Gone { .. } | WishError::Paint(_) => FieldError::new("donor", error.to_string(), "Choose another."),
        WishError::Brief(BriefError::Amount { .. } | BriefError::SaidTwice { .. } | BriefError::Word { .. }) => {
            FieldError::new("words", error.to_string(), "")
        }
        WishError::Brief(_) => FieldError::new("edits", error.to_string(), ""),
    }
}

/// A brief as fields of a form, what is as the donor left out.
pub(crate) fn pairs(car: &Car, briefing: &Briefing) -> Vec<(String, String)> {
    let mut pairs: Vec<(String, String)> = Vec::new();
    let seq = |id: EntryId| car.standing(id).map(|entry| entry.seq.to_string());
    let paints = [("donor", Some(briefing.donor)), ("face_of", briefing.face_of), ("flop_of", briefing.flop_of)];
    pairs.extend(paints.into_iter().filter_map(|(name, id)| Some((name.to_owned(), seq(id?)?))));
    pairs.extend(words_pairs(briefing));
    for edit in &briefing.by_hand {
        let Some((_, names)) = EDITS.iter().find(|(geometry, _)| geometry.to_string() == edit.geometry) else {
            continue;
        };
        let values = [edit.dl, edit.dc, edit.dh_deg];
        let changed = names.iter().zip(values).filter(|(_, value)| *value != 0.0);
        pairs.extend(changed.map(|(name, value)| ((*name).to_owned(), value.to_string())));
    }
    for weight in &briefing.weights {
        let Ok(geometry) = weight.geometry.parse::<Geometry>() else { continue };
        let times = (100.0 * weight.weight / usual_weight(geometry)).round() / 100.0;
        pairs.push((weight_field(geometry).to_owned(), times.to_string()));
    }
    pairs
}

/// The plain words of a brief as fields of a form.
pub(crate) fn words_pairs(briefing: &Briefing) -> Vec<(String, String)> {
    let mut pairs = Vec::new();
    for said in &briefing.words {
        pairs.push(("want".to_owned(), said.what.key().to_owned()));
        if said.what != Wanted::KeepFace {
            pairs.push((much(said.what), said.how_much.to_string()));
        }
    }
    pairs
}

/// Fields as the query of an address.
pub(crate) fn query(pairs: &[(String, String)]) -> String {
    let pair = |(name, value): &(String, String)| format!("{}={}", link::escape(name), link::escape(value));
    pairs.iter().map(pair).collect::<Vec<_>>().join("&")
}

/// A kept brief as it was asked for: its words, and by hand what they do not account for.
pub(crate) fn again(car: &Car, briefed: &Briefed) -> Briefing {
    let mut briefing = Briefing {
        name: briefed.name.clone(),
        donor: briefed.donor,
        words: briefed.words.clone(),
        face_of: briefed.face_of,
        flop_of: briefed.flop_of,
        by_hand: Vec::new(),
        weights: briefed.brief.weights.clone(),
        why: briefed.why.clone(),
        note: briefed.note.clone(),
    };
    match briefs::tell(car, &briefing) {
        Ok(telling) => briefing.by_hand = between(&telling.briefed.brief.edits, &briefed.brief.edits),
        Err(_) => {
            briefing.words.clear();
            briefing.by_hand.clone_from(&briefed.brief.edits);
        }
    }
    briefing
}

/// What leads from some changes to others, in the steps of the sliders.
pub(crate) fn between(from: &[BriefEdit], to: &[BriefEdit]) -> Vec<BriefEdit> {
    let figures = |edits: &[BriefEdit], geometry: &str| {
        edits.iter().find(|edit| edit.geometry == geometry).map_or([0.0; 3], |edit| [edit.dl, edit.dc, edit.dh_deg])
    };
    let mut found = Vec::new();
    for (geometry, _) in EDITS {
        let geometry = geometry.to_string();
        let (from, to) = (figures(from, &geometry), figures(to, &geometry));
        let step = |i: usize| {
            let [by, slight, step] = [to[i] - from[i], SLIGHT[i], STEPS[i]];
            if by.abs() < slight { 0.0 } else { (by / step).round() * step }
        };
        // In tenths, so that 0.30000000000000004 does not stand in an address.
        let [dl, dc, dh_deg] = [0, 1, 2].map(|i| (10.0 * step(i)).round() / 10.0);
        if [dl, dc, dh_deg] != [0.0; 3] {
            found.push(BriefEdit { geometry, dl, dc, dh_deg });
        }
    }
    found
}

/// Two lists of changes, one on top of the other.
pub(crate) fn added(one: &[BriefEdit], other: &[BriefEdit]) -> Vec<BriefEdit> {
    let back: Vec<BriefEdit> = one
        .iter()
        .map(|edit| BriefEdit { geometry: edit.geometry.clone(), dl: -edit.dl, dc: -edit.dc, dh_deg: -edit.dh_deg })
        .collect();
    between(&back, other)
}

/// A brief that cannot be drawn, as an answer in words.
pub(crate) fn refused(errors: &[FieldError]) -> Fault {
    let say = |error: &FieldError| format!("{} {}", sentence(&error.say), error.right);
    Fault::Bad(errors.iter().map(say).collect::<Vec<_>>().join(" ").trim_end().to_owned())
}
