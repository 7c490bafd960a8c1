//! A brief: what is liked about a measured paint and what is not, as changes by angle.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use colour::brief::{AngleTold, Asked as AskedOf, BriefError, Edit, End, completed, tell};
use colour::recipe::RecipeError;
use colour::{Geometry, Lab, Measurement};
use job::mixing::Brief;
use job::paintwork::engine;
use serde::Serialize;

use super::asked::Asked;
use super::given;
use crate::answer::{Answer, columns, row};
use crate::file;
use crate::stop::Stop;

/// What is wanted of a measured paint, and what not.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The paint it starts from: columns [name,]geometry,400,410 ... 700; a perfect white is 1.
    #[arg(long, value_name = "MEASUREMENT.csv")]
    donor: PathBuf,
    /// Which measurement of the file, where it holds several.
    #[arg(long, value_name = "ID")]
    id: Option<String>,
    #[command(flatten)]
    asked: Asked,
    /// A second paint whose face is wanted.
    #[arg(long, value_name = "MEASUREMENT.csv")]
    face_of: Option<PathBuf>,
    /// A second paint whose flop is wanted.
    #[arg(long, value_name = "MEASUREMENT.csv")]
    flop_of: Option<PathBuf>,
    /// A file to write the brief to, for colour recipe and colour reach.
    #[arg(long, value_name = "BRIEF.json")]
    out: Option<PathBuf>,
    /// A file to write the donor to, with the angles that it lacks and a second paint lent it.
    #[arg(long, value_name = "DONOR.csv")]
    completed: Option<PathBuf>,
}

/// Works out what was asked for.
///
/// # Errors
/// When a file or a flag is not as it should be, or a change is asked for where nobody measured.
pub(super) fn told(wanted: &Wanted) -> Result<Told, Stop> {
    for path in wanted.out.iter().chain(&wanted.completed) {
        file::writable(path)?;
    }
    let target = given::target(&wanted.donor, wanted.id.as_deref())?;
    let [face_of, flop_of] = [("--face-of", &wanted.face_of), ("--flop-of", &wanted.flop_of)]
        .map(|(flag, path)| path.as_ref().map(|path| Ok::<_, Stop>(given::only(flag, path)?.measurement)).transpose());
    let (face_of, flop_of) = (face_of?, flop_of?);
    let mut donor = target.measurement.clone();
    for (other, end) in [(&face_of, End::Face), (&flop_of, End::Flop)] {
        if let Some(other) = other {
            donor = completed(&donor, other, end);
        }
    }
    let said = engine::said(&wanted.asked.say);
    let by_hand = engine::edits(&wanted.asked.edit).map_err(|e| flagged(&e))?;
    let asked =
        AskedOf { said: &said, face_of: face_of.as_ref(), flop_of: flop_of.as_ref(), by_hand: by_hand.as_slice() };
    let told = tell(&donor, &asked).map_err(|e| flagged(&e))?;
    let brief = Brief { edits: engine::kept_edits(&told.edits), weights: wanted.asked.weight.clone() };
    // What is written must be a wish that a search can be given.
    let wish = engine::wish(&donor, &brief).map_err(|e| flagged(&e))?.wish;
    let mut warnings: Vec<String> = told.warnings.iter().map(ToString::to_string).collect();
    let lent: Vec<String> = lent(&target.measurement, &donor);
    if !lent.is_empty() && wanted.completed.is_none() {
        warnings.push(format!(
            "{} came from the second paint and {} not in {}: name a file with --completed and give that to colour recipe",
            lent.join(", "),
            if lent.len() == 1 { "is" } else { "are" },
            target.file
        ));
    }
    let out = BriefFile {
        edits: changes(&told.edits),
        weights: (!brief.weights.is_empty()).then(|| wish.weights.iter().map(|(g, w)| (angle(*g), *w)).collect()),
    };
    if let Some(path) = &wanted.completed {
        file::write(path, given::table(&target.name, &donor).as_bytes())?;
    }
    if let Some(path) = &wanted.out {
        let mut text = serde_json::to_vec_pretty(&out).map_err(Stop::failed)?;
        text.push(b'\n');
        file::write(path, &text)?;
    }
    Ok(Told {
        sentence: told.sentence,
        edits: out.edits,
        weights: wish.weights.iter().map(|(g, w)| (angle(*g), *w)).collect(),
        by_angle: told.angles.iter().map(ByAngle::of).collect(),
        lent,
        smoother: told.smoother.as_deref().map(changes),
        picture: target.is_picture(),
        warnings,
        file: wanted.out.as_deref().map(file::name),
    })
}

