use super::spectra::{Spectrum, bell, below, spectrum};
use crate::error::Error;

/// The primers and cards of the shop: a black and a white card, and greys by Munsell value.
pub const SUBSTRATES: [&str; 8] = ["black", "white", "N3", "N4", "N5", "N6", "N7", "N8"];

/// Lambertian reflectance of a primer or card as seen from inside the film.
pub fn substrate(name: &str) -> Result<Spectrum, Error> {
    match name {
        "black" => Ok(spectrum(|nm| 0.042 + 0.003 * below(nm, 450.0, 30.0))),
        "white" => Ok(spectrum(|nm| 0.85 - 0.09 * below(nm, 412.0, 9.0) - 0.004 * bell(nm, 620.0, 60.0))),
        "N3" => Ok(grey(3.0)),
        "N4" => Ok(grey(4.0)),
        "N5" => Ok(grey(5.0)),
        "N6" => Ok(grey(6.0)),
        "N7" => Ok(grey(7.0)),
        "N8" => Ok(grey(8.0)),
        _ => Err(Error::UnknownSubstrate(name.to_owned())),
    }
}

/// A slightly cool grey of this Munsell value: luminance factor by the polynomial of ASTM D1535
/// (coefficients from memory).
fn grey(v: f64) -> Spectrum {
    let percent = v * (1.1914 + v * (-0.225_33 + v * (0.233_52 + v * (-0.020_484 + v * 0.000_819_39))));
    spectrum(|nm| 0.01 * percent * (1.0 + 0.012 * bell(nm, 450.0, 60.0) - 0.01 * bell(nm, 660.0, 50.0)))
}
