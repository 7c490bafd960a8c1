//! The angles at which an effect paint is measured.

use std::fmt;
use std::str::FromStr;

use crate::error::ColourError;

/// One of the six multi-angle geometries: light at 45 degrees, view at an aspecular angle in the
/// same plane.
///
/// The aspecular angle is counted from the mirror direction, positive towards the lamp. ASTM E2194
/// names 15, 45 and 110 for metal flake; ASTM E2539 adds -15, 25 and 75 for interference colours.
/// The order is that of the angles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Geometry {
    /// 45as-15: beyond gloss.
    AsMinus15,
    /// 45as15: face, next to gloss.
    As15,
    /// 45as25: face.
    As25,
    /// 45as45: flash.
    As45,
    /// 45as75: flop.
    As75,
    /// 45as110: flop, far side.
    As110,
}

impl Geometry {
    /// All six, by rising angle.
    pub const ALL: [Self; 6] = [Self::AsMinus15, Self::As15, Self::As25, Self::As45, Self::As75, Self::As110];

    /// The aspecular angle in degrees, positive towards the lamp.
    pub fn aspecular_deg(self) -> i16 {
        match self {
            Self::AsMinus15 => -15,
            Self::As15 => 15,
            Self::As25 => 25,
            Self::As45 => 45,
            Self::As75 => 75,
            Self::As110 => 110,
        }
    }

    /// The place of this angle in [`Geometry::ALL`].
    pub(crate) fn place(self) -> usize {
        match self {
            Self::AsMinus15 => 0,
            Self::As15 => 1,
            Self::As25 => 2,
            Self::As45 => 3,
            Self::As75 => 4,
            Self::As110 => 5,
        }
    }

    /// The painter's word for this angle (common practice, no source).
    pub fn word(self) -> &'static str {
        match self {
            Self::AsMinus15 => "beyond gloss",
            Self::As15 | Self::As25 => "face",
            Self::As45 => "flash",
            Self::As75 | Self::As110 => "flop",
        }
    }
}

impl fmt::Display for Geometry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::AsMinus15 => "45as-15",
            Self::As15 => "45as15",
            Self::As25 => "45as25",
            Self::As45 => "45as45",
            Self::As75 => "45as75",
            Self::As110 => "45as110",
        })
    }
}

impl FromStr for Geometry {
    type Err = ColourError;

    /// Reads `45as15`; a plus sign before the angle and blanks around the word are accepted.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim() {
            "45as-15" => Ok(Self::AsMinus15),
            "45as15" | "45as+15" => Ok(Self::As15),
            "45as25" | "45as+25" => Ok(Self::As25),
            "45as45" | "45as+45" => Ok(Self::As45),
            "45as75" | "45as+75" => Ok(Self::As75),
            "45as110" | "45as+110" => Ok(Self::As110),
            _ => Err(ColourError::Geometry { text: text.to_owned() }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Geometry;

    #[test]
    fn invariant_display_and_parse_are_inverse() {
        for geometry in Geometry::ALL {
            let text = geometry.to_string();
            assert_eq!(text, format!("45as{}", geometry.aspecular_deg()));
            assert_eq!(text.parse::<Geometry>().unwrap(), geometry);
        }
        assert_eq!("45as+15".parse::<Geometry>().unwrap(), Geometry::As15);
        assert_eq!(" 45as110 ".parse::<Geometry>().unwrap(), Geometry::As110);
    }

    #[test]
    fn refuses_other_angles() {
        for text in ["", "45", "45as", "45as+-15", "45as20", "as15", "45AS15", "15"] {
            assert!(text.parse::<Geometry>().is_err(), "{text}");
        }
    }

    #[test]
    fn order_is_by_angle() {
        assert!(Geometry::ALL.is_sorted());
        assert!(Geometry::ALL.is_sorted_by_key(|geometry| geometry.aspecular_deg()));
    }
}
