//! Interference against another library, closed forms and the laws of energy.

use std::f64::consts::PI;

use base::math;
use colour::thin_film::{
    BINDER_INDEX, Coat, CoatedFlake, Core, FlakeDesign, Index, Layer, MOST_LAYERS, Polarisation, Response, Stack,
};
use colour::{ColourError, WAVELENGTHS_NM};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("{cell:?} is no number"))
}

fn index(n: f64, k: f64) -> Index {
    Index::new(n, k).expect("an index")
}

fn layer(n: f64, k: f64, thickness_nm: f64) -> Layer {
    Layer { index: index(n, k), thickness_nm }
}

fn cos_deg(angle_deg: f64) -> f64 {
    math::cos(angle_deg.to_radians())
}

fn square_on(before: f64, layers: Vec<Layer>, after: f64, wavelength_nm: f64) -> Response {
    Stack::new(before, layers, index(after, 0.0))
        .expect("within its ranges")
        .unpolarised(wavelength_nm, 1.0)
        .expect("within its ranges")
}

/// A pearl by the usual spreads.
fn pearl(coat: Coat, coat_nm: f64, core: Core, core_nm: f64) -> CoatedFlake {
    CoatedFlake::new(FlakeDesign { core, core_nm, core_spread: 0.15, coat, coat_nm, coat_spread: 0.06 })
        .expect("within its ranges")
}

/// Flakes of every make, within what the trade sells.
fn pearls() -> Vec<CoatedFlake> {
    let mut all = Vec::new();
    for coat in Coat::ALL {
        for (core, core_nm) in [(Core::Mica, 300.0), (Core::Mica, 600.0), (Core::Glass, 1200.0), (Core::Alumina, 250.0)]
        {
            all.extend([40.0, 90.0, 150.0].map(|coat_nm| pearl(coat, coat_nm, core, core_nm)));
        }
        let even = FlakeDesign {
            core: Core::Silica,
            core_nm: 380.0,
            core_spread: 0.05,
            coat,
            coat_nm: 80.0,
            coat_spread: 0.05,
        };
        all.push(CoatedFlake::new(even).expect("within its ranges"));
    }
    all
}

fn random_layers(random: &mut ChaCha8Rng, most: usize, absorbing: bool) -> Vec<Layer> {
    (0..random.random_range(0..=most))
        .map(|_| {
            let k = if absorbing { random.random_range(0.0..4.0) } else { 0.0 };
            layer(random.random_range(0.2..4.0), k, random.random_range(0.0..400.0))
        })
        .collect()
}

#[test]
fn oracle_tmm_single_stacks() {
    let (mut seen, mut worst) = (0, 0.0_f64);
    for row in rows(include_str!("../../../reference/colour/tmm_pearl.csv")) {
        let layers = row[3]
            .split(';')
            .filter(|text| !text.is_empty())
            .map(|text| {
                let cells: Vec<f64> = text.split(' ').map(number).collect();
                layer(cells[0], cells[1], cells[2])
            })
            .collect();
        let stack = Stack::new(BINDER_INDEX, layers, index(number(row[4]), number(row[5]))).unwrap();
        for (polarisation, place) in [(Polarisation::S, 6), (Polarisation::P, 8)] {
            let found = stack.response(number(row[1]), cos_deg(number(row[2])), polarisation).unwrap();
            for (found, wanted) in [(found.reflectance, row[place]), (found.transmittance, row[place + 1])] {
                let off = (found - number(wanted)).abs();
                // The issue asks for 1e-9; the file carries sixteen digits.
                assert!(off < 1e-12, "{row:?} {polarisation:?}: {found} for {wanted}");
                worst = worst.max(off);
            }
        }
        seen += 1;
    }
    println!("{seen} stacks, worst {worst:e}");
    assert_eq!(seen, 273);
}

