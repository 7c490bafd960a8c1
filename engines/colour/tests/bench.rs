//! A shelf made ready: against plain films, photons, finite differences and exact limits.

use base::math;
use colour::{
    Bench, Direction, FLAKE_NODES, Flake, Geometry, Gradient, Illuminant, Mix, Observer, Optics, Part, PlainFilm,
    PlainFlakes, Prediction, Shelf, Spectrum, Substrate, Toner, TonerKind, ciede2000, lab, radiance_factors,
};
use oracle::{Face, Film, Flake as Mirrors, Geometry as Views, Layer, Medium, Photons, Pigment, Slopes, simulate};

const AT: [f64; 6] = [-15.0, 15.0, 25.0, 45.0, 75.0, 110.0];
const BLACK: usize = 0;
const WHITE: usize = 1;

fn by_nm(f: impl Fn(f64) -> f64) -> [f64; 31] {
    std::array::from_fn(|i| f(400.0 + 10.0 * i as f64))
}

fn bell(nm: f64, centre: f64, width: f64) -> f64 {
    math::exp(-(nm - centre) * (nm - centre) / (2.0 * width * width))
}

fn toner(name: &str, kind: TonerKind, optics: Optics) -> Toner {
    Toner { name: name.into(), kind, density_g_cm3: 2.0, max_fraction: 0.3, solids_fraction: None, optics }
}

fn solid(absorption: [f64; 31], scattering: [f64; 31]) -> Optics {
    Optics { absorption, scattering, forwardness: 0.0, crowding: 0.0, widening: 0.0, flake: None }
}

fn flaky(area: f64, slope_sd: f64, reflectance: f64, absorptance: f64) -> Optics {
    let flake = Flake {
        area,
        slope_sd,
        loading: 0.0,
        tail_weight: 0.2,
        reflectance: std::array::from_fn(|i| reflectance * (1.0 - 0.3 * (i as f64 / FLAKE_NODES as f64))),
        film_index: None,
        absorptance: [absorptance; 31],
    };
    Optics { flake: Some(flake), ..solid([0.0; 31], [0.02; 31]) }
}

/// White, red, blue, silver, pearl; even scattering and no interplay, as photons and plain films have it.
fn simple() -> Vec<Toner> {
    vec![
        toner("white", TonerKind::Solid, solid([0.001; 31], [1.0; 31])),
        toner("red", TonerKind::Solid, solid(by_nm(|nm| 0.02 + 4.0 * bell(nm, 500.0, 50.0)), [0.03; 31])),
        toner("blue", TonerKind::Solid, solid(by_nm(|nm| 0.02 + 5.0 * bell(nm, 620.0, 50.0)), [0.03; 31])),
        toner("silver", TonerKind::Aluminium, flaky(1.8, 0.14, 0.85, 0.14)),
        toner("pearl", TonerKind::Pearl, flaky(2.2, 0.13, 0.35, 0.03)),
    ]
}

/// The same with everything else that a toner can do.
fn rich() -> Vec<Toner> {
    let mut toners = simple();
    for (i, toner) in toners.iter_mut().enumerate() {
        let optics = &mut toner.optics;
        optics.forwardness = [0.5, 0.3, -0.1, 0.0, 0.2][i];
        optics.crowding = 0.4 * i as f64;
        optics.widening = 0.01 * (1 + i) as f64;
        if let Some(flake) = &mut optics.flake {
            flake.loading = 0.5;
        }
        if toner.kind == TonerKind::Pearl
            && let Some(flake) = &mut optics.flake
        {
            flake.film_index = Some(1.9);
        }
    }
    toners.push(toner("flop", TonerKind::FlopAdjuster, Optics { widening: 0.1, ..solid([0.002; 31], [0.1; 31]) }));
    toners.push(toner("silver 2", TonerKind::Aluminium, flaky(1.2, 0.2, 0.8, 0.2)));
    toners
}

fn shelf(toners: Vec<Toner>, clear: f64) -> Shelf {
    let primer = |name: &str, value: f64| Substrate {
        name: name.into(),
        reflectance: Spectrum::new([value; 31]).expect("a spectrum"),
    };
    Shelf::new(toners, vec![primer("black", 0.045), primer("white", 0.85)], [clear; 31]).expect("a shelf")
}

fn mix(parts: &[(usize, f64)], film_um: f64, substrate: usize) -> Mix {
    let parts = parts.iter().map(|(toner, fraction)| Part { toner: *toner, fraction: *fraction }).collect();
    Mix { parts, film_um, substrate }
}

