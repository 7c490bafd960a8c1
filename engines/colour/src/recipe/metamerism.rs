//! How far two paints that look alike by daylight part under another lamp.

use crate::difference::ciede2000;
use crate::lab::Lab;
use crate::light::{Illuminant, Observer, Xyz, tristimulus, white};
use crate::spectrum::Spectrum;

/// Special metamerism index, change of illuminant, from daylight D65 to a test light, 10 degrees.
///
/// CIE 15:2018, 9.2.2 (clause from memory): two specimens of equal tristimulus values under the
/// reference illuminant are as metameric as their colour differs under the test illuminant. Where they
/// are not quite equal, the specimen's values under the test light are first multiplied by the
/// standard's over its own under the reference light, axis by axis. The difference is CIEDE2000.
///
/// 0 for equal spectra, and for spectra that are multiples of one another. A specimen without any
/// light on one axis has no such correction there and is taken as it is.
///
/// ```
/// use colour::{Illuminant, Spectrum, recipe::metamerism};
/// let grey = Spectrum::new([0.2; 31])?;
/// let darker = Spectrum::new([0.1; 31])?;
/// assert!(metamerism(&grey, &darker, Illuminant::A) < 1e-9);
/// # Ok::<(), colour::ColourError>(())
/// ```
pub fn metamerism(standard: &Spectrum, specimen: &Spectrum, test: Illuminant) -> f64 {
    let at = |spectrum, light| tristimulus(spectrum, light, Observer::Deg10);
    let (standard_d65, specimen_d65) = (at(standard, Illuminant::D65), at(specimen, Illuminant::D65));
    let own = at(specimen, test);
    let corrected = |own: f64, wanted: f64, has: f64| if has.abs() > 1e-9 { own * wanted / has } else { own };
    let corrected = Xyz {
        x: corrected(own.x, standard_d65.x, specimen_d65.x),
        y: corrected(own.y, standard_d65.y, specimen_d65.y),
        z: corrected(own.z, standard_d65.z, specimen_d65.z),
    };
    let white = white(test, Observer::Deg10);
    ciede2000(Lab::from_xyz(at(standard, test), white), Lab::from_xyz(corrected, white))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(f: impl Fn(f64) -> f64) -> Spectrum {
        Spectrum::new(std::array::from_fn(|i| f(i as f64 / 30.0))).unwrap()
    }

    // CIE 15:2018, 9.2.2: by its definition the index of equal spectra is 0.
    #[test]
    fn published_equal_spectra_are_not_metameric() {
        for test in Illuminant::ALL {
            let red = curve(|x| 0.05 + 0.8 * x * x);
            // The correction multiplies by a ratio of 1, which rounds.
            assert!(metamerism(&red, &red, test) < 1e-9);
            assert!(metamerism(&red, &curve(|x| 0.5 * (0.05 + 0.8 * x * x)), test) < 1e-9);
        }
    }

    // By its definition a change to the reference light itself is no change: the correction makes all
    // equal there.
    #[test]
    fn published_no_change_of_light_is_no_index() {
        let (one, two) = (curve(|x| 0.1 + 0.5 * x), curve(|x| 0.6 - 0.3 * x));
        assert!(metamerism(&one, &two, Illuminant::D65) < 1e-9);
        assert!(metamerism(&one, &two, Illuminant::A) > 0.5);
    }

    #[test]
    fn a_grey_of_two_bands_is_metameric_to_an_even_grey() {
        let even = curve(|_| 0.3);
        let banded = curve(|x| if (0.3..0.45).contains(&x) || (0.6..0.75).contains(&x) { 0.6 } else { 0.15 });
        assert!(metamerism(&even, &banded, Illuminant::Fl11) > 1.0);
    }
}
