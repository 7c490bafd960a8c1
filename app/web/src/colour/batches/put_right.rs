//! A batch that was written down wrongly is put right by a later entry.

use axum::extract::{Multipart, Path, State};
use axum::response::Response;
use job::car::Car;
use job::ids::{CarId, EntryId};
use job::mixing::{Mixed, Poured};
use job::person::Deed;
use job::shop::Draft;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::form::{fields, parts_of_car, take_lots, untake_parts};
use super::{at, refused};
use crate::access::Access;
use crate::colour::cards::signed;
use crate::colour::formula::Formula;
use crate::colour::keeping::keep_draft;
use crate::colour::{formula, pour};
use crate::fault::Fault;
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The fields of the form, as their complaints are named.
pub(super) const FIELDS: [&str; 6] = ["poured", "parts_of_car", "lot", "retained", "note", "who"];

/// Keeps a batch as corrected.
pub(crate) async fn put_right(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    if typed.get("corrects").is_empty() {
        let error = FieldError::new("corrects", "no batch was chosen", "Choose the batch, then correct it.");
        return refused(&app, &access, &car, &typed, &[error]);
    }
    let (old, mixed) = at(&car, typed.get("corrects"))?;
    let mut errors = Vec::new();
    let signed = signed(&typed).map_err(|e| errors.push(e)).ok();
    let steps = steps(mixed, &typed).map_err(|e| errors.extend(e)).ok();
    let (Some((by, entry)), Some(mut steps)) = (signed, steps) else {
        return refused(&app, &access, &car, &typed, &errors);
    };
    take_lots(&mut steps, &typed);
    let shift_de00 = match steps.iter().map(Poured::grams).eq(mixed.steps.iter().map(Poured::grams)) {
        true => mixed.shift_de00,
        false => shift(&app, &car, mixed, &steps).await?,
    };
    let what = What::Mixed(Mixed {
        parts_of_car: parts_of_car(&typed),
        steps,
        shift_de00,
        retained: typed.get("retained").into(),
        note: typed.get("note").into(),
        ..mixed.clone()
    });
    let draft = Draft { entry, base: None, by, noted: None, corrects: Some(old.id), keep_both: false, what };
    match keep_draft(&app, id, &draft).await? {
        Ok(kept) => Ok(kept.go(&format!("{}?kept={}", link::colour(id, "batches"), kept.seq))),
        Err(errors) => refused(&app, &access, &car, &typed, &errors),
    }
}

/// The steps with the figures as typed.
fn steps(mixed: &Mixed, typed: &Typed) -> Result<Vec<Poured>, Vec<FieldError>> {
    let mut steps = mixed.steps.clone();
    if mixed.into.is_some() {
        return Ok(steps);
    }
    let mut errors = Vec::new();
    for (n, step) in steps.iter_mut().enumerate() {
        let one = Typed::from_pairs([("poured", typed.get(&format!("poured-{n}")).to_owned())]);
        match one.number_if_any("poured", &format!("{} poured", step.toner)) {
            Ok(grams) => step.poured_g = grams,
            Err(error) => errors.push(error),
        }
    }
    if errors.is_empty() { Ok(steps) } else { Err(errors) }
}

/// How far what was poured is from the recipe.
async fn shift(app: &App, car: &Car, mixed: &Mixed, steps: &[Poured]) -> Result<f64, Fault> {
    let recipe = car.standing(mixed.recipe).and_then(|entry| formula::standing(car, entry.seq));
    let Some((entry, _)) = recipe else { return Ok(mixed.shift_de00) };
    let formula = Formula::find(app, car, entry.seq).await?;
    pour::shift_of(&formula, steps)
}

/// Fills the form with the batch that is to be corrected.
pub(super) fn refill(car: &Car, typed: &mut Typed) -> Result<(), Fault> {
    let (_, mixed) = at(car, typed.get("corrects"))?;
    untake_parts(car, &mixed.parts_of_car, typed);
    for (n, step) in mixed.steps.iter().enumerate() {
        typed.set(&format!("poured-{n}"), step.poured_g.map_or_else(String::new, |grams| grams.to_string()));
        typed.set(&format!("lot-{n}"), step.lot.clone());
    }
    typed.set("retained", mixed.retained.clone());
    typed.set("note", mixed.note.clone());
    Ok(())
}

/// The form, when a batch is to be corrected.
pub(super) fn form(access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Result<Option<Markup>, Fault> {
    if typed.get("corrects").is_empty() || !access.role.may(Deed::Write) {
        return Ok(None);
    }
    let (entry, mixed) = at(car, typed.get("corrects"))?;
    Ok(Some(html! {
        section #correct.no-print {
            h2 { "Correct the batch of entry " (entry.seq) }
            form #put-right.stack-l method="post" action=(link::colour(car.id, "batches")) enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                input type="hidden" name="corrects" value=(entry.seq);
                @if mixed.into.is_none() {
                    fieldset {
                        legend { "What went in" }
                        p.hint { "Left empty: as wanted." }
                        (field::complaint("poured", errors))
                        div.two { @for (n, step) in mixed.steps.iter().enumerate() {
                            @let name = format!("poured-{n}");
                            (field::Text { id: &name, name: &name, label: &upper(&step.toner), hint: &format!("{:.2} g were wanted.", step.wanted_g), value: typed.get(&name), unit: "g", errors: &[] }.draw())
                        } }
                    }
                } @else { p.note { "What was weighed into a pot that held paint already stays as it was kept; take the entry out if it is wrong." } }
                (fields(access, car, &mixed.steps, typed, errors))
                button.main { "Keep the correction" }
            }
        }
    }))
}
