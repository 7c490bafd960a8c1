//! A car of the shop turned into a view: every text in the words of its sheets, every time in the shop's zone.

mod colour;
mod decided;
mod outline;
mod owner;
mod written;

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use job::body::{Body, BodyStyle, Instance};
use job::car::{Car, Entry as Kept, ZoneState};
use job::catalogue::{Catalogue, DoubleSkinned, StructuralClass};
use job::details::Fitted;
use job::ids::{CarId, Hash};
use job::shop::{Shop, ShopError};
use job::validate::{instances, zone_of};
use job::what::{Photograph, Severity, What};

use crate::view::*;

pub(crate) use owner::say;

/// Up to this many photographs are printed from the full picture; more, from the small ones.
const FULL_PICTURES: usize = 60;

/// The view of a car as its record stands, printed `now` in the shop's `zone`.
///
/// The record is checked from its first entry, its pictures included.
///
/// # Errors
/// When there is no such car, its record cannot be folded, or the store cannot be read.
pub async fn view_of(shop: &Shop, id: CarId, zone: &TimeZone, now: Timestamp) -> Result<DossierView, ShopError> {
    let car = shop.car(id).await?;
    let verdict = shop.verify(id, Some(car.head)).await?;
    let intact = match verdict.broken {
        None => Ok(()),
        Some(broken) => Err(format!("It breaks at entry {}: {}.", broken.at, broken.why)),
    };
    let full = car.photographs().count() <= FULL_PICTURES;
    let mut pictures = BTreeMap::new();
    for (_, photo) in car.photographs() {
        let hash = if full { photo.picture } else { photo.thumb };
        if let Some(bytes) = shop.blob(hash).await? {
            pictures.insert(photo.picture, bytes);
        }
    }
    let taught = shop.taught(id).await?;
    let papers = Papers { car: &car, catalogue: &taught.catalogue, zone, pictures: &pictures };
    let panels = decided::panels(shop, &car).await?;
    Ok(DossierView { decided: decided::page(&papers, panels, now), ..view(&papers, intact, now) })
}

/// What a view is drawn from.
struct Papers<'a> {
    car: &'a Car,
    catalogue: &'a Catalogue,
    zone: &'a TimeZone,
    /// What is printed of each photograph, by the hash of its full picture.
    pictures: &'a BTreeMap<Hash, Arc<[u8]>>,
}

fn view(papers: &Papers<'_>, intact: Result<(), String>, now: Timestamp) -> DossierView {
    let car = papers.car;
    let zones = instances(&car.details);
    let tally = Tally::of(car, &zones);
    let (colours, comparisons) = colour::pages(papers);
    let outlook = job::outlook::zones_only(car, papers.catalogue);
    let range = outlook.as_ref().map_err(ToString::to_string);
    let range = range.and_then(|outlook| owner::today(papers, outlook).map_err(|why| why.to_string()));
    DossierView {
        title: car.details.title.clone(),
        facts: facts(car),
        says: tally.says(),
        stage: car.stage.words().into(),
        printed_at: papers.when(now),
        printed_utc: now.to_zoned(TimeZone::UTC).datetime(),
        head_hash: car.head.to_string(),
        count: car.count,
        intact,
        invented: car.details.invented,
        figures: tally.figures(owner::tally(papers)),
        waits: owner::waits(papers, outlook.as_ref().ok()),
        legend: outline::legend(),
        maps: outline::maps(car, &zones),
        zones: written::zones(papers, &zones),
        unplaced: papers.photographs(None),
        // Its pictures take the shop: see `view_of`.
        decided: None,
        colours,
        comparisons,
        checks: written::checks(papers),
        questions: owner::questions(papers),
        wrote: owner::other_words(papers),
        ranges: owner::ranges(papers, range.as_ref().ok().copied(), papers.when(now)),
        no_range: range.err().map(|why| upper(&format!("{why}."))).unwrap_or_default(),
        agreed_h: car.details.budget_h,
        reports: owner::reports(papers),
        not_opened: zones.iter().filter_map(|zone| not_opened(papers, zone)).collect(),
        record: car.entries().iter().map(|entry| written::row(papers, entry)).collect(),
        cautions: cautions(papers, &zones),
    }
}

