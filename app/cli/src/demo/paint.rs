//! The colour part of the story: toners learned, a recipe found, a batch poured, cards, a correction.
//!
//! Everything but the cards' readings is worked out when the story is loaded, by the engines, as the pages do.

use colour::brief::Brief as Wish;
use colour::card::{self, Sprayed};
use colour::pour::{InPot, Remedy, remedy};
use colour::recipe::{Limits, MOST_IN_RECIPE, search};
use colour::{Measurement, calibrate};
use jiff::civil::Date;
use job::ask::{self, colour::Asking};
use job::mixing::{self, KeptFile, Serve, kept_doubts};
use job::paintwork::briefs::{self, Briefing};
use job::paintwork::{self, engine};
use job::panels::{self, LabFile, LabFiles};
use job::question::Question;
use job::{paint, shelf_file};
use serde::Deserialize;

use super::load::Loader;
use super::story::{self, PANELS};
use crate::car::question::candidates;
use crate::colour::asked::{edit, said};
use crate::colour::calibrate::shelf;
use crate::colour::pour;
use crate::colour::recipe::Recipes;
use crate::progress::Progress;
use crate::stop::Stop;

/// Toners learned from the panels of `demo/toners`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Shelved {
    called: String,
    note: String,
}

/// What the owner wants of an earlier measurement, and what not.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Briefed {
    called: String,
    donor: String,
    /// Plain words and changes by hand, as the command line takes them.
    say: Vec<String>,
    edit: Vec<String>,
    why: String,
    #[serde(default)]
    note: String,
}

/// A recipe found for an earlier brief: the best of all, or the best of so many toners at most.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Formulated {
    called: String,
    brief: String,
    most: Option<usize>,
    note: String,
}

/// A recipe corrected from the cards of an earlier one, for what is in the pot.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Corrected {
    called: String,
    recipe: String,
    pot: String,
    cards: Vec<String>,
    note: String,
}

/// A batch weighed out, or brought to a corrected recipe.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Mixed {
    recipe: String,
    into: Option<String>,
    #[serde(default)]
    wanted: f64,
    scale: f64,
    #[serde(rename = "for")]
    parts: Vec<String>,
    #[serde(default)]
    retained: String,
    note: String,
}

/// A card that was sprayed and measured.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Carded {
    called: String,
    recipe: String,
    batch: String,
    file: String,
    coats: u32,
    film: f64,
    gun: String,
    master: Option<String>,
    note: String,
}

/// A question about the colour as the program drafts it, with the lead's words in place of the draft's.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AskedColour {
    candidates: Vec<Offered>,
    by: Date,
    ask: Option<String>,
    waits: Vec<String>,
    serves: Vec<Serve>,
    sent: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Offered {
    recipe: String,
    card: Option<String>,
    title: Option<String>,
}

/// Parts and days that the colour must serve.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Serves {
    serves: Vec<Serve>,
    note: String,
}

/// How much a pot may grow by what is added to it.
const GROWTH: f64 = 2.0;

/// Runs long work beside the program's own threads.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Stop> {
    tokio::task::spawn_blocking(work).await.map_err(|e| Stop::failed(format!("the work was broken off ({e})")))
}

/// The entry that says what the colour is for.
pub(super) fn serves(told: &Serves) -> mixing::ColourServes {
    mixing::ColourServes { serves: told.serves.clone(), note: told.note.clone() }
}

/// Every piece of a list, read.
fn all<T>(texts: &[String], read: fn(&str) -> Result<T, String>) -> Result<Vec<T>, Stop> {
    texts.iter().map(|text| read(text).map_err(Stop::failed)).collect()
}

