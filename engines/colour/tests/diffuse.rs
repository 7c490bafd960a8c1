//! Kubelka and Munk's film and Saunderson's surface against their published forms.

use base::math;
use colour::ColourError;
use colour::diffuse::{DiffuseFilm, Gloss, Surface, infinite_film, k_over_s, km};
use colour::thin_film::{Index, Stack};

fn film(k: f64, s: f64, x: f64, under: f64) -> DiffuseFilm {
    DiffuseFilm { absorption_per_um: k, scattering_per_um: s, thickness_um: x, under }
}

fn reflectance(k: f64, s: f64, x: f64, under: f64) -> f64 {
    km(film(k, s, x, under)).expect("a film")
}

/// Films that the printed hyperbolic forms can take: some of both, not too thick for them.
fn films() -> impl Iterator<Item = (f64, f64, f64)> {
    [0.001, 0.02, 0.1, 1.0]
        .into_iter()
        .flat_map(|k| [0.02, 0.1, 0.5, 3.0].into_iter().flat_map(move |s| [1.0, 5.0, 12.0].map(|x| (k, s, x))))
}

fn coth(x: f64) -> f64 {
    (math::exp(x) + math::exp(-x)) / (math::exp(x) - math::exp(-x))
}

/// Kubelka 1948 (from memory): the general solution, and with R0 over black and R over Rg the identities
/// a = (R + (R0 - R + Rg) / (R0 Rg)) / 2, R0 = 1 / (a + b coth bSX), T^2 = (a - R0)^2 - b^2.
#[test]
fn published_kubelka_1948() {
    for (k, s, x) in films() {
        let a = 1.0 + k / s;
        let b = (a * a - 1.0).sqrt();
        let over_black = reflectance(k, s, x, 0.0);
        assert!((over_black - 1.0 / (a + b * coth(b * s * x))).abs() < 1e-12);
        let through2 = (a - over_black) * (a - over_black) - b * b;
        for under in [0.04, 0.2, 0.5, 0.8, 1.0] {
            let found = reflectance(k, s, x, under);
            let bright = b * coth(b * s * x);
            let wanted = (1.0 - under * (a - bright)) / (a - under + bright);
            assert!((found - wanted).abs() < 1e-12, "{k} {s} {x} {under}: {found} for {wanted}");
            // R = R0 + T^2 Rg / (1 - R0 Rg), with T from R0 alone. It subtracts numbers near a^2.
            let stacked = over_black + through2 * under / (1.0 - over_black * under);
            assert!((found - stacked).abs() < 1e-13 * a * a + 1e-12);
            let back = 0.5 * (found + (over_black - found + under) / (over_black * under));
            // Where black and white read nearly alike, a hangs on their last digits.
            assert!((back - a).abs() < 1e-11 / (over_black * under), "{k} {s} {x} {under}: {back} for {a}");
        }
    }
}

/// Without absorption R = (Rg + (1 - Rg) SX) / (1 + (1 - Rg) SX); without scattering R = Rg e^{-2KX}
/// (Kubelka 1948, from memory).
#[test]
fn published_limits() {
    for sx in [1e-6, 0.01, 0.5, 1.0, 9.0, 1000.0] {
        for under in [0.0, 0.1, 0.5, 1.0] {
            let lit = (1.0 - under) * sx;
            assert!((reflectance(0.0, sx / 10.0, 10.0, under) - (under + lit) / (1.0 + lit)).abs() < 1e-13);
            let glazed = under * math::exp(-2.0 * sx);
            assert!((reflectance(sx / 10.0, 0.0, 10.0, under) - glazed).abs() < 1e-13);
            assert!((reflectance(1e-13, sx / 10.0, 10.0, under) - (under + lit) / (1.0 + lit)).abs() < 1e-7);
        }
    }
    assert_eq!(reflectance(0.0, 0.0, 10.0, 0.37), 0.37);
    assert_eq!(reflectance(3.0, 2.0, 0.0, 0.37), 0.37);
}

