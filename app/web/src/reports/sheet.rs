//! What a report says, without the frame around it: the shop's page, its preview, and the owner's page can share it.

use jiff::tz::TimeZone;
use job::body::View;
use job::car::{Car, Entry};
use job::ids::Hash;
use job::question::{Hours, Report};
use job::validate::{body, instance};
use job::what::{Photograph, What};
use maud::{Markup, html};

use crate::drawing::{self, Drawn, Numbered};
use crate::fault::Fault;
use crate::shell::upper;
use crate::state::App;
use crate::{dimension, questions};

/// Marks at one place stand beside each other, this many px of the drawing apart.
const BESIDE_PX: f64 = 28.0;

/// A report with everything that is drawn around its words.
pub(crate) struct Shown<'a> {
    /// The car as it stood then.
    car: &'a Car,
    report: &'a Report,
    zone: &'a TimeZone,
    pictures: Vec<Picture<'a>>,
}

/// One of its photographs; without an address when its file is gone.
struct Picture<'a> {
    entry: &'a Entry,
    photo: &'a Photograph,
    address: Option<(String, String)>,
}

impl<'a> Shown<'a> {
    /// A report over the car as it stood then; `address` says where a picture is found.
    pub(crate) async fn of(
        app: &'a App,
        car: &'a Car,
        report: &'a Report,
        address: impl Fn(Hash) -> String,
    ) -> Result<Self, Fault> {
        let mut pictures = Vec::new();
        for entry in report.photographs.iter().filter_map(|id| car.entry_by_id(*id)) {
            let What::Photographed(photo) = &entry.what else { continue };
            let there = app.shop.blob(photo.thumb).await?.is_some();
            let address = there.then(|| (address(photo.picture), address(photo.thumb)));
            pictures.push(Picture { entry, photo, address });
        }
        Ok(Self { car, report, zone: &app.zone, pictures })
    }

    /// The outlines on which its photographs are marked, and their numbers there.
    fn outlines(&self) -> Vec<(&'static View, Vec<Numbered>)> {
        let views = body(&self.car.details).map_or(&[][..], |body| body.views());
        views.iter().map(|view| (view, self.marks(view))).filter(|(_, marks)| !marks.is_empty()).collect()
    }

    fn marks(&self, view: &View) -> Vec<Numbered> {
        let mut marks: Vec<Numbered> = Vec::new();
        let beside_mm = BESIDE_PX / view.px_per_mm();
        for (number, picture) in (1..).zip(&self.pictures) {
            let Some(mark) = picture.photo.mark.as_ref().filter(|mark| mark.view == view.id) else { continue };
            let near =
                |m: &&Numbered| (m.v_mm - mark.v_mm).abs() < beside_mm && (m.u_mm - mark.u_mm).abs() < 6.0 * beside_mm;
            let right = marks.iter().filter(near).map(|m| m.u_mm + beside_mm).fold(mark.u_mm, f64::max);
            marks.push(Numbered { number, u_mm: right, v_mm: mark.v_mm });
        }
        marks
    }
}

/// The five headings, the photographs, the range as a dimension, and the places on the outline.
pub(crate) fn sheet(shown: &Shown<'_>) -> Markup {
    let Shown { car, report, pictures, .. } = shown;
    let range = report.range;
    let agreed = car.details.budget_h;
    let hours = Hours { low: range.p10_h, likely: range.p50_h, high: range.p95_h };
    let outlines = shown.outlines();
    html! {
        div.report {
            section { h2 { "Done" } (lines(&report.done, "Nothing was finished in these days.")) }
            section { h2 { "Found" } (lines(&report.found, "Nothing new was found.")) }
            @if !pictures.is_empty() {
                section.full { div.three { @for (n, picture) in pictures.iter().enumerate() { (figure(shown, n + 1, picture)) } } }
            }
            section {
                h2 { "Changed range" }
                p { b { (questions::range(&range)) } }
                (dimension::hours(hours, dimension::scale(range.p95_h.max(agreed.unwrap_or(0.0))), agreed))
                (lines(&report.changed, "Nothing moved it."))
                @if let Some(hours) = agreed { p.small { "Heavy upright: the hours agreed, " (format!("{hours:.0}")) " h." } }
            }
            section {
                h2 {
                    @match dossier::answer_wanted_by(car) {
                        Some(by) => { "Need your answer by " (by.strftime("%-d %B")) },
                        None => "Your answer",
                    }
                }
                (lines(&report.need, "No question is open."))
            }
            @if !outlines.is_empty() {
                section.full {
                    @for (view, marks) in &outlines { figure { (drawing::plot(view, &Drawn { car, on: None, marks, links: false })) } }
                    p.small { "The numbers are those of the photographs." }
                }
            }
            section.full { h2 { "Next" } (lines(&report.next, "Not planned yet.")) }
        }
    }
}

fn lines(lines: &[String], none: &str) -> Markup {
    html! {
        @if lines.is_empty() { p.soft { (none) } } @else { ul.plain-list { @for line in lines { li { (line) } } } }
    }
}

fn figure(shown: &Shown<'_>, number: usize, picture: &Picture<'_>) -> Markup {
    let Picture { entry, photo, address } = picture;
    let place = photo.zone.as_deref().and_then(|id| instance(&shown.car.details, id)).map(|i| upper(&i.name()));
    let day = entry.when().to_zoned(shown.zone.clone()).strftime("%-d %b %Y").to_string();
    let (width, height) = small(photo);
    html! {
        figure.photo {
            @match address {
                Some((whole, small)) => a href=(whole) { img src=(small) alt=(photo.caption) loading="lazy" width=(width) height=(height); },
                None => div.wait { p { "The file of this photograph is gone from the shop. What it showed:" } },
            }
            figcaption {
                b { (number) " " (place.unwrap_or_else(|| format!("{} side", upper(photo.side.words())))) } ". " (photo.caption) br;
                span.soft { (photo.stage.words()) ", " (day) }
            }
        }
    }
}

/// Width and height of the small picture, in px.
fn small(photo: &Photograph) -> (u32, u32) {
    let (w, h) = (u64::from(photo.width_px.max(1)), u64::from(photo.height_px.max(1)));
    let most = u64::from(job::photograph::THUMB_PX).min(w.max(h));
    let px = |side: u64| u32::try_from((side * most / w.max(h)).max(1)).unwrap_or(job::photograph::THUMB_PX);
    (px(w), px(h))
}
