//! Areas of a picture in place of a measurement: a wish to start from, and no more.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use colour::brief::Place;
use colour::{Illuminant, Lab, Observer, lab};
use job::photograph::MAX_BYTES;
use job::sampled::{RADIUS, SampleError, Spot, sample};
use serde::Serialize;

use super::asked::number;
use super::given::{self, PICTURE};
use crate::answer::{Answer, columns, doubt, row};
use crate::file;
use crate::stop::Stop;

/// A picture and the areas that are taken from it.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The picture: JPEG, PNG or WebP.
    #[arg(value_name = "PICTURE")]
    picture: PathBuf,
    /// The middle of an area where the panel shines brightest beside the glare, taken for 15 degrees: parts of the
    /// width from the left and of the height from the top, 0 to 1.
    #[arg(long, value_name = "X,Y", value_parser = point, allow_negative_numbers = true)]
    face: Option<Point>,
    /// The middle of an area between face and flop, taken for 45 degrees.
    #[arg(long, value_name = "X,Y", value_parser = point, allow_negative_numbers = true)]
    flash: Option<Point>,
    /// The middle of an area that turns away from the light, taken for 110 degrees.
    #[arg(long, value_name = "X,Y", value_parser = point, allow_negative_numbers = true)]
    flop: Option<Point>,
    /// The areas' radius as a part of the longer side, 0.002 to 0.25.
    #[arg(long, value_name = "PART", default_value_t = 0.02, value_parser = radius, allow_negative_numbers = true)]
    radius: f64,
    /// The file to write the colours to, as spectra that have them.
    #[arg(long, value_name = "MEASUREMENT.csv")]
    out: PathBuf,
}

type Point = (f64, f64);

fn point(text: &str) -> Result<Point, String> {
    let (x, y) = text.split_once(',').ok_or("needed: two numbers from 0 to 1, such as 0.4,0.55")?;
    Ok((number(x, "the place from the left", 0.0, 1.0)?, number(y, "the place from the top", 0.0, 1.0)?))
}

fn radius(text: &str) -> Result<f64, String> {
    number(text, "the radius", *RADIUS.start(), *RADIUS.end())
}

/// Takes the colours.
///
/// # Errors
/// When the file is no picture, nothing is marked, or an area shows no colour.
pub(super) fn sampled(wanted: &Wanted) -> Result<Taken, Stop> {
    let marked = [(Place::Face, wanted.face), (Place::Flash, wanted.flash), (Place::Flop, wanted.flop)];
    let spot = |(place, at): (Place, Option<Point>)| at.map(|(x, y)| Spot { place, x, y, radius: wanted.radius });
    let spots: Vec<Spot> = marked.into_iter().filter_map(spot).collect();
    if spots.is_empty() {
        return Err(Stop::input("mark at least one of --face, --flash and --flop"));
    }
    file::writable(&wanted.out)?;
    let named = file::name(&wanted.picture);
    let bytes = file::read_most(&wanted.picture, MAX_BYTES)?;
    let name = format!("{PICTURE}{}", stem(&wanted.picture));
    let found = sample(&name, &named, &bytes, &spots).map_err(|e| match &e {
        SampleError::Spot { place, .. } => Stop::input(format!("--{place}: {e}")),
        _ => Stop::input(format!("{named}: {e}")),
    })?;
    file::write(&wanted.out, given::table(&name, &found.measurement).as_bytes())?;
    doubt(&found.doubts);
    let area = |(spot, area): (&Spot, &colour::brief::Area)| {
        let seen = found.measurement.at(spot.place.geometry());
        let seen = seen.map(|spectrum| lab(spectrum, Illuminant::D65, Observer::Deg10));
        let Lab { l, a, b } = seen.unwrap_or(Lab { l: 0.0, a: 0.0, b: 0.0 });
        Area {
            place: spot.place.key(),
            angle: spot.place.geometry().aspecular_deg(),
            x: spot.x,
            y: spot.y,
            rgb: area.rgb,
            spread: area.spread,
            pixels: area.count,
            l,
            a,
            b,
        }
    };
    Ok(Taken {
        file: file::name(&wanted.out),
        name,
        width_px: found.width_px,
        height_px: found.height_px,
        areas: spots.iter().zip(&found.areas).map(area).collect(),
        warnings: found.doubts.iter().map(ToString::to_string).collect(),
    })
}

/// The name of a file without its folder and ending, as far as a message needs it.
fn stem(path: &Path) -> String {
    path.file_stem().map(|stem| stem.to_string_lossy().chars().take(80).collect()).unwrap_or_default()
}

/// The colours of a picture.
#[derive(Debug, Serialize)]
pub(super) struct Taken {
    file: String,
    name: String,
    width_px: u32,
    height_px: u32,
    areas: Vec<Area>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Area {
    place: &'static str,
    angle: i16,
    x: f64,
    y: f64,
    rgb: [f64; 3],
    spread: f64,
    pixels: u32,
    #[serde(rename = "L")]
    l: f64,
    a: f64,
    b: f64,
}

impl Answer for Taken {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "A picture is not a measurement. Written to {}\n", self.file)?;
        let mut rows = vec![row!["area", "angle", "red", "green", "blue", "spread", "pixels", "L*", "a*", "b*"]];
        rows.extend(self.areas.iter().map(|area| {
            let [red, green, blue] = area.rgb.map(|code| format!("{code:.0}"));
            let [l, a, b] = [area.l, area.a, area.b].map(|value| format!("{value:.1}"));
            row![area.place, area.angle, red, green, blue, format!("{:.1}", area.spread), area.pixels, l, a, b]
        }));
        columns(out, &rows)
    }
}
