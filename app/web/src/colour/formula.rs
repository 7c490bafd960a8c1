//! A recipe with what is needed to reckon with it: its toners, its mix, what is wanted.

use std::sync::Arc;

use job::car::{Car, Entry};
use job::colour::recipe::Wish;
use job::colour::{Mix, Shelf};
use job::mixing::Formulated;
use job::paintwork::briefs::{self, WishError};
use job::paintwork::{self, engine};
use job::shelf_file::ShelfFile;
use maud::{Markup, html};

use crate::fault::Fault;
use crate::link;
use crate::state::App;

/// A recipe that can be weighed and corrected.
pub(crate) struct Formula<'a> {
    /// Its entry.
    pub(crate) entry: &'a Entry,
    /// What it says.
    pub(crate) recipe: &'a Formulated,
    /// The toners it was found on.
    pub(crate) toners: Arc<ShelfFile>,
    /// The recipe on them.
    pub(crate) mix: Mix,
}

impl<'a> Formula<'a> {
    /// The recipe at this place of the record, as it stands now.
    pub(crate) async fn find(app: &App, car: &'a Car, seq: u64) -> Result<Self, Fault> {
        let missing = || Fault::NotFound("recipe");
        let (entry, recipe) = standing(car, seq).ok_or_else(missing)?;
        let gone = || Fault::Bad("The toners that this recipe was found on were taken out of the record.".into());
        let (_, shelved) = paintwork::shelf_of(car, recipe.shelf).ok_or_else(gone)?;
        let toners = app.shop.shelf(shelved).await?;
        let mix = engine::mix(recipe, &toners.shelf).map_err(|e| Fault::Bad(crate::fault::sentence(&e.to_string())))?;
        Ok(Self { entry, recipe, toners, mix })
    }

    /// Its toners and primers.
    pub(crate) fn shelf(&self) -> &Shelf {
        &self.toners.shelf
    }

    /// What it is to look like, and how much each angle counts.
    pub(crate) fn wish(&self, car: &Car) -> Result<Wish, Fault> {
        let wish = briefs::wish_of_recipe(car, self.recipe).map_err(|e| match e {
            WishError::Gone { .. } => {
                Fault::Bad("The paint that this recipe is to match was taken out of the record.".into())
            }
            WishError::Paint(_) | WishError::Brief(_) => Fault::Bad(crate::fault::sentence(&e.to_string())),
        })?;
        Ok(wish.wish)
    }
}

/// The recipe at this place, or what it was corrected to in the record since.
pub(crate) fn standing(car: &Car, seq: u64) -> Option<(&Entry, &Formulated)> {
    let entry = car.entry(seq)?;
    paintwork::recipe_of(car, entry.id)
}

/// A choice of one of the car's recipes, to go on with `then`.
pub(crate) fn chooser(car: &Car, page: &str, picked: Option<u64>, then: &str) -> Markup {
    let recipes = paintwork::recipes(car);
    html! {
        @if recipes.is_empty() {
            div.wait.stack {
                p { "There is no recipe in this car's record yet." }
                p { a.btn.main href=(link::colour(car.id, "recipes")) { "Find a recipe" } }
            }
        } @else {
            form.row.filters.tray.no-print action=(link::colour(car.id, page)) {
                div.field {
                    label for="recipe" { "Recipe" }
                    select #recipe name="recipe" {
                        @for (entry, recipe) in &recipes { option value=(entry.seq) selected[picked == Some(entry.seq)] { (recipe.name) ", entry " (entry.seq) } }
                    }
                }
                button.main { (then) }
            }
        }
    }
}
