//! All is in: what it came to, and the batch that is kept of it.

use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::colour::pour::Shift;
use job::ids::{CarId, EntryId};
use job::mixing::Mixed;
use job::paintwork;
use job::person::Deed;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::ask::View;
use super::plan::Plan;
use super::{Pour, into, read};
use crate::access::Access;
use crate::colour::batches::form::{fields, parts_of_car, take_lots};
use crate::colour::formula::Formula;
use crate::colour::keeping;
use crate::colour::swatches::near;
use crate::fault::{Fault, sentence};
use crate::layout::Deed as Bar;
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The end of a pour.
pub(super) async fn page(pour: &Pour<'_>, plan: &Plan, typed: &Typed, errors: &[FieldError]) -> Result<Markup, Fault> {
    let places = plan.places();
    if let Some(line) = plan.next() {
        let says = format!("{} is still to be poured in.", line.name);
        let body = html! { p.row { a.btn.main href=(pour.at(View::Step, &pour.ask.went)) { "Go on" } } };
        return Ok(pour.sheet(
            "Pour",
            &sentence(&says),
            Bar::Go(pour.at(View::Step, &pour.ask.went), "Go on"),
            &field::at_their_place(errors, &[]),
            body,
        ));
    }
    let off = off(pour, plan).await?;
    let off_words = match &off {
        Ok(Shift { mean_de00, .. }) => {
            format!("what was poured is {mean_de00:.1} from the recipe: {}", near(*mean_de00))
        }
        Err(error) => error.say.clone(),
    };
    let in_pot = plan.in_pot_g();
    let says = sentence(&format!("{in_pot:.places$} g in the pot; {off_words}"));
    let may = pour.access.role.may(Deed::Write) && !plan.lines.is_empty();
    let body = html! {
        div.scroll tabindex="0" role="group" aria-label="What went in" {
            table.weigh {
                caption { "What went in" }
                thead { tr { th scope="col" { "Toner" } th.r scope="col" { "wanted" } th.r scope="col" { "went in" } } }
                tbody {
                    @for line in &plan.lines {
                        @let grams = line.went.and_then(|went| went.grams);
                        tr { th scope="row" { (upper(&line.name)) } td.r { (format!("{:.places$}", line.add_g)) " g" } td.r { @match grams { Some(grams) => { b { (format!("{grams:.places$}")) " g" } } None => "as told" } } }
                    }
                }
            }
        }
        p.small { "Predicted from the toners as they were learned, CIEDE2000, mean over the angles. Spray a card before the car." }
        @if may {
            form #keep.stack-l.no-print method="post" action=(link::colour(pour.car.id, "pour")) enctype="multipart/form-data" {
                h2 { "Keep this batch" }
                input type="hidden" name="entry" value=(EntryId::fresh());
                @for (name, value) in pour.ask.fields(View::Done, &pour.ask.went) { input type="hidden" name=(name) value=(value); }
                (fields(pour.access, pour.car, &plan.poured(), typed, errors))
                button.main.wide { "Keep this batch" }
            }
        }
        p.row.no-print { @if let Some(back) = back(pour) { a.btn href=(back) { "Back to the last step" } } }
    };
    let deed = if may { Bar::Send("keep", "Keep") } else { Bar::Go(link::colour(pour.car.id, "batches"), "Batches") };
    let errors =
        field::at_their_place(errors, if may { &["parts_of_car", "lot", "retained", "note", "who"] } else { &[] });
    Ok(pour.sheet("All is in", &says, deed, &errors, body))
}

fn back(pour: &Pour<'_>) -> Option<String> {
    let (_, before) = pour.ask.went.split_last()?;
    Some(pour.at(View::Step, before))
}

async fn off(pour: &Pour<'_>, plan: &Plan) -> Result<Result<Shift, FieldError>, Fault> {
    let (plan, toners, mix) = (plan.clone(), pour.formula.toners.clone(), pour.formula.mix.clone());
    pour.heavy(move || plan.off(&toners.shelf, &mix)).await
}

/// Keeps a batch: reckoned again from the same steps, so that what is kept is what was shown.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let ask = read(typed.clone())?;
    let Some(seq) = ask.recipe else {
        return Err(Fault::Bad("Nothing was kept: the form named no recipe. Begin the pour from the recipe.".into()));
    };
    let formula = Formula::find(&app, &car, seq).await?;
    let batches = paintwork::batches(&car);
    let into = into(&batches, &ask)?;
    let pour = Pour { app: &app, access: &access, car: &car, ask: &ask, formula: &formula, into };
    let plan = match pour.reckon().await? {
        Ok(plan) => plan,
        Err(errors) => {
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, super::sheet::form(&pour, &errors)).into_response());
        }
    };
    let errors = match mixed(&pour, &plan, &typed).await? {
        Ok(mixed) => match keeping::keep(&app, id, &typed, What::Mixed(mixed)).await? {
            Ok(kept) => {
                let pot = into.map_or(kept.seq, |batch| batch.entry.seq);
                let to = format!("{}?kept={}#batch-{pot}", link::colour(id, "batches"), kept.seq);
                return Ok(kept.go(&to));
            }
            Err(errors) => errors,
        },
        Err(error) => vec![error],
    };
    let page = page(&pour, &plan, &typed, &errors).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

async fn mixed(pour: &Pour<'_>, plan: &Plan, typed: &Typed) -> Result<Result<Mixed, FieldError>, Fault> {
    if let Some(line) = plan.next() {
        let say = format!("{} was not poured in yet", line.name);
        return Ok(Err(FieldError::new("steps", say, "Go on with the pour, then keep it.")));
    }
    let Some(scale) = pour.scale() else { return Err(Fault::Internal("a plan without a scale".into())) };
    let shift_de00 = match off(pour, plan).await? {
        Ok(shift) => shift.mean_de00,
        Err(error) => return Ok(Err(error)),
    };
    let mut steps = plan.poured();
    take_lots(&mut steps, typed);
    Ok(Ok(Mixed {
        recipe: pour.formula.entry.id,
        into: pour.into.map(|batch| batch.entry.id),
        parts_of_car: parts_of_car(typed),
        wanted_g: plan.wanted_g,
        scale_g: scale.step_g,
        steps,
        shift_de00,
        retained: typed.get("retained").into(),
        note: typed.get("note").into(),
    }))
}