impl Papers<'_> {
    fn when(&self, at: Timestamp) -> String {
        at.to_zoned(self.zone.clone()).strftime("%-d %b %Y, %H:%M").to_string()
    }

    /// A zone instance in words, such as "Outer sill, left".
    fn zone_name(&self, id: &str) -> String {
        let instance = body(self.car).and_then(|body| body.instance(id));
        instance.map_or_else(|| id.to_owned(), |instance| upper(&instance.name()))
    }

    /// The photographs of a zone that still count, or those of no zone.
    fn photographs(&self, zone: Option<&str>) -> Vec<Photo> {
        let numbered = (1..).zip(self.car.photographs());
        numbered
            .filter(|(_, (_, photo))| photo.zone.as_deref() == zone)
            .map(|(number, (entry, photo))| self.photograph(number, entry, photo))
            .collect()
    }

    fn photograph(&self, number: u64, entry: &Kept, photo: &Photograph) -> Photo {
        let zone = photo.zone.as_deref().map(|id| self.zone_name(id));
        let mark = photo.mark.as_ref().and_then(|mark| body(self.car)?.view(&mark.view));
        Photo {
            jpeg: self.pictures.get(&photo.picture).cloned().unwrap_or_default(),
            number,
            place: zone.unwrap_or_else(|| format!("No zone given, {} side", photo.side.words())),
            caption: photo.caption.clone(),
            stage: photo.stage.words().into(),
            when: self.when(entry.when()),
            who: entry.by.name.clone(),
            mark: mark.map(|view| view.caption.clone()).unwrap_or_default(),
            hash: photo.picture.short(),
            superseded_by: entry.superseded_by,
        }
    }
}

/// How many zones are in which state.
#[derive(Default)]
struct Tally {
    all: usize,
    not_looked: usize,
    clear: usize,
    bad: usize,
    holed: usize,
    made_good: usize,
}

impl Tally {
    fn of(car: &Car, zones: &[&Instance]) -> Self {
        let mut tally = Self { all: zones.len(), ..Self::default() };
        for zone in zones {
            match car.state(&zone.id) {
                ZoneState::NotLooked => tally.not_looked += 1,
                ZoneState::Clear => tally.clear += 1,
                ZoneState::Bad(severity) => {
                    tally.bad += 1;
                    tally.holed += usize::from(severity == Severity::Holed);
                }
                ZoneState::MadeGood => tally.made_good += 1,
            }
        }
        tally
    }

    fn says(&self) -> String {
        let looked = match self.not_looked {
            0 => format!("All {} zones have been looked at", self.all),
            n => format!("{n} of {} zones have not been looked at", self.all),
        };
        match (self.bad, self.holed) {
            (0, _) => format!("{looked}; none was found bad that is not made good."),
            (bad, 0) => format!("{looked}; {bad} were found bad, none of them holed."),
            (bad, holed) => format!("{looked}; {bad} were found bad, {holed} of them holed."),
        }
    }

    fn figures(&self, questions_open: String) -> Vec<Fact> {
        vec![
            fact("Not looked", format!("{} of {}", self.not_looked, self.all)),
            fact("Looked: clear", self.clear),
            fact("Looked: bad", self.bad),
            fact("Made good", self.made_good),
            fact("Questions open", questions_open),
        ]
    }
}

fn facts(car: &Car) -> Vec<Fact> {
    let details = &car.details;
    let style = BodyStyle::from_id(&details.body).map_or(details.body.as_str(), |style| style.name());
    // Both are named, since "none" is known too.
    let fitted = Fitted::ALL.iter().map(|f| match details.fitted.contains(f) {
        true => f.words().to_owned(),
        false => format!("no {}", f.words().to_lowercase()),
    });
    let mut facts = vec![
        fact("Body", upper(style)),
        fact("Year", details.year),
        fact("Climate", details.climate.words()),
        fact("Kept", details.kept.words()),
        fact("Fitted", upper(&fitted.collect::<Vec<_>>().join(", "))),
        fact("Aim", details.aim.words()),
    ];
    if !details.note.trim().is_empty() {
        facts.push(fact("Note", &details.note));
    }
    facts
}

