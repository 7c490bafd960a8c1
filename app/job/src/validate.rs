//! What can be kept: every figure in its range, every name known. Doubtful is not wrong: see [`doubts`].

mod colour;
mod mixing;
mod owner;

pub use mixing::MOST_PARTS;

use crate::body::{Body, BodyOption, BodyStyle, Instance};
use crate::car::Car;
use crate::catalogue::Catalogue;
use crate::details::{CarDetails, Fitted};
use crate::person::{Person, Role};
use crate::what::{FilmJudged, Mark, Measured, Quantity, Reading, What};
use crate::worked::MOST_H;

/// One field that cannot be kept as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    /// The field's name in the form.
    pub field: &'static str,
    /// What is wrong, with what was typed.
    pub say: String,
    /// What would be right.
    pub right: String,
    /// A value that was probably meant.
    pub take: Option<String>,
}

impl FieldError {
    /// A field that is wrong, and what would be right.
    pub fn new(field: &'static str, say: impl Into<String>, right: impl Into<String>) -> Self {
        Self { field, say: say.into(), right: right.into(), take: None }
    }
}

/// The longest short text, such as a name or a caption.
const SHORT: usize = 200;
/// The longest note.
const LONG: usize = 8_000;

/// Checks something that happened against what is known of the car and the trade.
pub(crate) fn check(what: &What, car: Option<&Car>, catalogue: &Catalogue) -> Result<(), Vec<FieldError>> {
    let mut errors = Vec::new();
    if let Some(zone) = what.zone()
        && let Some(car) = car
        && instance(&car.details, zone).is_none()
    {
        let say = format!("\"{}\" is not a zone of this body", short(zone));
        errors.push(FieldError::new("zone", say, "Choose a zone from the outline or the list."));
    }
    text(&mut errors, "note", what.note(), LONG, false);
    match what {
        What::CarOpened(details) | What::CarChanged(details) => car_details(&mut errors, details),
        What::Looked(look) => {
            for clue in &look.clues {
                if catalogue.clue(&clue.clue).is_none() {
                    let say = format!("\"{}\" is not a clue of this shop's catalogue", short(&clue.clue));
                    errors.push(FieldError::new("clue", say, "Choose from the clues shown."));
                }
            }
            if look.clues.len() > 100 {
                errors.push(FieldError::new("clue", "more than 100 clues on one look", "Enter several looks."));
            }
        }
        What::Read(reading) => check_reading(&mut errors, reading),
        What::Photographed(photo) => {
            text(&mut errors, "caption", &photo.caption, SHORT, true);
            if let (Some(mark), Some(car)) = (&photo.mark, car) {
                check_mark(&mut errors, mark, car);
            }
        }
        What::Opened(opened) => {
            text(&mut errors, "through", &opened.through, SHORT, false);
            if let Some((length, width)) = opened.extent_mm {
                number(&mut errors, "length_mm", "length of the bad place", length, (1.0, 5000.0), "mm");
                number(&mut errors, "width_mm", "width of the bad place", width, (1.0, 5000.0), "mm");
            }
        }
        What::MadeGood(made) => text(&mut errors, "note", &made.note, LONG, true),
        What::Worked(worked) => hours_worked(&mut errors, worked.hours_h),
        What::Measured(measured) => check_measured(&mut errors, measured),
        What::Briefed(brief) => colour::brief(&mut errors, brief, car),
        What::ColourServes(serves) => colour::serves(&mut errors, &serves.serves, true),
        What::Shelved(shelf) => mixing::shelf(&mut errors, shelf),
        What::Formulated(recipe) => mixing::recipe(&mut errors, recipe, car),
        What::Mixed(batch) => mixing::batch(&mut errors, batch, car),
        What::Carded(card) => mixing::card(&mut errors, card, car),
        What::ClimateRead(climate) => {
            number(&mut errors, "air", "air", climate.air_c, (-20.0, 60.0), "\u{b0}C");
            number(&mut errors, "rh", "relative humidity", climate.rh_pct, (1.0, 100.0), "%");
            number(&mut errors, "panel", "panel", climate.panel_c, (-20.0, 60.0), "\u{b0}C");
        }
        What::StageReached(_) | What::Newer { .. } => {}
        What::FilmJudged(judged) => check_judged(&mut errors, judged),
        What::Asked(question) => owner::question(&mut errors, question, car),
        What::Answered(answer) => owner::answer(&mut errors, answer, car),
        What::OwnerWrote(wrote) => text(&mut errors, "words", &wrote.words, LONG, true),
        What::Reported(report) => owner::report(&mut errors, report, car),
        What::Withdrawn(withdrawn) => text(&mut errors, "why", &withdrawn.why, SHORT, true),
    }
    if errors.is_empty() { Ok(()) } else { Err(errors) }
}

