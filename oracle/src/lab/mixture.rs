//! The paint in the cup becomes a medium.

use super::gun::Gun;
use super::spectra::{Spectrum, WAVELENGTHS};
use super::toner::{FACE_STEPS, Toner};
use crate::error::Error;
use crate::film::{Medium, Pigment};
use crate::flake::Flake;
use crate::slopes::Slopes;

/// A coat full of flakes is rougher: their slopes widen by this share per unit of flake fraction.
const LOADING: f64 = 0.5;

/// The medium of a dry film with these mass fractions, in the order of the toners.
pub(super) fn medium(toners: &[Toner], fractions: &[f64], gun: Gun) -> Result<Medium<WAVELENGTHS>, Error> {
    let used = || toners.iter().zip(fractions).filter(|(_, fraction)| **fraction > 0.0);
    let mut absorption_per_um = [0.0; WAVELENGTHS];
    let mut pigments: Vec<(f64, Spectrum)> = Vec::new();
    for (toner, fraction) in used() {
        add(&mut absorption_per_um, &toner.absorption_per_um, *fraction);
        let alone = fraction / (1.0 + fraction / toner.crowding);
        match pigments.iter_mut().find(|(asymmetry, _)| *asymmetry == toner.asymmetry) {
            Some((_, sum)) => add(sum, &toner.scattering_per_um, alone),
            None => pigments.push((toner.asymmetry, toner.scattering_per_um.map(|value| alone * value))),
        }
    }
    let tilting: f64 = used().map(|(toner, fraction)| fraction * toner.tilting).sum();
    let loading: f64 = used().filter(|(toner, _)| toner.flakes.is_some()).map(|(_, fraction)| fraction).sum();
    let mut flakes = Vec::new();
    for (toner, fraction) in used() {
        let Some(of) = &toner.flakes else { continue };
        let loaded = of.slope_sd * (1.0 + LOADING * loading);
        let slope_sd = gun.orientation * (loaded * loaded + tilting).sqrt();
        let slopes = Slopes::new(slope_sd, of.tail_weight)?;
        let area_per_um = fraction * of.area_per_um;
        flakes.push(if of.faces.iter().all(|faces| *faces == of.faces[0]) {
            Flake::plain(area_per_um, slopes, of.faces[0])?
        } else {
            Flake::by_angle(area_per_um, slopes, |band, cosine| {
                let step = (cosine * FACE_STEPS as f64 + 0.5) as usize;
                of.faces[step.min(FACE_STEPS)][band]
            })?
        });
    }
    let pigments = pigments
        .into_iter()
        .map(|(asymmetry, scattering_per_um)| Pigment::new(scattering_per_um, asymmetry))
        .collect::<Result<_, _>>()?;
    Medium::new(absorption_per_um, pigments, flakes)
}

fn add(sum: &mut Spectrum, part: &Spectrum, times: f64) {
    sum.iter_mut().zip(part).for_each(|(sum, part)| *sum += times * part);
}
