//! What can happen to a car: the kinds of entry, their figures and their words.

mod said;

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::details::{CarDetails, Fitted, Stage};
use crate::ids::{EntryId, Hash};
use crate::mixing::{Briefed, Carded, ColourServes, Formulated, Mixed, Shelved};
use crate::question::{Answer, OwnerWrote, Question, Report};
use crate::words::worded;
use crate::worked::Worked;

worded! {
    /// How a zone was looked at.
    pub enum How {
        /// By eye, nothing taken off.
        Eye = "eye", "By eye";
        /// Blunt probe and light tap.
        TapAndProbe = "tap_and_probe", "Tap and probe";
        /// Magnet and film gauge.
        MagnetAndGauge = "magnet_and_gauge", "Magnet and film gauge";
        /// Wall measured by ultrasound on a bare spot.
        Ultrasonic = "ultrasonic", "Ultrasonic wall reading";
        /// Scope camera through a hole that was there.
        ScopeThere = "scope_there", "Scope, existing hole";
        /// Scope camera through a hole drilled for it.
        ScopeDrilled = "scope_drilled", "8 mm hole and scope";
        /// Carpet, pad or trim lifted.
        CarpetLifted = "carpet_lifted", "Carpet or trim lifted";
        /// A covering of vinyl or cloth taken off the skin.
        CoverOff = "cover_off", "Cover off";
        /// A bolted panel or plate taken off.
        PlateOff = "plate_off", "Wing or plate off";
        /// Paint off, bare metal seen.
        BareMetal = "bare_metal", "Bare metal";
    }
}

impl How {
    /// What must be fitted to a car so that it can be looked at like this; `None` where any car can be.
    pub fn needs(self) -> Option<Fitted> {
        (self == Self::CoverOff).then_some(Fitted::CoveredRoof)
    }
}

worded! {
    /// How bad, at the worst place.
    pub enum Severity {
        /// Pits, wall mostly there.
        Pitted = "pitted", "pitted";
        /// Wall wasted.
        Thin = "thin", "thin";
        /// Through.
        Holed = "holed", "holed";
    }
}

worded! {
    /// What a reading measures, with its unit.
    pub enum Quantity {
        /// Film of paint, filler or lead on the metal, in micrometres.
        Film = "film_um", "Film";
        /// Wall of metal left, in millimetres.
        Wall = "wall_mm", "Wall left";
    }
}

impl Quantity {
    /// The unit as shown.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Film => "\u{b5}m",
            Self::Wall => "mm",
        }
    }

    /// The figures that can be entered at all.
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Film => (0.0, 20_000.0),
            Self::Wall => (0.1, 4.0),
        }
    }

    /// A figure with as many places as the trade reads from the instrument.
    pub fn show(self, value: f64) -> String {
        match self {
            Self::Film => format!("{value:.0} {}", self.unit()),
            Self::Wall => format!("{value:.2} {}", self.unit()),
        }
    }
}

worded! {
    /// Side of the car as seen sitting in it, facing forward.
    pub enum Side {
        /// Left.
        Left = "left", "left";
        /// Right.
        Right = "right", "right";
        /// On or across the centre line.
        Centre = "centre", "centre";
    }
}

/// A look at one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// The zone instance, such as `Z01.L`.
    pub zone: String,
    /// How it was looked at.
    pub how: How,
    /// What was seen.
    pub seen: Seen,
    /// Clues looked for, by the catalogue's identifier.
    #[serde(default)]
    pub clues: Vec<ClueSeen>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

/// What a look said. "Not looked" and "looked, clear" are different facts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "result", content = "severity")]
pub enum Seen {
    /// The zone could not be seen; it stays open and nothing changes.
    NotLooked,
    /// Nothing found where one could see.
    Clear,
    /// Bad, at its worst place as said.
    Bad(Severity),
}

/// One clue that was looked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClueSeen {
    /// The catalogue's clue.
    pub clue: String,
    /// True when it was there, false when it was looked for and was not.
    pub there: bool,
}

