//! A fortnight report turned into the view of its printed page.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use job::body::svg::{Palette, map_svg};
use job::body::{Instance, View};
use job::car::{Car, Entry, ZoneState};
use job::ids::Hash;
use job::question::{Report, Standing};
use job::shop::{Shop, ShopError};
use job::validate::{body, instance, instances};
use job::what::{Photograph, What};

use crate::dimension;
use crate::of_car::{say, upper};
use crate::report::{MOST_MAPS, MOST_PHOTOGRAPHS, ReportView};
use crate::view::{OutlineMap, Photo};

/// A mark on them is this part of the height of the view, in px of which it is drawn.
const MARK: f64 = 1.0 / 7.0;

/// The view of a report over the car as it stood when the report was drawn from it.
///
/// Nothing of the moment of printing is in it, so that the same report over the same record is the same view.
///
/// # Errors
/// When the store cannot be read. A photograph that is missing in it is none: the page says so in its place.
pub async fn report_view_of(shop: &Shop, car: &Car, report: &Report, zone: &TimeZone) -> Result<ReportView, ShopError> {
    let mut pictures = BTreeMap::new();
    for (_, photo) in photographs(car, report).take(MOST_PHOTOGRAPHS) {
        if let Some(bytes) = shop.blob(photo.picture).await? {
            pictures.insert(photo.picture, bytes);
        }
    }
    Ok(view(car, report, zone, &pictures))
}

/// What a report is called: "Fortnight to 24 November 2026".
pub fn report_title(from: Date, to: Date) -> String {
    let days = from.until(to).map_or(0, |span| span.get_days().saturating_add(1));
    let last = to.strftime("%-d %B %Y");
    match days {
        14 => format!("Fortnight to {last}"),
        7 => format!("Week to {last}"),
        1 => format!("Report of {last}"),
        n if n > 1 => format!("{n} days to {last}"),
        _ => format!("Report to {last}"),
    }
}

/// The last day of the month of days that are named once: "11 to 24 November 2026".
pub(crate) fn days(from: Date, to: Date) -> String {
    let last = to.strftime("%-d %B %Y");
    if from == to {
        last.to_string()
    } else if (from.year(), from.month()) == (to.year(), to.month()) {
        format!("{} to {last}", from.day())
    } else if from.year() == to.year() {
        format!("{} to {last}", from.strftime("%-d %B"))
    } else {
        format!("{} to {last}", from.strftime("%-d %B %Y"))
    }
}

/// The day by which the first answer is wanted, of the questions that are open.
pub fn answer_wanted_by(car: &Car) -> Option<Date> {
    let threads = car.threads();
    let open = threads.iter().filter(|thread| thread.standing() == Standing::Open);
    open.filter_map(|thread| Some(thread.asked()?.1.by)).min()
}

pub(crate) fn view(car: &Car, report: &Report, zone: &TimeZone, pictures: &BTreeMap<Hash, Arc<[u8]>>) -> ReportView {
    let as_of = car.entries().last().map_or(Timestamp::UNIX_EPOCH, |entry| entry.at);
    let all: Vec<(&Entry, &Photograph)> = photographs(car, report).collect();
    ReportView {
        title: car.details.title.clone(),
        period: report_title(report.from, report.to),
        days: days(report.from, report.to),
        says: report.says.clone(),
        done: report.done.clone(),
        found: report.found.clone(),
        changed: report.changed.clone(),
        need: report.need.clone(),
        need_by: answer_wanted_by(car).map(|by| by.strftime("%-d %B").to_string()).unwrap_or_default(),
        next: report.next.clone(),
        range: say(report.range),
        range_svg: dimension::one(report.range, car.details.budget_h),
        agreed: car.details.budget_h.map(|hours| format!("{hours:.0} hours")).unwrap_or_default(),
        photographs: (1..)
            .zip(&all)
            .take(MOST_PHOTOGRAPHS)
            .map(|(number, (entry, photo))| photograph(car, zone, pictures, number, entry, photo))
            .collect(),
        photographs_left_out: all.len().saturating_sub(MOST_PHOTOGRAPHS),
        maps: maps(car, &all),
        stage: car.stage.words().into(),
        head_hash: car.head.to_string(),
        count: car.count,
        as_of: as_of.to_zoned(zone.clone()).strftime("%-d %b %Y, %H:%M").to_string(),
        as_of_utc: as_of.to_zoned(TimeZone::UTC).datetime(),
        invented: car.details.invented,
    }
}