/// Mean CIEDE2000 over the angles, D65 and 10 degrees.
fn apart(one: &Prediction, two: &Prediction) -> f64 {
    let colour = |row: &[f64; 31]| {
        lab(&Spectrum::new(row.map(|v| v.max(0.0))).expect("a spectrum"), Illuminant::D65, Observer::Deg10)
    };
    one.iter().zip(two).map(|(a, b)| ciede2000(colour(a), colour(b))).sum::<f64>() / 6.0
}

/// The largest difference, as a share of the larger value plus a thousandth.
fn gap(one: &Prediction, two: &Prediction) -> f64 {
    let pairs = one.iter().flatten().zip(two.iter().flatten());
    pairs.fold(0.0, |most: f64, (a, b)| most.max((a - b).abs() / (a.abs().max(b.abs()) + 1e-3)))
}

/// A mix of [`simple`] toners as a plain film.
fn plain(mix: &Mix, clear: f64) -> PlainFilm {
    let toners = simple();
    let sum = |of: &dyn Fn(&Optics, usize) -> f64| -> Vec<f64> {
        (0..31).map(|i| mix.parts.iter().map(|p| p.fraction * of(&toners[p.toner].optics, i)).sum()).collect()
    };
    let flakes = mix.parts.iter().filter_map(|part| {
        let flake = toners[part.toner].optics.flake.as_ref()?;
        Some(PlainFlakes {
            area_per_um: part.fraction * flake.area,
            slope_sd: flake.slope_sd,
            tail_weight: flake.tail_weight,
            reflectance: flake.reflectance[..31].to_vec(),
            absorptance: flake.absorptance.to_vec(),
        })
    });
    PlainFilm {
        film_um: mix.film_um,
        absorption_per_um: sum(&|optics, i| optics.absorption[i]),
        scattering_per_um: sum(&|optics, i| optics.scattering[i]),
        flakes: flakes.collect(),
        ground: vec![[0.045, 0.85][mix.substrate]; 31],
        clear: vec![clear; 31],
    }
}

fn at_six(film: &PlainFilm) -> Prediction {
    let directions = AT.map(|aspecular_deg| Direction { incidence_deg: 45.0, aspecular_deg, azimuth_deg: 0.0 });
    let rows = radiance_factors(film, &directions).expect("a film");
    std::array::from_fn(|view| std::array::from_fn(|i| rows[view][i]))
}

const MIXES: [&[(usize, f64)]; 5] = [
    &[(0, 0.2), (2, 0.01)],
    &[(1, 0.05)],
    &[(3, 0.15), (2, 0.02)],
    &[(4, 0.15), (1, 0.01)],
    &[(0, 0.02), (3, 0.06), (4, 0.1), (1, 0.01)],
];

/// The bench interpolates functions of slope; a plain film works them out.
#[test]
fn invariant_a_bench_and_a_plain_film_agree() {
    let bench = Bench::new(&shelf(simple(), 0.02));
    for parts in MIXES {
        for (film_um, substrate) in [(0.0, WHITE), (4.0, WHITE), (18.0, BLACK), (60.0, WHITE)] {
            let mix = mix(parts, film_um, substrate);
            let off = gap(&bench.predict(&mix), &at_six(&plain(&mix, 0.02)));
            assert!(off < 2e-3, "{mix:?}: {off}");
        }
    }
}