/// A reading at one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The zone instance.
    pub zone: String,
    /// What was measured.
    pub quantity: Quantity,
    /// The figure, in the quantity's unit.
    pub value: f64,
    /// The instrument's name.
    pub instrument: String,
    /// What the instrument is good to, in the quantity's unit.
    pub precision_abs: f64,
    /// What the instrument is good to besides, in percent of the reading.
    #[serde(default)]
    pub precision_rel_pct: f64,
    /// Where on the zone, in words.
    #[serde(default)]
    pub place: String,
    /// The figure it is judged against, and where that comes from.
    #[serde(default)]
    pub limit: Option<Limit>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Reading {
    /// What the reading is good to, in the quantity's unit.
    pub fn good_to(&self) -> f64 {
        self.precision_abs + self.precision_rel_pct / 100.0 * self.value
    }
}

/// A figure that a reading is judged against.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// The figure, in the reading's unit.
    pub value: f64,
    /// Where it comes from.
    pub source: String,
}

/// A photograph, kept as a turned, re-encoded picture without position data.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Photograph {
    /// The zone instance; a photograph without one is listed as unplaced.
    #[serde(default)]
    pub zone: Option<String>,
    /// The side, chosen by hand: a picture can be mirrored.
    pub side: Side,
    /// The stage of the job it shows.
    pub stage: Stage,
    /// What it shows.
    pub caption: String,
    /// Its place on the outline.
    #[serde(default)]
    pub mark: Option<Mark>,
    /// The picture, at most 2 400 px.
    pub picture: Hash,
    /// The small picture.
    pub thumb: Hash,
    /// Width of the picture in px.
    pub width_px: u32,
    /// Height of the picture in px.
    pub height_px: u32,
}

/// A place on one view of the outline, in mm of that view.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// The view.
    pub view: String,
    /// To the right.
    pub u_mm: f64,
    /// Upward.
    pub v_mm: f64,
}

/// A zone opened, and what was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opened {
    /// The zone instance.
    pub zone: String,
    /// `None`: found sound. Else how bad.
    #[serde(default)]
    pub found: Option<Severity>,
    /// What came off, or where the hole was made.
    #[serde(default)]
    pub through: String,
    /// Length and width of the bad place in mm.
    #[serde(default)]
    pub extent_mm: Option<(f64, f64)>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

/// A zone made good.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MadeGood {
    /// The zone instance.
    pub zone: String,
    /// What was done, with metal, gauge and welds.
    pub note: String,
}

/// A multi-angle spectral measurement of a paint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// What was measured.
    pub name: String,
    /// The instrument.
    #[serde(default)]
    pub instrument: String,
    /// The file it came from.
    pub file: String,
    /// The file itself, byte for byte.
    pub source: Hash,
    /// Radiance factors at 400 to 700 nm in steps of 10, by geometry.
    pub spectra: Vec<GeometrySpectrum>,
    /// What was doubtful when it was read.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// The areas of a picture that it was made up from; none for a paint that an instrument measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub areas: Vec<SampledArea>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Measured {
    /// Whether it was made up from areas of a picture: its colours are a wish, its spectra are invented.
    pub fn is_picture(&self) -> bool {
        !self.areas.is_empty()
    }
}

/// An area of a picture, and what stood there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SampledArea {
    /// What it shows of the panel: `face`, `flash` or `flop`.
    pub place: String,
    /// Its middle, as a part of the picture's width from the left.
    pub x: f64,
    /// Its middle, as a part of the picture's height from the top.
    pub y: f64,
    /// Its radius, as a part of the picture's longer side.
    pub radius: f64,
    /// Mean red, green and blue, sRGB codes 0 to 255.
    pub rgb: [f64; 3],
    /// Standard deviation of the codes, the largest of the three channels.
    pub spread: f64,
    /// Pixels in it.
    pub count: u32,
}

