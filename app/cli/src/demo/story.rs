//! The demo's files, read.

use jiff::Timestamp;
use jiff::civil::Date;
use job::details::{CarDetails, Stage};
use job::person::Role;
use job::question::AnswerWay;
use job::what::{How, Side};
use job::worked::Part;
use serde::Deserialize;

use super::paint;
use super::picture::Scene;
use crate::stop::Stop;

/// The files as they are in the repository; the program carries them.
const CAR: &str = include_str!("../../../../demo/car.toml");
const RECORD: [(&str, &str); 6] = [
    ("demo/record/1-intake.toml", include_str!("../../../../demo/record/1-intake.toml")),
    ("demo/record/2-strip.toml", include_str!("../../../../demo/record/2-strip.toml")),
    ("demo/record/3-bare-metal.toml", include_str!("../../../../demo/record/3-bare-metal.toml")),
    ("demo/record/4-metal.toml", include_str!("../../../../demo/record/4-metal.toml")),
    ("demo/record/5-colour.toml", include_str!("../../../../demo/record/5-colour.toml")),
    ("demo/record/6-hours.toml", include_str!("../../../../demo/record/6-hours.toml")),
];
/// Cars that the invented shop finished before, the one that was opened first in front.
const EARLIER: [(&str, &str); 2] = [
    ("demo/cars/2-grey.toml", include_str!("../../../../demo/cars/2-grey.toml")),
    ("demo/cars/3-white.toml", include_str!("../../../../demo/cars/3-white.toml")),
];

/// A file of the demo's colour.
pub(super) fn colour_file(name: &str) -> Option<&'static [u8]> {
    match name {
        "donor.csv" => Some(include_bytes!("../../../../demo/colour/donor.csv")),
        "card.csv" => Some(include_bytes!("../../../../demo/colour/card.csv")),
        "card-1.csv" => Some(include_bytes!("../../../../demo/colour/card-1.csv")),
        "card-2.csv" => Some(include_bytes!("../../../../demo/colour/card-2.csv")),
        "card-3.csv" => Some(include_bytes!("../../../../demo/colour/card-3.csv")),
        _ => None,
    }
}

/// The panels that the demo's toners are learned from, in the order of [`job::panels::NAMES`].
pub(super) const PANELS: [&[u8]; 4] = [
    include_bytes!("../../../../demo/toners/toners.csv"),
    include_bytes!("../../../../demo/toners/panels.csv"),
    include_bytes!("../../../../demo/toners/measurements.csv"),
    include_bytes!("../../../../demo/toners/substrate.csv"),
];

/// The whole story.
#[derive(Debug)]
pub(super) struct Story {
    /// Who works in the invented shop.
    pub(super) people: Vec<Somebody>,
    /// The car that the story is about.
    pub(super) car: CarTold,
    /// Cars that the shop finished before.
    pub(super) earlier: Vec<CarTold>,
    /// When the dossier is said to be printed.
    pub(super) printed: Timestamp,
}

