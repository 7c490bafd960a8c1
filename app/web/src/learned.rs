//! What this shop has found: the rates its own opened zones taught, beside the starting guesses, how well it foretold
//! them, and what its hours are of what was foretold.

mod picture;
mod rates;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use axum::extract::{Query, State};
use job::body::Instance;
use job::car::Car;
use job::ids::CarId;
use job::lessons::{Lesson, Scores};
use job::pace::{Finished, Pace};
use job::schedule::factor::Over;
use job::shop::Learned;
use job::validate::instance;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::fault::Fault;
use crate::layout::shop_page;
use crate::range::words::more_or_less;
use crate::state::App;

/// From how much the figures of a car's sheets were learned.
pub(crate) struct Taught {
    /// Zones of other cars whose truth became known.
    pub(crate) zones: usize,
    /// Those cars.
    pub(crate) cars: usize,
}

/// What taught the figures by which a car is seen: other cars of its kind, invented ones apart from real ones.
pub(crate) fn taught(lessons: &[Lesson], car: &Car) -> Taught {
    let others = lessons.iter().filter(|l| l.car != car.id && l.invented == car.details.invented);
    let cars: BTreeSet<CarId> = others.clone().map(|l| l.car).collect();
    Taught { zones: others.count(), cars: cars.len() }
}

#[derive(Deserialize)]
pub(crate) struct Ask {
    #[serde(default)]
    cars: String,
}

/// What the parts of the page are drawn from.
struct Sight<'a> {
    app: &'a App,
    learned: &'a Learned,
    cars: BTreeMap<CarId, Arc<Car>>,
}

/// The page: of real cars, or of the invented ones where there are no others or they are asked for.
pub(crate) async fn page(State(app): State<App>, access: Access, Query(ask): Query<Ask>) -> Result<Markup, Fault> {
    let invented_asked = match ask.cars.as_str() {
        "" => false,
        "invented" => true,
        _ => return Err(Fault::NotFound("kind of cars")),
    };
    let of_real = app.aside(|shop| async move { shop.learned(false).await }).await?;
    let real = !of_real.lessons.is_empty() || !of_real.finished.is_empty();
    let invented = of_real.others > 0;
    let of_invented = invented && (invented_asked || !real);
    let learned = if of_invented { app.aside(|shop| async move { shop.learned(true).await }).await? } else { of_real };
    let cars = app.shop.cars().await?.into_iter().filter_map(|(id, car)| Some((id, car.ok()?))).collect();
    let sight = Sight { app: &app, cars, learned: &learned };
    let kept = learned.scores.as_ref().map_err(|e| Fault::Internal(e.to_string()))?;
    let says = sight.says();
    Ok(shop_page(
        &access,
        "What this shop has found",
        &says,
        html! {
            @if of_invented { p.note { b { "Invented cars. " } "What they teach is used for invented cars alone." } }
            @if real && invented {
                p.row.no-print {
                    a.btn.main[!of_invented] href="/learned" aria-current=[(!of_invented).then_some("page")] { "Real cars" }
                    a.btn.main[of_invented] href="/learned?cars=invented" aria-current=[of_invented.then_some("page")] { "Invented cars" }
                }
            }
            @if learned.lessons.is_empty() {
                div.wait.stack {
                    p { "No zone has been opened yet in this shop, so every figure is a starting guess." }
                    p { "Each zone that is opened, or seen thin or holed, teaches: how often such a zone is bad, and how often a clue was right about it. A car never teaches itself." }
                    p { a.btn.main href="/" { "To the cars" } }
                }
            } @else {
                (sight.foretold(kept))
                (sight.rates())
                (sight.clues())
            }
            (sight.hours(&learned.pace, &learned.finished))
        },
    ))
}

