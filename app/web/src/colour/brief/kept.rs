//! Briefs that were kept: the list of them, and each on a page of its own.

use axum::extract::{Path, Query, State};
use job::car::Car;
use job::ids::CarId;
use job::mixing::Briefed;
use job::paint;
use job::paintwork::briefs::{self, Telling};
use job::paintwork::{self, Told};
use job::person::Deed;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};
use serde::Deserialize;

use super::{ask, only_then};
use crate::access::Access;
use crate::colour::recipes::nearness;
use crate::colour::swatches::{self, CAUTION};
use crate::colour::{Part, parts};
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};

/// The most kept briefs that are listed with their sentence.
const LISTED: usize = 12;

#[derive(Deserialize, Default)]
pub(crate) struct After {
    kept: Option<u64>,
}

/// The brief at this place of the record.
pub(super) fn find(car: &Car, seq: u64) -> Result<Told<'_, Briefed>, Fault> {
    let entry = car.entry(seq).ok_or(Fault::NotFound("brief"))?;
    match &entry.what {
        What::Briefed(briefed) => Ok((entry, briefed)),
        _ => Err(Fault::NotFound("brief")),
    }
}

/// A kept brief told again in words.
fn told_again(car: &Car, briefed: &Briefed) -> Option<Telling> {
    briefs::tell(car, &ask::again(car, briefed)).ok()
}

/// Every brief, the latest first.
pub(super) fn list(app: &App, car: &Car, may: bool) -> Markup {
    let all = paintwork::briefs(car);
    html! {
        @if !all.is_empty() {
            section {
                h2 { "Kept briefs" }
                ul.rows {
                    @for (entry, briefed) in all.iter().rev().take(LISTED) {
                        li {
                            span {
                                a.touch href=(link::brief(car.id, entry.seq)) { b { (briefed.name) } }
                                @if let Some(telling) = told_again(car, briefed) { br; (telling.told.sentence) }
                                br;
                                span.small {
                                    @if let Some((_, donor)) = paintwork::target_of(car, briefed.donor) { "from " (donor.name) "; " }
                                    (when(app, entry.when())) ", " (entry.by.name)
                                }
                            }
                            span.row {
                                @if may { a.btn href={ (link::colour(car.id, "recipes")) "?target=" (entry.seq) } { "Recipes" } }
                                a.btn href={ (link::colour(car.id, "panel")) (panel_query(car, entry.seq, briefed)) } { "On the panel" }
                            }
                        }
                    }
                }
                @if all.len() > LISTED { p.small { "The latest " (LISTED) " are listed; the others stand in the record." } }
            }
        }
    }
}

/// The donor, the brief, and the recipes found for it, as the panel is asked for them.
fn panel_query(car: &Car, seq: u64, briefed: &Briefed) -> String {
    let donor = paintwork::target_of(car, briefed.donor).map(|(entry, _)| format!("what=m{}&", entry.seq));
    let id = car.entry(seq).map(|entry| entry.id);
    let recipes = id.map(|id| paintwork::recipes_of_brief(car, id)).unwrap_or_default();
    let late = recipes.iter().rev().take(4).map(|(entry, _)| format!("&what=r{}", entry.seq));
    format!("?{}what=b{seq}{}", donor.unwrap_or_default(), late.collect::<String>())
}

/// The page of one kept brief.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let told = find(&car, seq)?;
    Ok(draw(&app, &access, &car, told, after.kept, &[]))
}

