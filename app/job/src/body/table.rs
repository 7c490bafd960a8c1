//! Reading the four tables and the views of a body; every complaint names file and row.

use super::error::BodyError;
use super::zone::{BodyOption, PLACES};

/// The text of a body's five files.
#[derive(Debug, Clone, Copy)]
pub struct BodyFiles<'a> {
    /// `points.csv`: named points, mm.
    pub points: &'a str,
    /// `edges.csv`: lines through them.
    pub edges: &'a str,
    /// `zones.csv`: zones, their short labels and places.
    pub zones: &'a str,
    /// `patches.csv`: where each zone lies in each view.
    pub patches: &'a str,
    /// `views.toml`: how each view looks at the body.
    pub views: &'a str,
}

pub(super) const POINTS: &str = "points.csv";
pub(super) const EDGES: &str = "edges.csv";
pub(super) const ZONES: &str = "zones.csv";
pub(super) const PATCHES: &str = "patches.csv";
pub(super) const VIEWS: &str = "views.toml";

/// No table of a body needs more rows; the limit keeps a damaged file from filling memory.
const MOST_ROWS: usize = 5_000;
/// A body fits in a 40 m cube; anything beyond is a slip of the keyboard.
const FARTHEST_MM: f64 = 20_000.0;

pub(super) struct PointRow {
    pub(super) row: u64,
    pub(super) name: String,
    pub(super) at: [f64; 3],
}

pub(super) struct EdgeRow {
    pub(super) row: u64,
    pub(super) name: String,
    pub(super) views: Vec<String>,
    pub(super) kind: String,
    pub(super) weight: u8,
    pub(super) shape: Shape,
    pub(super) twin: bool,
    pub(super) path: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Open,
    Closed,
    Circle,
}

pub(super) struct ZoneRow {
    pub(super) row: u64,
    pub(super) zone: String,
    pub(super) label: String,
    pub(super) places: Vec<&'static str>,
    pub(super) fitted: Option<BodyOption>,
}

pub(super) struct PatchRow {
    pub(super) row: u64,
    pub(super) zone: String,
    pub(super) place: &'static str,
    pub(super) view: String,
    pub(super) callout: Option<Row>,
    pub(super) path: String,
}

/// The row of call-outs a call-out belongs to.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Row {
    Top,
    Bottom,
}

impl Row {
    pub(super) fn other(self) -> Row {
        match self {
            Row::Top => Row::Bottom,
            Row::Bottom => Row::Top,
        }
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ViewList {
    view: Vec<ViewRow>,
}

/// How one view looks at the body.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ViewRow {
    pub(super) id: String,
    pub(super) caption: String,
    /// The view that shows the other side of the car; absent when one view shows both.
    pub(super) twin: Option<String>,
    /// Direction that points right on the sheet; absent for a drawing in its own plane.
    pub(super) right: Option<[f64; 3]>,
    /// Direction that points up on the sheet.
    pub(super) up: Option<[f64; 3]>,
    /// Least u, least v, greatest u, greatest v.
    pub(super) box_mm: [f64; 4],
    pub(super) width_px: f64,
}

/// The records of a table with their line numbers, after checking the heading.
fn records(file: &'static str, text: &str, heading: &[&str]) -> Result<Vec<(u64, csv::StringRecord)>, BodyError> {
    let fault = |row: u64, why: String| BodyError::Table { file, row, why };
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let found = reader.headers().map_err(|e| fault(1, e.to_string()))?;
    if found.iter().ne(heading.iter().copied()) {
        return Err(fault(1, format!("the heading must be {}", heading.join(","))));
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| fault(e.position().map_or(0, csv::Position::line), e.to_string()))?;
        if rows.len() == MOST_ROWS {
            return Err(fault(record.position().map_or(0, csv::Position::line), format!("more than {MOST_ROWS} rows")));
        }
        rows.push((record.position().map_or(0, csv::Position::line), record));
    }
    Ok(rows)
}

/// One row being read.
struct Fields<'a> {
    file: &'static str,
    row: u64,
    record: &'a csv::StringRecord,
}

impl Fields<'_> {
    fn text(&self, i: usize) -> &str {
        self.record.get(i).unwrap_or("")
    }

    fn wrong(&self, i: usize, column: &'static str, allowed: &'static str) -> BodyError {
        BodyError::Value { file: self.file, row: self.row, column, value: self.text(i).to_owned(), allowed }
    }

    /// A name made of letters, figures and underscores.
    fn name(&self, i: usize, column: &'static str) -> Result<String, BodyError> {
        let text = self.text(i);
        if !text.is_empty() && text.len() <= 40 && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') {
            Ok(text.to_owned())
        } else {
            Err(self.wrong(i, column, "a name of letters, figures and underscores"))
        }
    }

    fn millimetres(&self, i: usize, column: &'static str) -> Result<f64, BodyError> {
        match self.text(i).parse::<f64>() {
            Ok(mm) if mm.abs() <= FARTHEST_MM => Ok(mm),
            _ => Err(self.wrong(i, column, "a length in mm between -20000 and 20000")),
        }
    }

    fn one_of<T: Copy>(
        &self,
        i: usize,
        column: &'static str,
        allowed: &'static str,
        words: &[(&str, T)],
    ) -> Result<T, BodyError> {
        let text = self.text(i);
        words
            .iter()
            .find(|(word, _)| *word == text)
            .map(|(_, value)| *value)
            .ok_or_else(|| self.wrong(i, column, allowed))
    }
}

