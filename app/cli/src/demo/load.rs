//! The story put into a shop through the use cases.

use std::collections::BTreeMap;
use std::io::Cursor;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use job::ask;
use job::car::Car;
use job::catalogue::Catalogue;
use job::event::{Event, encode};
use job::fortnight;
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::parcel::ParcelWriter;
use job::person::{By, Person};
use job::photograph::{self, Prepared};
use job::question::{OwnerWrote, Question, Report, Thread};
use job::shop::{Draft, Replied, Reply, Shop, digest};
use job::validate::{body, zone_of};
use job::what::{
    ClimateRead, ClueSeen, FilmJudged, Limit, Look, MadeGood, Mark, Measured, Opened, Photograph, Quantity, Reading,
    Seen, Severity, StageReached, What, Withdrawn,
};
use job::worked::Worked;
use job::{coats, paint};
use uuid::Uuid;

use super::paint as demo_paint;
use super::picture;
use super::story::{self, Answered, Asked, CarTold, Happened, Picture, Reported, Story, Told, Was, Worded};
use crate::car::report;
use crate::colour::recipe::Recipes;
use crate::progress::Progress;
use crate::stop::Stop;

/// Paint as the maker left it is seldom thicker (common practice, no source).
const ORIGINAL_PAINT_UM: f64 = 180.0;
/// A wall below this share of the usual new one is judged thin (common practice, no source).
const WALL_SHARE: f64 = 0.8;

/// What a told story leaves.
pub(super) struct Loaded {
    /// The car.
    pub(super) car: CarId,
    /// What the search for its recipe found.
    pub(super) recipes: Option<Recipes>,
}

/// Loads the story and gives back its car, and what was found on the way.
///
/// # Errors
/// When something in it cannot be kept: the line says which entry.
pub(super) async fn load(shop: &Arc<Shop>, story: &Story) -> Result<Loaded, Stop> {
    let mut people = BTreeMap::new();
    for (count, somebody) in (1..).zip(&story.people) {
        let id = PersonId(counted(PERSON, count));
        let person = Person { id, name: somebody.name.clone(), role: somebody.role, passphrase: None, active: true };
        shop.put_person(&person).await?;
        people.insert(somebody.name.as_str(), person);
    }
    // They were finished before this one came, and what they taught is in what is foretold of it.
    for (number, earlier) in (2..).zip(&story.earlier) {
        load_car(shop, &people, number, earlier).await?;
    }
    load_car(shop, &people, 1, &story.car).await
}

/// Loads one car, the `number`th of the shop.
async fn load_car(
    shop: &Arc<Shop>,
    people: &BTreeMap<&str, Person>,
    number: u32,
    told: &CarTold,
) -> Result<Loaded, Stop> {
    let pictures = pictures(&told.entries).await?;
    let progress = Progress::begin("keeping the entries", told.entries.len());
    let car = open(shop, people, number, told).await?;
    let mut loader = Loader { shop, people, named: BTreeMap::new(), car: shop.car(car).await?, recipes: None };
    for ((count, told), ready) in (1..).zip(&told.entries).zip(pictures) {
        let kept = loader.keep(told, entry(number, count), ready).await;
        kept.map_err(|e| Stop::failed(format!("demo: the entry of {} by {}: {e}", told.at, told.by)))?;
        progress.step();
    }
    Ok(Loaded { car, recipes: loader.recipes })
}

/// Opens a car under a counted identifier, by the same way as a car from another shop comes in, since
/// [`Shop::open_car`] draws one.
async fn open(shop: &Shop, people: &BTreeMap<&str, Person>, number: u32, told: &CarTold) -> Result<CarId, Stop> {
    let file = told.file;
    let by = people.get(told.by.as_str()).ok_or_else(|| Stop::failed(format!("{file}: \"by\" is nobody there")))?;
    let car = CarId(counted(CAR, number));
    let event = Event {
        car,
        seq: 1,
        at: told.opened,
        noted: None,
        by: By::from(by),
        entry: entry(number, 0),
        corrects: None,
        prev: Hash::NONE,
        what: What::CarOpened(told.details.clone()),
    };
    let stored = encode(&event).map_err(Stop::failed)?;
    let folded = Car::fold([&stored]).map_err(|e| Stop::failed(e.why))?;
    let zip = ParcelWriter::start(Cursor::new(Vec::new()), &folded, std::slice::from_ref(&stored))?.finish()?;
    Ok(shop.import(Cursor::new(zip.into_inner()), file).await?.car)
}

