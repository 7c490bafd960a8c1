//! The Range sheet: the hours of metal work still to do and of the whole job, what moves them most, how they narrowed,
//! what moved since the owner was told, and what has to be asked.

mod books;
mod density;
mod history;
mod moved;
mod parts;
mod stop;
mod widest;
pub(crate) mod words;

use std::sync::Arc;

use axum::extract::{Path, State};
use job::ask;
use job::body::Instance;
use job::car::{Car, Entry};
use job::ids::CarId;
use job::outlook::{Outlook, Range};
use job::person::Deed as May;
use job::shop::Forecast;
use job::validate::instance;
use maud::{Markup, html};

use crate::access::Access;
use crate::dimension::tenths;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet};
use crate::link;
use crate::next::hours;
use crate::shell::upper;
use crate::state::App;
use density::{Density, Limit};
use moved::Told;

/// What the parts of the sheet are drawn from.
struct Sight<'a> {
    app: &'a App,
    car: &'a Arc<Car>,
    forecast: &'a Forecast,
    told: &'a [Told<'a>],
    leads: bool,
    writes: bool,
}

/// The sheet.
pub(crate) async fn page(State(app): State<App>, access: Access, Path(id): Path<CarId>) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let forecast = app.forecast(&car).await?;
    let told = moved::told(&car);
    let sight = Sight {
        app: &app,
        car: &car,
        forecast: &forecast,
        told: &told,
        leads: access.role.may(May::Manage),
        writes: access.role.may(May::Write),
    };
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Range,
        title: "Range",
        says: &sight.says(),
        legend: false,
        deed: Deed::Go(format!("{}/questions", link::shell(id)), "Questions"),
    };
    let (moved, narrowed) = (sight.moved().await?, sight.narrowed().await?);
    Ok(page.draw(html! {
        (crate::colour::decided::waits(&app, &car))
        @if !forecast.outlook.zones.is_empty() {
            (sight.figures())
            (sight.stop_and_ask())
            (sight.widest())
            (narrowed)
            (sight.parts())
            (sight.worked())
            (moved)
            (sight.told())
            (sight.books())
            (sight.how())
        }
    }))
}

impl Sight<'_> {
    fn outlook(&self) -> &Outlook {
        &self.forecast.outlook
    }

    fn range(&self) -> &Range {
        &self.forecast.range
    }

    fn says(&self) -> String {
        let said = ask::said(self.range());
        if self.outlook().zones.is_empty() {
            return "This version does not know the body of this car, so it has no hours for it.".into();
        }
        if said.p95_h < 1.0 {
            return "By this record no metal work is left to do.".into();
        }
        let hours = if said.p10_h == said.p95_h {
            format!("{:.0} hours still to do.", said.p50_h)
        } else {
            format!("{:.0} to {:.0} hours still to do, likely {:.0}.", said.p10_h, said.p95_h, said.p50_h)
        };
        match self.range().past {
            Some(past) => {
                format!("{hours} {} of passing the {:.0} agreed.", words::in_words(past.chance), past.limit_h)
            }
            None => hours,
        }
    }

    fn figures(&self) -> Markup {
        let said = ask::said(self.range());
        let limit = self.range().past.map(|past| Limit { agreed_h: past.limit_h, worked_h: past.worked_h });
        let density = Density::of(&self.range().density);
        let rows = [
            ("P10", "one such shell in ten is under", said.p10_h),
            ("P50", "half are under: the likely figure", said.p50_h),
            ("P80", "eight in ten are under", said.p80_h),
            ("P95", "nineteen in twenty are under", said.p95_h),
        ];
        let words = rows.map(|(_, words, h)| format!("{words} {h:.0} hours")).join("; ");
        let agreed = limit.map_or(String::new(), |limit| format!("; agreed {:.0}", limit.agreed_h));
        let says = format!("Of such shells, {words}{agreed}.");
        html! {
            figure {
                div.beside {
                    @match &density {
                        Some(density) => (density.draw(&self.range().outcome, limit, &says)),
                        None => div.wait { p { "There is nothing uncertain enough to draw: every zone is known or decided." } },
                    }
                    table {
                        caption { "Hours of metal work" }
                        tbody {
                            @for (p, words, h) in rows { tr { th scope="row" { (p) ", " (words) } td.r { (format!("{h:.0} h")) } } }
                            @if let Some(past) = self.range().past {
                                tr { th scope="row" { "Agreed with the owner" } td.r { (format!("{:.0} h", past.limit_h)) } }
                                @if past.worked_h > 0.0 { tr { th scope="row" { "Of those, worked and done with" } td.r { (hours(past.worked_h)) } } }
                                tr { th scope="row" { "Past what was agreed" } td.r { (tenths(past.chance)) } }
                            }
                        }
                    }
                }
                @if density.is_some() {
                    figcaption {
                        "The higher the line, the more of such shells take so many hours; its last thin ends are left off."
                        @if limit.is_some() { " Upright lines: past what was agreed; as large a part as they take of the whole, so likely is it to be passed." }
                    }
                }
            }
            @if limit.is_none() {
                p { "No hours have been agreed for metal, so nothing is said of passing them."
                    @if self.leads { " " a.touch href={ (link::shell(self.car.id)) "/details" } { "Enter what was agreed" } } }
            }
            dl.facts {
                div { dt { "Known or decided, mean" } dd { (hours(self.range().known_h)) } }
                div { dt { "Only a chance, mean" } dd { (hours(self.range().guessed_h)) } }
            }
        }
    }

    fn how(&self) -> Markup {
        let own = |file| self.app.shop.catalogue().is_shops_own(file);
        html! {
            section #how {
                h2 { "How it was worked out, and what is not in it" }
                ul.plain-list {
                    li { "What is known to need metal counts in full, what is not known by its chance, and what the owner has decided by the option chosen." }
                    @for note in &self.range().notes { li { (note) } }
                    li { "Zones do not add up at P10 or P95: not everything goes well, or badly, at once." }
                    @if !own("zones.csv") { li { "The hours of each repair are starting guesses until the shop's own figures replace them." } }
                }
                p { a.touch href="/learned" { "What this shop has found" } ": its own rates, and its own factor on hours." }
            }
        }
    }

    fn day(&self, entry: &Entry) -> String {
        entry.when().to_zoned(self.app.zone.clone()).strftime("%-d %b %Y").to_string()
    }

    fn name(&self, zone: &str) -> String {
        instance(&self.car.details, zone).map_or_else(|| zone.to_owned(), |i: &Instance| upper(&i.name()))
    }
}
