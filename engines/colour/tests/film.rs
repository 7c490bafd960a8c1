//! The film model against Monte Carlo simulators, adding-doubling, closed forms and laws.

#[path = "support/csv.rs"]
mod csv;
#[path = "support/plain.rs"]
mod plain;

use std::f64::consts::PI;

use base::math;
use base::stream::Stream;
use colour::{Direction, FilmError, MOST_WAVELENGTHS, PlainFilm, radiance_factors};
use plain::{Case, beta, fresnel, lightness, seen, six};

/// Root mean square and largest of some differences.
fn spread(gaps: &[f64]) -> (f64, f64) {
    let mean2 = gaps.iter().map(|g| g * g).sum::<f64>() / gaps.len() as f64;
    (mean2.sqrt(), gaps.iter().fold(0.0, |most: f64, g| most.max(g.abs())))
}

/// The eighty films of reference/colour/mc_film.csv, another program's Monte Carlo results.
///
/// They are no blind test of the whole model: the two-flux scattering for a unit of even scattering
/// (`SPREAD` in film/channels.rs) was fitted to them in the study that they come from. `MORE`, `EVEN` and
/// `MORE_RETURNED` were not: they were set on films of translucent flakes from the crate `oracle`. The
/// test after this one draws films that none of the four has seen.
#[test]
fn oracle_monte_carlo_films_of_another_program() {
    let mut gaps = [vec![], vec![]];
    for row in csv::rows("reference/colour/mc_film.csv").iter().skip(1) {
        let n: Vec<f64> = row.iter().map(|cell| csv::number(cell)).collect();
        let case = Case {
            absorption: n[0],
            scattering: n[1],
            area: n[2],
            reflectance: n[3],
            absorptance: n[4],
            sd: n[5],
            tail: 0.0,
            film_um: n[6],
            ground: n[7],
        };
        for (found, theirs) in six(&case).iter().zip(&n[8..14]) {
            gaps[usize::from(n[2] > 0.0)].push(lightness(*found) - lightness(*theirs));
        }
    }
    assert_eq!((gaps[0].len(), gaps[1].len()), (24 * 6, 56 * 6));
    let (solid, flaky, all) = (spread(&gaps[0]), spread(&gaps[1]), spread(&gaps.concat()));
    println!("rms and largest dL*: solids {solid:.2?}, flakes {flaky:.2?}, all {all:.2?}");
    assert!(all.0 <= 1.4 && all.1 <= 6.5, "{all:?}");
    assert!(solid.0 <= 0.7, "{solid:?}");
}

/// Films that nothing was tuned on, against our own photons: solids, opaque flakes and translucent ones,
/// half of them with a tail, over black and over white. Measured: 0.83 in root mean square, 2.95 at most;
/// solids 1.03, aluminium 0.82, pearls 0.55.
#[test]
fn oracle_fresh_films() {
    let mut random = Stream::new(7, 1);
    let mut between = |low: f64, high: f64| low + (high - low) * random.uniform();
    let mut gaps = [vec![], vec![], vec![]];
    let mut noise = Vec::new();
    for index in 0..45 {
        let kind = index % 3;
        let reflectance = [0.0, between(0.75, 0.9), between(0.08, 0.5)][kind];
        let case = Case {
            absorption: math::exp(between(-6.9, -1.2)),
            scattering: if kind == 0 { math::exp(between(-3.9, -0.7)) } else { math::exp(between(-7.6, -2.8)) },
            area: if kind == 0 { 0.0 } else { between(0.12, 0.5) },
            reflectance,
            absorptance: [0.0, 1.0 - reflectance, between(0.0, 0.15)][kind],
            sd: between(0.10, 0.26),
            tail: if index % 2 == 0 { 0.0 } else { between(0.1, 0.35) },
            film_um: between(8.0, 32.0),
            ground: if between(0.0, 1.0) < 0.5 { 0.045 } else { 0.85 },
        };
        for (found, photons) in six(&case).iter().zip(case.photons(20_000, index as u64)) {
            gaps[kind].push(lightness(*found) - lightness(photons.value));
            noise.push(lightness(photons.value + photons.standard_error) - lightness(photons.value));
        }
    }
    let [solid, aluminium, pearl] = [0, 1, 2].map(|kind| spread(&gaps[kind]));
    let (all, noise) = (spread(&gaps.concat()), spread(&noise));
    println!("rms and largest dL*: solids {solid:.2?}, aluminium {aluminium:.2?}, pearls {pearl:.2?}, all {all:.2?}");
    assert!(noise.0 < 0.25, "too few photons to tell: {noise:?}");
    assert!(all.0 <= 1.1 && all.1 <= 5.0, "{all:?}");
    assert!(solid.0 <= 1.4 && aluminium.0 <= 1.1 && pearl.0 <= 0.8, "{solid:?} {aluminium:?} {pearl:?}");
}