pub(super) fn points(text: &str) -> Result<Vec<PointRow>, BodyError> {
    let read = |(row, record): &(u64, csv::StringRecord)| {
        let f = Fields { file: POINTS, row: *row, record };
        Ok(PointRow {
            row: *row,
            name: f.name(0, "point")?,
            at: [f.millimetres(1, "x_mm")?, f.millimetres(2, "y_mm")?, f.millimetres(3, "z_mm")?],
        })
    };
    records(POINTS, text, &["point", "x_mm", "y_mm", "z_mm", "note"])?.iter().map(read).collect()
}

pub(super) fn edges(text: &str) -> Result<Vec<EdgeRow>, BodyError> {
    let read = |(row, record): &(u64, csv::StringRecord)| {
        let f = Fields { file: EDGES, row: *row, record };
        Ok(EdgeRow {
            row: *row,
            name: f.name(0, "edge")?,
            views: f.text(1).split_whitespace().map(str::to_owned).collect(),
            kind: f.text(2).to_owned(),
            weight: f.one_of(3, "weight", "0, 1, 2 or 3", &[("0", 0), ("1", 1), ("2", 2), ("3", 3)])?,
            shape: f.one_of(
                4,
                "shape",
                "open, closed or circle",
                &[("open", Shape::Open), ("closed", Shape::Closed), ("circle", Shape::Circle)],
            )?,
            twin: f.one_of(5, "twin", "yes or no", &[("yes", true), ("no", false)])?,
            path: f.text(6).to_owned(),
        })
    };
    records(EDGES, text, &["edge", "views", "kind", "weight", "shape", "twin", "path"])?.iter().map(read).collect()
}

pub(super) fn zones(text: &str) -> Result<Vec<ZoneRow>, BodyError> {
    let read = |(row, record): &(u64, csv::StringRecord)| {
        let f = Fields { file: ZONES, row: *row, record };
        let label = f.text(1);
        if label.is_empty() || label.chars().count() > 24 {
            return Err(f.wrong(1, "label", "a name of 1 to 24 characters"));
        }
        let place = |word: &str| PLACES.iter().find(|(p, ..)| *p == word).map(|(p, ..)| *p);
        let places: Option<Vec<_>> = f.text(2).split_whitespace().map(place).collect();
        Ok(ZoneRow {
            row: *row,
            zone: f.name(0, "zone")?,
            label: label.to_owned(),
            places: places
                .filter(|p| !p.is_empty())
                .ok_or_else(|| f.wrong(2, "places", "a list of C, L, R, LF, LR, RF, RR, LS, RS, LP, RP, LT, RT"))?,
            fitted: f.one_of(3, "fitted", "empty or sunroof", &[("", None), ("sunroof", Some(BodyOption::Sunroof))])?,
        })
    };
    records(ZONES, text, &["zone", "label", "places", "fitted"])?.iter().map(read).collect()
}

pub(super) fn patches(text: &str) -> Result<Vec<PatchRow>, BodyError> {
    let places: Vec<(&str, &'static str)> = PLACES.iter().map(|(p, ..)| (*p, *p)).collect();
    let read = |(row, record): &(u64, csv::StringRecord)| {
        let f = Fields { file: PATCHES, row: *row, record };
        Ok(PatchRow {
            row: *row,
            zone: f.name(0, "zone")?,
            place: f.one_of(1, "place", "one of C, L, R, LF, LR, RF, RR, LS, RS, LP, RP, LT, RT", &places)?,
            view: f.name(2, "view")?,
            callout: f.one_of(
                3,
                "callout",
                "empty, top or bottom",
                &[("", None), ("top", Some(Row::Top)), ("bottom", Some(Row::Bottom))],
            )?,
            path: f.text(4).to_owned(),
        })
    };
    records(PATCHES, text, &["zone", "place", "view", "callout", "path", "note"])?.iter().map(read).collect()
}

pub(super) fn views(text: &str) -> Result<Vec<ViewRow>, BodyError> {
    let fault = |why: String| BodyError::Views { file: VIEWS, why };
    let list: ViewList = toml::from_str(text).map_err(|e| fault(e.to_string()))?;
    if list.view.is_empty() || list.view.len() > 40 {
        return Err(fault(format!("{} views, 1 to 40 are allowed", list.view.len())));
    }
    for v in &list.view {
        let numbers = v.box_mm.iter().chain(v.right.iter().flatten()).chain(v.up.iter().flatten());
        if numbers.into_iter().any(|n| n.is_nan() || n.abs() > FARTHEST_MM) {
            return Err(fault(format!("view \"{}\" has a number beyond 20000", v.id)));
        }
        if v.box_mm[2] - v.box_mm[0] < 1.0 || v.box_mm[3] - v.box_mm[1] < 1.0 {
            return Err(fault(format!("view \"{}\": box_mm must grow from u0, v0 to u1, v1", v.id)));
        }
        if !(100.0..=4000.0).contains(&v.width_px) {
            return Err(fault(format!("view \"{}\": width_px is {}, 100 to 4000 are allowed", v.id, v.width_px)));
        }
        if v.right.is_some() != v.up.is_some() {
            return Err(fault(format!("view \"{}\" needs both right and up, or neither", v.id)));
        }
        if v.twin.as_ref().is_some_and(|t| !list.view.iter().any(|o| o.id == *t)) {
            return Err(fault(format!("view \"{}\" names a twin that is no view", v.id)));
        }
        if list.view.iter().filter(|o| o.id == v.id).count() > 1 {
            return Err(fault(format!("view \"{}\" is there twice", v.id)));
        }
    }
    Ok(list.view)
}