#[test]
fn oracle_tmm_flake_means() {
    let coats = [
        ("titania", Coat::Titania),
        ("rutile", Coat::Rutile),
        ("anatase", Coat::Anatase),
        ("haematite", Coat::Haematite),
    ];
    let cores = [("mica", Core::Mica), ("glass", Core::Glass), ("alumina", Core::Alumina), ("silica", Core::Silica)];
    let (mut seen, mut worst) = (0, 0.0_f64);
    for row in rows(include_str!("../../../reference/colour/tmm_flake_mean.csv")) {
        let design = FlakeDesign {
            coat: coats.iter().find(|(name, _)| *name == row[1]).unwrap().1,
            coat_nm: number(row[2]),
            coat_spread: number(row[3]),
            core: cores.iter().find(|(name, _)| *name == row[4]).unwrap().1,
            core_nm: number(row[5]),
            core_spread: number(row[6]),
        };
        let place = WAVELENGTHS_NM.iter().position(|nm| f64::from(*nm) == number(row[7])).unwrap();
        let cos = cos_deg(number(row[8]));
        let found = CoatedFlake::new(design).unwrap().optics(cos * cos);
        let (r, t) = (number(row[9]), number(row[10]));
        for (found, wanted) in [(found.reflectance[place], r), (found.absorptance[place], 1.0 - r - t)] {
            let off = (found - wanted).abs();
            // The other side lets the normal distribution run on; here it ends at 5 standard deviations,
            // which leaves out 6e-7 of the flakes.
            assert!(off < 1e-6, "{row:?}: {found} for {wanted}");
            worst = worst.max(off);
        }
        seen += 1;
    }
    println!("{seen} means, worst {worst:e}");
    assert_eq!(seen, 26);
}

#[test]
fn oracle_refractive_indices() {
    let mut seen = 0;
    for row in rows(include_str!("../../../reference/colour/flake_indices.csv")) {
        let nm = number(row[1]);
        let found = match row[0] {
            "rutile" => Coat::Rutile.index(nm),
            "anatase" => Coat::Anatase.index(nm),
            "haematite" => Coat::Haematite.index(nm),
            "silica" => Core::Silica.index(nm),
            "alumina" => Core::Alumina.index(nm),
            "glass" => Core::Glass.index(nm),
            other => panic!("{other}"),
        };
        // Ten decimals in the file.
        assert!((found.n() - number(row[2])).abs() < 1e-10 && (found.k() - number(row[3])).abs() < 1e-10, "{row:?}");
        seen += 1;
    }
    assert_eq!(seen, 6 * 31);
}

/// Indices at the sodium line, 589.3 nm, as handbooks print them (from memory): fused silica 1.4585,
/// sapphire's ordinary ray 1.768, rutile's ordinary ray 2.61 to 2.62.
#[test]
fn published_indices_at_the_sodium_line() {
    assert!((Core::Silica.index(589.3).n() - 1.4585).abs() < 1e-4);
    assert!((Core::Alumina.index(589.3).n() - 1.768).abs() < 5e-4);
    assert!((Coat::Rutile.index(589.3).n() - 2.613).abs() < 5e-3);
}

#[test]
fn published_fresnel_of_a_bare_boundary() {
    for (before, after) in [(1.0, 1.5), (1.5, 1.0), (1.5, 1.58), (1.5, 2.44)] {
        let part = (before - after) / (before + after);
        assert!((square_on(before, vec![], after, 500.0).reflectance - part * part).abs() < 1e-15);
        let boundary = Stack::new(before, vec![], index(after, 0.0)).unwrap();
        // Brewster: at tan = n2 / n1 nothing comes back in the plane of incidence.
        let brewster = before / math::hypot(before, after);
        assert!(boundary.response(500.0, brewster, Polarisation::P).unwrap().reflectance < 1e-30);
    }
    // Snell: beyond sin = n2 / n1 all comes back.
    let inside = Stack::new(1.5, vec![], index(1.0, 0.0)).unwrap();
    for polarisation in Polarisation::BOTH {
        let beyond = inside.response(500.0, cos_deg(41.82), polarisation).unwrap();
        assert!((beyond.reflectance - 1.0).abs() < 1e-14 && beyond.transmittance.abs() < 1e-14);
        assert!(inside.response(500.0, cos_deg(41.80), polarisation).unwrap().reflectance < 0.96);
    }
    // A metal square on: ((n - 1)^2 + k^2) / ((n + 1)^2 + k^2).
    let metal = Stack::new(1.0, vec![], index(0.958, 6.69)).unwrap().unpolarised(550.0, 1.0).unwrap();
    let wanted = (0.042 * 0.042 + 6.69 * 6.69) / (1.958 * 1.958 + 6.69 * 6.69);
    assert!((metal.reflectance - wanted).abs() < 1e-14);
}

