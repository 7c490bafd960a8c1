//! The simulator against other programs, closed forms and laws.

// A helper that fails is a test that fails.
#![allow(clippy::unwrap_used)]

mod common;

use std::f64::consts::PI;

use base::math;
use common::{film, flake, gauss, pigmented, reference, returned, six};
use oracle::{
    Error, Estimate, Face, Film, Flake, Geometry, INDEX, Layer, Medium, Photons, Pigment, Slopes, View, reflectance,
    simulate,
};

const FOUR: f64 = 4.0;

fn photons(count: usize) -> Photons {
    Photons { count, seed: 20 }
}

/// Whether two estimates agree within four joint standard errors and a share `also` of the first.
fn agree(a: Estimate, b: Estimate, also: f64) -> bool {
    let joint = math::hypot(a.standard_error, b.standard_error);
    (a.value - b.value).abs() <= FOUR * joint + also * a.value.abs()
}

/// Cosine in the film of a ray that has the cosine `mu` in air.
fn within_film(mu: f64) -> f64 {
    (1.0 - (1.0 - mu * mu) / (INDEX * INDEX)).sqrt()
}

/// D. B. Judd, Fresnel reflection of diffusely incident light, Journal of Research of the National
/// Bureau of Standards 29, 1942, 329-332, for index 1.5: 0.092 from outside, 0.596 from inside (from
/// memory); upright 0.04 and Brewster's angle in closed form.
#[test]
fn published_fresnel_reflectances() {
    let diffuse = |index: f64| -> f64 {
        // Halves of a fine rule: total reflection from inside ends at a kink.
        (0..20_000)
            .map(|i| (f64::from(i) + 0.5) / 20_000.0)
            .map(|mu| 2.0 * mu * reflectance(mu, index) / 20_000.0)
            .sum()
    };
    assert!((diffuse(1.5) - 0.092).abs() < 0.0005);
    assert!((diffuse(1.0 / 1.5) - 0.596).abs() < 0.0005);
    assert!((reflectance(1.0, 1.5) - 0.04).abs() < 1e-15);
    let brewster = 1.0 / (1.0_f64 + 2.25).sqrt();
    let across: f64 = (2.25 - 1.0) / (2.25 + 1.0);
    assert!((reflectance(brewster, 1.5) - 0.5 * across * across).abs() < 1e-15);
    assert_eq!(reflectance(0.7, 1.0 / 1.5), 1.0);
    // Nothing is lost or gained on the way back.
    assert!((reflectance(0.6, 1.5) - reflectance(within_film(0.6), 1.0 / 1.5)).abs() < 1e-15);
}

/// F. C. Williams and F. R. Clapper, Multiple internal reflections in photographic color prints,
/// Journal of the Optical Society of America 43, 1953, 595-599 (from memory): an absorbing film over
/// a matt ground.
#[test]
fn published_clear_film_over_a_matt_ground() {
    clear_film(0.01, 0.8, 100_000);
    // Light goes to and fro some ten times, so that long ways weigh most.
    clear_film(0.0003, 0.98, 400_000);
}

fn clear_film(absorption: f64, ground: f64, count: usize) {
    let film_um = 30.0;
    let clear = Medium::new([absorption], Vec::new(), Vec::new()).unwrap();
    let found = simulate(&film(clear, film_um, [ground]), &six(), photons(count)).unwrap();
    let depth = absorption * film_um;
    let inner: f64 = (0..20_000)
        .map(|i| (f64::from(i) + 0.5) / 20_000.0)
        .map(|mu| 2.0 * mu * reflectance(mu, 1.0 / INDEX) * math::exp(-2.0 * depth / mu) / 20_000.0)
        .sum();
    let air = |degrees: f64| math::cos(degrees.to_radians());
    for (estimate, angle) in found.iter().zip([60.0, 30.0, 20.0, 0.0, 30.0, 65.0]) {
        let (lamp, eye) = (air(45.0), air(angle));
        let through = (1.0 - reflectance(lamp, INDEX)) * (1.0 - reflectance(eye, INDEX)) / (INDEX * INDEX);
        let dimmed = math::exp(-depth * (1.0 / within_film(lamp) + 1.0 / within_film(eye)));
        let expected = through * dimmed * ground / (1.0 - ground * inner);
        // 1e-5 for the steps of the integral.
        assert!(agree(estimate[0], Estimate { value: expected, standard_error: 0.0 }, 1e-5), "{estimate:?} {expected}");
        assert!(estimate[0].standard_error < 0.003 * expected, "too few photons to tell: {estimate:?}");
    }
}

