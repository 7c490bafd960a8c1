//! What a dossier shows: plain data, independent of how a car is stored.
//!
//! Every text is data. Nothing in it is read as markup, and it may hold any character; what cannot be
//! printed is said on the sheet that explains how to check.

use std::sync::Arc;

use jiff::civil::DateTime;

use crate::owner::{QuestionPage, RangeRow, ReportRow};
use crate::panel::PanelPicture;

/// Everything that is printed about one car.
#[derive(Debug, Clone)]
pub struct DossierView {
    /// The car's name, as the shop calls it.
    pub title: String,
    /// Body style, year, climate, where kept, aim, options: one row each.
    pub facts: Vec<Fact>,
    /// What the dossier says, in one sentence.
    pub says: String,
    /// The stage of the job.
    pub stage: String,
    /// When it was printed, in the shop's zone, in words.
    pub printed_at: String,
    /// The same moment in UTC, written into the file's properties.
    pub printed_utc: DateTime,
    /// The head of the record: 64 hexadecimal digits.
    pub head_hash: String,
    /// How many entries the record has.
    pub count: u64,
    /// Whether the record was intact when this was printed, and if not, where it breaks.
    pub intact: Result<(), String>,
    /// True when the car is invented, for the demonstration.
    pub invented: bool,
    /// The summary's numbers, such as "Not looked: 71 of 124".
    pub figures: Vec<Fact>,
    /// What waits for the owner, a sentence each.
    pub waits: Vec<String>,
    /// The marks that the outlines use.
    pub legend: Vec<LegendRow>,
    /// The outline maps, the first of which also stands on the cover.
    pub maps: Vec<OutlineMap>,
    /// Zones about which something was entered.
    pub zones: Vec<ZonePage>,
    /// Photographs that belong to no zone.
    pub unplaced: Vec<Photo>,
    /// The colour as it was decided, or what waits for it; nothing while nobody was asked.
    pub decided: Option<DecidedPage>,
    /// Measured paints.
    pub colours: Vec<ColourPage>,
    /// Pairs of measured paints laid side by side.
    pub comparisons: Vec<Comparison>,
    /// Climate and film checks, in the order they were made.
    pub checks: Vec<CheckRow>,
    /// Every question to the owner, with its versions and answers, in the order in which they were begun.
    pub questions: Vec<QuestionPage>,
    /// What the owner wrote that belongs to no question.
    pub wrote: Vec<Entry>,
    /// Every range that was told, the first one first, and the one of today.
    pub ranges: Vec<RangeRow>,
    /// Why there is no range of today; empty when there is one.
    pub no_range: String,
    /// The hours agreed with the owner, if any.
    pub agreed_h: Option<f64>,
    /// The fortnight reports, the first one first.
    pub reports: Vec<ReportRow>,
    /// Zones that were not opened.
    pub not_opened: Vec<NotOpened>,
    /// Every entry of the record.
    pub record: Vec<RecordRow>,
    /// Where work on this car can hurt someone.
    pub cautions: Vec<Fact>,
}

/// A label and what stands under it.
#[derive(Debug, Clone)]
pub struct Fact {
    /// The label.
    pub label: String,
    /// The words or the figure with its unit.
    pub words: String,
}

/// One mark of the legend.
#[derive(Debug, Clone)]
pub struct LegendRow {
    /// The mark as a stand-alone SVG.
    pub mark_svg: String,
    /// What it means.
    pub words: String,
}

/// One outline view of the car.
#[derive(Debug, Clone)]
pub struct OutlineMap {
    /// Which view.
    pub caption: String,
    /// The drawing as a stand-alone SVG, styled by its own attributes.
    pub svg: String,
}

/// One zone and everything entered about it.
#[derive(Debug, Clone)]
pub struct ZonePage {
    /// The zone instance, such as `Z01.L`.
    pub id: String,
    /// The zone's name.
    pub name: String,
    /// The side, in words.
    pub side: String,
    /// What the zone does in the structure, in words.
    pub class: String,
    /// Its state, in words.
    pub state: String,
    /// The mark of its state as a stand-alone SVG.
    pub mark_svg: String,
    /// Looks, openings and repairs, in order.
    pub entries: Vec<Entry>,
    /// Readings, in order.
    pub readings: Vec<ReadingRow>,
    /// Photographs, in order.
    pub photographs: Vec<Photo>,
}

/// One entry about a zone.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// What was done and found, in words.
    pub what: String,
    /// The person's own words; may be empty.
    pub note: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// One reading.