/// Born and Wolf, "Principles of Optics", 1.6.3 to 1.6.5, and Macleod, "Thin-Film Optical Filters", 3.1
/// and 5.1 (from memory): a quarter wave n1 gives ((n0 ns - n1^2) / (n0 ns + n1^2))^2, a half wave is as
/// good as absent, and N pairs of quarter waves under a further one multiply up.
#[test]
fn published_quarter_waves() {
    let nm = 550.0;
    let quarter = |n: f64| layer(n, 0.0, nm / (4.0 * n));
    for (n0, n1, ns) in [(1.0, 1.38, 1.52), (1.5, 2.44, 1.58), (1.0, 2.3, 1.52), (1.5, 1.46, 2.6)] {
        let part = (n0 * ns - n1 * n1) / (n0 * ns + n1 * n1);
        assert!((square_on(n0, vec![quarter(n1)], ns, nm).reflectance - part * part).abs() < 1e-14);
        let bare = square_on(n0, vec![], ns, nm).reflectance;
        let half = layer(n1, 0.0, nm / (2.0 * n1));
        assert!((square_on(n0, vec![half], ns, nm).reflectance - bare).abs() < 1e-14);
    }
    // Magnesium fluoride on crown glass: 1.3 % where bare glass has 4.3 %.
    assert!((square_on(1.0, vec![quarter(1.38)], 1.52, nm).reflectance - 0.013).abs() < 5e-4);
    let (high, low, glass) = (2.3, 1.38, 1.52);
    for pairs in 0..12 {
        let mut layers = vec![quarter(high)];
        let mut admittance = high * high / glass;
        for _ in 0..pairs {
            layers.extend([quarter(low), quarter(high)]);
            admittance *= (high / low) * (high / low);
        }
        let part = (1.0 - admittance) / (1.0 + admittance);
        assert!((square_on(1.0, layers, glass, nm).reflectance - part * part).abs() < 1e-13);
    }
}

/// A clear plate whose thickness is all over the place reflects 2 r / (1 + r) of the light, r being one
/// face (Stokes 1862, from memory): no fringe is left.
#[test]
fn published_a_bare_plate_of_any_thickness() {
    for core in Core::ALL {
        let plate = CoatedFlake::new(FlakeDesign {
            core,
            core_nm: 5000.0,
            core_spread: 0.25,
            coat: Coat::Titania,
            coat_nm: 0.0,
            coat_spread: 0.0,
        })
        .unwrap();
        for angle_deg in [0.0, 30.0, 55.0, 70.0] {
            let cos = cos_deg(angle_deg);
            let found = plate.optics(cos * cos);
            for (place, nm) in WAVELENGTHS_NM.into_iter().enumerate() {
                let nm = f64::from(nm);
                let face = Stack::new(BINDER_INDEX, vec![], core.index(nm)).unwrap();
                let wanted: f64 = Polarisation::BOTH
                    .map(|polarisation| {
                        let r = face.response(nm, cos, polarisation).unwrap().reflectance;
                        r / (1.0 + r)
                    })
                    .iter()
                    .sum();
                assert!((found.reflectance[place] - wanted).abs() < 1e-12, "{core:?} {angle_deg} {nm}");
            }
        }
    }
}