/// Thick slabs against iadpython, from reference/colour/adding_doubling.csv: total reflectance at
/// upright incidence, by Gauss's rule over the views; five of the nine scatter forwards or backwards.
#[test]
fn oracle_adding_doubling() {
    let rows = reference("adding_doubling.csv");
    assert_eq!(rows.len(), 9);
    for row in rows {
        let slab = film(pigmented(row[0], row[1], row[2]), row[3], [0.0]);
        let (diffuse, error) = returned(&slab, 0.0, 12, photons(80_000));
        let found = 0.04 + diffuse;
        // 0.1 % for the other program's quadrature and bottom; 12 nodes of ours are good to 1e-4.
        let allowed = FOUR * error + 0.001 * row[5] + 1e-4;
        assert!((found - row[5]).abs() < allowed, "{row:?}: {found} +- {error}");
        assert!(error < 0.008 * row[5], "too few photons to tell: {error}");
    }
}

/// Every fourth film of reference/colour/mc_film.csv, another simulator's results.
#[test]
fn oracle_another_monte_carlo_program() {
    let rows = reference("mc_film.csv");
    assert_eq!(rows.len(), 80);
    let (mut drift, mut count) = (0.0, 0.0);
    for row in rows.iter().step_by(4) {
        let medium = Medium::new(
            [row[0]],
            vec![Pigment::new([row[1]], 0.0).unwrap()],
            vec![flake(row[2], row[5], row[3], row[4])],
        );
        let found = simulate(&film(medium.unwrap(), row[6], [row[7]]), &six(), photons(30_000)).unwrap();
        for (estimate, theirs) in found.iter().zip(&row[8..14]) {
            let theirs = Estimate { value: *theirs, standard_error: 0.005 * theirs + 0.0007 };
            assert!(agree(estimate[0], theirs, 0.0), "{row:?}: {estimate:?}");
            drift +=
                (estimate[0].value - theirs.value) / math::hypot(estimate[0].standard_error, theirs.standard_error);
            count += 1.0;
        }
    }
    // The six views of a film share their photons: as if there were one.
    let mean: f64 = drift / count;
    assert!(mean.abs() < FOUR / (count / 6.0_f64).sqrt(), "a common drift of {mean} standard errors");
}

/// The limit of a film so thin that light scatters once.
#[test]
fn invariant_thin_films_scatter_once() {
    let film_um = 1e-5;
    let (asymmetry, scattering, area, sd, mirror) = (0.6, 0.3, 0.2, 0.2, 0.7);
    let medium =
        Medium::new([0.1], vec![Pigment::new([scattering], asymmetry).unwrap()], vec![flake(area, sd, mirror, 0.1)]);
    // Out of the plane too: a view at 50 degrees, an eighth of a turn and more from the lamp.
    let views = [(30.0_f64, 0.0_f64), (60.0, 180.0), (50.0, 100.0)];
    let geometry = Geometry::new(
        PI / 4.0,
        views.iter().map(|(polar, azimuth)| View::at(polar.to_radians(), azimuth.to_radians()).unwrap()).collect(),
    );
    let found = simulate(&film(medium.unwrap(), film_um, [0.0]), &geometry.unwrap(), photons(1_000)).unwrap();
    let inside = |polar: f64, azimuth: f64| {
        let sine = math::sin(polar.to_radians()) / INDEX;
        let (x, y) = (math::cos(azimuth.to_radians()), math::sin(azimuth.to_radians()));
        [sine * x, sine * y, (1.0 - sine * sine).sqrt()]
    };
    let lamp = inside(45.0, 0.0);
    for (estimate, (polar, azimuth)) in found.iter().zip(views) {
        let eye = inside(polar, azimuth);
        let dot: f64 = lamp.iter().zip(eye).map(|(a, b)| a * b).sum();
        // Light travels against `lamp`, so the turn's cosine is -dot.
        let g2 = asymmetry * asymmetry;
        let phase = (1.0 - g2) / (4.0 * PI * math::pow(1.0 + g2 + 2.0 * asymmetry * dot, 1.5));
        let up = (lamp[2] + eye[2]) / (2.0 + 2.0 * dot).sqrt();
        let tangent2 = 1.0 / (up * up) - 1.0;
        let normals = math::exp(-tangent2 / (2.0 * sd * sd)) / (2.0 * PI * sd * sd * up * up * up * up);
        let let_in = 1.0 - reflectance(math::cos(PI / 4.0), INDEX);
        let let_out = 1.0 - reflectance(math::cos(polar.to_radians()), INDEX);
        let once = scattering * phase + area * mirror * normals / 4.0;
        let expected = PI * let_in * let_out / (INDEX * INDEX) * film_um * once / (lamp[2] * eye[2]);
        // What is scattered or stopped twice is of the order of the film's optical thickness, 1e-5,
        // times what low rays add.
        assert!((estimate[0].value / expected - 1.0).abs() < 1e-4, "{estimate:?} {expected}");
    }
}

