//! A view turned into values that the sheets read. Texts stay texts: no value is ever read as markup.

mod owner;
mod report;

use typst::foundations::{Array, Bytes, Dict, IntoValue, Str, Value, dict};

use crate::view::*;
use crate::words::Words;
use crate::{MAX_PAINTS, MAX_PHOTOGRAPHS, MAX_ROWS, panel, picture};

pub(crate) use report::of_report;

/// The values of one dossier.
pub(crate) fn of(view: &DossierView) -> Dict {
    let mut sheet = Sheet { words: Words::default(), photographs: 0 };
    let mut dict = sheet.cover(view);
    dict.insert("zones".into(), rows(&view.zones, |zone| sheet.zone(zone)));
    dict.insert("unplaced".into(), sheet.photographs(&view.unplaced));
    dict.insert("decided".into(), view.decided.as_ref().map(|page| sheet.decided(page)).into_value());
    dict.insert("colours".into(), at_most(MAX_PAINTS, &view.colours, |colour| sheet.colour(colour)));
    dict.insert("comparisons".into(), at_most(MAX_PAINTS, &view.comparisons, |pair| sheet.comparison(pair)));
    dict.insert("checks".into(), rows(&view.checks, |check| sheet.check(check)));
    sheet.owner(&mut dict, view);
    dict.insert("not-opened".into(), rows(&view.not_opened, |zone| sheet.not_opened(zone)));
    dict.insert("record".into(), rows(&view.record, |row| sheet.record(row)));
    dict.insert("cautions".into(), sheet.facts(&view.cautions));
    dict.insert("unprintable".into(), sheet.words.unprintable.into_value());
    dict
}

struct Sheet {
    words: Words,
    /// Photographs so far.
    photographs: usize,
}

impl Sheet {
    fn cover(&mut self, view: &DossierView) -> Dict {
        let words = &mut self.words;
        let broken = match &view.intact {
            Ok(()) => Value::None,
            Err(why) => words.line(why),
        };
        dict! {
            "title" => words.line(&view.title),
            "says" => words.line(&view.says),
            "stage" => words.line(&view.stage),
            "printed" => words.line(&view.printed_at),
            "foot" => words.line(&format!("Printed {}", view.printed_at)),
            "head" => grouped(&view.head_hash),
            "head-short" => grouped(view.head_hash.get(..16).unwrap_or(&view.head_hash)),
            "count" => number(view.count),
            "broken" => broken,
            "invented" => view.invented,
            "facts" => self.facts(&view.facts),
            "figures" => self.facts(&view.figures),
            "legend" => rows(&view.legend, |row| dict! {
                "mark" => drawing(&row.mark_svg),
                "words" => self.words.line(&row.words),
            }),
            "maps" => rows(&view.maps, |map| dict! {
                "caption" => self.words.line(&map.caption),
                "svg" => drawing(&map.svg),
            }),
        }
    }

    fn facts(&mut self, facts: &[Fact]) -> Value {
        rows(facts, |fact| {
            dict! { "label" => self.words.line(&fact.label), "words" => self.words.lines(&fact.words) }
        })
    }

    fn zone(&mut self, zone: &ZonePage) -> Dict {
        let words = &mut self.words;
        dict! {
            "id" => words.line(&zone.id),
            "name" => words.line(&zone.name),
            "side" => words.line(&zone.side),
            "class" => words.line(&zone.class),
            "state" => words.line(&zone.state),
            "mark" => drawing(&zone.mark_svg),
            "entries" => entries(words, &zone.entries),
            "readings" => rows(&zone.readings, |reading| dict! {
                "seq" => number(reading.seq),
                "when" => words.line(&reading.when),
                "who" => words.line(&reading.who),
                "quantity" => words.line(&reading.quantity),
                "value" => words.line(&reading.value),
                "unit" => words.line(&reading.unit),
                "instrument" => words.line(&reading.instrument),
                "precision" => words.line(&reading.precision),
                "limit" => words.line(&reading.limit),
                "limit-source" => words.line(&reading.limit_source),
                "place" => words.line(&reading.place),
                "superseded" => reading.superseded_by.map(number),
            }),
            "photographs" => self.photographs(&zone.photographs),
        }
    }

    fn photographs(&mut self, photographs: &[Photo]) -> Value {
        let room = MAX_PHOTOGRAPHS - self.photographs.min(MAX_PHOTOGRAPHS);
        let printed = &photographs[..photographs.len().min(room)];
        self.photographs += printed.len();
        let words = &mut self.words;
        list(printed.iter().map(|photo| photograph(words, photo)), photographs.len() - printed.len())
    }

    fn decided(&mut self, page: &DecidedPage) -> Dict {
        let facts = self.facts(&page.facts);
        let words = &mut self.words;
        dict! {
            "says" => words.line(&page.says),
            "facts" => facts,
            "pictures" => at_most(panel::MOST, &page.pictures, |one| dict! {
                "png" => bytes(panel::printed(one).map(Bytes::new)),
                "words" => words.line(&one.words),
            }),
            "no-picture" => words.line(&page.no_picture),
            "lines" => rows(&page.lines, |line| words.line(line)),
            "warnings" => rows(&page.warnings, |line| words.line(line)),
        }
    }