/// Nodes and weights of Gauss and Legendre's rule with 24 nodes for the integral from 0 to 1.
fn gauss() -> Vec<(f64, f64)> {
    const COUNT: usize = 24;
    (1..=COUNT)
        .map(|i| {
            let mut x = math::cos(PI * (i as f64 - 0.25) / (COUNT as f64 + 0.5));
            let mut slope = 1.0;
            // Newton's steps from a guess good to three digits.
            for _ in 0..8 {
                let (mut before, mut value) = (1.0, x);
                for k in 2..=COUNT {
                    let k = k as f64;
                    (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
                }
                slope = COUNT as f64 * (x * value - before) / (x * x - 1.0);
                x -= value / slope;
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Share of the light that a film sends back to all sides, without the mirror reflection.
fn returned(film: &PlainFilm, incidence_deg: f64) -> f64 {
    let turns = if incidence_deg == 0.0 { 1 } else { 24 };
    let mut sum = 0.0;
    for (sin2, weight) in gauss() {
        // The flux through the surface is even in the squared sine of the view. The last node stands at
        // 87 degrees.
        let polar_deg = math::atan2(sin2.sqrt(), (1.0 - sin2).sqrt()).to_degrees();
        for turn in 0..turns {
            let azimuth_deg = 360.0 * (turn as f64 + 0.5) / turns as f64;
            sum += weight * seen(film, incidence_deg, polar_deg, azimuth_deg)[0] / turns as f64;
        }
    }
    sum
}

/// Slabs of reference/colour/adding_doubling.csv (iadpython), light at upright incidence: the mirror
/// reflection of 4 % and the integral over the views.
///
/// The model solves even scattering to 1 % of the light that went in and came back. A plain film has no
/// phase function, so forward scatterers are given by similarity, ks (1 - g). That is right deep down and
/// not for light that turns round at once: 16 % too much where much is scattered (0.3 and 0.7), and
/// nearly twice where an absorber (ka = 2 ks) leaves only first scattering. A [`colour::Bench`] keeps the
/// phase function of first scattering; see tests/bench.rs.
#[test]
fn oracle_adding_doubling() {
    let mut even = 0;
    for row in csv::rows("reference/colour/adding_doubling.csv").iter().skip(1) {
        let n: Vec<f64> = row.iter().map(|cell| csv::number(cell)).collect();
        let (absorption, scattering, forward, film_um) = (n[0], n[1] * (1.0 - n[2]), n[2], n[3]);
        let case = Case { absorption, scattering, film_um, ground: 0.0, ..Case::clear() };
        let (found, theirs) = (returned(&case.film(), 0.0), n[5] - 0.04);
        println!("{row:?}: {found:.5} {:+.3}", found / theirs - 1.0);
        if forward == 0.0 {
            assert!((found / theirs - 1.0).abs() < 0.015, "{row:?}: {found}");
            even += 1;
        } else if n[0] < n[1] {
            assert!((found / theirs - 1.0).abs() < 0.18, "{row:?}: {found}");
        } else {
            assert!((found - theirs).abs() < 0.006, "{row:?}: {found}");
        }
    }
    assert_eq!(even, 4);
}

/// The film with nothing in it, whose radiance factor is T_i T_v / n^2 times the ground's: F. C. Williams
/// and F. R. Clapper, J. Opt. Soc. Am. 43 (1953) 595-599; with the inner reflectance 0.596 of
/// D. B. Judd, J. Res. NBS 29 (1942) 329-332, for index 1.5 (both from memory).
#[test]
fn published_clear_film_over_a_matt_ground() {
    const INNER: f64 = 0.596;
    for ground in [0.04, 0.4, 0.9, 1.0] {
        for (incidence, polar, azimuth) in [(45.0, 0.0, 0.0), (45.0, -65.0, 0.0), (0.0, 30.0, 0.0), (70.0, 20.0, 130.0)]
        {
            let case = Case { ground, film_um: 0.0, ..Case::clear() };
            let through = (1.0 - fresnel(incidence)) * (1.0 - fresnel(f64::abs(polar))) / 2.25;
            let wanted = through * ground / (1.0 - INNER * ground);
            let found = beta(&case, incidence, polar, azimuth);
            // Three digits of the inner reflectance are good to 0.13 % of the whitest ground.
            assert!((found / wanted - 1.0).abs() < 1.3e-3, "{ground} {incidence} {polar}: {found} {wanted}");
        }
    }
}

/// Fresnel's formulas at their known points, seen through a film over black that does nothing but pass the
/// light: upright 4 %; at Brewster's angle half of ((n^2 - 1) / (n^2 + 1))^2; nothing past the horizon.
#[test]
fn published_fresnel_limits() {
    let black = Case { ground: 1e-6, film_um: 0.0, ..Case::clear() };
    let through = |incidence: f64| beta(&black, incidence, 0.0, 0.0) / 1e-6 * 2.25 / 0.96;
    assert!((through(0.0) - 0.96).abs() < 1e-5);
    let brewster = math::atan2(1.5, 1.0).to_degrees();
    let across: f64 = (2.25 - 1.0) / (2.25 + 1.0);
    assert!((through(brewster) - (1.0 - 0.5 * across * across)).abs() < 1e-5);
    // The design's spot value, T(45) = 0.9497601, and its formula.
    assert!((through(45.0) - 0.949_760_1).abs() < 1e-5);
    assert!(through(89.0) < 0.1);
    // Beyond the critical angle of 41.8 degrees inside no light gets out at all: views up to 89 degrees are
    // inside at 41.8 or less, which a strongly absorbing film over white tells by its darkening.
    let dim = Case { absorption: 0.001, film_um: 100.0, ground: 1e-6, ..Case::clear() };
    let ratio = beta(&dim, 0.0, 89.0, 0.0) / beta(&Case { absorption: 0.0, ..dim }, 0.0, 89.0, 0.0);
    let steepest = (1.0 - 1.0 / 2.25_f64).sqrt();
    assert!((ratio - math::exp(-0.1 * (1.0 + 1.0 / steepest))).abs() < 2e-4, "{ratio}");
}

/// Which flakes answer: tilt of their normal and incidence on them in a film of index 1.5, light at 45
/// degrees, by aspecular angle. The angles follow from Snell's law; they were written down by the study
/// that the model comes from.
///
/// A film so thin that each photon meets one flake shows the density of slopes, so that two widths of
/// slopes tell the tilt.
#[test]
fn published_geometry_of_the_six_views() {
    let tilts = [(-15.0, 3.5694), (15.0, 4.3271), (25.0, 7.4727), (45.0, 14.0628), (75.0, 23.7984), (110.0, 32.6486)];
    for (aspecular, tilt_deg) in tilts {
        let thin = |sd: f64| Case {
            area: 1e-4,
            reflectance: 0.9,
            absorptance: 0.1,
            sd,
            film_um: 1e-3,
            ground: 0.0,
            ..Case::clear()
        };
        let ratio = beta(&thin(0.30), 45.0, aspecular - 45.0, 0.0) / beta(&thin(0.20), 45.0, aspecular - 45.0, 0.0);
        // D ~ exp(-tan^2 / 2 s^2) / s^2.
        let rate = 0.5 * (1.0 / 0.04 - 1.0 / 0.09);
        let tan2 = math::ln(ratio * 0.09 / 0.04) / rate;
        let found = math::atan2(tan2.sqrt(), 1.0).to_degrees();
        // Chains between two of so few flakes add a part in ten million.
        assert!((found - tilt_deg).abs() < 2e-3, "{aspecular}: {found}");
    }
}

/// Films that absorb nothing over a ground that absorbs nothing: what comes back is what went in.
///
/// Two fluxes keep energy only nearly. Measured: pigments give 1.10 at most, which is the exit integral's
/// doing; flakes alone 0.83 to 1.002; both together lie between.
#[test]
fn invariant_furnace() {
    let films = [
        (0.0, 0.0, 0.0, 0.15, 20.0),
        (0.01, 0.0, 0.0, 0.15, 20.0),
        (0.3, 0.0, 0.0, 0.15, 20.0),
        (3.0, 0.0, 0.0, 0.15, 100.0),
        (0.0, 0.1, 0.2, 0.15, 15.0),
        (0.0, 0.4, 0.5, 0.25, 15.0),
        (0.0, 0.4, 1.0, 0.10, 15.0),
        (0.0, 0.4, 1.0, 0.20, 15.0),
        (0.0, 2.0, 1.0, 0.30, 30.0),
        (0.03, 0.4, 1.0, 0.15, 15.0),
        (0.03, 0.3, 0.3, 0.15, 15.0),
        (0.3, 0.3, 0.3, 0.20, 15.0),
    ];
    for (scattering, area, reflectance, sd, film_um) in films {
        let case = Case { scattering, area, reflectance, sd, film_um, ground: 1.0, ..Case::clear() };
        for incidence in [0.0, 45.0, 70.0] {
            let sum = returned(&case.film(), incidence) + fresnel(incidence);
            let most = match (scattering > 0.0, area > 0.0) {
                (false, false) => 1.0005,
                (false, true) => 1.005,
                (true, _) => 1.12,
            };
            println!("{case:?} at {incidence}: {sum:.4}");
            assert!(sum <= most && sum > 0.8, "{case:?} at {incidence}: {sum}");
        }
    }
}

/// A film that absorbs as real white does (a thousandth of its scattering) keeps within the light, and so
/// do real metals and pearls, over white.
#[test]
fn invariant_real_films_keep_within_the_light() {
    let white =
        Case { absorption: 0.0008 * 0.3, scattering: 2.5 * 0.45 * 0.3, film_um: 60.0, ground: 0.85, ..Case::clear() };
    let metal = Case { area: 0.4, reflectance: 0.88, absorptance: 0.12, film_um: 15.0, ground: 0.85, ..Case::clear() };
    let pearl = Case { area: 0.5, reflectance: 0.5, absorptance: 0.02, film_um: 15.0, ground: 0.85, ..Case::clear() };
    for case in [white, metal, pearl] {
        for incidence in [0.0, 45.0, 70.0] {
            let sum = returned(&case.film(), incidence) + fresnel(incidence);
            println!("{case:?} at {incidence}: {sum:.4}");
            assert!(sum <= 1.0, "{case:?} at {incidence}: {sum}");
        }
    }
}

/// A few films of every kind.
fn kinds() -> [Case; 4] {
    let solid = Case { absorption: 0.01, scattering: 0.08, film_um: 18.0, ..Case::clear() };
    [
        solid,
        Case { area: 0.06, reflectance: 0.87, absorptance: 0.13, ..solid },
        Case { area: 0.2, reflectance: 0.3, absorptance: 0.05, tail: 0.25, ..solid },
        Case { area: 0.3, reflectance: 0.4, absorptance: 0.02, scattering: 0.001, absorption: 0.001, ..solid },
    ]
}

#[test]
fn invariant_a_darker_ground_never_lightens() {
    for case in kinds() {
        let looks: Vec<Vec<f64>> = (0..=10).map(|step| six(&Case { ground: 0.1 * f64::from(step), ..case })).collect();
        for pair in looks.windows(2) {
            assert!(pair[0].iter().zip(&pair[1]).all(|(dark, light)| dark < light), "{case:?}: {pair:?}");
        }
    }
}

#[test]
fn invariant_more_black_never_lightens() {
    for case in kinds() {
        let black = |step: i32| Case { absorption: case.absorption + 0.004 * f64::from(step * step), ..case };
        let looks: Vec<Vec<f64>> = (0..=12).map(|step| six(&black(step))).collect();
        for pair in looks.windows(2) {
            assert!(pair[0].iter().zip(&pair[1]).all(|(less, more)| less > more), "{case:?}: {pair:?}");
        }
    }
}

#[test]
fn invariant_a_thick_film_hides_its_ground_and_stays_as_it_is() {
    for case in kinds() {
        let at = |film_um: f64, ground: f64| six(&Case { film_um, ground, ..case });
        let endless = at(10_000.0, 0.0);
        let mut before = f64::INFINITY;
        for film_um in [10.0, 20.0, 40.0, 80.0, 160.0, 320.0] {
            let (over_black, over_white) = (at(film_um, 0.0), at(film_um, 0.9));
            let gap = |look: &[f64]| look.iter().zip(&endless).fold(0.0, |most: f64, (a, b)| most.max((a - b).abs()));
            let far = gap(&over_black).max(gap(&over_white));
            assert!(far < before || far < 1e-9, "{case:?} at {film_um}: {far} after {before}");
            before = far;
        }
        assert!(before < 0.02, "{case:?}: {before}");
    }
}

/// Helmholtz: light and view may change places. Exactly for what happens once, and for films that absorb
/// only; where two fluxes stand in for many scatterings, within 8 % at these angles (measured).
#[test]
fn invariant_light_and_view_change_places() {
    let absorbing = Case { absorption: 0.03, film_um: 12.0, ground: 0.6, ..Case::clear() };
    let single = Case { area: 1e-4, reflectance: 0.8, absorptance: 0.2, film_um: 1e-2, ground: 0.0, ..Case::clear() };
    let exact = [absorbing, single].map(|case| (case, 1e-5));
    let nearly = kinds().map(|case| (case, 0.08));
    for (case, allowed) in exact.into_iter().chain(nearly) {
        for (light, view, azimuth) in [(45.0, 15.0, 0.0), (45.0, 65.0, 180.0), (30.0, 60.0, 120.0), (10.0, 50.0, 60.0)]
        {
            let (there, back) = (beta(&case, light, view, azimuth), beta(&case, view, light, azimuth));
            println!("{case:?} {light} {view}: {:+.4}", there / back - 1.0);
            assert!((there / back - 1.0).abs() < allowed, "{case:?} {light} {view}: {there} {back}");
        }
    }
}

#[test]
fn invariant_only_the_angle_between_light_and_view_counts() {
    for case in kinds() {
        let film = case.film();
        let at = |polar: f64, azimuth: f64| seen(&film, 45.0, polar, azimuth)[0];
        // Left and right are alike, and so is going round through the normal.
        for (polar, azimuth) in [(30.0, 20.0), (60.0, 90.0), (65.0, 170.0), (10.0, 300.0)] {
            let one = at(polar, azimuth);
            for other in [at(polar, -azimuth), at(-polar, azimuth - 180.0), at(-polar, 180.0 - azimuth)] {
                assert!((other / one - 1.0).abs() < 1e-12, "{case:?} {polar} {azimuth}: {one} {other}");
            }
        }
        // Upright light has no side.
        let upright: Vec<f64> = (0..8).map(|k| seen(&film, 0.0, 40.0, 45.0 * f64::from(k))[0]).collect();
        assert!(upright.iter().all(|b| (b / upright[0] - 1.0).abs() < 1e-12), "{upright:?}");
        // An out-of-plane view lies between the views of its plane toward the light and away from it.
        if case.area > 0.0 {
            let [near, aside, far] = [0.0, 90.0, 180.0].map(|azimuth| at(30.0, azimuth));
            assert!(near < aside && aside < far, "{case:?}: {near} {aside} {far}");
        }
    }
}

#[test]
fn invariant_wavelengths_stand_alone() {
    let many = PlainFilm {
        film_um: 20.0,
        absorption_per_um: (0..19).map(|i| 0.001 * f64::from(i * i)).collect(),
        scattering_per_um: (0..19).map(|i| 0.01 * f64::from(19 - i)).collect(),
        flakes: vec![],
        ground: (0..19).map(|i| 0.05 * f64::from(i)).collect(),
        clear: vec![0.01; 19],
    };
    let together = seen(&many, 45.0, 10.0, 0.0);
    assert_eq!(together.len(), 19);
    for (i, value) in together.iter().enumerate() {
        let one = |list: &[f64]| vec![list[i]];
        let alone = PlainFilm {
            film_um: many.film_um,
            absorption_per_um: one(&many.absorption_per_um),
            scattering_per_um: one(&many.scattering_per_um),
            flakes: vec![],
            ground: one(&many.ground),
            clear: one(&many.clear),
        };
        assert_eq!(*value, seen(&alone, 45.0, 10.0, 0.0)[0]);
    }
}

#[test]
fn bad_films_are_turned_away() {
    let sound = Case { area: 0.2, reflectance: 0.5, absorptance: 0.1, ..Case::clear() }.film();
    let straight = Direction { incidence_deg: 45.0, aspecular_deg: 45.0, azimuth_deg: 0.0 };
    let with = |change: &dyn Fn(&mut PlainFilm)| {
        let mut film = sound.clone();
        change(&mut film);
        radiance_factors(&film, &[straight])
    };
    assert!(with(&|_| {}).is_ok());
    assert_eq!(radiance_factors(&sound, &[]), Ok(vec![]));
    assert_eq!(with(&|film| film.ground.clear()), Err(FilmError::Wavelengths { found: 0 }));
    let many = with(&|film| film.ground = vec![0.5; MOST_WAVELENGTHS + 1]);
    assert_eq!(many, Err(FilmError::Wavelengths { found: MOST_WAVELENGTHS + 1 }));
    type List<'a> = &'a dyn Fn(&mut PlainFilm) -> &mut Vec<f64>;
    let lists: [(&str, List<'_>); 6] = [
        ("absorption", &|film| &mut film.absorption_per_um),
        ("scattering", &|film| &mut film.scattering_per_um),
        ("the primer", &|film| &mut film.ground),
        ("the clear coat", &|film| &mut film.clear),
        ("the flakes' reflectance", &|film| &mut film.flakes[0].reflectance),
        ("the flakes' absorptance", &|film| &mut film.flakes[0].absorptance),
    ];
    for (name, list) in lists {
        if name != "the primer" {
            let found = with(&|film| *list(film) = vec![0.1; 3]);
            assert_eq!(found, Err(FilmError::Length { what: name, found: 3, wavelengths: 1 }));
        }
        for value in [-0.001, f64::NAN, f64::INFINITY, 1e9] {
            let found = with(&|film| *list(film) = vec![value]);
            assert!(matches!(found, Err(FilmError::Figure { what, .. }) if what == name), "{name} {value}: {found:?}");
        }
    }
    let together = with(&|film| film.flakes[0].absorptance = vec![0.6]);
    assert!(matches!(together, Err(FilmError::Figure { value, .. }) if (value - 1.1).abs() < 1e-12), "{together:?}");
    type Set<'a> = &'a dyn Fn(&mut PlainFilm, f64);
    let figures: [(&str, Set<'_>); 4] = [
        ("the film", &|film, value| film.film_um = value),
        ("the flakes' area", &|film, value| film.flakes[0].area_per_um = value),
        ("the flakes' slope", &|film, value| film.flakes[0].slope_sd = value),
        ("the flakes' tail", &|film, value| film.flakes[0].tail_weight = value),
    ];
    for (name, set) in figures {
        for value in [-0.001, f64::NAN, f64::INFINITY, 1e5] {
            let found = with(&|film| set(film, value));
            assert!(matches!(found, Err(FilmError::Figure { what, .. }) if what == name), "{name} {value}: {found:?}");
        }
    }
    let from = |incidence_deg, aspecular_deg, azimuth_deg| {
        radiance_factors(&sound, &[straight, Direction { incidence_deg, aspecular_deg, azimuth_deg }])
    };
    for (light, aspecular, azimuth) in [
        (-1.0, 15.0, 0.0),
        (90.0, 15.0, 0.0),
        (f64::NAN, 15.0, 0.0),
        (45.0, 135.0, 0.0),
        (45.0, -45.0, 0.0),
        (45.0, f64::NAN, 0.0),
        (45.0, 15.0, 361.0),
        (45.0, 15.0, f64::NAN),
    ] {
        let found = from(light, aspecular, azimuth);
        assert!(matches!(found, Err(FilmError::Figure { .. })), "{light} {aspecular} {azimuth}: {found:?}");
    }
}
