//! A paint of the record on a panel: what is to be shown, and the bytes a browser draws it from.

use std::fmt;
use std::str::FromStr;

use base::Warning;
use colour::preview::{Appearance, Panel, Picture, Scene, Sphere};
use colour::{Mix, Shelf};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

use super::{briefs, engine};
use crate::car::{Car, Entry};
use crate::mixing::{Formulated, Shelved};
use crate::paint;
use crate::shelf_file::ShelfFile;
use crate::what::What;

/// A paint of a car: an entry, by its place in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// A measured paint.
    Measured(u64),
    /// What a brief wants.
    Brief(u64),
    /// What a recipe is predicted to look like.
    Recipe(u64),
}

impl Subject {
    /// The subject that an entry is; `None` for other kinds.
    pub fn of(entry: &Entry) -> Option<Self> {
        match entry.what {
            What::Measured(_) => Some(Self::Measured(entry.seq)),
            What::Briefed(_) => Some(Self::Brief(entry.seq)),
            What::Formulated(_) => Some(Self::Recipe(entry.seq)),
            _ => None,
        }
    }

    /// Its place in the record.
    pub fn seq(self) -> u64 {
        match self {
            Self::Measured(seq) | Self::Brief(seq) | Self::Recipe(seq) => seq,
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let letter = match self {
            Self::Measured(_) => 'm',
            Self::Brief(_) => 'b',
            Self::Recipe(_) => 'r',
        };
        write!(f, "{letter}{}", self.seq())
    }
}

impl FromStr for Subject {
    type Err = PreviewError;

    /// Reads `m12`, `b15` or `r20`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let not = || PreviewError::NoSubject(text.chars().take(20).collect());
        let mut letters = text.chars();
        let letter = letters.next().ok_or_else(not)?;
        let seq = letters.as_str().parse().map_err(|_| not())?;
        match letter {
            'm' => Ok(Self::Measured(seq)),
            'b' => Ok(Self::Brief(seq)),
            'r' => Ok(Self::Recipe(seq)),
            _ => Err(not()),
        }
    }
}

/// A paint to be shown, and otherwise than it is on record where that is wanted.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Wanted {
    /// The paint.
    pub subject: Subject,
    /// Over another primer of its shelf, by name; recipes only.
    pub over: Option<String>,
    /// With one coat less; recipes only.
    pub less: bool,
}

/// Why a paint cannot be shown.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PreviewError {
    /// No key of a paint.
    #[error("\"{0}\" is no paint of this car: it must be m, b or r and the number of an entry, such as r20")]
    NoSubject(String),
    /// Not in the record, or of another kind.
    #[error("entry {0} is no such paint in this car's record")]
    NotThere(u64),
    /// Another primer or a coat less is asked of something that has neither.
    #[error("only a recipe can be shown over another primer or with a coat less; entry {0} is none")]
    NoCoats(u64),
    /// A primer that the recipe's shelf does not have.
    #[error("the primer \"{name}\" is not on the shelf of this recipe; it has {known}")]
    NoPrimer {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: String,
    },
    /// The entry cannot be read as a paint.
    #[error("entry {seq}: {why}")]
    Unreadable {
        /// The entry.
        seq: u64,
        /// Why.
        why: String,
    },
}

/// A paint in a light, ready for pictures.
#[derive(Debug)]
pub struct Painted {
    /// What it sends to the eye.
    pub sphere: Sphere,
    /// What it is called.
    pub name: String,
    /// What is doubtful about its picture.
    pub warnings: Vec<Warning>,
}

/// The entry of a subject.
///
/// # Errors
/// When there is none of that kind.
pub fn entry(car: &Car, subject: Subject) -> Result<&Entry, PreviewError> {
    let entry = car.entry(subject.seq()).filter(|entry| Subject::of(entry) == Some(subject));
    entry.ok_or(PreviewError::NotThere(subject.seq()))
}