#[test]
fn invariant_gradients_are_those_of_finite_differences() {
    let shelf = shelf(rich(), 0.02);
    let bench = Bench::new(&shelf);
    let mixes: [&[(usize, f64)]; 8] = [
        &[(1, 0.04)],
        &[(0, 0.2), (2, 0.01)],
        &[(3, 0.15), (2, 0.02)],
        &[(4, 0.15), (3, 0.03), (1, 0.01)],
        &[(3, 0.1), (6, 0.05), (5, 0.04), (0, 0.01)],
        &[(0, 0.02), (3, 0.06), (4, 0.1), (1, 0.01), (5, 0.03)],
        &[(0, 0.02), (3, 0.06), (4, 0.1), (1, 0.01), (5, 0.03), (2, 0.01)],
        &[(0, 0.02), (3, 0.06), (4, 0.1), (1, 0.01), (5, 0.03), (2, 0.01), (6, 0.04)],
    ];
    let h = 1e-6;
    for parts in mixes {
        let mix = mix(parts, 14.0, WHITE);
        let (mut full, mut few) = (Gradient::default(), Gradient::default());
        bench.gradient_full(&mix, &mut full);
        bench.gradient(&mix, &mut few);
        assert!(gap(&full.value, &bench.predict(&mix)) < 1e-12);
        assert_eq!(full.by_part.len(), parts.len());
        let check = |name: String, found: &Prediction, wider: &Prediction, narrower: &Prediction, step: f64| {
            for (view, row) in found.iter().enumerate() {
                for (i, slope) in row.iter().enumerate() {
                    let wanted = (wider[view][i] - narrower[view][i]) / step;
                    // Rounding of a central difference, and the kinks of tables of slope.
                    assert!(
                        (slope - wanted).abs() < 1e-6 + 1e-5 * wanted.abs(),
                        "{mix:?} {name} {view} {i}: {slope} {wanted}"
                    );
                }
            }
        };
        for place in 0..parts.len() {
            let moved = |by: f64| {
                let mut mix = mix.clone();
                mix.parts[place].fraction += by;
                bench.predict(&mix)
            };
            check(format!("part {place}"), &full.by_part[place], &moved(h), &moved(-h), 2.0 * h);
            assert!(gap(&few.by_part[place], &full.by_part[place]) < 1e-12);
        }
        let thicker = |by: f64| bench.predict(&Mix { film_um: 14.0 * math::exp(by), ..mix.clone() });
        check("film".into(), &full.by_ln_film, &thicker(h), &thicker(-h), 2.0 * h);
        let wilder = |by: f64| bench.predict_sprayed(&mix, math::exp(by));
        check("slope".into(), &full.by_ln_slope, &wilder(h), &wilder(-h), 2.0 * h);
    }
}

#[test]
fn what_is_not_on_the_shelf_counts_as_binder_and_a_missing_primer_as_black() {
    let bench = Bench::new(&shelf(simple(), 0.02));
    let with = mix(&[(99, 0.3), (3, 0.1), (1, 0.02)], 15.0, WHITE);
    let without = mix(&[(3, 0.1), (1, 0.02)], 15.0, WHITE);
    assert_eq!(bench.predict(&with), bench.predict(&without));
    // Derivatives keep their places.
    let (mut one, mut two) = (Gradient::default(), Gradient::default());
    bench.gradient(&with, &mut one);
    bench.gradient(&without, &mut two);
    assert_eq!(one.by_part[0], [[0.0; 31]; 6]);
    assert!(gap(&one.by_part[1], &two.by_part[0]) < 1e-12 && gap(&one.by_part[2], &two.by_part[1]) < 1e-12);
    let nowhere = bench.predict(&Mix { substrate: 9, ..without.clone() });
    let mut black = shelf(simple(), 0.02).substrates().to_vec();
    black[BLACK].reflectance = Spectrum::new([0.0; 31]).expect("a spectrum");
    let dark = Bench::new(&Shelf::new(simple(), black, [0.02; 31]).expect("a shelf"));
    assert_eq!(nowhere, dark.predict(&Mix { substrate: BLACK, ..without }));
}

/// A mix of toners as photons meet it; `forward` is the mean cosine of all scattering, whose coefficients
/// a shelf holds as an even scatterer would need them.
fn layer(mix: &Mix, forward: f64) -> Layer<31> {
    let film = plain(mix, 0.0);
    let row = |list: &[f64], k: f64| -> [f64; 31] { std::array::from_fn(|i| list[i] * k) };
    let pigment = Pigment::new(row(&film.scattering_per_um, 1.0 / (1.0 - forward)), forward).expect("a pigment");
    let flakes = film.flakes.iter().map(|flakes| {
        let faces =
            std::array::from_fn(|i| Face { reflectance: flakes.reflectance[i], absorptance: flakes.absorptance[i] });
        let slopes = Slopes::new(flakes.slope_sd, flakes.tail_weight).expect("slopes");
        Mirrors::plain(flakes.area_per_um, slopes, faces).expect("flakes")
    });
    let medium = Medium::new(row(&film.absorption_per_um, 1.0), vec![pigment], flakes.collect()).expect("a medium");
    Layer::new(medium, film.film_um).expect("a layer")
}

/// Layers, the outermost first, over a primer.
fn photons(layers: Vec<Layer<31>>, substrate: usize, count: usize) -> Prediction {
    let film = Film::new(layers, [[0.045, 0.85][substrate]; 31]).expect("a film");
    let found = simulate(&film, &Views::forty_five(&AT).expect("views"), Photons { count, seed: 5 }).expect("photons");
    std::array::from_fn(|view| found[view].map(|estimate| estimate.value))
}

