//! What was written: zone by zone, the checks, and the record.

use job::body::Instance;
use job::car::Entry as Kept;
use job::catalogue::Catalogue;
use job::validate::zone_of;
use job::what::{ClueSeen, Reading, What};

use super::{Papers, class_words, outline, upper};
use crate::view::*;

/// The zones about which something was written, those that this car no longer has last.
pub(super) fn zones(papers: &Papers<'_>, zones: &[&Instance]) -> Vec<ZonePage> {
    let mut pages: Vec<ZonePage> = zones
        .iter()
        .filter(|instance| papers.car.zone(&instance.id).is_some())
        .map(|instance| zone(papers, &instance.id, upper(&instance.label), instance.position))
        .collect();
    let had = papers.car.states().filter(|(id, _)| zones.iter().all(|instance| instance.id != *id));
    pages.extend(had.map(|(id, _)| zone(papers, id, papers.zone_name(id), "")));
    pages
}

fn zone(papers: &Papers<'_>, id: &str, name: String, side: &str) -> ZonePage {
    let car = papers.car;
    let state = car.state(id);
    let known = papers.catalogue.zone(zone_of(id));
    ZonePage {
        id: id.into(),
        name,
        side: side.into(),
        class: known.map(|known| class_words(known.structural_class).into()).unwrap_or_default(),
        state: upper(state.words()),
        mark_svg: outline::mark_svg(state),
        entries: car
            .about(id)
            .filter(|e| !matches!(e.what, What::Read(_) | What::Photographed(_)))
            .map(|e| entry(papers, e))
            .collect(),
        readings: car
            .about(id)
            .filter_map(|e| match &e.what {
                What::Read(read) => Some(reading(papers, e, read)),
                _ => None,
            })
            .collect(),
        photographs: papers.photographs(Some(id)),
    }
}

fn entry(papers: &Papers<'_>, kept: &Kept) -> Entry {
    let mut what = kept.what.say();
    let mut notes: Vec<String> = Vec::new();
    match &kept.what {
        What::Looked(look) => notes.extend(clues(papers.catalogue, &look.clues)),
        What::Opened(opened) if !opened.through.is_empty() => notes.push(format!("Through: {}", opened.through)),
        What::FilmJudged(judged) => what = format!("Film: {what}, {}", judged.instrument),
        _ => {}
    }
    if let Some(seq) = kept.corrects {
        what.push_str(&format!(" (corrects entry {seq})"));
    }
    let note = kept.what.note().trim();
    if !note.is_empty() {
        notes.push(note.into());
    }
    Entry {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        what,
        note: notes.join("\n"),
        superseded_by: kept.superseded_by,
    }
}

/// The clues that were looked for, those that were there first.
fn clues(catalogue: &Catalogue, seen: &[ClueSeen]) -> Vec<String> {
    let said = |there: bool, label: &str| {
        let words: Vec<&str> = seen
            .iter()
            .filter(|clue| clue.there == there)
            .map(|clue| catalogue.clue(&clue.clue).map_or(clue.clue.as_str(), |known| known.clue.as_str()))
            .collect();
        (!words.is_empty()).then(|| format!("{label}: {}", words.join("; ")))
    };
    [said(true, "Seen"), said(false, "Looked for and not seen")].into_iter().flatten().collect()
}

fn reading(papers: &Papers<'_>, kept: &Kept, read: &Reading) -> ReadingRow {
    let unit = read.quantity.unit();
    let shown = read.quantity.show(read.value);
    let place = [read.place.trim(), read.note.trim()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>();
    ReadingRow {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        quantity: read.quantity.words().into(),
        value: shown.strip_suffix(unit).unwrap_or(&shown).trim().into(),
        unit: unit.into(),
        instrument: read.instrument.clone(),
        precision: read.quantity.show(read.good_to()),
        limit: read.limit.as_ref().map(|l| read.quantity.show(l.value)).unwrap_or_default(),
        limit_source: read.limit.as_ref().map(|l| l.source.clone()).unwrap_or_default(),
        place: place.join(". "),
        superseded_by: kept.superseded_by,
    }
}

/// Climate and film, in the order they were entered.
pub(super) fn checks(papers: &Papers<'_>) -> Vec<CheckRow> {
    papers.car.entries().iter().filter_map(|kept| check(papers, kept)).collect()
}

fn check(papers: &Papers<'_>, kept: &Kept) -> Option<CheckRow> {
    let (what, place, figures, answer, why) = match &kept.what {
        What::ClimateRead(read) => (
            "Climate",
            read.product.clone(),
            format!(
                "air {:.1} \u{b0}C, humidity {:.0} %, panel {:.1} \u{b0}C; dew point {:.1} \u{b0}C, margin {:.1} \u{b0}C",
                read.air_c, read.rh_pct, read.panel_c, read.dew_point_c, read.margin_c
            ),
            if read.spray { "Within the limits" } else { "Not yet" },
            &read.why,
        ),
        What::FilmJudged(judged) => (
            "Film",
            papers.zone_name(&judged.zone),
            format!(
                "{} readings, mean {:.0} \u{b5}m, nominal {:.0} \u{b5}m; {}",
                judged.readings_um.len(),
                judged.mean_um,
                judged.nominal_um,
                judged.instrument
            ),
            if judged.accept { "Accepted" } else { "Not accepted" },
            &judged.why,
        ),
        _ => return None,
    };
    Some(CheckRow {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        what: what.into(),
        place,
        figures,
        answer: answer.into(),
        why: why.clone(),
        superseded_by: kept.superseded_by,
    })
}

/// One line of the record.
pub(super) fn row(papers: &Papers<'_>, kept: &Kept) -> RecordRow {
    let what = &kept.what;
    let mut said = match what.zone() {
        Some(zone) => format!("{}: {}", papers.zone_name(zone), what.say()),
        None => format!("{}: {}", what.kind_words(), what.say()),
    };
    if let What::Withdrawn(withdrawn) = what
        && let Some(entry) = papers.car.entry_by_id(withdrawn.entry)
    {
        said = format!("Taken out entry {}: {}", entry.seq, withdrawn.why);
    }
    if let Some(seq) = kept.corrects {
        said.push_str(&format!(" (corrects entry {seq})"));
    }
    RecordRow {
        seq: kept.seq,
        when: papers.when(kept.at),
        who: kept.by.name.clone(),
        what: said,
        hash: kept.hash.short(),
        superseded_by: kept.superseded_by,
    }
}