impl Loader<'_> {
    pub(super) async fn shelved(&self, told: &Shelved) -> Result<mixing::Shelved, Stop> {
        let [toners, of_panels, measurements, substrate] = PANELS;
        let [toners, of_panels, measurements, substrate] = [
            LabFile { name: "toners.csv", bytes: toners },
            LabFile { name: "panels.csv", bytes: of_panels },
            LabFile { name: "measurements.csv", bytes: measurements },
            LabFile { name: "substrate.csv", bytes: substrate },
        ];
        let files = LabFiles { toners, panels: of_panels, measurements, substrate };
        let (lab, mut doubts) = panels::read(&files).map_err(Stop::failed)?;
        let progress = Progress::begin("learning the toners", 1);
        let learned = aside(move || {
            let calibration = calibrate(&lab.panels, &|at| {
                progress.at(at.done, at.of);
                true
            });
            calibration
                .map(|calibration| (shelf(&lab.panels, &calibration, lab.pigments.clone()), calibration.warnings))
        });
        let (file, warnings) = learned.await?.map_err(Stop::failed)?;
        doubts.extend(warnings.into_iter().filter(|warning| !doubts.contains(warning)).collect::<Vec<_>>());
        let hash = self.shop.keep_file(shelf_file::write(&file).as_bytes()).await?;
        let mut kept = Vec::new();
        for file in [files.toners, files.panels, files.measurements, files.substrate] {
            kept.push(KeptFile { name: file.name.into(), hash: self.shop.keep_file(file.bytes).await? });
        }
        let shelved = engine::shelved(&told.called, hash, &file, kept, &doubts).map_err(Stop::failed)?;
        Ok(mixing::Shelved { note: told.note.clone(), ..shelved })
    }

    pub(super) async fn briefed(&self, told: &Briefed) -> Result<mixing::Briefed, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let briefing = Briefing {
            name: told.called.clone(),
            donor: self.named(&told.donor)?,
            words: all(&told.say, said)?,
            face_of: None,
            flop_of: None,
            by_hand: all(&told.edit, edit)?,
            weights: Vec::new(),
            why: told.why.clone(),
            note: told.note.clone(),
        };
        Ok(briefs::tell(&car, &briefing).map_err(Stop::failed)?.briefed)
    }

    pub(super) async fn formulated(&mut self, told: &Formulated) -> Result<mixing::Formulated, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let id = self.named(&told.brief)?;
        let (entry, shelved) = paintwork::shelf_in_use(&car).ok_or_else(|| Stop::failed("no toners were learned"))?;
        let on_file = self.shop.shelf(shelved).await?;
        let (_, briefed) = paintwork::brief_of(&car, id).ok_or_else(|| Stop::failed("no such brief"))?;
        let Wish { wish, warnings: mut doubts } = briefs::wish(&car, briefed).map_err(Stop::failed)?;
        let (target, brief) = (briefed.donor, briefed.brief.clone());
        let progress = Progress::begin("looking for recipes", 1);
        let (shelf, most) = (on_file.clone(), told.most.unwrap_or(MOST_IN_RECIPE));
        let found = aside(move || {
            let limits = Limits { max_toners: most, ..Limits::usual(&shelf.shelf) };
            search(&shelf.shelf, &wish, &limits, &|at| {
                progress.at(at.done, at.of);
                true
            })
        });
        let found = found.await?.map_err(Stop::failed)?;
        let best = found.recipes.first().ok_or_else(|| Stop::failed("no recipe was found"))?;
        doubts.extend(found.warnings.iter().cloned());
        let about = engine::About {
            name: told.called.clone(),
            target,
            shelf: entry.id,
            brief,
            briefed: Some(id),
            after: None,
            cards: Vec::new(),
            doubts,
            note: told.note.clone(),
        };
        let recipe = engine::formulated(&on_file.shelf, best, about);
        if self.recipes.is_none() {
            self.recipes = Some(Recipes::of(&on_file.shelf, &found, String::new()));
        }
        Ok(recipe)
    }

    pub(super) async fn asked_colour(&self, told: &AskedColour) -> Result<Question, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let mut chosen = Vec::new();
        for offered in &told.candidates {
            let card = offered.card.as_deref().map(|name| self.named(name)).transpose()?;
            chosen.push((self.named(&offered.recipe)?, card));
        }
        let asking = Asking {
            candidates: candidates(self.shop, &car, &chosen).await?,
            by: told.by,
            waits: told.waits.clone(),
            serves: told.serves.clone(),
            photographs: Vec::new(),
        };
        let mut question = ask::colour::draft(&car, &asking).map_err(Stop::failed)?;
        question.sent = told.sent;
        if let Some(ask) = &told.ask {
            question.ask.clone_from(ask);
        }
        for (option, offered) in question.options.iter_mut().zip(&told.candidates) {
            if let Some(title) = &offered.title {
                option.title.clone_from(title);
            }
        }
        Ok(question)
    }

    pub(super) async fn corrected(&self, told: &Corrected) -> Result<mixing::Formulated, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let missing = |what: &str| Stop::failed(format!("{what} is not in the record"));
        let (entry, recipe) =
            paintwork::recipe_of(&car, self.named(&told.recipe)?).ok_or_else(|| missing("the recipe"))?;
        let (_, shelved) = paintwork::shelf_of(&car, recipe.shelf).ok_or_else(|| missing("the shelf"))?;
        let on_file = self.shop.shelf(shelved).await?;
        let shelf = &on_file.shelf;
        let mix = engine::mix(recipe, shelf).map_err(Stop::failed)?;
        let wish = briefs::wish_of_recipe(&car, recipe).map_err(Stop::failed)?.wish;
        let mut cards = Vec::new();
        for name in &told.cards {
            cards.push(self.named(name)?);
        }
        let sprayed: Vec<Measurement> = paintwork::cards_of(&car, entry.id)
            .into_iter()
            .filter(|(card, _)| cards.contains(&card.id))
            .map(|(_, card)| engine::carded(card).map_err(Stop::failed))
            .collect::<Result<_, _>>()?;
        let pot = self.named(&told.pot)?;
        let batch = paintwork::batches(&car).into_iter().find(|batch| batch.entry.id == pot);
        let pot_g = batch.ok_or_else(|| missing("the pot"))?.pot_g().iter().map(|(_, g)| g).sum();
        let limits = Limits::usual(shelf);
        let coats = u8::try_from(recipe.coats).map_err(Stop::failed)?;
        let sprayed = Sprayed { mix: &mix, coats, wish: &wish, cards: &sprayed, limits: &limits, pot_g: Some(pot_g) };
        let correction = card::correct(shelf, &sprayed).map_err(Stop::failed)?;
        let about = engine::About {
            name: told.called.clone(),
            target: recipe.target,
            shelf: recipe.shelf,
            brief: recipe.brief.clone(),
            briefed: recipe.briefed,
            after: Some(entry.id),
            cards,
            doubts: correction.warnings,
            note: told.note.clone(),
        };
        Ok(engine::formulated(shelf, &correction.recipe, about))
    }

    pub(super) async fn mixed(&self, told: &Mixed) -> Result<mixing::Mixed, Stop> {
        let car = self.shop.car(self.car.id).await?;
        let missing = |what: &str| Stop::failed(format!("{what} is not in the record"));
        let (entry, recipe) =
            paintwork::recipe_of(&car, self.named(&told.recipe)?).ok_or_else(|| missing("the recipe"))?;
        let (_, shelved) = paintwork::shelf_of(&car, recipe.shelf).ok_or_else(|| missing("the shelf"))?;
        let on_file = self.shop.shelf(shelved).await?;
        let shelf = &on_file.shelf;
        let mix = engine::mix(recipe, shelf).map_err(Stop::failed)?;
        let into = told.into.as_deref().map(|name| self.named(name)).transpose()?;
        let (steps, wanted_g, shift_de00) = match into {
            None => {
                let (doses, shift_de00) = pour::doses(shelf, &mix, told.wanted, told.scale).map_err(Stop::failed)?;
                (doses, told.wanted, shift_de00)
            }
            Some(pot) => {
                let batch = paintwork::batches(&car).into_iter().find(|batch| batch.entry.id == pot);
                let pot_g = batch.ok_or_else(|| missing("the pot"))?.pot_g();
                let in_pot = engine::pot(shelf, &pot_g).map_err(Stop::failed)?;
                let limit_g = GROWTH * pot_g.iter().map(|(_, grams)| grams).sum::<f64>();
                let pot = InPot { poured_g: &in_pot, to_come_g: &[], scale_g: told.scale, limit_g };
                let Remedy::Add { steps, after, .. } = remedy(shelf, &mix, &pot).map_err(Stop::failed)? else {
                    return Err(Stop::failed("nothing can or need be added"));
                };
                let steps: Vec<_> = steps.iter().map(|step| (step.toner, step.add_g)).collect();
                let added_g = steps.iter().map(|(_, grams)| grams).sum();
                (steps, added_g, after.mean_de00)
            }
        };
        let poured = |(toner, grams): (Option<usize>, f64)| mixing::Poured {
            poured_g: Some(grams),
            ..engine::step(shelf, toner, grams)
        };
        Ok(mixing::Mixed {
            recipe: entry.id,
            into,
            parts_of_car: told.parts.clone(),
            wanted_g,
            scale_g: told.scale,
            steps: steps.into_iter().map(poured).collect(),
            shift_de00,
            retained: told.retained.clone(),
            note: told.note.clone(),
        })
    }

    pub(super) async fn carded(&self, told: &Carded) -> Result<mixing::Carded, Stop> {
        let bytes = story::colour_file(&told.file).ok_or_else(|| Stop::failed("no such card"))?;
        let (found, doubts) = paint::read(&told.file, bytes).map_err(Stop::failed)?;
        let found = found.into_iter().next().ok_or_else(|| Stop::failed("the card's file is empty"))?;
        Ok(mixing::Carded {
            name: told.called.clone(),
            recipe: self.named(&told.recipe)?,
            batch: Some(self.named(&told.batch)?),
            instrument: "simulated multi-angle instrument".into(),
            file: told.file.clone(),
            source: self.shop.keep_file(bytes).await?,
            spectra: found.spectra,
            coats: told.coats,
            film_um: Some(told.film),
            gun: told.gun.clone(),
            master: told.master.clone(),
            doubts: kept_doubts(&doubts),
            note: told.note.clone(),
        })
    }
}