/// The recipe of a subject and the shelf it was found on; `None` when it is no recipe.
///
/// # Errors
/// When a recipe's shelf is not in the record any more.
pub fn recipe<'a>(car: &'a Car, entry: &'a Entry) -> Result<Option<(&'a Formulated, &'a Shelved)>, PreviewError> {
    let What::Formulated(recipe) = &entry.what else { return Ok(None) };
    let lost = || unreadable(entry, "the toners it was found with were taken out of the record");
    let (_, shelved) = super::shelf_of(car, recipe.shelf).ok_or_else(lost)?;
    Ok(Some((recipe, shelved)))
}

fn unreadable(entry: &Entry, why: impl fmt::Display) -> PreviewError {
    PreviewError::Unreadable { seq: entry.seq, why: why.to_string() }
}

/// A paint without its gloss, over all directions, and its name. `shelf` is the file of the recipe's shelf.
///
/// # Errors
/// When the entry cannot be read as a paint, or what is wanted of it cannot be had.
pub fn appearance(car: &Car, wanted: &Wanted, shelf: Option<&ShelfFile>) -> Result<(Appearance, String), PreviewError> {
    let entry = entry(car, wanted.subject)?;
    let plain = wanted.over.is_none() && !wanted.less;
    match &entry.what {
        What::Formulated(formulated) => {
            let file = shelf.ok_or_else(|| unreadable(entry, "its toner file is missing"))?;
            let mix = engine::mix(formulated, &file.shelf).map_err(|e| unreadable(entry, e))?;
            let mix = coated(mix, formulated.coats, wanted, &file.shelf)?;
            Ok((Appearance::of_mix(&file.shelf, &mix), formulated.name.clone()))
        }
        _ if !plain => Err(PreviewError::NoCoats(entry.seq)),
        What::Briefed(briefed) => {
            let wish = briefs::wish(car, briefed).map_err(|e| unreadable(entry, e))?;
            Ok((Appearance::of_measurement(&wish.wish.target), briefed.name.clone()))
        }
        What::Measured(measured) => {
            let paint = paint::measurement(measured).map_err(|e| unreadable(entry, e))?;
            Ok((Appearance::of_measurement(&paint), measured.name.clone()))
        }
        _ => Err(PreviewError::NotThere(entry.seq)),
    }
}

/// A mix over the primer and with the coats that are wanted.
fn coated(mut mix: Mix, coats: u32, wanted: &Wanted, shelf: &Shelf) -> Result<Mix, PreviewError> {
    if let Some(name) = &wanted.over {
        let known = || shelf.substrates().iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ");
        mix.substrate = shelf
            .substrate(name)
            .ok_or_else(|| PreviewError::NoPrimer { name: name.chars().take(120).collect(), known: known() })?;
    }
    if wanted.less {
        one_coat_less(&mut mix, coats);
    }
    Ok(mix)
}

/// Takes one of a mix's coats off. Of a single one half is left: a thin coat.
pub fn one_coat_less(mix: &mut Mix, coats: u32) {
    mix.film_um *= if coats > 1 { f64::from(coats - 1) / f64::from(coats) } else { 0.5 };
}

/// Works out a paint in a light.
pub fn painted((appearance, name): &(Appearance, String), scene: Scene) -> Painted {
    Painted { sphere: Sphere::new(appearance, scene), name: name.clone(), warnings: appearance.warnings.clone() }
}

/// A picture as a PNG file.
///
/// # Errors
/// When the picture's bytes are not those of its size, which no drawn picture's are.
pub fn png(picture: &Picture) -> Result<Vec<u8>, image::ImageError> {
    let mut bytes = Vec::new();
    let (width, height) = (picture.width as u32, picture.height as u32);
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Up).write_image(
        &picture.rgb,
        width,
        height,
        ExtendedColorType::Rgb8,
    )?;
    Ok(bytes)
}

/// The panel as the browser reads it, little endian: how many vertices and how many indices (u32 each), the
/// vertices' positions in mm and their normals (three f32 each), and the indices of the triangles (u32).
pub fn mesh_bytes(panel: &Panel) -> Vec<u8> {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes();
    let mut bytes = Vec::with_capacity(8 + 24 * panel.positions.len() + 12 * panel.triangles.len());
    bytes.extend(count(panel.positions.len()));
    bytes.extend(count(3 * panel.triangles.len()));
    bytes.extend(panel.positions.iter().chain(&panel.normals).flatten().flat_map(|v| v.to_le_bytes()));
    bytes.extend(panel.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()));
    bytes
}