/// K/S = (1 - R)^2 / 2R at thick films (Kubelka and Munk 1931); figures as tables of it print them.
#[test]
fn published_thick_film() {
    for (r, ratio) in [(0.5, 0.25), (0.1, 4.05), (0.2, 1.6), (0.8, 0.025), (0.9, 0.005_555_555_6), (1.0, 0.0)] {
        assert!((k_over_s(r).unwrap() - ratio).abs() < 1e-10, "{r}");
        assert!((infinite_film(ratio).unwrap() - r).abs() < 1e-9, "{ratio}");
    }
    for step in 1..1000 {
        let r = f64::from(step) / 1000.0;
        assert!((infinite_film(k_over_s(r).unwrap()).unwrap() - r).abs() < 1e-12);
    }
    for (k, s, _) in films() {
        let thick = infinite_film(k / s).unwrap();
        for under in [0.0, 1.0] {
            assert!((reflectance(k, s, 1e6, under) - thick).abs() < 1e-12);
        }
    }
}

/// The diffuse reflectance of a smooth surface in closed form (Walsh 1926, as in Duntley 1942; from memory).
fn walsh(n: f64) -> f64 {
    let (n2, n4) = (n * n, n * n * n * n);
    let cube = (n2 + 1.0) * (n2 + 1.0) * (n2 + 1.0);
    0.5 + (n - 1.0) * (3.0 * n + 1.0) / (6.0 * (n + 1.0) * (n + 1.0))
        + n2 * (n2 - 1.0) * (n2 - 1.0) / cube * math::ln((n - 1.0) / (n + 1.0))
        - 2.0 * n2 * n * (n2 + 2.0 * n - 1.0) / ((n2 + 1.0) * (n4 - 1.0))
        + 8.0 * n4 * (n4 + 1.0) / ((n2 + 1.0) * (n4 - 1.0) * (n4 - 1.0)) * math::ln(n)
}

#[test]
fn published_diffuse_surface() {
    for step in 0..=19 {
        let n = 1.1 + 0.1 * f64::from(step);
        let surface = Surface::of_index(n).unwrap();
        assert!((surface.k1() - walsh(n)).abs() < 1e-9, "{n}: {} for {}", surface.k1(), walsh(n));
    }
    // Judd 1942, n = 1.5: 0.092 from outside, 0.596 from inside (from memory).
    let binder = Surface::of_index(1.5).unwrap();
    assert!((binder.k1() - 0.092).abs() < 5e-4 && (binder.k2() - 0.596).abs() < 5e-4);
    assert_eq!(Surface::of_index(1.0).unwrap(), Surface::new(0.0, 0.0).unwrap());
}

/// k2 from k1 rests on reversal; here it is summed up from inside, total reflection and all.
#[test]
fn invariant_inside_surface_by_integration() {
    for n in [1.3, 1.5, 1.7] {
        let boundary = Stack::new(n, vec![], Index::new(1.0, 0.0).unwrap()).unwrap();
        let critical2 = 1.0 - 1.0 / (n * n);
        let steps = 200_000;
        // From the critical angle inwards, in u with cos^2 = critical^2 + (1 - critical^2) u^2: smooth where
        // the reflectance has its cusp. d(cos^2) = 2 (1 - critical^2) u du; the rest reflects fully.
        let sum: f64 = (0..steps)
            .map(|step| {
                let u = (f64::from(step) + 0.5) / f64::from(steps);
                let cos = (critical2 + (1.0 - critical2) * u * u).sqrt();
                boundary.unpolarised(550.0, cos).unwrap().reflectance * 2.0 * (1.0 - critical2) * u / f64::from(steps)
            })
            .sum();
        let found = Surface::of_index(n).unwrap().k2();
        assert!((found - critical2 - sum).abs() < 1e-8, "{n}: {found} for {}", critical2 + sum);
    }
}