#[derive(Debug, Clone)]
pub struct ReadingRow {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// What was measured, such as "Wall left".
    pub quantity: String,
    /// The figure, without its unit.
    pub value: String,
    /// The unit.
    pub unit: String,
    /// The instrument.
    pub instrument: String,
    /// What the instrument is good to, with unit; empty when not known.
    pub precision: String,
    /// The figure it is judged against, with unit; empty when there is none.
    pub limit: String,
    /// Where that figure comes from.
    pub limit_source: String,
    /// Where on the zone.
    pub place: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// One photograph.
///
/// A large one is printed at [`PRINTED_PX`](crate::PRINTED_PX) on its longer side.
#[derive(Debug, Clone)]
pub struct Photo {
    /// The picture as JPEG; empty when it is missing.
    pub jpeg: Arc<[u8]>,
    /// Its number, as printed under it.
    pub number: u64,
    /// Place and side, such as "Outer sill skin, left".
    pub place: String,
    /// What it shows, in the person's own words.
    pub caption: String,
    /// The stage it shows.
    pub stage: String,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// Where its mark stands on the outline; empty when it has none.
    pub mark: String,
    /// The first digits of the picture's hash as the record holds it; may be empty.
    pub hash: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// The colour of the car as the owner decided it, or the question that it waits for.
#[derive(Debug, Clone)]
pub struct DecidedPage {
    /// What it says, in one sentence.
    pub says: String,
    /// Recipe, primer, card, who decided when, what was shown.
    pub facts: Vec<Fact>,
    /// The recipe on a curved panel; empty while nothing is decided.
    pub pictures: Vec<PanelPicture>,
    /// Why there is no picture; empty when there is one, or nothing to draw.
    pub no_picture: String,
    /// The parts and days that it must serve, or the work that waits, a line each.
    pub lines: Vec<String>,
    /// What is doubtful, a sentence each.
    pub warnings: Vec<String>,
}

/// One measured paint.
#[derive(Debug, Clone)]
pub struct ColourPage {
    /// What was measured.
    pub name: String,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// The instrument.
    pub instrument: String,
    /// One row of swatches for each light.
    pub lights: Vec<LightRow>,
    /// How lightness and hue travel from face to flop, a sentence each.
    pub travel: Vec<String>,
    /// What was doubtful.
    pub warnings: Vec<String>,
}

/// One paint under one light, by angle.
#[derive(Debug, Clone)]
pub struct LightRow {
    /// The light, in words.
    pub light: String,
    /// From face to flop.
    pub swatches: Vec<Swatch>,
}

/// One paint under one light at one angle.
#[derive(Debug, Clone)]
pub struct Swatch {
    /// The angle, such as "15\u{b0}".
    pub angle: String,
    /// "face", "flash", "flop" or empty.
    pub place: String,
    /// The nearest colour that paper and screen can show.
    pub srgb: [u8; 3],
    /// True when the paint lies outside what can be shown at all.
    pub outside: bool,
    /// L\*, a\* and b\*.
    pub lab: [f64; 3],
}

/// Two paints laid side by side.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The left half.
    pub left: String,
    /// The right half.
    pub right: String,
    /// One row of pairs for each light.
    pub lights: Vec<PairRow>,
    /// Further words; may be empty.
    pub note: String,
}

/// Two paints under one light, by angle.
#[derive(Debug, Clone)]
pub struct PairRow {
    /// The light, in words.
    pub light: String,
    /// From face to flop.
    pub pairs: Vec<Pair>,
}

/// Two paints under one light at one angle.
#[derive(Debug, Clone)]
pub struct Pair {
    /// The angle.
    pub angle: String,
    /// "face", "flash", "flop" or empty.
    pub place: String,
    /// The left half as sRGB.
    pub left: [u8; 3],
    /// The right half as sRGB.
    pub right: [u8; 3],
    /// The CIEDE2000 difference.
    pub de00: f64,
}

/// A check of the climate at a panel, or of a film.
#[derive(Debug, Clone)]
pub struct CheckRow {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// "Climate" or "Film".
    pub what: String,
    /// The zone or product; may be empty.
    pub place: String,
    /// What was measured, with units.
    pub figures: String,
    /// The answer, such as "Yes" or "Not accepted".
    pub answer: String,
    /// Why.
    pub why: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// A zone that was not opened.
#[derive(Debug, Clone)]
pub struct NotOpened {
    /// The zone's name.
    pub name: String,
    /// The side, in words.
    pub side: String,
    /// What must come off first, or where a hole would go.
    pub through: String,
    /// When and what the last look was; empty when nobody has looked.
    pub last_look: String,
}

/// One line of the record.
#[derive(Debug, Clone)]
pub struct RecordRow {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// What, in words.
    pub what: String,
    /// The first digits of its hash.
    pub hash: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}