fn hours_worked(errors: &mut Vec<FieldError>, hours_h: f64) {
    if !(hours_h > 0.0 && hours_h <= MOST_H) {
        let say = format!("{} h was typed for the hours worked", plain(hours_h));
        let right = format!("Anything over 0, up to {} h, is taken; more goes into several entries.", plain(MOST_H));
        errors.push(FieldError::new("hours", say, right));
    }
}

/// The zone instance with this identifier, if this car has it.
pub fn instance(details: &CarDetails, id: &str) -> Option<&'static Instance> {
    body(details)?.instance(id).filter(|i| fitted(details, i))
}

/// The body that a car's details name, if this program can draw it.
pub fn body(details: &CarDetails) -> Option<&'static Body> {
    Body::of(BodyStyle::from_id(&details.body)?).ok()
}

/// The zone instances this car has, in the catalogue's order.
pub fn instances(details: &CarDetails) -> Vec<&'static Instance> {
    body(details).into_iter().flat_map(Body::instances).filter(|i| fitted(details, i)).collect()
}

fn fitted(details: &CarDetails, instance: &Instance) -> bool {
    match instance.fitted {
        None => true,
        Some(BodyOption::Sunroof) => details.fitted.contains(&Fitted::Sunroof),
    }
}

fn car_details(errors: &mut Vec<FieldError>, details: &CarDetails) {
    text(errors, "title", &details.title, SHORT, true);
    if BodyStyle::from_id(&details.body).is_none() {
        let say = format!("\"{}\" is not a body style this program can draw", short(&details.body));
        errors.push(FieldError::new("body", say, "Choose one of the body styles shown."));
    }
    if let Some(hours) = details.budget_h {
        number(errors, "budget_h", "hours the owner has in mind", hours, (1.0, 20_000.0), "h");
    }
    if let Some(hours) = details.ask_over_h {
        number(errors, "ask_over_h", "stop-and-ask limit", hours, (0.5, 1_000.0), "h");
    }
    number(errors, "year", "year", f64::from(details.year), (1920.0, 2010.0), "");
    if let Some(rates) = &details.rates {
        text(errors, "currency", &rates.currency, 12, true);
        number(errors, "rate_bench", "bench rate", rates.bench, (0.0, 100_000.0), "an hour");
        number(errors, "rate_painter", "painter's rate", rates.painter, (0.0, 100_000.0), "an hour");
        if let Some(materials) = rates.materials {
            number(errors, "rate_materials", "materials", materials, (0.0, 100_000.0), "an hour");
        }
    }
}

fn check_reading(errors: &mut Vec<FieldError>, reading: &Reading) {
    let (low, high) = reading.quantity.range();
    let unit = reading.quantity.unit();
    if !(low..=high).contains(&reading.value) {
        let mut error = FieldError::new(
            "value",
            format!("{} {unit} was typed", plain(reading.value)),
            format!("Anything from {} to {} {unit} is taken.", plain(low), plain(high)),
        );
        // A decimal point is easily lost with gloves on: 52 for 0.52.
        let meant = reading.value / 100.0;
        if reading.quantity == Quantity::Wall && (0.3..=high).contains(&meant) {
            error.say = format!("{} mm was typed. Did you mean {meant:.2}?", plain(reading.value));
            error.take = Some(format!("{meant:.2}"));
        }
        errors.push(error);
    }
    text(errors, "instrument", &reading.instrument, SHORT, true);
    text(errors, "place", &reading.place, SHORT, false);
    number(errors, "precision_abs", "what the instrument is good to", reading.precision_abs, (0.0, high), unit);
    number(errors, "precision_rel_pct", "what the instrument is good to", reading.precision_rel_pct, (0.0, 50.0), "%");
    if let Some(limit) = &reading.limit {
        number(errors, "limit", "limit", limit.value, (0.0, high), unit);
        text(errors, "limit_source", &limit.source, SHORT, true);
    }
}

fn check_mark(errors: &mut Vec<FieldError>, mark: &Mark, car: &Car) {
    let view = body(&car.details).and_then(|body| body.view(&mark.view));
    let inside = view.is_some_and(|view| {
        let (x, y) = view.at(mark.u_mm, mark.v_mm);
        (0.0..=view.width).contains(&x) && (0.0..=view.height).contains(&y)
    });
    if !inside {
        errors.push(FieldError::new("mark", "the mark lies outside the outline", "Set the mark on the drawing."));
    }
}

fn check_measured(errors: &mut Vec<FieldError>, measured: &Measured) {
    text(errors, "name", &measured.name, SHORT, true);
    text(errors, "instrument", &measured.instrument, SHORT, false);
    if let Err(why) = crate::paint::measurement(measured) {
        errors.push(FieldError::new(
            "file",
            why.to_string(),
            "Send a file with the columns geometry, 400, 410 ... 700.",
        ));
    }
    colour::areas(errors, &measured.areas);
}

