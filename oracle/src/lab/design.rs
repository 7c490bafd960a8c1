//! Which panels the shop sprays to learn its toners.

/// A panel to be sprayed.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// What it shows: masstone, thin, let-down and so on.
    pub series: &'static str,
    /// Mass fractions of the dry film.
    pub fractions: Vec<(&'static str, f64)>,
    /// What the gun is set to.
    pub film_um: f64,
    /// Name of the substrate.
    pub over: &'static str,
}

const SOLID_UM: f64 = 25.0;
const FLAKE_UM: f64 = 15.0;
const THIN_SOLID_UM: f64 = 8.5;
const THIN_FLAKE_UM: f64 = 7.0;

const WHITE: &str = "opaque white";
const BLACK: &str = "deep black";
const BLUE: &str = "leaf blue";
const MAGENTA: &str = "magenta";
const SILVER: &str = "medium silver";
const ADJUSTER: &str = "flop adjuster";

/// Fractions of each solid toner as a masstone, in white and in aluminium.
const SOLIDS: [(&str, f64, f64, f64); 9] = [
    (WHITE, 0.30, 0.0, 0.04),
    ("frost white", 0.25, 0.10, 0.06),
    (BLACK, 0.08, 0.006, 0.008),
    ("cool black", 0.12, 0.012, 0.015),
    ("clear oxide red", 0.14, 0.03, 0.04),
    ("clear oxide ochre", 0.14, 0.03, 0.04),
    (BLUE, 0.12, 0.012, 0.03),
    (MAGENTA, 0.14, 0.02, 0.04),
    ("lemon yellow", 0.25, 0.08, 0.06),
];

/// Fractions of each flake toner as a masstone.
const FLAKES: [(&str, f64); 6] = [
    ("fine silver", 0.17),
    (SILVER, 0.22),
    ("bright silver", 0.26),
    ("copper mica", 0.24),
    ("blue interference mica", 0.26),
    ("copper-violet flake", 0.24),
];

/// The ninety panels: for each solid a masstone over black and white, a thin film, two let-downs with
/// white and one with aluminium; for each flake the same over black and white, a thin film, and
/// let-downs with black and a clear colour; for the flop adjuster two levels in two silvers, and alone.
pub fn panels() -> Vec<Trial> {
    let mut trials = Vec::new();
    for solid in SOLIDS {
        trials.extend(of_solid(solid));
    }
    for (flake, masstone) in FLAKES {
        trials.extend(of_flake(flake, masstone));
    }
    for level in [0.05, 0.12] {
        for (silver, share) in [(SILVER, 0.20), ("bright silver", 0.22)] {
            let fractions = vec![(silver, share), (ADJUSTER, level)];
            trials.push(trial("flop control in aluminium", fractions, FLAKE_UM, "black"));
        }
    }
    for over in ["black", "white"] {
        trials.push(trial("flop control", vec![(ADJUSTER, 0.15)], SOLID_UM, over));
    }
    trials
}

fn trial(series: &'static str, fractions: Vec<(&'static str, f64)>, film_um: f64, over: &'static str) -> Trial {
    Trial { series, fractions, film_um, over }
}

fn of_solid((name, masstone, in_white, in_silver): (&'static str, f64, f64, f64)) -> Vec<Trial> {
    let mut trials = vec![
        trial("masstone", vec![(name, masstone)], SOLID_UM, "black"),
        trial("masstone", vec![(name, masstone)], SOLID_UM, "white"),
        trial("thin", vec![(name, masstone)], THIN_SOLID_UM, "white"),
    ];
    if name == WHITE {
        trials.push(trial("black let-down", vec![(WHITE, 0.28), (BLACK, 0.0025)], SOLID_UM, "black"));
        trials.push(trial("thin", vec![(WHITE, masstone)], THIN_SOLID_UM, "black"));
    } else {
        let stronger = (3.5 * in_white).min(0.32);
        trials.push(trial("white let-down", vec![(WHITE, 0.25), (name, in_white)], SOLID_UM, "black"));
        trials.push(trial("white let-down 2", vec![(WHITE, 0.22), (name, stronger)], SOLID_UM, "white"));
    }
    trials.push(trial("aluminium let-down", vec![(name, in_silver), (SILVER, 0.18)], FLAKE_UM, "black"));
    trials
}

fn of_flake(name: &'static str, masstone: f64) -> Vec<Trial> {
    let less = 0.8 * masstone;
    let colour = if name == "blue interference mica" { MAGENTA } else { BLUE };
    vec![
        trial("masstone", vec![(name, masstone)], FLAKE_UM, "black"),
        trial("masstone", vec![(name, masstone)], FLAKE_UM, "white"),
        trial("thin", vec![(name, less)], THIN_FLAKE_UM, "black"),
        trial("black let-down", vec![(name, less), (BLACK, 0.012)], FLAKE_UM, "black"),
        trial("colour let-down", vec![(name, less), (colour, 0.03)], FLAKE_UM, "black"),
    ]
}

#[cfg(test)]
mod tests {
    use super::panels;
    use crate::lab::{Kind, Shop};

    #[test]
    fn ninety_panels_teach_every_toner_within_its_limits() {
        let shop = Shop::invented(1);
        assert_eq!(panels().len(), 90);
        for toner in shop.toners() {
            let uses = |named: &[(&str, f64)]| named.iter().any(|(name, _)| *name == toner.name());
            assert!(panels().iter().any(|trial| uses(&trial.fractions)), "{} is never sprayed", toner.name());
        }
        for trial in panels() {
            let fractions = shop.fractions(&trial.fractions).unwrap();
            for (toner, fraction) in shop.toners().iter().zip(fractions) {
                assert!(fraction <= toner.max_mass_fraction(), "{}: {fraction}", toner.name());
            }
        }
        assert_eq!(shop.toners().iter().filter(|toner| toner.kind() == Kind::Solid).count(), 9);
    }
}