/// A story being kept, entry by entry.
pub(super) struct Loader<'a> {
    /// Where it is kept.
    pub(super) shop: &'a Shop,
    people: &'a BTreeMap<&'a str, Person>,
    named: BTreeMap<&'a str, EntryId>,
    /// The car as it was opened.
    pub(super) car: Arc<Car>,
    /// What the search for a recipe found.
    pub(super) recipes: Option<Recipes>,
}

impl<'a> Loader<'a> {
    async fn keep(&mut self, told: &'a Told, entry: EntryId, ready: Option<Prepared>) -> Result<(), Stop> {
        let by = self.people.get(told.by.as_str()).ok_or_else(|| Stop::failed("nobody has this name"))?.id;
        match &told.what {
            Happened::Answered(answered) => self.answer(answered, entry, by, told.at).await?,
            Happened::Reported(reported) => self.report(reported, entry, by, told.at).await?,
            _ => {
                let corrects = told.corrects.as_deref().map(|name| self.named(name)).transpose()?;
                let what = self.what(told, ready).await?;
                let draft = Draft { entry, base: None, by, noted: told.noted, corrects, keep_both: false, what };
                self.shop.keep(self.car.id, &draft, told.at).await?;
            }
        }
        if let Some(name) = &told.name {
            self.named.insert(name, entry);
        }
        Ok(())
    }

    /// The entry that was given this name.
    pub(super) fn named(&self, name: &str) -> Result<EntryId, Stop> {
        self.named.get(name).copied().ok_or_else(|| Stop::failed(format!("no earlier entry is named \"{name}\"")))
    }

    /// Keeps an answer as the owner's page or the lead would, with what was shown.
    async fn answer(&self, answered: &Answered, entry: EntryId, by: PersonId, at: Timestamp) -> Result<(), Stop> {
        let car = self.shop.car(self.car.id).await?;
        let thread = car.thread_of(self.named(&answered.question)?);
        let (asked, question) =
            thread.as_ref().and_then(Thread::asked).ok_or_else(|| Stop::failed("nobody was asked this"))?;
        let reply = Reply {
            entry,
            by,
            question: asked.id,
            seen: car.count,
            digest: digest(&self.shop.shown(&car, question).await?),
            choice: answered.choice.clone(),
            way: answered.way,
            words: answered.words.clone(),
            changes: answered.changes.as_deref().map(|name| self.named(name)).transpose()?,
        };
        match self.shop.answer(self.car.id, &reply, at).await? {
            Replied::Kept(_) => Ok(()),
            other => Err(Stop::failed(format!("the answer does not count: {other:?}"))),
        }
    }

    /// Keeps a report with its printed page. Days are those of UTC, so that the record is the same everywhere.
    async fn report(&self, reported: &Reported, entry: EntryId, by: PersonId, at: Timestamp) -> Result<(), Stop> {
        let car = self.shop.car(self.car.id).await?;
        let taught = self.shop.taught(car.id).await?;
        let report = fortnight::draft(&car, &taught.catalogue, reported.from, reported.to, &TimeZone::UTC)?;
        let report = Report { says: reported.says.clone(), ..report };
        let printed = web::print::report(self.shop, &car, &report, &TimeZone::UTC).await?;
        report::keep(self.shop, &car, by, entry, (report, &printed), at).await?;
        Ok(())
    }