fn check_judged(errors: &mut Vec<FieldError>, judged: &FilmJudged) {
    number(errors, "nominal_um", "nominal film", judged.nominal_um, (1.0, 5000.0), "\u{b5}m");
    text(errors, "instrument", &judged.instrument, SHORT, true);
    if judged.readings_um.is_empty() || judged.readings_um.len() > 1000 {
        errors.push(FieldError::new(
            "readings",
            "no readings, or more than 1000",
            "Enter 1 to 1000 readings in \u{b5}m.",
        ));
    }
    let range = Quantity::Film.range();
    for reading in judged.readings_um.iter().filter(|r| !(range.0..=range.1).contains(*r)).take(1) {
        number(errors, "readings", "film", *reading, range, "\u{b5}m");
    }
}

/// Checks a person before they are entered or changed.
pub(crate) fn person(person: &Person, people: &[Person]) -> Result<(), Vec<FieldError>> {
    let mut errors = Vec::new();
    text(&mut errors, "name", &person.name, 60, true);
    let same = |p: &&Person| p.id != person.id && p.active && p.name.trim().eq_ignore_ascii_case(person.name.trim());
    if person.active && people.iter().any(|p| same(&p)) {
        let say = format!("somebody called \"{}\" works here already", short(&person.name));
        errors.push(FieldError::new("name", say, "Add something that tells them apart."));
    }
    if people.len() >= 200 && people.iter().all(|p| p.id != person.id) {
        errors.push(FieldError::new("name", "200 people are entered already", "Change one who has left."));
    }
    let leads = |p: &Person| p.active && p.role == Role::Lead && p.passphrase.is_some();
    let was_last = people.iter().any(|p| p.id == person.id && leads(p))
        && !people.iter().any(|p| p.id != person.id && leads(p))
        && !leads(person);
    if was_last && people.iter().any(|p| p.id != person.id && p.passphrase.is_some() && p.active) {
        let say = "this is the last lead who can sign in";
        errors.push(FieldError::new("role", say, "Give another lead a passphrase first."));
    }
    if errors.is_empty() { Ok(()) } else { Err(errors) }
}

/// What is doubtful about an entry though it is kept: words for the person who typed it.
pub fn doubts(what: &What, catalogue: &Catalogue) -> Vec<String> {
    let mut doubts = Vec::new();
    if let What::Read(reading) = what
        && let Some(zone) = catalogue.zone(zone_of(&reading.zone))
    {
        let high = zone.gauge_mm.high;
        if reading.quantity == Quantity::Wall && reading.value > high * 1.15 {
            doubts.push(format!(
                "{} is thicker than the {high:.1} mm this zone usually has when new: two sheets, filler or a plate may be under the probe.",
                reading.quantity.show(reading.value)
            ));
        }
        if reading.quantity == Quantity::Film && reading.value > 1000.0 {
            doubts.push(
                "Over 1000 \u{b5}m is filler or lead, and the gauge cannot tell which. At a factory leaded joint that is normal; in a door middle it is not.".into(),
            );
        }
    }
    doubts
}

/// The zone of an instance: `Z01` of `Z01.L`.
pub fn zone_of(instance: &str) -> &str {
    instance.split('.').next().unwrap_or(instance)
}

/// The place in an instance's id: `LF` of `Z06.LF`, nothing of `Z52`.
pub(crate) fn place_of(instance: &str) -> &str {
    instance.split_once('.').map_or("", |(_, place)| place)
}

fn text(errors: &mut Vec<FieldError>, field: &'static str, value: &str, longest: usize, needed: bool) {
    let length = value.chars().count();
    if needed && value.trim().is_empty() {
        errors.push(FieldError::new(field, "nothing was typed here", "A few words are needed."));
    } else if length > longest {
        let say = format!("{length} characters were typed");
        errors.push(FieldError::new(field, say, format!("At most {longest} are taken.")));
    } else if value.chars().any(|c| c.is_control() && c != '\n' && c != '\r' && c != '\t') {
        errors.push(FieldError::new(field, "it holds a control character", "Type it again rather than paste it."));
    }
}

fn number(errors: &mut Vec<FieldError>, field: &'static str, name: &str, value: f64, range: (f64, f64), unit: &str) {
    if !(range.0..=range.1).contains(&value) {
        let say = format!("{} {unit} was typed for the {name}", plain(value));
        let right = format!("Anything from {} to {} {unit} is taken.", plain(range.0), plain(range.1));
        errors.push(FieldError::new(field, say.trim_end().to_string(), right));
    }
}

/// A figure as somebody would type it.
pub(crate) fn plain(value: f64) -> String {
    let text = format!("{value:.3}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}
