//! Weighing out: a sheet to print, one step a screen for wet gloves, the remedy when too much went in, and the
//! batch that is kept at the end.

mod ask;
mod done;
mod plan;
mod sheet;
mod step;
mod weigh;

use axum::extract::{Path, Query, State};
use job::car::Car;
use job::colour::pour::Grams;
use job::ids::CarId;
use job::mixing::Poured;
use job::paintwork::{self, Batch, engine};
use job::validate::FieldError;
use maud::{Markup, html};

use super::formula::{self, Formula};
use super::{Part, decided, parts};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};
use ask::{Amount, Ask, Scale, View};
use plan::Plan;

pub(crate) use done::keep;

/// A pour on its way to a page.
struct Pour<'a> {
    app: &'a App,
    access: &'a Access,
    car: &'a Car,
    ask: &'a Ask,
    formula: &'a Formula<'a>,
    /// The batch that is added to, when it is one.
    into: Option<&'a Batch<'a>>,
}

/// The pages of a pour.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let typed = Typed::from_pairs(pairs.iter().take(100).map(|(name, value)| (name.as_str(), value.clone())));
    let ask = read(typed)?;
    let only = || match paintwork::recipes(&car)[..] {
        [(entry, _)] => Some(entry.seq),
        _ => None,
    };
    let Some(seq) = ask.recipe.or_else(only) else { return Ok(choose(&app, &access, &car)) };
    let formula = Formula::find(&app, &car, seq).await?;
    let batches = paintwork::batches(&car);
    let into = into(&batches, &ask)?;
    let pour = Pour { app: &app, access: &access, car: &car, ask: &ask, formula: &formula, into };
    if !ask.asked() {
        return Ok(sheet::form(&pour, &[]));
    }
    let plan = match pour.reckon().await? {
        Ok(plan) => plan,
        Err(errors) => return Ok(sheet::form(&pour, &errors)),
    };
    match ask.view {
        View::Sheet => Ok(sheet::table(&pour, &plan)),
        View::Step if plan.next().is_some() => Ok(step::page(&pour, &plan)),
        View::Over if plan.next().is_some() => step::over(&pour, &plan).await,
        View::Step | View::Over | View::Done => done::page(&pour, &plan, &ask.typed, &[]).await,
    }
}

fn read(typed: Typed) -> Result<Ask, Fault> {
    let crooked = || Fault::Bad("The address of this pour cannot be read. Begin it again from the recipe.".into());
    Ask::of(typed).ok_or_else(crooked)
}

/// The batch that the address says is in the pot.
fn into<'a>(batches: &'a [Batch<'a>], ask: &Ask) -> Result<Option<&'a Batch<'a>>, Fault> {
    let text = ask.typed.get("into");
    if text.is_empty() {
        return Ok(None);
    }
    let seq: u64 = text.parse().map_err(|_| Fault::NotFound("batch"))?;
    batches.iter().find(|batch| batch.entry.seq == seq).map(Some).ok_or(Fault::NotFound("batch"))
}

fn choose(app: &App, access: &Access, car: &Car) -> Markup {
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Plain,
        sheet: Sheet::Colour,
        title: "Pour",
        says: "Which recipe is to be weighed out?",
        legend: false,
        deed: Bar::Go(link::colour(car.id, "recipes"), "Recipes"),
    };
    page.draw(html! { (parts(car.id, Part::Pour)) (decided::waits(app, car)) (formula::chooser(car, "pour", None, "Weigh it out")) })
}

impl<'a> Pour<'a> {
    /// The plan that the address tells of, or what is wrong in the form.
    async fn reckon(&self) -> Result<Result<Plan, Vec<FieldError>>, Fault> {
        let (amount, scale) = match (self.ask.amount(), self.ask.scale()) {
            (Ok(amount), Ok(scale)) => (amount, scale),
            (amount, scale) => {
                let errors = amount.err().into_iter().chain(scale.err().into_iter().flatten());
                return Ok(Err(errors.collect()));
            }
        };
        let before = match self.before(amount) {
            Ok(before) => before,
            Err(error) => return Ok(Err(vec![error])),
        };
        let (toners, mix, went) = (self.formula.toners.clone(), self.formula.mix.clone(), self.ask.went.clone());
        let plan = self.heavy(move || plan::reckon(&toners.shelf, &mix, amount, before, scale, &went)).await?;
        Ok(plan.map_err(|error| vec![error]))
    }

    /// What is in the pot before anything is added: the batch, as far as it has not been sprayed yet.
    fn before(&self, amount: Amount) -> Result<Vec<Grams>, FieldError> {
        let Amount::Pot { left_g, .. } = amount else { return Ok(Vec::new()) };
        let Some(batch) = self.into else { return Ok(Vec::new()) };
        let held = batch.pot_g();
        let all_g: f64 = held.iter().map(|(_, grams)| grams).sum();
        if all_g <= 0.0 || left_g > all_g * 1.001 {
            let say = format!("{left_g} g were said to be left of {all_g:.1} g");
            return Err(FieldError::new("amount", say, "It cannot be more than was mixed."));
        }
        let missing = |toner: String| {
            FieldError::new("into", format!("this shelf has no toner \"{toner}\", which is in the pot"), "Mix anew.")
        };
        let pot = engine::pot(self.formula.shelf(), &held).map_err(missing)?;
        Ok(pot.into_iter().map(|(toner, grams)| (toner, grams * left_g / all_g)).collect())
    }

    /// Runs what takes more than a moment beside the pages, with the others that do.
    async fn heavy<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> Result<T, Fault> {
        let broken = |e: String| Fault::Internal(e);
        let _permit = self.app.heavy.acquire().await.map_err(|e| broken(e.to_string()))?;
        tokio::task::spawn_blocking(work).await.map_err(|e| broken(e.to_string()))
    }

    /// The address of another page of this pour.
    fn at(&self, view: View, went: &[ask::Went]) -> String {
        self.ask.at(self.car.id, view, went)
    }

    fn scale(&self) -> Option<Scale> {
        self.ask.scale().ok()
    }

    /// A page of the pour on its sheet.
    fn sheet(&self, title: &str, says: &str, deed: Bar, errors: &[FieldError], body: Markup) -> Markup {
        let page = CarPage {
            app: self.app,
            access: self.access,
            car: self.car,
            ground: Ground::Plain,
            sheet: Sheet::Colour,
            title,
            says,
            legend: false,
            deed,
        };
        page.draw(html! {
            (parts(self.car.id, Part::Pour))
            (entries::flash(self.app, self.car, self.ask.typed.get("kept").parse().ok()))
            (field::problems(errors))
            (decided::waits(self.app, self.car))
            (decided::other_recipe(self.car, self.formula.entry.seq))
            (body)
        })
    }
}

/// How far steps that were poured are from their recipe, CIEDE2000.
pub(super) fn shift_of(formula: &Formula<'_>, steps: &[Poured]) -> Result<f64, Fault> {
    let held: Vec<(String, f64)> = steps.iter().map(|step| (step.toner.clone(), step.grams())).collect();
    let missing = |toner: String| Fault::Bad(format!("The shelf has no toner \"{toner}\"."));
    let pot = engine::pot(formula.shelf(), &held).map_err(missing)?;
    let shift = weigh::off(formula.shelf(), &formula.mix, &pot);
    Ok(shift.map_err(|e| Fault::Bad(sentence(&e.say)))?.mean_de00)
}