    fn colour(&mut self, colour: &ColourPage) -> Dict {
        let words = &mut self.words;
        dict! {
            "name" => words.line(&colour.name),
            "when" => words.line(&colour.when),
            "who" => words.line(&colour.who),
            "instrument" => words.line(&colour.instrument),
            "lights" => rows(&colour.lights, |row| dict! {
                "light" => words.line(&row.light),
                "swatches" => rows(&row.swatches, |swatch| dict! {
                    "angle" => words.line(&swatch.angle),
                    "place" => words.line(&swatch.place),
                    "srgb" => srgb(swatch.srgb),
                    "outside" => swatch.outside,
                    "lab" => swatch.lab.iter().map(|&n| tenth(n).into_value()).collect::<Array>(),
                }),
            }),
            "travel" => rows(&colour.travel, |text| words.line(text)),
            "warnings" => rows(&colour.warnings, |text| words.line(text)),
        }
    }

    fn comparison(&mut self, comparison: &Comparison) -> Dict {
        let words = &mut self.words;
        dict! {
            "left" => words.line(&comparison.left),
            "right" => words.line(&comparison.right),
            "note" => words.lines(&comparison.note),
            "lights" => rows(&comparison.lights, |row| dict! {
                "light" => words.line(&row.light),
                "pairs" => rows(&row.pairs, |pair| dict! {
                    "angle" => words.line(&pair.angle),
                    "place" => words.line(&pair.place),
                    "left" => srgb(pair.left),
                    "right" => srgb(pair.right),
                    "de00" => tenth(pair.de00),
                }),
            }),
        }
    }

    fn check(&mut self, check: &CheckRow) -> Dict {
        let words = &mut self.words;
        dict! {
            "seq" => number(check.seq),
            "when" => words.line(&check.when),
            "who" => words.line(&check.who),
            "what" => words.line(&check.what),
            "place" => words.line(&check.place),
            "figures" => words.line(&check.figures),
            "answer" => words.line(&check.answer),
            "why" => words.line(&check.why),
            "superseded" => check.superseded_by.map(number),
        }
    }

    fn not_opened(&mut self, zone: &NotOpened) -> Dict {
        let words = &mut self.words;
        dict! {
            "name" => words.line(&zone.name),
            "side" => words.line(&zone.side),
            "through" => words.line(&zone.through),
            "last-look" => words.line(&zone.last_look),
        }
    }

    fn record(&mut self, row: &RecordRow) -> Dict {
        let words = &mut self.words;
        dict! {
            "seq" => number(row.seq),
            "when" => words.line(&row.when),
            "who" => words.line(&row.who),
            "what" => words.line(&row.what),
            "hash" => words.line(&row.hash),
            "superseded" => row.superseded_by.map(number),
        }
    }
}

fn photograph(words: &mut Words, photo: &Photo) -> Dict {
    dict! {
        "jpeg" => bytes(picture::photograph(&photo.jpeg)),
        "number" => number(photo.number),
        "place" => words.line(&photo.place),
        "caption" => words.lines(&photo.caption),
        "stage" => words.line(&photo.stage),
        "when" => words.line(&photo.when),
        "who" => words.line(&photo.who),
        "mark" => words.line(&photo.mark),
        "hash" => words.line(&photo.hash),
        "superseded" => photo.superseded_by.map(number),
    }
}

fn entries(words: &mut Words, all: &[Entry]) -> Value {
    rows(all, |entry| {
        dict! {
            "seq" => number(entry.seq),
            "when" => words.line(&entry.when),
            "who" => words.line(&entry.who),
            "what" => words.line(&entry.what),
            "note" => words.lines(&entry.note),
            "superseded" => entry.superseded_by.map(number),
        }
    })
}

fn rows<T, V: IntoValue>(all: &[T], row: impl FnMut(&T) -> V) -> Value {
    at_most(MAX_ROWS, all, row)
}

/// The rows within a limit, and how many are left out.
fn at_most<T, V: IntoValue>(limit: usize, all: &[T], row: impl FnMut(&T) -> V) -> Value {
    let within = all.len().min(limit);
    list(all[..within].iter().map(row), all.len() - within)
}

fn list<V: IntoValue>(rows: impl Iterator<Item = V>, left_out: usize) -> Value {
    let rows: Array = rows.map(IntoValue::into_value).collect();
    dict! { "rows" => rows, "left-out" => number(left_out as u64) }.into_value()
}

fn number(n: u64) -> Value {
    i64::try_from(n).unwrap_or(i64::MAX).into_value()
}

fn drawing(svg: &str) -> Value {
    bytes(picture::drawing(svg))
}

fn bytes(bytes: Option<Bytes>) -> Value {
    bytes.map_or(Value::None, IntoValue::into_value)
}

fn srgb(colour: [u8; 3]) -> Array {
    colour.into_iter().map(|part| i64::from(part).into_value()).collect()
}

/// One place after the point and a real minus sign; a figure that is none is said in words.
fn tenth(n: f64) -> Str {
    if !n.is_finite() {
        return "none".into();
    }
    let text = format!("{n:.1}");
    match text.strip_prefix('-') {
        Some("0.0") => "0.0".into(),
        Some(digits) => format!("\u{2212}{digits}").into(),
        None => text.into(),
    }
}

/// Digits of a hash in groups of four.
fn grouped(hash: &str) -> Array {
    let digits: Vec<char> = hash.chars().filter(|c| c.is_ascii_hexdigit()).take(64).collect();
    digits.chunks(4).map(|group| Str::from(group.iter().collect::<String>()).into_value()).collect()
}
