use base::math;
use base::stream::Stream;

use super::pearl::{Mica, Travel};
use super::spectra::{Spectrum, WAVELENGTHS, bell, below, fading, spectrum, wavelength_nm};
use crate::flake::Face;

/// What a toner is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Absorbs or scatters, without flakes.
    Solid,
    /// Opaque metal flakes.
    Aluminium,
    /// Flakes coloured by interference.
    Pearl,
    /// Fine filler that makes flakes lie less flat.
    FlopAdjuster,
}

impl Kind {
    /// The word in the toner table.
    pub fn word(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::Aluminium => "aluminium",
            Self::Pearl => "pearl",
            Self::FlopAdjuster => "flop adjuster",
        }
    }
}

/// An invented toner with its hidden optics.
#[derive(Debug, Clone, PartialEq)]
pub struct Toner {
    name: &'static str,
    kind: Kind,
    density_g_cm3: f64,
    most: f64,
    /// Per um of film that were all toner.
    pub(super) absorption_per_um: Spectrum,
    pub(super) scattering_per_um: Spectrum,
    pub(super) asymmetry: f64,
    /// Own mass fraction at which crowding halves the scattering.
    pub(super) crowding: f64,
    /// Variance that a fraction of 1 would add to the slopes of flakes.
    pub(super) tilting: f64,
    pub(super) flakes: Option<Flakes>,
}

/// The flakes of a toner.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flakes {
    /// Per um of film that were all toner.
    pub(super) area_per_um: f64,
    pub(super) slope_sd: f64,
    pub(super) tail_weight: f64,
    /// Faces over even steps of the cosine of incidence.
    pub(super) faces: Vec<[Face; WAVELENGTHS]>,
}

/// Steps of the cosine of incidence in a toner's faces.
pub(super) const FACE_STEPS: usize = 128;

impl Toner {
    /// The toner's name.
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// What it is for.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Density in g/cm3.
    pub fn density_g_cm3(&self) -> f64 {
        self.density_g_cm3
    }

    /// Highest mass fraction of the dry film at which the shop uses it.
    pub fn max_mass_fraction(&self) -> f64 {
        self.most
    }
}

/// Sixteen toners; the seed shifts edges by a few nm and strengths by some per cent.
pub(super) fn invented(seed: u64) -> Vec<Toner> {
    let mut toners = solids(&mut Chance(Stream::new(seed, 1)));
    toners.extend(flakes(&mut Chance(Stream::new(seed, 2))));
    toners
}

/// The scatter between one invented shop and another.
struct Chance(Stream);

impl Chance {
    /// A shift of -4 to 4 nm.
    fn shift_nm(&mut self) -> f64 {
        8.0 * (self.0.uniform() - 0.5)
    }

    /// A factor of 0.9 to 1.1.
    fn factor(&mut self) -> f64 {
        0.9 + 0.2 * self.0.uniform()
    }
}

/// A solid toner from its shapes, all per um of film that were all toner.
struct Solid<A: Fn(f64) -> f64> {
    name: &'static str,
    density: f64,
    absorption: A,
    /// Scattering at 550 nm, and the power by which it fades with the wavelength.
    scattering: (f64, f64),
    asymmetry: f64,
    crowding: f64,
}

impl<A: Fn(f64) -> f64> Solid<A> {
    /// The toner, with its spectra shifted and its strength changed by chance.
    fn toner(self, chance: &mut Chance) -> Toner {
        let (shift_nm, strength, scatter) = (chance.shift_nm(), chance.factor(), chance.factor());
        let (at_550, power) = self.scattering;
        Toner {
            name: self.name,
            kind: Kind::Solid,
            density_g_cm3: self.density,
            most: 0.35,
            absorption_per_um: spectrum(|nm| strength * (self.absorption)(nm - shift_nm)),
            scattering_per_um: spectrum(|nm| scatter * at_550 * fading(nm, power)),
            asymmetry: self.asymmetry,
            crowding: self.crowding,
            tilting: 0.012,
            flakes: None,
        }
    }
}

fn solids(chance: &mut Chance) -> Vec<Toner> {
    const UNCROWDED: f64 = 1e9;
    vec![
        Solid {
            name: "opaque white",
            density: 4.1,
            absorption: |nm: f64| 0.22 * math::exp((400.0 - nm) / 7.0) + 0.0008,
            scattering: (2.5, 0.9),
            asymmetry: 0.55,
            crowding: 0.5,
        }
        .toner(chance),
        Solid {
            name: "frost white",
            density: 3.6,
            absorption: |nm: f64| 0.15 * math::exp((400.0 - nm) / 8.0) + 0.003,
            scattering: (0.55, 3.1),
            asymmetry: 0.3,
            crowding: 1.2,
        }
        .toner(chance),
        Solid {
            name: "deep black",
            density: 1.8,
            absorption: |nm: f64| 13.0 * fading(nm, 0.3),
            scattering: (0.25, 1.5),
            asymmetry: 0.35,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "cool black",
            density: 1.8,
            absorption: |nm: f64| 6.5 * fading(nm, -0.35),
            scattering: (0.3, 2.5),
            asymmetry: 0.35,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "clear oxide red",
            density: 3.1,
            absorption: |nm: f64| 5.2 * below(nm, 573.0, 13.0) + 0.35 * below(nm, 640.0, 22.0) + 0.02,
            scattering: (0.14, 2.2),
            asymmetry: 0.4,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "clear oxide ochre",
            density: 3.0,
            absorption: |nm: f64| 3.8 * below(nm, 503.0, 15.0) + 0.5 * below(nm, 578.0, 26.0) + 0.03,
            scattering: (0.13, 2.2),
            asymmetry: 0.4,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "leaf blue",
            density: 1.5,
            absorption: |nm: f64| {
                6.5 * bell(nm, 622.0, 38.0)
                    + 5.5 * bell(nm, 690.0, 34.0)
                    + 1.2 * bell(nm, 562.0, 28.0)
                    + 1.0 * below(nm, 412.0, 14.0)
                    + 0.1
            },
            scattering: (0.2, 2.4),
            asymmetry: 0.45,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "magenta",
            density: 1.5,
            absorption: |nm: f64| {
                4.6 * bell(nm, 528.0, 34.0) + 3.2 * bell(nm, 564.0, 17.0) + 1.0 * bell(nm, 462.0, 48.0) + 0.03
            },
            scattering: (0.2, 2.0),
            asymmetry: 0.5,
            crowding: UNCROWDED,
        }
        .toner(chance),
        Solid {
            name: "lemon yellow",
            density: 4.9,
            absorption: |nm: f64| 2.8 * below(nm, 484.0, 8.5) + 0.12 * below(nm, 520.0, 12.0) + 0.003,
            scattering: (0.9, 0.7),
            asymmetry: 0.5,
            crowding: 1.0,
        }
        .toner(chance),
    ]
}

