//! An invented shelf: no tin on it exists.

use colour::{FLAKE_NODES, Flake, Optics, Shelf, Spectrum, Substrate, Toner, TonerKind};

fn bell(x: f64) -> f64 {
    1.0 / (1.0 + x * x + 0.5 * x * x * x * x)
}

/// A pigment that absorbs around one wavelength (in nm), with an ordinary density and limit.
fn toner(name: String, kind: TonerKind, optics: Optics) -> Toner {
    let max_fraction = match kind {
        TonerKind::Solid => 0.35,
        TonerKind::FlopAdjuster => 0.15,
        _ => 0.30,
    };
    Toner { name, kind, density_g_cm3: 2.0, max_fraction, solids_fraction: None, optics }
}

fn plain(absorption: [f64; 31], scattering: [f64; 31]) -> Optics {
    Optics { absorption, scattering, forwardness: 0.0, crowding: 0.0, widening: 0.0, flake: None }
}

fn by_nm(f: impl Fn(f64) -> f64) -> [f64; 31] {
    std::array::from_fn(|i| f(400.0 + 10.0 * i as f64))
}

/// The colourful solids: absorption band in nm, its width, strength per um, scattering per um.
const COLOURS: [(f64, f64, f64, f64); 12] = [
    (430.0, 50.0, 2.0, 0.60),
    (450.0, 60.0, 1.5, 0.05),
    (480.0, 60.0, 2.5, 0.20),
    (510.0, 50.0, 2.0, 0.05),
    (530.0, 45.0, 3.0, 0.02),
    (550.0, 50.0, 2.0, 0.30),
    (570.0, 50.0, 3.0, 0.05),
    (590.0, 50.0, 2.0, 0.02),
    (620.0, 60.0, 4.0, 0.05),
    (650.0, 60.0, 4.0, 0.02),
    (670.0, 60.0, 2.0, 0.10),
    (690.0, 70.0, 3.0, 0.03),
];

/// A shelf of so many toners: a third flakes, the rest solids, and one flop adjuster.
pub(crate) fn shelf(count: usize) -> Shelf {
    let mut toners = vec![
        toner("white".into(), TonerKind::Solid, plain(by_nm(|nm| 0.02 * bell((nm - 390.0) / 15.0)), [3.0; 31])),
        toner("black".into(), TonerKind::Solid, plain(by_nm(|_| 8.0), [0.1; 31])),
        toner("flop control".into(), TonerKind::FlopAdjuster, Optics { widening: 0.3, ..plain([0.0; 31], [0.05; 31]) }),
    ];
    let flake = |name: String, kind, area, slope_sd, reflectance, absorptance| {
        let optics = plain(by_nm(|_| 0.01), by_nm(|_| 0.02));
        let flake =
            Flake { area, slope_sd, tail_weight: 0.2, loading: 0.0, reflectance, film_index: None, absorptance };
        toner(name, kind, Optics { flake: Some(flake), ..optics })
    };
    for i in 0..count.saturating_sub(toners.len()) {
        let k = i / 3;
        toners.push(match i % 3 {
            0 => {
                let (at, width, strength, scattering) = COLOURS[k % COLOURS.len()];
                let at = at + 6.0 * (k / COLOURS.len()) as f64;
                let second = at - 170.0;
                let absorption =
                    by_nm(|nm| strength * (bell((nm - at) / width) + 0.3 * bell((nm - second) / 40.0)) + 0.002);
                toner(format!("solid {k}"), TonerKind::Solid, plain(absorption, [scattering; 31]))
            }
            1 if k % 2 == 0 => {
                let grey = 0.85 - 0.02 * k as f64;
                let slope_sd = 0.08 + 0.015 * k as f64;
                flake(
                    format!("aluminium {k}"),
                    TonerKind::Aluminium,
                    0.8,
                    slope_sd,
                    [grey; FLAKE_NODES],
                    [1.0 - grey; 31],
                )
            }
            1 => {
                let at = 420.0 + 25.0 * k as f64;
                let reflectance = std::array::from_fn(|n| 0.08 + 0.35 * bell((400.0 + 10.0 * n as f64 - at) / 50.0));
                flake(format!("pearl {k}"), TonerKind::Pearl, 0.6, 0.12, reflectance, [0.01; 31])
            }
            _ => {
                let (edge, scattering) = (430.0 + 22.0 * k as f64, 0.1 + 0.1 * (k % 4) as f64);
                let absorption = by_nm(|nm| 2.5 / (1.0 + base::math::exp((nm - edge) / 12.0)) + 0.004);
                toner(format!("earth {k}"), TonerKind::Solid, plain(absorption, [scattering; 31]))
            }
        });
    }
    toners.truncate(count);
    let primer = |name: &str, reflectance| Substrate {
        name: name.into(),
        reflectance: Spectrum::new([reflectance; 31]).expect("within range"),
    };
    let primers =
        vec![primer("black", 0.045), primer("dark grey", 0.12), primer("middle grey", 0.3), primer("white", 0.84)];
    Shelf::new(toners, primers, [0.0; 31]).expect("a sound shelf")
}