pub(super) fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    (entry, briefed): Told<'_, Briefed>,
    kept: Option<u64>,
    errors: &[FieldError],
) -> Markup {
    let telling = told_again(car, briefed);
    let says =
        telling.as_ref().map_or_else(|| "A brief that cannot be shown any more.".into(), |t| t.told.sentence.clone());
    let may = access.role.may(Deed::Write) && entry.superseded_by.is_none();
    let recipes = paintwork::recipes_of_brief(car, entry.id);
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: &briefed.name,
        says: &says,
        legend: false,
        deed: if may { Bar::Send("near", "How near?") } else { Bar::Go(link::colour(car.id, "brief"), "Brief") },
    };
    page.draw(html! {
        (parts(car.id, Part::Brief))
        (entries::flash(app, car, kept))
        (field::problems(&field::at_their_place(errors, &[])))
        @if let Some(by) = entry.superseded_by {
            p.note { "This brief no longer counts: see " a.touch href=(link::entry(car.id, by)) { "entry " (by) } "." }
        }
        p.row.no-print {
            @if may { a.btn href={ (link::colour(car.id, "recipes")) "?target=" (entry.seq) } { "Look for recipes" } }
            a.btn href={ (link::colour(car.id, "panel")) (panel_query(car, entry.seq, briefed)) } { "On the panel" }
            a.btn href={ (link::colour(car.id, "brief")) "?" (ask::query(&ask::pairs(car, &ask::again(car, briefed)))) } { "Make another from it" }
        }
        (beside(car, briefed, telling.as_ref()))
        @if !briefed.why.is_empty() { section { h2 { "Why" } p { (briefed.why) } } }
        @if !briefed.note.is_empty() { p { (briefed.note) } }
        @if !briefed.doubts.is_empty() {
            section { h2 { "Doubtful when it was kept" } ul.plain-list { @for doubt in &briefed.doubts { li { (sentence(doubt)) } } } }
        }
        @if may {
            section.no-print {
                h2 { "How near can we get?" }
                form #near.stack method="post" action={ (link::colour(car.id, "brief")) "/near" } enctype="multipart/form-data" {
                    input type="hidden" name="brief" value=(entry.seq);
                    p { "With the toners of this car's shelf, from the donor as it is to the whole wish. It takes some seconds; nothing is kept until you say so." }
                    (only_then(car, &Typed::default()))
                    button.main { "How near can we get" }
                }
            }
        }
        @if !recipes.is_empty() {
            section {
                h2 { "Recipes found for it" }
                ul.rows {
                    @for (at, recipe) in recipes.iter().rev() {
                        @let by_angle = recipe.by_angle.iter().filter_map(|fit| Some((fit.geometry.parse().ok()?, fit.d65)));
                        li { a.touch href=(link::recipe(car.id, at.seq)) { b { (recipe.name) } } span.small { (nearness(recipe.mean_de00, by_angle)) } }
                    }
                }
            }
        }
        p.small { "Kept " (when(app, entry.when())) ", " (entry.by.name) ": " a.touch href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) } "." }
    })
}

/// Donor and wish as kept: what the entry says, not what the words would come to today.
fn beside(car: &Car, briefed: &Briefed, telling: Option<&Telling>) -> Markup {
    let both = briefs::donor(car, briefed).and_then(|donor| Ok((donor, briefs::wish(car, briefed)?)));
    let from = paintwork::target_of(car, briefed.donor);
    html! {
        section {
            h2 { "Donor left, wish right" }
            @if let Some((at, measured)) = from {
                p { "From " a.touch href={ (link::shell(car.id)) "/colour?m=" (at.seq) } { (measured.name) } "." @if measured.is_picture() { " " b { "A picture is not a measurement." } } }
            }
            @for (id, words) in [(briefed.face_of, "Its face is that of "), (briefed.flop_of, "Its flop is that of ")] {
                @if let Some((at, other)) = id.and_then(|id| paintwork::target_of(car, id)) {
                    p { (words) a.touch href={ (link::shell(car.id)) "/colour?m=" (at.seq) } { (other.name) } "." }
                }
            }
            @match both {
                Ok((donor, wish)) => {
                    (swatches::pairs(&donor, &wish.wish.target, ["donor", "wish"]))
                    (swatches::reading())
                    @if let Some(telling) = telling { ul.plain-list { @for angle in &telling.told.angles { li { (angle.words) } } } }
                    @if !briefed.brief.weights.is_empty() {
                        p { "Angles that do not count as usual: "
                            @for (n, weight) in briefed.brief.weights.iter().enumerate() {
                                @if n > 0 { ", " } (weight.geometry) " " (format!("{:.2}", weight.weight))
                            } "." }
                    }
                }
                Err(e) => {
                    p.note { (sentence(&e.to_string())) }
                    @if let Some(paint) = from.and_then(|(_, measured)| paint::measurement(measured).ok()) { (swatches::single(&paint)) p.small { (CAUTION) } }
                }
            }
        }
    }
}