#[test]
fn invariant_energy() {
    let mut random = ChaCha8Rng::seed_from_u64(4);
    for round in 0..4000 {
        let absorbing = round % 2 == 0;
        let layers = random_layers(&mut random, 8, absorbing);
        let after = index(random.random_range(0.5..3.0), 0.0);
        let stack = Stack::new(random.random_range(1.0..2.0), layers, after).unwrap();
        let nm = random.random_range(380.0..780.0);
        let cos = random.random_range(0.001..1.0);
        for polarisation in Polarisation::BOTH {
            let found = stack.response(nm, cos, polarisation).unwrap();
            let sum = found.reflectance + found.transmittance + found.absorptance();
            assert!((sum - 1.0).abs() < 1e-15);
            assert!(found.reflectance >= 0.0 && found.transmittance >= 0.0);
            if absorbing {
                assert!(found.absorptance() > -1e-11, "{stack:?} {found:?}");
            } else {
                // Total reflection within the stack costs digits: its field grows before it is cut off.
                assert!(found.absorptance().abs() < 1e-9, "{stack:?} {found:?}");
            }
        }
    }
}

#[test]
fn invariant_turned_round() {
    let mut random = ChaCha8Rng::seed_from_u64(5);
    let mut compared = 0;
    for round in 0..4000 {
        let absorbing = round % 2 == 0;
        let layers = random_layers(&mut random, 8, absorbing);
        let (before, after) = (random.random_range(1.0..2.5), random.random_range(1.0..2.5));
        let cos: f64 = random.random_range(0.01..1.0);
        let sin2 = before * before * (1.0 - cos * cos) / (after * after);
        if sin2 > 0.999 {
            continue;
        }
        let behind_cos = (1.0 - sin2).sqrt();
        let there = Stack::new(before, layers.clone(), index(after, 0.0)).unwrap();
        let back = Stack::new(after, layers.into_iter().rev().collect(), index(before, 0.0)).unwrap();
        for polarisation in Polarisation::BOTH {
            let there = there.response(550.0, cos, polarisation).unwrap();
            let back = back.response(550.0, behind_cos, polarisation).unwrap();
            assert!((there.transmittance - back.transmittance).abs() < 1e-9);
            if !absorbing {
                assert!((there.reflectance - back.reflectance).abs() < 1e-9);
            }
        }
        compared += 1;
    }
    assert!(compared > 2000);
}

#[test]
fn invariant_a_layer_cut_in_two_and_a_layer_of_nothing() {
    let mut random = ChaCha8Rng::seed_from_u64(6);
    for _ in 0..500 {
        let mut layers = random_layers(&mut random, 5, true);
        layers.push(layer(2.0, 0.3, 120.0));
        let whole = Stack::new(1.5, layers.clone(), index(1.58, 0.0)).unwrap();
        layers.pop();
        layers.extend([layer(2.0, 0.3, 47.0), layer(3.0, 1.0, 0.0), layer(2.0, 0.3, 73.0)]);
        let cut = Stack::new(1.5, layers, index(1.58, 0.0)).unwrap();
        let cos = random.random_range(0.05..1.0);
        let (whole, cut) = (whole.unpolarised(600.0, cos).unwrap(), cut.unpolarised(600.0, cos).unwrap());
        assert!((whole.reflectance - cut.reflectance).abs() < 1e-12);
        assert!((whole.transmittance - cut.transmittance).abs() < 1e-12);
    }
}