/// A zone that hides something and was not opened, or at which nobody has looked.
fn not_opened(papers: &Papers<'_>, zone: &Instance) -> Option<NotOpened> {
    let car = papers.car;
    if car.zone(&zone.id).is_some_and(|known| known.opened) {
        return None;
    }
    let known = papers.catalogue.zone(&zone.zone);
    let single_skin = known.is_some_and(|known| known.double_skinned == DoubleSkinned::No);
    let last = car.about(&zone.id).rev().find(|e| e.counts() && matches!(e.what, What::Looked(_)));
    if single_skin && car.state(&zone.id) != ZoneState::NotLooked {
        return None;
    }
    Some(NotOpened {
        name: upper(&zone.label),
        side: zone.position.into(),
        through: known.map(|known| known.remove_to_see.clone()).unwrap_or_default(),
        last_look: last
            .map(|e| format!("{}. {}, {}", e.what.say(), papers.when(e.when()), e.by.name))
            .unwrap_or_default(),
    })
}

/// Cautions that hold for every stripped shell; common practice, to be read beside local codes.
const CAUTIONS: [(&str, &str); 7] = [
    (
        "Structure",
        "Zones that carry load are planned with a competent person, and the local rules for cutting and welding them are read first. The shell is measured and braced before the first cut.",
    ),
    (
        "Lifting",
        "Jacking points may be rotten inside. Prove them, spread the load, keep a second support under the car.",
    ),
    (
        "Fire",
        "Tank, lines and filler are taken out and gas-freed by someone qualified before any heat. Sealer, underseal, foam and wax burn inside boxes: keep watch for an hour after hot work.",
    ),
    (
        "Two-pack paint",
        "Isocyanates can make a person ill for life. Air-fed mask, a booth whose clearing time is known, and the mask stays on until that time has passed.",
    ),
    (
        "Lead and old primers",
        "Body solder, and yellow, green or orange primers, may hold lead or chromate until a test says otherwise: no dry sanding, wash before eating.",
    ),
    ("Dust and fume", "No silica grit. Zinc from weld-through primer and plated steel is drawn off where it rises."),
    (
        "Stored energy",
        "Springs, gas struts, belt tensioners, batteries and welders hold energy after they are switched off or unbolted.",
    ),
];

fn cautions(papers: &Papers<'_>, zones: &[&Instance]) -> Vec<Fact> {
    let mut cautions: Vec<Fact> = CAUTIONS.into_iter().map(|(label, words)| fact(label, words)).collect();
    let lines: Vec<String> = zones
        .iter()
        .filter(|zone| matches!(papers.car.state(&zone.id), ZoneState::Bad(_)))
        .filter_map(|zone| {
            let hazard = &papers.catalogue.zone(zone_of(&zone.id))?.hazard_note;
            (!hazard.is_empty()).then(|| format!("{}: {hazard}.", upper(&zone.name())))
        })
        .collect();
    if !lines.is_empty() {
        cautions.push(fact("At the zones found bad, for cars of this kind", lines.join("\n")));
    }
    cautions
}

fn class_words(class: StructuralClass) -> &'static str {
    match class {
        StructuralClass::S1 => "Carries load: main load path",
        StructuralClass::S2 => "Carries some load",
        StructuralClass::S3 => "Skin only",
    }
}

fn body(car: &Car) -> Option<&'static Body> {
    job::validate::body(&car.details)
}

fn fact(label: &str, words: impl ToString) -> Fact {
    Fact { label: label.into(), words: words.to_string() }
}

/// The text with its first letter large.
pub(crate) fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests;