    async fn asked(&self, asked: &Asked, at: Timestamp) -> Result<Question, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let today = at.to_zoned(TimeZone::UTC).date();
        let mut question = ask::draft(&car, self.shop.catalogue(), &asked.zones, today)
            .ok_or_else(|| Stop::failed("none of its zones is one of this car"))?;
        question.ask.clone_from(&asked.ask);
        question.by = asked.by;
        question.sent = asked.sent;
        if let Some(found) = &asked.found {
            question.found.clone_from(found);
        }
        for (option, words) in question.options.iter_mut().zip(&asked.options) {
            let Worded { title, means, risks } = words;
            for (drafted, own) in [(&mut option.title, title), (&mut option.means, means), (&mut option.risks, risks)] {
                if let Some(own) = own {
                    drafted.clone_from(own);
                }
            }
        }
        Ok(question)
    }

    async fn what(&mut self, told: &Told, ready: Option<Prepared>) -> Result<What, Stop> {
        let catalogue = self.shop.catalogue();
        Ok(match &told.what {
            Happened::Stage(stage) => What::StageReached(StageReached { stage: *stage }),
            Happened::Looked(look) => What::Looked(looked(look)),
            Happened::Film(reading) => What::Read(read(Quantity::Film, reading, catalogue)?),
            Happened::Wall(reading) => What::Read(read(Quantity::Wall, reading, catalogue)?),
            Happened::Photographed(photo) => {
                let ready = ready.ok_or_else(|| Stop::failed("its picture was not drawn"))?;
                let (picture, thumb) = self.shop.keep_picture(&ready).await?;
                What::Photographed(Photograph {
                    zone: Some(photo.zone.clone()),
                    side: photo.side,
                    stage: photo.stage,
                    caption: photo.caption.clone(),
                    mark: self.mark(&photo.zone),
                    picture,
                    thumb,
                    width_px: ready.width_px,
                    height_px: ready.height_px,
                })
            }
            Happened::Opened(opened) => What::Opened(Opened {
                zone: opened.zone.clone(),
                found: opened.found.severity(),
                through: opened.through.clone(),
                extent_mm: opened.extent,
                note: opened.note.clone(),
            }),
            Happened::MadeGood(made) => What::MadeGood(MadeGood { zone: made.zone.clone(), note: made.note.clone() }),
            Happened::Worked(worked) => What::Worked(Worked {
                zone: worked.zone.clone(),
                part: worked.part,
                hours_h: worked.hours,
                note: worked.note.clone(),
            }),
            Happened::Measured(measured) => What::Measured(self.measured(measured).await?),
            Happened::Shelved(shelved) => What::Shelved(self.shelved(shelved).await?),
            Happened::Briefed(brief) => What::Briefed(self.briefed(brief).await?),
            Happened::Formulated(recipe) => What::Formulated(self.formulated(recipe).await?),
            Happened::Corrected(recipe) => What::Formulated(self.corrected(recipe).await?),
            Happened::Mixed(batch) => What::Mixed(self.mixed(batch).await?),
            Happened::Carded(card) => What::Carded(self.carded(card).await?),
            Happened::Climate(climate) => What::ClimateRead(climate_read(climate, catalogue)?),
            Happened::FilmJudged(film) => What::FilmJudged(film_judged(film, catalogue)?),
            Happened::Withdrawn(withdrawn) => {
                What::Withdrawn(Withdrawn { entry: self.named(&withdrawn.entry)?, why: withdrawn.why.clone() })
            }
            Happened::Asked(asked) => What::Asked(self.asked(asked, told.at).await?),
            Happened::AskedColour(asked) => What::Asked(self.asked_colour(asked).await?),
            Happened::ColourServes(serves) => What::ColourServes(demo_paint::serves(serves)),
            Happened::OwnerWrote(wrote) => What::OwnerWrote(OwnerWrote {
                question: wrote.question.as_deref().map(|name| self.named(name)).transpose()?,
                choice: None,
                words: wrote.words.clone(),
            }),
            Happened::Answered(_) | Happened::Reported(_) => return Err(Stop::failed("it is kept in its own way")),
        })
    }

    /// A mark in the middle of the zone, where most of it is seen.
    fn mark(&self, zone: &str) -> Option<Mark> {
        let (view, u_mm, v_mm) = body(&self.car.details)?.centre(zone)?;
        Some(Mark { view: view.id.clone(), u_mm, v_mm })
    }

    async fn measured(&self, measured: &story::Measured) -> Result<Measured, Stop> {
        let bytes = story::colour_file(&measured.file).ok_or_else(|| Stop::failed("no such measurement file"))?;
        let (found, doubts) = paint::read(&measured.file, bytes).map_err(Stop::failed)?;
        let found = found.into_iter().next().ok_or_else(|| Stop::failed("the measurement file is empty"))?;
        Ok(Measured {
            name: measured.called.clone(),
            instrument: "simulated multi-angle instrument".into(),
            file: measured.file.clone(),
            source: self.shop.keep_file(bytes).await?,
            spectra: found.spectra,
            doubts: doubts.into_iter().map(|d| d.what).collect(),
            areas: Vec::new(),
            note: measured.note.clone(),
        })
    }
}