#[test]
fn invariant_no_thickness_overflows() {
    let metal = Stack::new(1.5, vec![layer(0.1, 20.0, 100_000.0); 3], index(1.5, 0.0)).unwrap();
    let solid = Stack::new(1.5, vec![], index(0.1, 20.0)).unwrap();
    let (found, wanted) = (metal.unpolarised(400.0, 0.7).unwrap(), solid.unpolarised(400.0, 0.7).unwrap());
    assert!((found.reflectance - wanted.reflectance).abs() < 1e-14 && found.transmittance == 0.0);
    // Two neighbours along which light runs exactly flat.
    let flat = Stack::new(1.25, vec![layer(1.0, 0.0, 100.0); 2], index(1.25, 0.0)).unwrap();
    let found = flat.unpolarised(500.0, 0.6).unwrap();
    assert!((found.reflectance + found.transmittance - 1.0).abs() < 1e-6, "{found:?}");
}

#[test]
fn invariant_flakes_keep_the_books() {
    for flake in pearls() {
        let clear = flake.design().coat != Coat::Haematite;
        for step in 0..=40 {
            let optics = flake.optics(f64::from(step) / 40.0);
            for (reflectance, absorptance) in optics.reflectance.into_iter().zip(optics.absorptance) {
                assert!((0.0..=1.0 + 1e-12).contains(&reflectance), "{flake:?} {step}: {reflectance}");
                assert!(reflectance + absorptance <= 1.0 + 1e-12);
                if clear {
                    assert!(absorptance < 1e-9, "{flake:?} {step}: {absorptance}");
                }
            }
        }
        let (square_on, grazing) = (flake.optics(1.0), flake.optics(0.0));
        assert_eq!((grazing.reflectance, grazing.absorptance), ([1.0; 31], [0.0; 31]));
        // Iron oxide absorbs most at the blue end.
        assert_eq!(square_on.absorptance[2] > 0.2, !clear, "{flake:?}");
        assert!(clear || square_on.absorptance[2] > 3.0 * square_on.absorptance[30]);
    }
}

#[test]
fn invariant_the_average_of_single_flakes() {
    // The sum over the core and the nodes over the coat, against plain drawing of lots from stacks.
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let draws = 20_000;
    for coat in [Coat::Titania, Coat::Haematite] {
        let flake = pearl(coat, 70.0, Core::Mica, 450.0);
        let mean = flake.optics(0.8);
        let mut normal = || {
            let (u, v): (f64, f64) = (random.random_range(f64::MIN_POSITIVE..1.0), random.random_range(0.0..1.0));
            (-2.0 * math::ln(u)).sqrt() * math::cos(2.0 * PI * v)
        };
        for place in [2, 15, 28] {
            let nm = f64::from(WAVELENGTHS_NM[place]);
            let (mut sum, mut squares) = (0.0, 0.0);
            for _ in 0..draws {
                let shell = Layer { index: coat.index(nm), thickness_nm: 70.0 * (1.0 + 0.06 * normal()) };
                let core = Layer { index: Core::Mica.index(nm), thickness_nm: 450.0 * (1.0 + 0.15 * normal()) };
                let one = Stack::new(BINDER_INDEX, vec![shell, core, shell], index(BINDER_INDEX, 0.0)).unwrap();
                let reflectance = one.unpolarised(nm, 0.8_f64.sqrt()).unwrap().reflectance;
                sum += reflectance;
                squares += reflectance * reflectance;
            }
            let found = sum / f64::from(draws);
            let error = ((squares / f64::from(draws) - found * found) / f64::from(draws)).sqrt();
            // Four standard errors: six draws of this size all stay within.
            assert!((mean.reflectance[place] - found).abs() < 4.0 * error, "{coat:?} {nm}: {found} +- {error}");
        }
    }
}

