//! Whether the shelf can make what is wanted, and what it lacks.

use crate::difference::difference;
use crate::geometry::Geometry;
use crate::lab::Lab;
use crate::travel::hue_name;

/// How near the shelf comes.
#[derive(Debug, Clone, PartialEq)]
pub enum Reach {
    /// Mean CIEDE2000 of at most 1 and no angle over 2 (D65, 10 degrees).
    Within,
    /// Not quite; what differs, worst angle first.
    Near {
        /// Angles over 1.
        misses: Vec<Miss>,
    },
    /// Not with these toners: the mean is over [`MOST_MEAN_DE00`] or an angle over [`MOST_WORST_DE00`].
    NotReachable {
        /// Angles over 2, or else the worst; worst first.
        misses: Vec<Miss>,
    },
}

/// Mean CIEDE2000 above which a colour counts as not reachable (our choice).
pub const MOST_MEAN_DE00: f64 = 2.0;
/// CIEDE2000 at one angle above which a colour counts as not reachable (our choice).
pub const MOST_WORST_DE00: f64 = 4.0;

/// Where the best recipe misses.
#[derive(Debug, Clone, PartialEq)]
pub struct Miss {
    /// The angle.
    pub geometry: Geometry,
    /// CIEDE2000 there (D65, 10 degrees).
    pub de00: f64,
    /// What the shelf lacks, in words.
    pub missing: String,
}

impl Reach {
    /// From what is wanted and what is had, by angle.
    pub(crate) fn of(by_angle: &[(Geometry, Lab, Lab)]) -> Self {
        let mut misses: Vec<Miss> = by_angle
            .iter()
            .map(|(geometry, wanted, had)| {
                let de00 = difference(*wanted, *had).de00;
                Miss { geometry: *geometry, de00, missing: missing(*geometry, *wanted, *had) }
            })
            .collect();
        misses.sort_by(|a, b| b.de00.total_cmp(&a.de00).then(a.geometry.cmp(&b.geometry)));
        let mean = misses.iter().map(|miss| miss.de00).sum::<f64>() / misses.len().max(1) as f64;
        let worst = misses.first().map_or(0.0, |miss| miss.de00);
        if mean > MOST_MEAN_DE00 || worst > MOST_WORST_DE00 {
            let over = misses.iter().filter(|miss| miss.de00 > 2.0).count().max(1);
            misses.truncate(over);
            Self::NotReachable { misses }
        } else if mean > 1.0 || worst > 2.0 {
            misses.retain(|miss| miss.de00 > 1.0);
            Self::Near { misses }
        } else {
            Self::Within
        }
    }
}

/// What would have to be on the shelf: the part of the difference that weighs most.
fn missing(geometry: Geometry, wanted: Lab, had: Lab) -> String {
    let parts = difference(had, wanted);
    // In the proportions of CIEDE2000 roughly: chroma and hue count less as chroma grows.
    let chroma = 0.5 * (wanted.chroma() + had.chroma());
    let (l, c, h) = (parts.dl, parts.dc / (1.0 + 0.045 * chroma), parts.dh / (1.0 + 0.015 * chroma));
    let what = if l.abs() >= c.abs() && l.abs() >= h.abs() {
        if l > 0.0 { "light" } else { "dark" }.to_string()
    } else if c < 0.0 && c.abs() >= h.abs() {
        "grey".to_string()
    } else {
        hue_name(wanted.hue_deg()).to_string()
    };
    format!("nothing on the shelf is {what} enough {} ({geometry})", place(geometry))
}

fn place(geometry: Geometry) -> &'static str {
    match geometry.word() {
        "face" => "in the face",
        "flop" => "in the flop",
        "flash" => "in the flash",
        _ => "beyond gloss",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_is_missing() {
        let grey = Lab { l: 40.0, a: 0.0, b: 0.0 };
        let violet = Lab { l: 40.0, a: 25.0, b: -30.0 };
        let Reach::NotReachable { misses } =
            Reach::of(&[(Geometry::As15, grey, grey), (Geometry::As110, violet, grey)])
        else {
            panic!("reachable");
        };
        assert_eq!(misses.len(), 1);
        assert_eq!(misses[0].missing, "nothing on the shelf is violet enough in the flop (45as110)");
        assert_eq!(Reach::of(&[(Geometry::As15, grey, grey)]), Reach::Within);
        let lighter = Lab { l: 42.5, ..grey };
        let Reach::Near { misses } = Reach::of(&[(Geometry::As15, lighter, grey), (Geometry::As45, grey, grey)]) else {
            panic!("not near");
        };
        assert_eq!(misses[0].missing, "nothing on the shelf is light enough in the face (45as15)");
    }
}
