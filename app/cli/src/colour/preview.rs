//! A paint on a curved panel in a light, as a PNG.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use colour::Shelf;
use colour::preview::{Appearance, Panel, Picture, Scene, View};
use job::paintwork::preview::{Painted, one_coat_less, painted, png};
use serde::Serialize;

use super::asked::number;
use super::correct::coats_of;
use super::given;
use crate::answer::{Answer, doubt};
use crate::file;
use crate::stop::Stop;

/// A picture's least and largest side, in px.
const SIDES: std::ops::RangeInclusive<usize> = 16..=colour::preview::LARGEST;

/// What is to be shown, and how.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The picture to write.
    #[arg(value_name = "OUT.png")]
    out: PathBuf,
    /// The toners of a recipe, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: Option<PathBuf>,
    /// The recipe to show; of several in the file the first.
    #[arg(long, value_name = "RECIPE.json", requires = "toners")]
    recipe: Option<PathBuf>,
    /// A measured paint to show in place of a recipe.
    #[arg(long, value_name = "MEASUREMENT.csv", conflicts_with = "recipe")]
    measured: Option<PathBuf>,
    /// Which measurement of the file, where it holds several.
    #[arg(long, value_name = "ID", requires = "measured")]
    id: Option<String>,
    /// What is to be other than the measured paint, as for colour recipe.
    #[arg(long, value_name = "BRIEF.json", requires = "measured")]
    brief: Option<PathBuf>,
    /// The light: sun, overcast, lamp or tube.
    #[arg(long, value_name = "LIGHT", default_value = "sun", value_parser = light())]
    light: Scene,
    /// How far the panel is turned, its right edge away from the eye, in degrees: -180 to 180.
    #[arg(long, value_name = "DEG", default_value_t = 20.0, value_parser = degrees, allow_negative_numbers = true)]
    turn: f64,
    /// How far it is then tilted, its top towards the eye, in degrees: -180 to 180.
    #[arg(long, value_name = "DEG", default_value_t = 0.0, value_parser = degrees, allow_negative_numbers = true)]
    tilt: f64,
    /// The picture's width and height in px, 16 to 2048 each.
    #[arg(long, value_name = "WxH", default_value = "960x540", value_parser = size)]
    size: (usize, usize),
    /// The recipe over another primer of its toner file.
    #[arg(long, value_name = "PRIMER", requires = "recipe")]
    over: Option<String>,
    /// The recipe with one coat less.
    #[arg(long, requires = "recipe")]
    coat_less: bool,
    /// A second paint for the right half: a recipe of the same toners, as it is on file, where the name ends in
    /// .json, a measurement otherwise.
    #[arg(long, value_name = "RECIPE.json|MEASUREMENT.csv")]
    beside: Option<PathBuf>,
    /// Mark what the screen cannot show with a fine checker.
    #[arg(long)]
    mark: bool,
}

fn light() -> impl clap::builder::TypedValueParser<Value = Scene> {
    use clap::builder::TypedValueParser as _;
    let keys = Scene::ALL.iter().map(|scene| clap::builder::PossibleValue::new(scene.key()).help(scene.words()));
    clap::builder::PossibleValuesParser::new(keys).try_map(|key| key.parse::<Scene>())
}

fn degrees(text: &str) -> Result<f64, String> {
    number(text, "the angle", -180.0, 180.0)
}

fn size(text: &str) -> Result<(usize, usize), String> {
    let side = |text: &str| text.trim().parse().ok().filter(|side| SIDES.contains(side));
    let sides = text.split_once(['x', 'X']).and_then(|(width, height)| Some((side(width)?, side(height)?)));
    sides.ok_or_else(|| {
        format!("needed: width and height, {} to {} px each, such as 960x540", SIDES.start(), SIDES.end())
    })
}