#[test]
fn invariant_table_follows_the_flake() {
    let mut worst = [0.0_f64; 3];
    for flake in pearls() {
        let table = flake.table();
        for step in 0..=997 {
            let cos2 = f64::from(step) / 997.0;
            let exact = flake.optics(cos2);
            // Light from air meets a flake at 42 degrees at most (cos2 0.55), light within at any angle.
            let zone = if cos2 > 0.55 {
                0
            } else if cos2 > 0.02 {
                1
            } else {
                2
            };
            for (table, exact) in [(table.at(cos2), exact.reflectance), (table.absorptance_at(cos2), exact.absorptance)]
            {
                for (found, wanted) in table.into_iter().zip(exact) {
                    worst[zone] = worst[zone].max((found - wanted).abs());
                }
            }
        }
    }
    println!("table off by {worst:?}");
    assert!(worst[0] < 2e-5 && worst[1] < 1e-3 && worst[2] < 1e-4, "{worst:?}");
}

#[test]
fn invariant_diffuse_mean_follows_the_flake() {
    for flake in pearls().into_iter().step_by(7) {
        let found = flake.table().diffuse_reflectance();
        let steps = 1500;
        let mut wanted = [0.0; 31];
        for step in 0..steps {
            // 2 R cos d(cos) is R d(cos^2).
            let optics = flake.optics((f64::from(step) + 0.5) / f64::from(steps));
            for (sum, reflectance) in wanted.iter_mut().zip(optics.reflectance) {
                *sum += reflectance / f64::from(steps);
            }
        }
        for (found, wanted) in found.into_iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-4, "{flake:?}: {found} for {wanted}");
        }
    }
}

#[test]
fn table_takes_any_angle_into_range() {
    let table = pearl(Coat::Titania, 60.0, Core::Mica, 450.0).table();
    assert_eq!(table.at(1.0 + 1e-15), table.at(1.0));
    assert_eq!(table.at(-3.0), [1.0; 31]);
    assert!(table.at(f64::NAN).iter().all(|value| value.is_nan()));
}

#[test]
fn refuses_what_is_no_stack_and_no_flake() {
    let refused = |what: &str, result: Result<(), ColourError>| {
        let Err(ColourError::OutOfRange { what: found, .. }) = result else {
            panic!("{what} was accepted");
        };
        assert_eq!(found, what);
    };
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
        refused("refractive index", Index::new(bad, 0.0).map(drop));
        refused("refractive index", Stack::new(bad, vec![], index(1.5, 0.0)).map(drop));
    }
    refused("extinction coefficient", Index::new(1.5, -0.1).map(drop));
    for bad in [f64::NAN, -1.0, 1e6] {
        let broken = Layer { index: index(2.0, 0.0), thickness_nm: bad };
        refused("layer thickness", Stack::new(1.5, vec![broken], index(1.5, 0.0)).map(drop));
    }
    let many = vec![layer(2.0, 0.0, 1.0); MOST_LAYERS + 1];
    refused("number of layers", Stack::new(1.5, many, index(1.5, 0.0)).map(drop));
    let stack = Stack::new(1.5, vec![], index(1.5, 0.0)).unwrap();
    for bad in [0.0, -0.5, 1.1, f64::NAN] {
        refused("cosine of incidence", stack.unpolarised(550.0, bad).map(drop));
    }
    refused("wavelength", stack.unpolarised(0.55, 1.0).map(drop));

    let good = FlakeDesign {
        core: Core::Mica,
        core_nm: 450.0,
        core_spread: 0.15,
        coat: Coat::Titania,
        coat_nm: 60.0,
        coat_spread: 0.06,
    };
    refused("core thickness", CoatedFlake::new(FlakeDesign { core_nm: 0.45, ..good }).map(drop));
    refused("coat thickness", CoatedFlake::new(FlakeDesign { coat_nm: -1.0, ..good }).map(drop));
    refused("spread of core thickness", CoatedFlake::new(FlakeDesign { core_spread: 15.0, ..good }).map(drop));
    refused("spread of coat thickness", CoatedFlake::new(FlakeDesign { coat_spread: f64::NAN, ..good }).map(drop));
    let error = CoatedFlake::new(FlakeDesign { core_nm: 0.45, ..good }).unwrap_err();
    assert_eq!(error.to_string(), "core thickness 0.45 nm: must lie in 50 to 5000 nm");
}