/// The angles that a donor was lent.
fn lent(own: &Measurement, completed: &Measurement) -> Vec<String> {
    let new = completed.by_angle().iter().filter(|(geometry, _)| own.at(*geometry).is_none());
    new.map(|(geometry, _)| geometry.to_string()).collect()
}

/// A refusal with the flag it is about in front.
fn flagged(why: &BriefError) -> Stop {
    match why {
        BriefError::Word { .. } | BriefError::Amount { .. } | BriefError::SaidTwice { .. } => {
            Stop::input(format!("--say: {why}"))
        }
        BriefError::NoAngle { .. } | BriefError::Twice { .. } | BriefError::Range { .. } => {
            Stop::input(format!("--edit: {why}"))
        }
        BriefError::Wish(RecipeError::NoWeight) => Stop::input(format!("--weight: {why}")),
        _ => Stop::input(why),
    }
}

fn angle(geometry: Geometry) -> String {
    geometry.aspecular_deg().to_string()
}

/// A brief as colour recipe reads it.
#[derive(Debug, Serialize)]
struct BriefFile {
    edits: Vec<Change>,
    #[serde(skip_serializing_if = "Option::is_none")]
    weights: Option<BTreeMap<String, f64>>,
}

#[derive(Debug, Clone, Serialize)]
struct Change {
    angle: i16,
    #[serde(rename = "dL")]
    dl: f64,
    #[serde(rename = "dC")]
    dc: f64,
    dh: f64,
}

fn changes(edits: &[Edit]) -> Vec<Change> {
    let change =
        |edit: &Edit| Change { angle: edit.geometry.aspecular_deg(), dl: edit.dl, dc: edit.dc, dh: edit.dh_deg };
    edits.iter().map(change).collect()
}

/// What was asked for, angle by angle.
#[derive(Debug, Serialize)]
pub(super) struct Told {
    sentence: String,
    edits: Vec<Change>,
    weights: BTreeMap<String, f64>,
    by_angle: Vec<ByAngle>,
    lent: Vec<String>,
    smoother: Option<Vec<Change>>,
    picture: bool,
    warnings: Vec<String>,
    file: Option<String>,
}

#[derive(Debug, Serialize)]
struct ByAngle {
    angle: i16,
    before: Seen,
    after: Seen,
    words: String,
}

#[derive(Debug, Serialize)]
struct Seen {
    #[serde(rename = "L")]
    l: f64,
    #[serde(rename = "C")]
    c: f64,
    h: f64,
}

impl ByAngle {
    fn of(told: &AngleTold) -> Self {
        let seen = |lab: Lab| Seen { l: lab.l, c: lab.chroma(), h: lab.hue_deg() };
        Self {
            angle: told.geometry.aspecular_deg(),
            before: seen(told.before),
            after: seen(told.after),
            words: told.words.clone(),
        }
    }
}

impl Answer for Told {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}\n", self.sentence)?;
        let mut rows = vec![row!["angle", "L*", "C*", "h", "wanted L*", "C*", "h", "weight"]];
        rows.extend(self.by_angle.iter().map(|told| {
            let Seen { l, c, h } = &told.before;
            let Seen { l: to_l, c: to_c, h: to_h } = &told.after;
            let figures = [l, c, h, to_l, to_c, to_h].map(|value| format!("{value:.1}"));
            let weight = self.weights.get(&told.angle.to_string()).map_or_else(String::new, |w| format!("{w:.2}"));
            std::iter::once(told.angle.to_string()).chain(figures).chain([weight]).collect()
        }));
        columns(out, &rows)?;
        writeln!(out)?;
        self.by_angle.iter().try_for_each(|told| writeln!(out, "{}", told.words))?;
        if let Some(smoother) = &self.smoother {
            let edits: Vec<String> =
                smoother.iter().map(|c| format!("{}:{},{},{}", c.angle, c.dl, c.dc, c.dh)).collect();
            writeln!(out, "without the jump it would be {}", edits.join("  "))?;
        }
        self.warnings.iter().try_for_each(|warning| writeln!(out, "doubtful: {warning}"))?;
        self.file.iter().try_for_each(|file| writeln!(out, "written to {file}"))
    }
}
