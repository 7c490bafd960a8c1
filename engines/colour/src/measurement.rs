//! One paint, seen from several angles.

use base::Warning;

use crate::difference::{Difference, difference};
use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::lab::{Lab, lab};
use crate::light::{Illuminant, Observer};
use crate::spectrum::Spectrum;

/// The spectra of one paint by angle: at least one, none twice, in the order of the angles.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement(Vec<(Geometry, Spectrum)>);

/// Radiance factor above which a reading away from gloss is doubtful: paint spreads light, so what it
/// sends there stays near or below a diffuser's 1.
const AWAY_FROM_GLOSS: f64 = 1.5;

impl Measurement {
    /// Makes a measurement from spectra by angle, given in any order.
    ///
    /// # Errors
    /// [`ColourError::NoAngle`] when there is none, [`ColourError::AngleTwice`] when one is repeated.
    pub fn new(mut by_angle: Vec<(Geometry, Spectrum)>) -> Result<Self, ColourError> {
        if by_angle.is_empty() {
            return Err(ColourError::NoAngle);
        }
        by_angle.sort_by_key(|(geometry, _)| *geometry);
        for pair in by_angle.windows(2) {
            if let [(first, _), (second, _)] = pair
                && first == second
            {
                return Err(ColourError::AngleTwice { geometry: *first });
            }
        }
        Ok(Self(by_angle))
    }

    /// The spectra by angle, in the order of the angles.
    pub fn by_angle(&self) -> &[(Geometry, Spectrum)] {
        &self.0
    }

    /// The spectrum at one angle, if it was measured.
    pub fn at(&self, geometry: Geometry) -> Option<&Spectrum> {
        self.0.iter().find(|(measured, _)| *measured == geometry).map(|(_, spectrum)| spectrum)
    }

    /// CIELAB by angle.
    pub fn labs(&self, illuminant: Illuminant, observer: Observer) -> Vec<(Geometry, Lab)> {
        self.0.iter().map(|(geometry, spectrum)| (*geometry, lab(spectrum, illuminant, observer))).collect()
    }

    /// How a sample differs from this reference, at each angle that both have.
    pub fn differences(
        &self,
        sample: &Self,
        illuminant: Illuminant,
        observer: Observer,
    ) -> Vec<(Geometry, Difference)> {
        self.0
            .iter()
            .filter_map(|(geometry, reference)| {
                let reference = lab(reference, illuminant, observer);
                let sample = lab(sample.at(*geometry)?, illuminant, observer);
                Some((*geometry, difference(reference, sample)))
            })
            .collect()
    }

    /// What is doubtful about this measurement: values below nothing anywhere, and values away from
    /// gloss that only gloss can give.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut warnings = Vec::new();
        for (geometry, spectrum) in &self.0 {
            for warning in spectrum.warnings() {
                warnings.push(Warning::new(format!("{geometry}: {warning}")));
            }
            let highest = spectrum.values().iter().copied().fold(0.0, f64::max);
            if geometry.aspecular_deg() >= 45 && highest > AWAY_FROM_GLOSS {
                warnings.push(Warning::new(format!(
                    "{geometry}: a radiance factor of {highest} is high for an angle away from gloss; \
                     a perfect diffuser is 1 (is the file in percent?)"
                )));
            }
        }
        warnings
    }
}

#[cfg(test)]
mod tests {
    use super::Measurement;
    use crate::error::ColourError;
    use crate::geometry::Geometry;
    use crate::light::{Illuminant, Observer};
    use crate::spectrum::Spectrum;

    fn flat(factor: f64) -> Spectrum {
        Spectrum::new([factor; 31]).unwrap()
    }

    #[test]
    fn sorts_by_angle_and_refuses_none_and_twice() {
        let measurement = Measurement::new(vec![
            (Geometry::As110, flat(0.1)),
            (Geometry::AsMinus15, flat(0.9)),
            (Geometry::As45, flat(0.4)),
        ])
        .unwrap();
        assert!(measurement.by_angle().is_sorted_by_key(|(geometry, _)| *geometry));
        assert_eq!(measurement.at(Geometry::As45), Some(&flat(0.4)));
        assert_eq!(measurement.at(Geometry::As75), None);

        assert_eq!(Measurement::new(vec![]), Err(ColourError::NoAngle));
        assert_eq!(
            Measurement::new(vec![(Geometry::As45, flat(0.4)), (Geometry::As45, flat(0.5))]),
            Err(ColourError::AngleTwice { geometry: Geometry::As45 })
        );
    }

    #[test]
    fn differences_cover_shared_angles_only() {
        let wanted = Measurement::new(vec![(Geometry::As15, flat(0.6)), (Geometry::As45, flat(0.3))]).unwrap();
        let sprayed = Measurement::new(vec![(Geometry::As45, flat(0.3)), (Geometry::As110, flat(0.1))]).unwrap();
        let found = wanted.differences(&sprayed, Illuminant::D65, Observer::Deg10);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, Geometry::As45);
        assert_eq!(found[0].1.de00, 0.0);
    }

    #[test]
    fn warns_of_gloss_where_there_is_none() {
        let odd = Measurement::new(vec![
            (Geometry::As15, flat(2.0)),
            (Geometry::As75, flat(2.0)),
            (Geometry::As110, flat(-0.01)),
        ])
        .unwrap();
        let warnings = odd.warnings();
        assert_eq!(warnings.len(), 2, "{warnings:?}");
        assert!(warnings[0].what.starts_with("45as75: "));
        assert!(warnings[1].what.starts_with("45as110: "));
    }
}