impl Was {
    fn severity(self) -> Option<Severity> {
        match self {
            Self::NotLooked | Self::Clear => None,
            Self::Pitted => Some(Severity::Pitted),
            Self::Thin => Some(Severity::Thin),
            Self::Holed => Some(Severity::Holed),
        }
    }
}

fn looked(look: &story::Looked) -> Look {
    let clue = |there| move |clue: &String| ClueSeen { clue: clue.clone(), there };
    Look {
        zone: look.zone.clone(),
        how: look.how,
        seen: match look.seen.severity() {
            Some(severity) => Seen::Bad(severity),
            None if look.seen == Was::NotLooked => Seen::NotLooked,
            None => Seen::Clear,
        },
        clues: look.there.iter().map(clue(true)).chain(look.not_there.iter().map(clue(false))).collect(),
        note: look.note.clone(),
    }
}

fn read(quantity: Quantity, reading: &story::Reading, catalogue: &Catalogue) -> Result<Reading, Stop> {
    let instrument = catalogue.instrument(&reading.instrument);
    let instrument =
        instrument.ok_or_else(|| Stop::failed(format!("no instrument is called {}", reading.instrument)))?;
    let usual = catalogue.zone(zone_of(&reading.zone)).map(|zone| zone.gauge_mm.likely);
    let limit = match (reading.limit, &reading.source, quantity, usual) {
        (Some(value), Some(source), ..) => Some(Limit { value, source: source.clone() }),
        (.., Quantity::Film, _) => Some(Limit {
            value: ORIGINAL_PAINT_UM,
            source: "the most that the maker's own paint usually has (common practice, no source)".into(),
        }),
        (.., Quantity::Wall, Some(usual)) => Some(Limit {
            value: (WALL_SHARE * usual * 100.0).round() / 100.0,
            source: format!("80 % of the {usual} mm usual here when new (starting guess)"),
        }),
        (.., Quantity::Wall, None) => None,
    };
    Ok(Reading {
        zone: reading.zone.clone(),
        quantity,
        value: reading.value,
        instrument: instrument.name.clone(),
        precision_abs: instrument.precision_abs,
        precision_rel_pct: instrument.precision_rel_pct,
        place: reading.place.clone(),
        limit,
        note: reading.note.clone(),
    })
}

fn climate_read(climate: &story::Climate, catalogue: &Catalogue) -> Result<ClimateRead, Stop> {
    let layer = catalogue.layer(&climate.product);
    let layer = layer.ok_or_else(|| Stop::failed(format!("no layer is called {}", climate.product)))?;
    let decided = coats::may_spray(climate.air, climate.rh, climate.panel, Some(layer));
    let decided = decided.map_err(|(_, why)| Stop::failed(why))?;
    Ok(ClimateRead {
        air_c: climate.air,
        rh_pct: climate.rh,
        panel_c: climate.panel,
        product: layer.name.clone(),
        dew_point_c: decided.dew_point_c,
        margin_c: decided.margin_c,
        spray: decided.spray,
        why: decided.why,
    })
}