/// Nothing absorbs, so all light comes back: pigment, flakes that reflect all or let pass what they
/// do not, two layers, slanting light.
#[test]
fn invariant_furnace_returns_all_light() {
    let pearl = Flake::by_angle(0.2, Slopes::new(0.3, 0.2).unwrap(), |_, cosine| Face {
        reflectance: 0.8 - 0.5 * cosine,
        absorptance: 0.0,
    });
    let flaky = Medium::new([0.0], vec![Pigment::new([0.03], 0.5).unwrap()], vec![pearl.unwrap()]).unwrap();
    let mirrors = Medium::new([0.0], Vec::new(), vec![flake(0.1, 0.35, 1.0, 0.0)]).unwrap();
    let layered = Film::new(
        vec![Layer::new(flaky.clone(), 8.0).unwrap(), Layer::new(pigmented(0.0, 0.2, 0.4), 10.0).unwrap()],
        [1.0],
    );
    let cases: [(Film<1>, f64, usize); 4] = [
        (film(pigmented(0.0, 0.1, 0.0), 10.0, [1.0]), PI / 4.0, 12),
        (film(flaky, 15.0, [1.0]), 0.0, 12),
        (film(mirrors, 15.0, [1.0]), 0.0, 12),
        (layered.unwrap(), 0.0, 12),
    ];
    for (furnace, incidence_rad, rings) in cases {
        let (returned, error) = returned(&furnace, incidence_rad, rings, photons(80_000));
        let mirrored = reflectance(math::cos(incidence_rad), INDEX);
        // The bound of the error holds for views that vary together; 1e-3 for the rule over the views.
        // Slanting light is scattered evenly in the first case, so that azimuth plays no part.
        assert!((returned + mirrored - 1.0).abs() < FOUR * error + 1e-3, "{returned} + {mirrored} +- {error}");
        assert!(error < 0.008, "too few photons to tell: {error}");
    }
}

/// A film of everything: two layers, a forward pigment, opaque flakes and a pearl.
fn rich() -> Film<1> {
    let pearl = Flake::by_angle(0.15, Slopes::new(0.2, 0.3).unwrap(), |_, cosine| Face {
        reflectance: 0.6 - 0.3 * cosine,
        absorptance: 0.1 * cosine,
    });
    let upper = Medium::new([0.004], vec![Pigment::new([0.04], 0.6).unwrap()], vec![pearl.unwrap()]).unwrap();
    let lower = Medium::new([0.002], vec![Pigment::new([0.05], 0.3).unwrap()], vec![flake(0.1, 0.25, 0.8, 0.2)]);
    Film::new(vec![Layer::new(upper, 9.0).unwrap(), Layer::new(lower.unwrap(), 8.0).unwrap()], [0.5]).unwrap()
}

/// Helmholtz: lamp and eye may change places, in and out of the plane.
#[test]
fn invariant_lamp_and_eye_may_change_places() {
    let film = rich();
    let read = |lamp: f64, eye: f64, azimuth: f64| {
        let view = View::at(eye.to_radians(), azimuth).unwrap();
        simulate(&film, &Geometry::new(lamp.to_radians(), vec![view]).unwrap(), photons(40_000)).unwrap()[0][0]
    };
    for (lamp, eye, azimuth) in [(45.0, 15.0, 0.0), (45.0, 65.0, PI), (30.0, 60.0, 2.0), (10.0, 70.0, 1.0)] {
        let (there, back) = (read(lamp, eye, azimuth), read(eye, lamp, azimuth));
        // 0.1 % for the tables of extinction and faces.
        assert!(agree(there, back, 1e-3), "{lamp} {eye}: {there:?} {back:?}");
        assert!(there.standard_error < 0.02 * there.value);
    }
}

