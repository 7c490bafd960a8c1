//! Measured paints as swatches, and each later one beside the first.

use job::car::{Car, Entry as Kept};
use job::colour::{Geometry, Illuminant, Measurement, Observer, Spectrum, swatch, travel, tristimulus};
use job::mixing::Serve;
use job::paint;
use job::paintwork;
use job::what::Measured;

use super::{Papers, upper};
use crate::MAX_PAINTS;
use crate::view::*;

/// The observer of every figure: large fields, as painted panels are.
const OBSERVER: Observer = Observer::Deg10;

/// A page for each paint, and one for each pair of the first with a later one.
pub(super) fn pages(papers: &Papers<'_>) -> (Vec<ColourPage>, Vec<Comparison>) {
    // One more than is printed of each, so that the sheet can say that there are more.
    let all: Vec<(&Kept, &Measured, Option<Measurement>)> = papers
        .car
        .measurements()
        .take(MAX_PAINTS + 2)
        .map(|(entry, measured)| (entry, measured, paint::measurement(measured).ok()))
        .collect();
    let colours = all.iter().map(|(entry, measured, paint)| page(papers, entry, measured, paint.as_ref())).collect();
    let first = all.iter().find_map(|(entry, measured, paint)| Some((entry, measured, paint.as_ref()?)));
    let comparisons = first.into_iter().flat_map(|(entry, measured, reference)| {
        let later = all.iter().filter(|(other, ..)| other.seq > entry.seq);
        later.filter_map(|(_, beside, paint)| Some(compare(measured, reference, beside, paint.as_ref()?)))
    });
    (colours, comparisons.collect())
}

fn page(papers: &Papers<'_>, entry: &Kept, measured: &Measured, paint: Option<&Measurement>) -> ColourPage {
    let mut warnings: Vec<String> = measured.doubts.clone();
    let mut said = Vec::new();
    if let Some(paint) = paint {
        warnings.extend(paint.warnings().into_iter().map(|w| w.what));
        match travel(paint, Illuminant::D65, OBSERVER) {
            Ok(travel) => {
                said.push(format!("{}.", upper(&travel.words())));
                said.extend(travel.flop_index.map(|index| {
                    format!("Flop index {index:.1}: about 0 is a solid, 5 to 8 a soft flake, 12 to 18 a bright one (common practice, no source).")
                }));
                warnings.extend(travel.warnings.into_iter().map(|w| w.what));
            }
            Err(why) => said.push(format!("{}.", upper(&why.to_string()))),
        }
        said.push("10 degree observer.".into());
    }
    if !measured.note.trim().is_empty() {
        said.push(measured.note.clone());
    }
    ColourPage {
        name: measured.name.clone(),
        when: papers.when(entry.when()),
        who: entry.by.name.clone(),
        instrument: measured.instrument.clone(),
        lights: paint.into_iter().flat_map(|paint| Illuminant::ALL.map(|light| row(paint, light))).collect(),
        travel: said,
        warnings: warnings.iter().map(|w| format!("{}.", upper(w.trim_end_matches('.')))).collect(),
    }
}

fn row(paint: &Measurement, light: Illuminant) -> LightRow {
    let swatches = paint.by_angle().iter().zip(paint.labs(light, OBSERVER)).map(|((geometry, spectrum), (_, lab))| {
        let (srgb, outside) = shown(spectrum, light);
        Swatch { angle: angle(*geometry), place: geometry.word().into(), srgb, outside, lab: [lab.l, lab.a, lab.b] }
    });
    LightRow { light: words(light).into(), swatches: swatches.collect() }
}

fn compare(left: &Measured, reference: &Measurement, right: &Measured, sample: &Measurement) -> Comparison {
    let lights = Illuminant::ALL.map(|light| {
        let pairs = reference.differences(sample, light, OBSERVER).into_iter().filter_map(|(geometry, difference)| {
            Some(Pair {
                angle: angle(geometry),
                place: geometry.word().into(),
                left: shown(reference.at(geometry)?, light).0,
                right: shown(sample.at(geometry)?, light).0,
                de00: difference.de00,
            })
        });
        PairRow { light: words(light).into(), pairs: pairs.collect() }
    });
    let shared = lights.iter().any(|row| !row.pairs.is_empty());
    Comparison {
        left: left.name.clone(),
        right: right.name.clone(),
        lights: lights.into(),
        note: if shared {
            String::new()
        } else {
            "The two were measured at different angles and cannot be compared.".into()
        },
    }
}

fn shown(spectrum: &Spectrum, light: Illuminant) -> ([u8; 3], bool) {
    let swatch = swatch(tristimulus(spectrum, light, OBSERVER), light, OBSERVER);
    ([swatch.r, swatch.g, swatch.b], swatch.outside_screen)
}

/// The parts and days that a colour must serve, a line each.
pub(super) fn serves(car: &Car, serves: &[Serve]) -> Vec<String> {
    let line = |serve: &Serve| {
        let part = upper(&paintwork::part_words(car, &serve.part));
        match serve.on {
            Some(on) => format!("{part}, {}", on.strftime("%-d %B %Y")),
            None => format!("{part}, day not fixed"),
        }
    };
    serves.iter().map(line).collect()
}

fn angle(geometry: Geometry) -> String {
    format!("{}\u{b0}", geometry.aspecular_deg()).replace('-', "\u{2212}")
}

fn words(light: Illuminant) -> &'static str {
    match light {
        Illuminant::D65 => "Overcast day, D65",
        Illuminant::A => "Filament lamp, A",
        Illuminant::Fl11 => "Shop tube, FL11",
    }
}