/// Radiance factors at one geometry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GeometrySpectrum {
    /// The geometry, such as `45as15`.
    pub geometry: String,
    /// 31 radiance factors, 400 to 700 nm.
    pub values: Vec<f64>,
}

/// The climate at a panel, and whether it was a moment to spray.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClimateRead {
    /// Air, deg C.
    pub air_c: f64,
    /// Relative humidity, percent.
    pub rh_pct: f64,
    /// Surface of the panel, deg C.
    pub panel_c: f64,
    /// The product, if one was chosen.
    #[serde(default)]
    pub product: String,
    /// Dew point, deg C.
    pub dew_point_c: f64,
    /// Panel above dew point, K.
    pub margin_c: f64,
    /// Whether the limits were met.
    pub spray: bool,
    /// Why, in words.
    pub why: String,
}

/// Film readings of a zone judged against a nominal film.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FilmJudged {
    /// The zone instance.
    pub zone: String,
    /// The nominal film in um.
    pub nominal_um: f64,
    /// The readings in um.
    pub readings_um: Vec<f64>,
    /// The instrument.
    pub instrument: String,
    /// Whether the readings were accepted.
    pub accept: bool,
    /// Their mean in um.
    pub mean_um: f64,
    /// Why, in words.
    pub why: String,
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $value:ident($data:ty) = $key:literal v $version:literal, $words:literal;)+) => {
        /// What happened, by kind.
        #[derive(Debug, Clone, PartialEq)]
        pub enum What {
            $($(#[$doc])* $value($data),)+
            /// An event written by a newer program; kept untouched, not understood.
            Newer {
                /// Its kind.
                kind: String,
                /// Its version.
                v: u32,
            },
        }

        impl What {
            /// Every kind's stored key and words, in the order people meet them.
            pub const KINDS: &'static [(&'static str, &'static str)] = &[$(($key, $words)),+];

            /// The stored key of this kind.
            pub fn kind(&self) -> &str {
                match self { $(Self::$value(_) => $key,)+ Self::Newer { kind, .. } => kind }
            }

            /// The words for this kind.
            pub fn kind_words(&self) -> &'static str {
                match self { $(Self::$value(_) => $words,)+ Self::Newer { .. } => "Not understood by this version" }
            }

            /// Kind, version and data as they are stored today; the version is the earliest that holds all it says.
            pub(crate) fn to_data(&self) -> Result<(&'static str, u32, Box<RawValue>), String> {
                match self {
                    $(Self::$value(data) => Ok(($key, self.least_version().unwrap_or($version), serde_json::value::to_raw_value(data).map_err(|e| e.to_string())?)),)+
                    Self::Newer { kind, .. } => Err(format!("\"{kind}\" was written by a newer program and cannot be written here")),
                }
            }

            /// Reads the data of a kind in the version in which it was stored.
            pub(crate) fn from_data(kind: &str, v: u32, data: &str) -> Result<Self, String> {
                match (kind, v) {
                    // Fields that came with a later version have defaults, which lifts the earlier ones.
                    $(($key, 1..=$version) => serde_json::from_str(data).map(Self::$value).map_err(|e| e.to_string()),)+
                    $(($key, 0) => Err("version 0 was never released".into()),)+
                    _ => Ok(Self::Newer { kind: kind.chars().take(60).collect(), v }),
                }
            }
        }
    };
}