/// The photographs that a report names, in its order.
fn photographs<'a>(car: &'a Car, report: &'a Report) -> impl Iterator<Item = (&'a Entry, &'a Photograph)> {
    report.photographs.iter().filter_map(|id| {
        let entry = car.entry_by_id(*id)?;
        match &entry.what {
            What::Photographed(photo) => Some((entry, photo)),
            _ => None,
        }
    })
}

fn photograph(
    car: &Car,
    zone: &TimeZone,
    pictures: &BTreeMap<Hash, Arc<[u8]>>,
    number: u64,
    entry: &Entry,
    photo: &Photograph,
) -> Photo {
    let place = photo.zone.as_deref().map(|id| instance(&car.details, id).map_or_else(|| id.into(), Instance::name));
    let view = photo.mark.as_ref().and_then(|mark| body(&car.details)?.view(&mark.view));
    Photo {
        jpeg: pictures.get(&photo.picture).cloned().unwrap_or_default(),
        number,
        place: upper(&place.unwrap_or_else(|| format!("no zone given, {} side", photo.side.words()))),
        caption: photo.caption.clone(),
        stage: photo.stage.words().into(),
        when: entry.when().to_zoned(zone.clone()).strftime("%-d %b %Y").to_string(),
        who: entry.by.name.clone(),
        mark: view.map(|view| view.caption.clone()).unwrap_or_default(),
        hash: photo.picture.short(),
        superseded_by: entry.superseded_by,
    }
}

/// The outline views on which the printed photographs are marked, with their numbers.
fn maps(car: &Car, all: &[(&Entry, &Photograph)]) -> Vec<OutlineMap> {
    let Some(body) = body(&car.details) else { return Vec::new() };
    let states: BTreeMap<String, ZoneState> =
        instances(&car.details).iter().map(|zone| (zone.id.clone(), car.state(&zone.id))).collect();
    let hidden: Vec<&str> =
        body.instances().iter().map(|i| i.id.as_str()).filter(|id| !states.contains_key(*id)).collect();
    let mut views: Vec<_> = body.views().iter().map(|view| (view, marks(view, all))).collect();
    views.retain(|(_, marks)| !marks.is_empty());
    views.sort_by_key(|(_, marks)| std::cmp::Reverse(marks.len()));
    let drawn = views.into_iter().take(MOST_MAPS).map(|(view, marks)| {
        let outline = map_svg(view, &states, &[], &hidden, Palette::PRINT);
        let outline = outline.strip_suffix("</svg>").unwrap_or(&outline);
        OutlineMap { caption: upper(&view.caption), svg: format!("{outline}{}</svg>", marks.concat()) }
    });
    drawn.collect()
}

/// The numbers of the photographs at their places, large enough for an outline half a page wide; those at one
/// place share a mark.
fn marks(view: &View, all: &[(&Entry, &Photograph)]) -> Vec<String> {
    let radius = view.height * MARK / 2.0;
    let mut places: Vec<((f64, f64), Vec<String>)> = Vec::new();
    for (number, (_, photo)) in (1..).zip(all.iter().take(MOST_PHOTOGRAPHS)) {
        let Some(mark) = photo.mark.as_ref().filter(|mark| mark.view == view.id) else { continue };
        let (x, y) = view.at(mark.u_mm, mark.v_mm);
        match places.iter_mut().find(|((x0, y0), _)| (x - x0).abs() < 2.0 * radius && (y - y0).abs() < 2.0 * radius) {
            Some((_, numbers)) => numbers.push(number.to_string()),
            None => places.push(((x, y), vec![number.to_string()])),
        }
    }
    let Palette { ink, paper, .. } = Palette::PRINT;
    let draw = |((x, y), numbers): &((f64, f64), Vec<String>)| {
        let half = radius * (0.35 + 0.65 * numbers.len() as f64);
        format!(
            r#"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" rx="{radius:.1}" fill="{paper}" stroke="{ink}" stroke-width="3"/><text x="{x:.1}" y="{:.1}" text-anchor="middle" font-size="{:.1}" fill="{ink}">{}</text>"#,
            x - half,
            y - radius,
            2.0 * half,
            2.0 * radius,
            y + 0.45 * radius,
            1.3 * radius,
            numbers.join(" ")
        )
    };
    places.iter().map(draw).collect()
}