/// A toner with flakes, from what tells one from another.
struct Flaky<F: Fn(f64, f64) -> Face> {
    name: &'static str,
    kind: Kind,
    area_per_um: f64,
    slope_sd: f64,
    tail_weight: f64,
    /// Scattering by the edges of flakes, per um of film that were all toner.
    edges_per_um: f64,
    /// What a face does at a wavelength in nm and a cosine of incidence.
    face: F,
}

impl<F: Fn(f64, f64) -> Face> Flaky<F> {
    fn toner(self, chance: &mut Chance) -> Toner {
        let (area, spread) = (chance.factor(), 1.0 + 0.4 * (chance.factor() - 1.0));
        let faces = (0..=FACE_STEPS)
            .map(|step| {
                let cosine = step as f64 / FACE_STEPS as f64;
                std::array::from_fn(|band| (self.face)(wavelength_nm(band), cosine))
            })
            .collect();
        Toner {
            name: self.name,
            kind: self.kind,
            density_g_cm3: 2.1,
            most: 0.3,
            absorption_per_um: [0.01; WAVELENGTHS],
            scattering_per_um: spectrum(|nm| self.edges_per_um * fading(nm, 0.5)),
            asymmetry: 0.2,
            crowding: 1e9,
            tilting: 0.0,
            flakes: Some(Flakes {
                area_per_um: area * self.area_per_um,
                slope_sd: spread * self.slope_sd,
                tail_weight: self.tail_weight,
                faces,
            }),
        }
    }
}

fn flakes(chance: &mut Chance) -> Vec<Toner> {
    let aluminium = |nm: f64, _: f64| {
        let reflectance = 0.875 - 0.02 * (nm - 400.0) / 300.0 + 0.012 * bell(nm, 560.0, 90.0);
        Face { reflectance, absorptance: 1.0 - reflectance }
    };
    let metal = |name, area_per_um, slope_sd, tail_weight, edges_per_um| Flaky {
        name,
        kind: Kind::Aluminium,
        area_per_um,
        slope_sd,
        tail_weight,
        edges_per_um,
        face: aluminium,
    };
    let (shift_nm, filler) = (chance.shift_nm(), chance.factor());
    let copper = Mica { film_index: 2.8, optical_nm: 162.0 + 0.3 * shift_nm, scatter: 0.07 };
    let blue = Mica { film_index: 2.45, optical_nm: 338.0 + shift_nm, scatter: 0.06 };
    let travel =
        Travel { spacer_index: 1.4, optical_nm: 668.0 + shift_nm, scatter: 0.035, depth: 0.86, sharpness: 6.0 };
    vec![
        metal("fine silver", 2.5, 0.20, 0.30, 0.26).toner(chance),
        metal("medium silver", 1.7, 0.145, 0.25, 0.12).toner(chance),
        metal("bright silver", 1.2, 0.10, 0.20, 0.05).toner(chance),
        Flaky {
            name: "copper mica",
            kind: Kind::Pearl,
            area_per_um: 2.3,
            slope_sd: 0.135,
            tail_weight: 0.22,
            edges_per_um: 0.08,
            face: |nm: f64, cosine: f64| {
                let reflectance = copper.reflectance(nm, cosine);
                let kept = 0.8 * below(nm, 552.0, 28.0) + 0.02;
                Face { reflectance, absorptance: (1.0 - reflectance) * kept }
            },
        }
        .toner(chance),
        Flaky {
            name: "blue interference mica",
            kind: Kind::Pearl,
            area_per_um: 2.4,
            slope_sd: 0.13,
            tail_weight: 0.22,
            edges_per_um: 0.10,
            face: |nm: f64, cosine: f64| {
                let reflectance = blue.reflectance(nm, cosine);
                Face { reflectance, absorptance: 0.015 * (1.0 - reflectance) }
            },
        }
        .toner(chance),
        Flaky {
            name: "copper-violet flake",
            kind: Kind::Pearl,
            area_per_um: 1.5,
            slope_sd: 0.105,
            tail_weight: 0.2,
            edges_per_um: 0.06,
            face: |nm: f64, cosine: f64| travel.face(nm, cosine),
        }
        .toner(chance),
        Toner {
            name: "flop adjuster",
            kind: Kind::FlopAdjuster,
            density_g_cm3: 1.3,
            most: 0.15,
            absorption_per_um: [0.004; WAVELENGTHS],
            scattering_per_um: spectrum(|nm| 0.16 * filler * fading(nm, 0.8)),
            asymmetry: 0.4,
            crowding: 1e9,
            tilting: 0.12,
            flakes: None,
        },
    ]
}