impl Sight<'_> {
    fn says(&self) -> String {
        let lessons = &self.learned.lessons;
        let cars: BTreeSet<CarId> = lessons.iter().map(|l| l.car).collect();
        let bad = lessons.iter().filter(|l| l.bad).count();
        match lessons.len() {
            0 => "Nothing yet: no zone was opened.".into(),
            n => format!(
                "{} of {}: {bad} needed metal, {} did not.",
                count(n, "zone became known", "zones became known"),
                count(cars.len(), "car", "cars"),
                n - bad
            ),
        }
    }

    fn title(&self, car: CarId) -> &str {
        self.cars.get(&car).map_or("a car that cannot be read", |car| &car.details.title)
    }

    /// A zone instance of a car in words.
    fn place(&self, car: CarId, id: &str) -> String {
        let named = self.cars.get(&car).and_then(|car| instance(&car.details, id));
        named.map_or_else(|| id.to_owned(), Instance::name)
    }

    /// How well the zones were foretold.
    fn foretold(&self, kept: &Scores) -> Markup {
        html! {
            section #foretold {
                h2 { "Were the chances right?" }
                (picture::calibration(&kept.start))
                p { (brier(kept)) }
                p.small.soft { "For each zone the chance is that of the starting guesses just before it became known, so that nothing is foretold from what was learned by it." }
            }
        }
    }

    /// What the shop's hours are of what was foretold.
    fn hours(&self, pace: &Pace, finished: &[Finished]) -> Markup {
        let factor = &pace.factor;
        html! {
            section #hours {
                h2 { "Hours: what zones took beside what was foretold" }
                @match &pace.kept {
                    None => div.wait { p { "No zone with hours put down was made good yet. Until then the shop's factor on hours is a starting guess: 1, give or take a quarter." } },
                    Some(kept) => {
                        p {
                            "From " (count(factor.pieces, "finished zone", "finished zones")) ": beside what the catalogue says this shop takes " b { (more_or_less(factor.median - 1.0)) }
                            "; the factor is " (format!("{:.2}", factor.p10)) " to " (format!("{:.2}", factor.p90)) ", likely " (format!("{:.2}", factor.median)) "."
                        }
                        table {
                            caption { "How often more hours were taken than foretold" }
                            thead { tr { th scope="col" { "Foretold" } th.r scope="col" { "Passed" } th.r scope="col" { "Expected" } th.r.wide-only scope="col" { "Within reason" } } }
                            tbody { @for over in &kept.over { (over_row(over, kept.pieces.len())) } }
                        }
                        p.small.soft { "P90 should be passed by about one zone in ten. Within reason: nine times in ten the count would lie there were the foretelling right; zones of one car go together, so it scatters more." }
                        details.fold {
                            summary { (count(finished.len(), "finished zone", "finished zones")) }
                            table {
                                thead { tr { th scope="col" { "Zone" } th.r scope="col" { "Foretold" } th.r scope="col" { "Took" } } }
                                tbody { @for one in finished.iter().rev().take(rates::MOST) { (self.finished(one)) } }
                            }
                            @if finished.len() > rates::MOST { p.small { "The latest " (rates::MOST) "." } }
                        }
                    },
                }
            }
        }
    }
}

/// The two scores in words.
fn brier(kept: &Scores) -> String {
    let (Some(start), Some(learned)) = (kept.start.brier, kept.learned.brier) else { return String::new() };
    let how = match learned - start {
        by if by.abs() < 0.005 => "neither better nor worse than the starting guesses",
        by if by < 0.0 => "better than the starting guesses",
        _ => "worse than the starting guesses",
    };
    format!(
        "Score (mean of the squares of what was missed; 0 knows all, 0.25 says one in two of everything): {start:.3} by the starting guesses, {learned:.3} with the rates that the other cars taught: {how}."
    )
}

fn over_row(over: &Over, of: usize) -> Markup {
    html! {
        tr {
            th scope="row" { "P" (format!("{:.0}", over.quantile * 100.0)) }
            td.r { (over.count) " of " (of) }
            td.r { "about " (format!("{:.1}", over.expected)) }
            td.r.wide-only { (over.low) " to " (over.high) }
        }
    }
}

fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