kinds! {
    /// The car came into the shop.
    CarOpened(CarDetails) = "car_opened" v 2, "Car opened";
    /// Its details were changed.
    CarChanged(CarDetails) = "car_changed" v 2, "Details changed";
    /// The job reached a stage.
    StageReached(StageReached) = "stage_reached" v 1, "Stage reached";
    /// Somebody looked.
    Looked(Look) = "looked" v 1, "Look";
    /// Somebody measured film or wall.
    Read(Reading) = "read" v 1, "Reading";
    /// Somebody took a photograph.
    Photographed(Photograph) = "photographed" v 1, "Photograph";
    /// A zone was opened.
    Opened(Opened) = "opened" v 1, "Opened and found";
    /// A zone was made good.
    MadeGood(MadeGood) = "made_good" v 1, "Made good";
    /// Hours were worked.
    Worked(Worked) = "worked" v 1, "Hours worked";
    /// A paint was measured.
    Measured(Measured) = "colour_measured" v 2, "Colour measured";
    /// Toners were learned from sprayed panels.
    Shelved(Shelved) = "shelf" v 1, "Toners learned";
    /// It was said what is wanted of a measured paint, and what not.
    Briefed(Briefed) = "brief" v 1, "Brief";
    /// A recipe was found or corrected.
    Formulated(Formulated) = "recipe" v 2, "Recipe";
    /// A batch was weighed out.
    Mixed(Mixed) = "batch" v 1, "Batch mixed";
    /// A card was sprayed and measured.
    Carded(Carded) = "card" v 1, "Card";
    /// The parts and days that the car's colour must serve.
    ColourServes(ColourServes) = "colour_serves" v 1, "What the colour is for";
    /// The climate was read.
    ClimateRead(ClimateRead) = "climate_read" v 1, "Climate";
    /// Film readings were judged.
    FilmJudged(FilmJudged) = "film_judged" v 1, "Film judged";
    /// The owner was asked, or is about to be.
    Asked(Question) = "question" v 2, "Question";
    /// The owner answered.
    Answered(Answer) = "answer" v 2, "Answer";
    /// The owner wrote something that is no answer, or came too late to be one.
    OwnerWrote(OwnerWrote) = "owner_wrote" v 1, "The owner wrote";
    /// A fortnight was reported to the owner.
    Reported(Report) = "report" v 1, "Fortnight report";
    /// An entry was taken out; it stays in the record, struck through.
    Withdrawn(Withdrawn) = "withdrawn" v 1, "Taken out";
}

/// The job reached a stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StageReached {
    /// The stage.
    pub stage: Stage,
}

/// An entry taken out, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Withdrawn {
    /// The entry.
    pub entry: EntryId,
    /// Why it should not count.
    pub why: String,
}

impl What {
    /// The version as which this is written, where that is not its kind's latest: what an earlier program could
    /// have written is written as it wrote it, so that it still reads it.
    fn least_version(&self) -> Option<u32> {
        let first = match self {
            Self::Measured(x) => !x.is_picture(),
            Self::Formulated(x) => x.briefed.is_none(),
            Self::Asked(x) => x.fits_first_version(),
            Self::Answered(x) => x.shown.question.fits_first_version(),
            _ => false,
        };
        first.then_some(1)
    }

    /// The zone instance this is about, if it is about one.
    pub fn zone(&self) -> Option<&str> {
        match self {
            Self::Looked(x) => Some(&x.zone),
            Self::Read(x) => Some(&x.zone),
            Self::Photographed(x) => x.zone.as_deref(),
            Self::Opened(x) => Some(&x.zone),
            Self::MadeGood(x) => Some(&x.zone),
            Self::Worked(x) => x.zone.as_deref(),
            Self::FilmJudged(x) => Some(&x.zone),
            Self::Asked(x) => x.zones.first().map(String::as_str),
            _ => None,
        }
    }

    /// Whether this can change a zone's state, so that two people writing it at once must be told.
    pub fn sets_state(&self) -> bool {
        matches!(self, Self::Looked(_) | Self::Opened(_) | Self::MadeGood(_))
    }

    /// The pictures and files this refers to by hash.
    pub fn blobs(&self) -> Vec<Hash> {
        match self {
            Self::Photographed(photo) => vec![photo.picture, photo.thumb],
            Self::Measured(measured) => vec![measured.source],
            Self::Shelved(shelf) => {
                std::iter::once(shelf.file).chain(shelf.panels_files.iter().map(|kept| kept.hash)).collect()
            }
            Self::Carded(card) => vec![card.source],
            Self::Reported(report) => vec![report.pdf],
            _ => Vec::new(),
        }
    }
}