/// A paint in a light as the browser reads it, little endian: texels along a side and number of glints (u32
/// each), for each glint its direction, sharpness and colour (seven f32), then the texels as half floats, red,
/// green, blue and 1.
pub fn sphere_bytes(sphere: &Sphere) -> Vec<u8> {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes();
    let mut bytes = Vec::with_capacity(8 + 28 * sphere.glints().len() + 8 * sphere.texels().len());
    bytes.extend(count(colour::preview::SIDE));
    bytes.extend(count(sphere.glints().len()));
    for glint in sphere.glints() {
        let figures = glint.toward.into_iter().chain([glint.sharpness]).chain(glint.rgb);
        bytes.extend(figures.flat_map(|figure| (figure as f32).to_le_bytes()));
    }
    for texel in sphere.texels() {
        bytes.extend(texel.iter().chain(&[1.0]).flat_map(|value| half(*value).to_le_bytes()));
    }
    bytes
}

/// The nearest half float (IEEE 754 binary16) of a number; beyond its range the largest, of what is no number 0.
fn half(value: f32) -> u16 {
    const LARGEST: f32 = 65504.0;
    let value = if value.is_nan() { 0.0 } else { value.clamp(-LARGEST, LARGEST) };
    let bits = value.to_bits();
    let sign = ((bits >> 16) & 0x8000) as u16;
    let exponent = ((bits >> 23) & 0xff) as i32 - 127 + 15;
    let fraction = (bits & 0x007f_ffff) | 0x0080_0000;
    // Below the smallest normal half, the fraction is shifted further.
    let shift = if exponent <= 0 { 14 - exponent } else { 13 };
    if shift > 24 {
        return sign;
    }
    let (kept, rest, middle) = (fraction >> shift, fraction & ((1 << shift) - 1), 1_u32 << (shift - 1));
    let rounded = kept + u32::from(rest > middle || (rest == middle && kept & 1 == 1));
    // A fraction that rounds up to the next power carries into the exponent by itself.
    let biased = if exponent <= 0 { rounded } else { rounded + (((exponent - 1) as u32) << 10) };
    sign | biased as u16
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of IEEE 754-2008 binary16 (from memory): one, the largest, the smallest normal and subnormal, a third.
    #[test]
    fn published_half_floats() {
        for (value, bits) in [
            (0.0, 0x0000),
            (1.0, 0x3c00),
            (-2.0, 0xc000),
            (65504.0, 0x7bff),
            (1e9, 0x7bff),
            (6.103_515_6e-5, 0x0400),
            (5.960_464_5e-8, 0x0001),
            (0.333_333_34, 0x3555),
            (1e-9, 0x0000),
            (f32::NAN, 0x0000),
        ] {
            assert_eq!(half(value), bits, "{value}");
        }
    }

    #[test]
    fn keys_are_read_back() {
        for subject in [Subject::Measured(3), Subject::Brief(15), Subject::Recipe(20)] {
            assert_eq!(subject.to_string().parse(), Ok(subject));
        }
        for bad in ["", "r", "x5", "r-1", "\u{e9}5", "r5x"] {
            assert_eq!(bad.parse::<Subject>(), Err(PreviewError::NoSubject(bad.into())));
        }
    }

    #[test]
    fn a_panel_and_a_sphere_have_the_bytes_of_their_form() {
        let panel = Panel::usual();
        let mesh = mesh_bytes(panel);
        assert_eq!(mesh.len(), 8 + 24 * panel.positions.len() + 12 * panel.triangles.len());
        assert_eq!(mesh[..4], (panel.positions.len() as u32).to_le_bytes());
        let sphere = Sphere::new(&Appearance::diffuser(), Scene::Furnace);
        let bytes = sphere_bytes(&sphere);
        assert_eq!(bytes.len(), 8 + 8 * sphere.texels().len());
        assert_eq!(bytes[8..16], [0x00, 0x3c, 0x00, 0x3c, 0x00, 0x3c, 0x00, 0x3c], "a white texel");
    }
}