/// One car and what happened to it.
#[derive(Debug)]
pub(super) struct CarTold {
    /// The file that opens it.
    pub(super) file: &'static str,
    /// What is known of it before anybody looks.
    pub(super) details: CarDetails,
    /// When it was opened, and by whom.
    pub(super) opened: Timestamp,
    pub(super) by: String,
    /// What happened, in order of time.
    pub(super) entries: Vec<Told>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CarFile {
    opened: Timestamp,
    printed: Timestamp,
    by: String,
    people: Vec<Somebody>,
    car: CarDetails,
}

/// A car and its record in one file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct EarlierFile {
    opened: Timestamp,
    by: String,
    car: CarDetails,
    entry: Vec<Told>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Somebody {
    pub(super) name: String,
    pub(super) role: Role,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RecordFile {
    entry: Vec<Told>,
}

/// One entry as the files tell it.
#[derive(Debug, Deserialize)]
pub(super) struct Told {
    pub(super) at: Timestamp,
    pub(super) noted: Option<Timestamp>,
    pub(super) by: String,
    /// A name by which later entries may refer to this one.
    pub(super) name: Option<String>,
    pub(super) corrects: Option<String>,
    #[serde(flatten)]
    pub(super) what: Happened,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Happened {
    Stage(Stage),
    Looked(Looked),
    Film(Reading),
    Wall(Reading),
    Photographed(Photographed),
    Opened(Opened),
    MadeGood(MadeGood),
    Worked(Worked),
    Measured(Measured),
    Shelved(paint::Shelved),
    Briefed(paint::Briefed),
    Formulated(paint::Formulated),
    Corrected(paint::Corrected),
    Mixed(paint::Mixed),
    Carded(paint::Carded),
    Climate(Climate),
    FilmJudged(FilmJudged),
    Withdrawn(Withdrawn),
    Asked(Asked),
    AskedColour(paint::AskedColour),
    ColourServes(paint::Serves),
    Answered(Answered),
    OwnerWrote(OwnerWrote),
    Reported(Reported),
}

/// How a place was: one word in the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(super) enum Was {
    #[serde(rename = "not looked")]
    NotLooked,
    #[serde(rename = "clear", alias = "sound")]
    Clear,
    #[serde(rename = "pitted")]
    Pitted,
    #[serde(rename = "thin")]
    Thin,
    #[serde(rename = "holed")]
    Holed,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Looked {
    pub(super) zone: String,
    pub(super) how: How,
    pub(super) seen: Was,
    #[serde(default)]
    pub(super) there: Vec<String>,
    #[serde(default)]
    pub(super) not_there: Vec<String>,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reading {
    pub(super) zone: String,
    pub(super) value: f64,
    pub(super) instrument: String,
    #[serde(default)]
    pub(super) place: String,
    pub(super) limit: Option<f64>,
    pub(super) source: Option<String>,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Photographed {
    pub(super) zone: String,
    pub(super) side: Side,
    pub(super) stage: Stage,
    pub(super) caption: String,
    pub(super) picture: Picture,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Picture {
    pub(super) scene: Scene,
    pub(super) seed: u32,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Opened {
    pub(super) zone: String,
    pub(super) found: Was,
    pub(super) through: String,
    pub(super) extent: Option<(f64, f64)>,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MadeGood {
    pub(super) zone: String,
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Worked {
    pub(super) zone: Option<String>,
    pub(super) part: Part,
    pub(super) hours: f64,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Measured {
    pub(super) called: String,
    pub(super) file: String,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Climate {
    pub(super) air: f64,
    pub(super) rh: f64,
    pub(super) panel: f64,
    pub(super) product: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FilmJudged {
    pub(super) zone: String,
    pub(super) nominal: f64,
    pub(super) readings: Vec<f64>,
    pub(super) instrument: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Withdrawn {
    pub(super) entry: String,
    pub(super) why: String,
}

/// A question as the program drafts it from the record, with the lead's words in place of the draft's.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Asked {
    pub(super) zones: Vec<String>,
    pub(super) ask: String,
    #[serde(default)]
    pub(super) found: Option<String>,
    pub(super) by: Date,
    pub(super) sent: bool,
    /// Words of the options, the first one first; what is not given stays as drafted.
    #[serde(default)]
    pub(super) options: Vec<Worded>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Worded {
    pub(super) title: Option<String>,
    pub(super) means: Option<String>,
    pub(super) risks: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Answered {
    pub(super) question: String,
    pub(super) choice: Option<String>,
    pub(super) way: AnswerWay,
    #[serde(default)]
    pub(super) words: String,
    pub(super) changes: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OwnerWrote {
    pub(super) question: Option<String>,
    pub(super) words: String,
}

/// A report as the program drafts it from the record, under the lead's own first sentence.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reported {
    pub(super) from: Date,
    pub(super) to: Date,
    pub(super) says: String,
}

impl Story {
    /// The story as the program carries it.
    ///
    /// # Errors
    /// When the program was built with damaged files, which a test prevents.
    pub(super) fn told() -> Result<Self, Stop> {
        let CarFile { opened, printed, by, people, car } =
            toml::from_str(CAR).map_err(|e| Stop::failed(format!("demo/car.toml: {e}")))?;
        let mut entries = Vec::new();
        for (file, text) in RECORD {
            let record: RecordFile = toml::from_str(text).map_err(|e| Stop::failed(format!("{file}: {e}")))?;
            entries.extend(record.entry);
        }
        // The colour was worked on beside the metal.
        entries.sort_by_key(|told| told.at);
        let car = CarTold { file: "demo/car.toml", details: car, opened, by, entries };
        let earlier = |(file, text): (&'static str, &str)| {
            let read: EarlierFile = toml::from_str(text).map_err(|e| Stop::failed(format!("{file}: {e}")))?;
            let EarlierFile { opened, by, car: details, entry: entries } = read;
            Ok::<_, Stop>(CarTold { file, details, opened, by, entries })
        };
        let earlier = EARLIER.into_iter().map(earlier).collect::<Result<_, _>>()?;
        Ok(Self { people, car, earlier, printed })
    }
}

#[cfg(test)]
mod tests {
    use super::{RECORD, RecordFile, Story};

    #[test]
    fn the_story_is_told_in_order_of_time() {
        for (file, text) in RECORD {
            let record: RecordFile = toml::from_str(text).unwrap();
            assert!(record.entry.is_sorted_by_key(|e| e.at), "{file}");
        }
        let story = Story::told().unwrap();
        for car in story.earlier.iter().chain([&story.car]) {
            assert!(car.entries.is_sorted_by_key(|e| e.at), "{}", car.file);
            assert!(car.entries.iter().all(|e| e.at >= car.opened && e.at <= story.printed), "{}", car.file);
            assert!(car.entries.iter().filter_map(|e| Some((e.noted?, e.at))).all(|(noted, at)| noted < at));
        }
    }

    #[test]
    fn the_story_is_marked_invented() {
        let story = Story::told().unwrap();
        assert!(story.earlier.iter().chain([&story.car]).all(|car| car.details.invented));
    }
}