/// Pigments that scatter forwards, against photons: first scattering by the phase function, the rest by
/// similarity. Mean CIEDE2000 1.3: whites 1.5 to 1.9, what absorbs much 0.1.
#[test]
fn oracle_forward_scattering() {
    let mut mean = 0.0;
    let cases: [(&[(usize, f64)], f64); 4] = [
        (&[(0, 0.2), (2, 0.01)], 0.3),
        (&[(0, 0.2), (2, 0.01)], 0.6),
        (&[(0, 0.03), (1, 0.05)], 0.5),
        (&[(1, 0.1)], 0.5),
    ];
    for (parts, forward) in cases {
        let mut toners = simple();
        toners.iter_mut().for_each(|toner| toner.optics.forwardness = forward);
        let mix = mix(parts, 20.0, BLACK);
        let truth = photons(vec![layer(&mix, forward)], BLACK, 6_000);
        let found = apart(&Bench::new(&shelf(toners, 0.0)).predict(&mix), &truth);
        println!("{parts:?} {forward}: {found:.2}");
        mean += found / cases.len() as f64;
    }
    println!("mean {mean:.2}");
    assert!(mean < 2.0, "{mean}");
}

/// A tinted clear mid coat over solids and metallics. Mean CIEDE2000 0.7, most over white.
#[test]
fn oracle_tinted_mid_coat() {
    let bench = Bench::new(&shelf(simple(), 0.0));
    let tints: [&[(usize, f64)]; 2] = [&[(1, 0.02)], &[(2, 0.03)]];
    let mut all = Vec::new();
    for base in [MIXES[0], MIXES[2], MIXES[3]] {
        for tint in tints {
            let (base, mid) = (mix(base, 18.0, WHITE), mix(tint, 10.0, WHITE));
            let truth = photons(vec![layer(&mid, 0.0), layer(&base, 0.0)], WHITE, 6_000);
            all.push(apart(&bench.predict_layers(&base, &mid), &truth));
        }
    }
    println!("tinted: {all:.2?}");
    assert!(all.iter().sum::<f64>() / all.len() as f64 <= 1.2, "{all:?}");
}

/// A pearl mid coat over white, black and silver bases: CIEDE2000 1.6, 0.3 and 4.2. Over a silver the light
/// that passes between its flakes and the pearl's is left out, and that is what is missing.
#[test]
fn oracle_pearl_mid_coat() {
    let bench = Bench::new(&shelf(simple(), 0.0));
    let mid = mix(&[(4, 0.12)], 10.0, WHITE);
    let found =
        [(MIXES[0], WHITE), (&[(1, 0.25), (2, 0.25)][..], BLACK), (MIXES[2], BLACK)].map(|(base, substrate)| {
            let base = mix(base, 20.0, substrate);
            let truth = photons(vec![layer(&mid, 0.0), layer(&base, 0.0)], substrate, 6_000);
            apart(&bench.predict_layers(&base, &mid), &truth)
        });
    println!("pearl over white, black, silver: {found:.2?}");
    assert!(found[0] < 2.2 && found[1] < 0.8 && found[2] < 5.2, "{found:?}");
}

#[test]
fn invariant_limits_of_a_mid_coat() {
    let bench = Bench::new(&shelf(simple(), 0.02));
    for parts in MIXES {
        let base = mix(parts, 18.0, WHITE);
        // A mid coat of nothing, by content or by thickness.
        for nothing in [mix(&[], 10.0, BLACK), mix(&[(1, 0.1)], 0.0, BLACK)] {
            let off = gap(&bench.predict_layers(&base, &nothing), &bench.predict(&base));
            assert!(off < 1e-6, "{parts:?}: {off}");
        }
        // One that hides shows nothing of its base.
        let hiding = mix(&[(0, 0.3), (1, 0.2)], 400.0, BLACK);
        let off = gap(&bench.predict_layers(&base, &hiding), &bench.predict(&hiding));
        assert!(off < 1e-6, "{parts:?}: {off}");
    }
    // Its own primer does not count.
    let base = mix(MIXES[2], 18.0, WHITE);
    let mid = |substrate| bench.predict_layers(&base, &mix(&[(4, 0.1)], 8.0, substrate));
    assert_eq!(mid(BLACK), mid(WHITE));
    assert_eq!(Geometry::ALL.map(|g| f64::from(g.aspecular_deg())), AT);
}