fn film_judged(film: &story::FilmJudged, catalogue: &Catalogue) -> Result<FilmJudged, Stop> {
    let judged = coats::judge_film(&film.readings, film.nominal).map_err(|(_, why)| Stop::failed(why))?;
    let instrument = catalogue.instrument(&film.instrument);
    let instrument = instrument.ok_or_else(|| Stop::failed(format!("no instrument is called {}", film.instrument)))?;
    Ok(FilmJudged {
        zone: film.zone.clone(),
        nominal_um: film.nominal,
        readings_um: film.readings.clone(),
        instrument: instrument.name.clone(),
        accept: judged.accept,
        mean_um: judged.mean_um,
        why: judged.why,
    })
}

const CAR: u8 = 1;
const PERSON: u8 = 2;
const ENTRY: u8 = 3;
/// More entries than a car of the demo has.
const MOST_ENTRIES: u32 = 1_000_000;

/// The identifier of the `count`th thing of a kind: a UUID of version 8, whose content is the program's own,
/// so that two demos are the same to the last byte.
fn counted(kind: u8, count: u32) -> Uuid {
    let [a, b, c, d] = count.to_be_bytes();
    Uuid::from_bytes([b'g', b'u', b'i', b'd', b'e', b'c', 0x80, kind, 0x80, 0, 0, 0, a, b, c, d])
}

/// The identifier of the `count`th entry of the `number`th car: no two entries of a shop share one.
fn entry(number: u32, count: u32) -> EntryId {
    EntryId(counted(ENTRY, (number - 1) * MOST_ENTRIES + count))
}

/// Draws every photograph of the story and makes it ready, on all processors; an entry without one has `None`.
async fn pictures(entries: &[Told]) -> Result<Vec<Option<Prepared>>, Stop> {
    let wanted: Vec<Option<Picture>> = entries
        .iter()
        .map(|told| match &told.what {
            Happened::Photographed(photo) => Some(photo.picture),
            _ => None,
        })
        .collect();
    let progress = Progress::begin("drawing the photographs", wanted.iter().flatten().count());
    let drawn = tokio::task::spawn_blocking(move || draw(&wanted, &progress)).await;
    drawn.map_err(|e| Stop::failed(format!("the photographs could not be drawn ({e})")))?
}

fn draw(wanted: &[Option<Picture>], progress: &Progress) -> Result<Vec<Option<Prepared>>, Stop> {
    let (next, drawn) = (AtomicUsize::new(0), Mutex::new(BTreeMap::new()));
    let work = || -> Result<(), Stop> {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(picture) = wanted.get(index) else { return Ok(()) };
            let Some(Picture { scene, seed }) = *picture else { continue };
            let jpeg = picture::take(scene, seed).map_err(Stop::failed)?;
            let ready = photograph::prepare(&jpeg).map_err(Stop::failed)?;
            drawn.lock().unwrap_or_else(PoisonError::into_inner).insert(index, ready);
            progress.step();
        }
    };
    let workers = std::thread::available_parallelism().map_or(1, usize::from).min(8);
    std::thread::scope(|scope| {
        let hands: Vec<_> = (0..workers).map(|_| scope.spawn(work)).collect();
        hands
            .into_iter()
            .try_for_each(|hand| hand.join().unwrap_or_else(|_| Err(Stop::failed("a photograph could not be drawn"))))
    })?;
    let mut drawn = drawn.into_inner().unwrap_or_else(PoisonError::into_inner);
    Ok((0..wanted.len()).map(|index| drawn.remove(&index)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counted_identifiers_are_uuids_of_version_8_and_differ() {
        let some = [counted(CAR, 1), counted(PERSON, 1), counted(ENTRY, 1), counted(ENTRY, 2)];
        assert!(some.iter().all(|id| id.get_version_num() == 8 && id.get_variant() == uuid::Variant::RFC4122));
        assert_eq!(some.iter().collect::<std::collections::BTreeSet<_>>().len(), some.len());
    }

    #[test]
    fn one_scene_and_seed_give_the_same_picture() {
        let (one, other) = (Picture { scene: picture::Scene::Primed, seed: 3 }, 4);
        let draw = |seed| picture::take(one.scene, seed).unwrap();
        assert_eq!(draw(one.seed), draw(one.seed));
        assert_ne!(draw(one.seed), draw(other));
    }
}
