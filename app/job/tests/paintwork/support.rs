//! A small shelf, all invented.

use job::colour::{Flake, Optics, Shelf, Spectrum, Substrate, Toner, TonerKind};

/// A spectrum that falls or rises, with digits to spare.
pub(crate) fn ramp(level: f64, slope: f64) -> [f64; 31] {
    std::array::from_fn(|i| level + slope * i as f64 / 3.0)
}

fn toner(name: &str, kind: TonerKind, flake: Option<Flake>) -> Toner {
    let optics = Optics {
        absorption: ramp(0.1, 0.01),
        scattering: ramp(0.7, -0.011),
        forwardness: 0.3,
        crowding: 1.0 / 7.0,
        widening: 0.0,
        flake,
    };
    Toner { name: name.into(), kind, density_g_cm3: 2.1, max_fraction: 0.3, solids_fraction: None, optics }
}

/// A white, a black that is poured as a paste, and a pearl, over three primers.
pub(crate) fn shelf() -> Shelf {
    let flake = Flake {
        area: 0.5,
        loading: 0.4,
        slope_sd: 0.11,
        tail_weight: 0.2,
        reflectance: std::array::from_fn(|i| 0.3 + 0.01 * i as f64 / 3.0),
        film_index: Some(1.8),
        absorptance: ramp(0.02, 0.001),
    };
    let mut black = toner("carbon black", TonerKind::Solid, None);
    black.solids_fraction = Some(0.35);
    let primer = |name: &str, level: f64| Substrate {
        name: name.into(),
        reflectance: Spectrum::new(ramp(level, 0.001)).unwrap(),
    };
    Shelf::new(
        vec![
            toner("titanium white", TonerKind::Solid, None),
            black,
            toner("copper mica", TonerKind::Pearl, Some(flake)),
        ],
        vec![primer("black", 0.045), primer("N5", 0.19), primer("white", 0.84)],
        ramp(0.03, -0.0005),
    )
    .unwrap()
}