/// Saunderson 1942 with his usual k1 0.04, k2 0.6 (from memory): R = k1 + (1-k1)(1-k2) R / (1 - k2 R).
#[test]
fn published_saunderson() {
    let surface = Surface::new(0.04, 0.6).unwrap();
    for (inside, wanted) in [(0.0, 0.04), (0.5, 0.04 + 0.96 * 0.4 * 0.5 / 0.7), (1.0, 1.0)] {
        assert!((surface.measured(inside, Gloss::Included).unwrap() - wanted).abs() < 1e-15);
        assert!((surface.measured(inside, Gloss::Excluded).unwrap() - (wanted - 0.04)).abs() < 1e-15);
    }
}

#[test]
fn invariant_surface_there_and_back() {
    for surface in [Surface::of_index(1.5).unwrap(), Surface::new(0.04, 0.6).unwrap(), Surface::new(0.0, 0.0).unwrap()]
    {
        for gloss in [Gloss::Included, Gloss::Excluded] {
            let mut last = -1.0;
            for step in 0..=1000 {
                let inside = f64::from(step) / 1000.0;
                let measured = surface.measured(inside, gloss).unwrap();
                assert!(measured > last && measured <= 1.0 + 1e-15);
                last = measured;
                let brightest = surface.measured(1.0, gloss).unwrap();
                let back = surface.inside(measured.min(brightest), gloss);
                assert!((back.unwrap() - inside).abs() < 1e-14, "{surface:?} {gloss:?} {inside}");
            }
        }
    }
}

#[test]
fn invariant_monotone_and_bounded() {
    for (k, s, x) in films() {
        let found = reflectance(k, s, x, 0.3);
        assert!((0.0..1.0).contains(&found));
        assert!(reflectance(k * 1.1, s, x, 0.3) < found, "more black never lightens");
        assert!(
            reflectance(k, s, x, 0.2) <= found && found <= reflectance(k, s, x, 0.4),
            "a darker ground never lightens"
        );
        // Two films on one another are one film.
        let lower = reflectance(k, s, 0.4 * x, 0.3);
        assert!((reflectance(k, s, 0.6 * x, lower) - found).abs() < 1e-14);
    }
    // Nothing absorbs, nothing is lost.
    assert!((reflectance(0.0, 2.0, 50.0, 1.0) - 1.0).abs() < 1e-14);
}

#[test]
fn invariant_no_jump_where_the_series_takes_over() {
    // 2 g X = 0.01 with K = S = g / sqrt(3).
    let x_at = |twice: f64| 0.5 * twice / 3.0_f64.sqrt();
    let (below, above) =
        (reflectance(1.0, 1.0, x_at(0.01 - 1e-12), 0.5), reflectance(1.0, 1.0, x_at(0.01 + 1e-12), 0.5));
    assert!((below - above).abs() < 1e-12);
}

#[test]
fn refuses_what_is_no_film() {
    let good = film(0.1, 0.5, 10.0, 0.2);
    for (bad, wanted) in [
        (DiffuseFilm { absorption_per_um: -0.1, ..good }, "absorption"),
        (DiffuseFilm { scattering_per_um: f64::NAN, ..good }, "scattering"),
        (DiffuseFilm { thickness_um: f64::INFINITY, ..good }, "film thickness"),
        (DiffuseFilm { under: 20.0, ..good }, "reflectance of the ground"),
    ] {
        let Err(ColourError::OutOfRange { what, .. }) = km(bad) else { panic!("{bad:?} was accepted") };
        assert_eq!(what, wanted);
    }
    assert!(k_over_s(0.0).is_err() && k_over_s(1.1).is_err() && infinite_film(-1.0).is_err());
    assert!(
        Surface::new(1.0, 0.6).is_err() && Surface::new(0.04, f64::NAN).is_err() && Surface::of_index(0.9).is_err()
    );
    let surface = Surface::new(0.04, 0.6).unwrap();
    assert!(surface.measured(1.2, Gloss::Included).is_err());
    // Darker than the gloss it includes.
    assert!(surface.inside(0.03, Gloss::Included).is_err() && surface.inside(0.03, Gloss::Excluded).is_ok());
    assert!(surface.inside(0.97, Gloss::Excluded).is_err());
}