/// Draws the panel and writes the picture.
///
/// # Errors
/// When something given is not as it should be, or the picture cannot be written.
pub(super) fn shown(wanted: &Wanted) -> Result<Shown, Stop> {
    file::writable(&wanted.out)?;
    let on_file = wanted.toners.as_deref().map(given::shelf).transpose()?;
    let shelf = on_file.as_ref().map(|on_file| &on_file.shelf);
    let left = match (&wanted.recipe, &wanted.measured, shelf) {
        (Some(recipe), _, Some(shelf)) => mixed(recipe, shelf, wanted.over.as_deref(), wanted.coat_less)?,
        (_, Some(measured), _) => measured_paint(measured, wanted.id.as_deref(), wanted.brief.as_deref())?,
        _ => return Err(Stop::input("--recipe and --toners, or --measured, say what is to be shown")),
    };
    let right = wanted.beside.as_deref().map(|path| beside(path, shelf)).transpose()?;
    let (left, right) = (painted(&left, wanted.light), right.map(|paint| painted(&paint, wanted.light)));
    let (width, height) = wanted.size;
    let view = View { turn_deg: wanted.turn, tilt_deg: wanted.tilt, width, height, mark: wanted.mark };
    let picture = Picture::draw(Panel::usual(), &left.sphere, right.as_ref().map(|paint| &paint.sphere), view);
    file::write(&wanted.out, &png(&picture).map_err(Stop::failed)?)?;
    let paints = [Some(&left), right.as_ref()].into_iter().flatten();
    let mut warnings: Vec<String> = Vec::new();
    for warning in paints.flat_map(|paint: &Painted| &paint.warnings) {
        if !warnings.contains(&warning.what) {
            warnings.push(warning.what.clone());
        }
    }
    if picture.panel_pixels == 0 {
        warnings.push("the panel turns its back: nothing of it is seen".into());
    }
    doubt(&warnings);
    Ok(Shown {
        file: file::name(&wanted.out),
        width,
        height,
        light: wanted.light.key(),
        turn_deg: wanted.turn,
        tilt_deg: wanted.tilt,
        panel_pixels: picture.panel_pixels,
        outside_screen: picture.outside_pixels,
        note: NOTE,
        warnings,
    })
}

/// What stands with every picture.
const NOTE: &str = "Not a proof: spray a card. Colour by angle only; texture and sparkle are not shown.";

type Paint = (Appearance, String);

fn mixed(path: &Path, shelf: &Shelf, over: Option<&str>, less: bool) -> Result<Paint, Stop> {
    let (recipe, mut mix) = given::recipe(path, shelf)?;
    if let Some(name) = over {
        mix.substrate = shelf.substrate(name).ok_or_else(|| {
            let known: Vec<&str> = shelf.substrates().iter().map(|primer| primer.name.as_str()).collect();
            Stop::input(format!("--over: the primer \"{name}\" is not in the toner file; it has {}", known.join(", ")))
        })?;
    }
    if less {
        let coats = recipe.coats.unwrap_or_else(|| coats_of(shelf, &mix).into());
        one_coat_less(&mut mix, coats);
    }
    Ok((Appearance::of_mix(shelf, &mix), file::name(path)))
}

fn measured_paint(path: &Path, id: Option<&str>, brief: Option<&Path>) -> Result<Paint, Stop> {
    let target = given::target(path, id)?;
    let wish = target.wish(brief)?;
    Ok((Appearance::of_measurement(&wish.target), target.name))
}

fn beside(path: &Path, shelf: Option<&Shelf>) -> Result<Paint, Stop> {
    if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json")) {
        let target = given::only("--beside", path)?;
        return Ok((Appearance::of_measurement(&target.measurement), target.name));
    }
    let shelf = shelf.ok_or_else(|| {
        Stop::input(format!("--beside: {} is a recipe; name its toners with --toners", file::name(path)))
    })?;
    mixed(path, shelf, None, false)
}

/// A written picture.
#[derive(Debug, Serialize)]
pub(super) struct Shown {
    file: String,
    width: usize,
    height: usize,
    light: &'static str,
    turn_deg: f64,
    tilt_deg: f64,
    panel_pixels: usize,
    outside_screen: usize,
    note: &'static str,
    warnings: Vec<String>,
}

impl Answer for Shown {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(
            out,
            "{}: {} x {} px, {}, turned {} and tilted {} degrees",
            self.file, self.width, self.height, self.light, self.turn_deg, self.tilt_deg
        )?;
        let share = 100.0 * self.outside_screen as f64 / self.panel_pixels.max(1) as f64;
        writeln!(out, "{share:.1} % of the panel is past what a screen can show")?;
        writeln!(out, "{}", self.note)
    }
}