/// A boundary between two layers of the same stuff is no boundary.
#[test]
fn invariant_two_halves_make_a_whole() {
    let whole = |parts: usize| {
        let pearl = flake(0.15, 0.2, 0.4, 0.2);
        let stuff = Medium::new([0.004], vec![Pigment::new([0.05], 0.5).unwrap()], vec![pearl]).unwrap();
        let layers = (0..parts).map(|_| Layer::new(stuff.clone(), 15.0 / parts as f64).unwrap()).collect();
        simulate(&Film::new(layers, [0.3]).unwrap(), &six(), photons(30_000)).unwrap()
    };
    for (one, three) in whole(1).iter().zip(&whole(3)) {
        assert!(agree(one[0], three[0], 1e-6), "{one:?} {three:?}");
    }
}

/// Wavelengths that share their photons give what each gives alone, however unlike they are.
#[test]
fn invariant_wavelengths_together_and_alone() {
    let absorption = [0.0005, 0.05, 0.6];
    let scattering = [0.3, 0.02, 0.1];
    let faces = [(0.1, 0.0), (0.7, 0.3), (0.4, 0.5)].map(|(r, a)| Face { reflectance: r, absorptance: a });
    let ground = [0.9, 0.2, 0.5];
    let slopes = Slopes::new(0.2, 0.25).unwrap();
    let together = {
        let pigment = Pigment::new(scattering, 0.4).unwrap();
        let medium = Medium::new(absorption, vec![pigment], vec![Flake::plain(0.1, slopes, faces).unwrap()]);
        simulate(&film(medium.unwrap(), 14.0, ground), &six(), photons(45_000)).unwrap()
    };
    for wavelength in 0..3 {
        let pigment = Pigment::new([scattering[wavelength]], 0.4).unwrap();
        let flake = Flake::plain(0.1, slopes, [faces[wavelength]]).unwrap();
        let medium = Medium::new([absorption[wavelength]], vec![pigment], vec![flake]).unwrap();
        let alone = Photons { count: 30_000, seed: 5 };
        let alone = simulate(&film(medium, 14.0, [ground[wavelength]]), &six(), alone).unwrap();
        for (a, b) in together.iter().zip(&alone) {
            assert!(agree(a[wavelength], b[0], 0.0), "{wavelength}: {:?} {:?}", a[wavelength], b[0]);
        }
    }
}

#[test]
fn a_seed_repeats_on_any_number_of_threads() {
    let run = |threads: usize, seed: u64| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| simulate(&rich(), &six(), Photons { count: 2_000, seed }).unwrap())
    };
    assert_eq!(run(1, 4), run(3, 4));
    assert_ne!(run(1, 4), run(1, 5));
}

#[test]
fn impossible_films_are_errors() {
    let slopes = Slopes::new(0.2, 0.0).unwrap();
    let face = |reflectance: f64, absorptance: f64| [Face { reflectance, absorptance }];
    assert!(matches!(Flake::plain(0.1, slopes, face(0.7, 0.4)), Err(Error::TooMuchLight { wavelength: 0, .. })));
    assert!(Flake::plain(f64::NAN, slopes, face(0.7, 0.3)).is_err());
    assert!(Slopes::new(0.0, 0.0).is_err() && Slopes::new(0.1, 1.1).is_err());
    assert!(Pigment::new([-0.1], 0.0).is_err() && Pigment::new([0.1], 1.0).is_err());
    let medium = pigmented(0.1, 0.1, 0.0);
    assert!(Layer::new(medium.clone(), 0.0).is_err());
    assert!(Film::new(Vec::new(), [0.1]).is_err());
    let layer = Layer::new(medium, 10.0).unwrap();
    assert!(Film::new(vec![layer.clone()], [1.1]).is_err());
    assert!(Film::new(vec![layer.clone(); 9], [0.1]).is_err());
    assert!(View::at(1.6, 0.0).is_err() && Geometry::new(0.5, Vec::new()).is_err());
    let film = Film::new(vec![layer], [0.1]).unwrap();
    assert!(simulate(&film, &six(), Photons { count: 0, seed: 1 }).is_err());
}

/// The rule that the tests integrate with: exact for polynomials up to twice its count.
#[test]
fn invariant_gauss_rule_integrates_powers() {
    for power in 0..16 {
        let found: f64 = gauss(8).iter().map(|(x, w)| w * math::pow(*x, f64::from(power))).sum();
        assert!((found - 1.0 / f64::from(power + 1)).abs() < 1e-14);
    }
}
