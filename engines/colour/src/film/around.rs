//! A mix on a shelf lit and seen from anywhere, for tables over all directions.
//!
//! [`super::bench`] is ready for six views of one light and any mix; this is ready for one mix and any
//! light and view. The equations are the same ([`super::channels`]).

use super::bench::{Wave, phase, turned, wave};
use super::channels::{Inside, MORE, MORE_RETURNED, Matter, THREE, Toward};
use super::flakes::Facing;
use super::interface::{INDEX, Path, Ray, Returned, shadowing, tilt_density};
use super::lane::{LANES, Pack, Real};
use crate::shelf::{Flake, Mix, Shelf, TAIL};

const CHUNKS: usize = 4;

/// Pigments of one toner as they lie in the film.
struct Pigment {
    scatter: Wave,
    forwardness: f64,
}

/// Flakes of one toner as they lie in the film.
struct Flakes<'a> {
    flake: &'a Flake,
    /// Area per um.
    area: f64,
    /// Slope of their core in this film.
    sd: f64,
    absorb: Wave,
}

impl Flakes<'_> {
    /// A function of the slope over core and tail.
    fn mixed(&self, f: impl Fn(f64) -> f64) -> f64 {
        let w = self.flake.tail_weight;
        (1.0 - w) * f(self.sd) + w * f(TAIL * self.sd)
    }

    fn seen(&self, facing: &Facing) -> Wave {
        wave(&facing.reflectance(&self.flake.reflectance, self.flake.film_index))
    }
}

/// One mix, ready for any direction.
pub(crate) struct Around<'a> {
    film_um: f64,
    pigments: Vec<Pigment>,
    flakes: Vec<Flakes<'a>>,
    /// Slope of all flakes together; none where nothing mirrors.
    chains_sd: Option<f64>,
    absorb: Wave,
    scatter: Wave,
    turned: Wave,
    flake_absorb: Wave,
    flake_diffuse: Wave,
    ground: Wave,
    clear: [f64; 31],
}

/// A direction outside the film, and what runs along it inside meets; the same for light and view.
pub(crate) struct Slant {
    theta_deg: f64,
    mu: f64,
    /// Flakes' extinction, per um of depth.
    dim: Wave,
    /// Flakes' mirror reflection, per um.
    mirror: Wave,
    /// What the clear coat passes along it.
    clear: Wave,
}

/// The film solved for one light.
pub(crate) struct Lit {
    ray: Ray,
    clear: Wave,
    inside: [Inside<Pack>; CHUNKS],
    returned: Option<(Returned, f64)>,
}

fn nought() -> Wave {
    [Pack::of(0.0); CHUNKS]
}

fn add(sum: &mut Wave, more: &Wave, by: f64) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum = *sum + *more * by;
    }
}

impl<'a> Around<'a> {
    /// A mix; parts that are not on the shelf count as binder, and a primer that is not there as black.
    pub(crate) fn new(shelf: &'a Shelf, mix: &Mix) -> Self {
        let parts = || mix.parts.iter().filter_map(|part| Some((shelf.toners().get(part.toner)?, part.fraction)));
        let wider: f64 = parts().map(|(toner, c)| toner.optics.widening * c).sum();
        let load: f64 = parts().filter(|(toner, _)| toner.optics.flake.is_some()).map(|(_, c)| c).sum();
        let mut around = Self {
            film_um: mix.film_um,
            pigments: Vec::new(),
            flakes: Vec::new(),
            chains_sd: None,
            absorb: nought(),
            scatter: nought(),
            turned: nought(),
            flake_absorb: nought(),
            flake_diffuse: nought(),
            ground: shelf.substrates().get(mix.substrate).map_or_else(nought, |s| wave(s.reflectance.values())),
            clear: *shelf.clear(),
        };
        let (mut squares, mut weights) = (0.0, 0.0);
        for (toner, c) in parts() {
            let optics = &toner.optics;
            add(&mut around.absorb, &wave(&optics.absorption), c);
            let g = optics.forwardness;
            let scatter = wave(&optics.scattering).map(|s| s * (c / (1.0 + optics.crowding * c)));
            add(&mut around.scatter, &scatter, 1.0);
            add(&mut around.turned, &scatter, turned(g) / (1.0 - g));
            around.pigments.push(Pigment { scatter, forwardness: g });
            let Some(flake) = &optics.flake else { continue };
            let own = flake.slope_sd * (1.0 + flake.loading * load);
            let flakes = Flakes {
                flake,
                area: flake.area * c,
                sd: (own * own + wider).sqrt(),
                absorb: wave(&flake.absorptance),
            };
            let weight = flakes.area * flake.reflectance.iter().take(31).sum::<f64>() / 31.0;
            squares += weight * flakes.sd * flakes.sd * (1.0 + flake.tail_weight * (TAIL * TAIL - 1.0));
            weights += weight;
            add(&mut around.flake_absorb, &flakes.absorb, flakes.area);
            add(&mut around.flake_diffuse, &flakes.seen(&Facing::diffuse()), flakes.area);
            around.flakes.push(flakes);
        }
        around.chains_sd = (weights > 0.0).then(|| (squares / weights).sqrt());
        around
    }

    /// What a direction meets, `theta_deg` from the normal outside, 0 to 90.
    pub(crate) fn slant(&self, theta_deg: f64) -> Slant {
        let mu = Ray::at(theta_deg, 0.0).mu;
        let (mut dim, mut mirror) = (nought(), nought());
        for flakes in &self.flakes {
            let flake = flakes.flake;
            let spread = flake.slope_sd * (1.0 + flake.tail_weight * (TAIL * TAIL - 1.0)).sqrt();
            let seen = flakes.seen(&Facing::along(mu, spread));
            let more = flakes.area * (1.0 + 2.0 * flakes.mixed(|sd| shadowing(mu, sd)));
            add(&mut dim, &seen, more);
            add(&mut dim, &flakes.absorb, more);
            add(&mut mirror, &seen, flakes.area);
        }
        Slant { theta_deg, mu, dim, mirror, clear: self.passed(1.0 / mu) }
    }

    /// Solves the film for light along a direction.
    pub(crate) fn lit(&self, light: &Slant) -> Lit {
        let returned = self.chains_sd.map(|sd| (Returned::coarse(light.mu, sd), sd));
        let (back, back_again, slant) =
            returned.as_ref().map_or((0.0, 0.0, 1.0 / light.mu), |(r, _)| (r.back, r.back_again, r.slant));
        let (clear_diffuse, clear_lobe) = (self.passed(4.0), self.passed(2.0 / light.mu));
        let inside = std::array::from_fn(|c| {
            Inside::solve(Matter {
                absorb: self.absorb[c],
                scatter: self.scatter[c],
                turned: self.turned[c],
                dim: light.dim[c],
                flake_absorb: self.flake_absorb[c],
                mirror: light.mirror[c],
                flake_diffuse: self.flake_diffuse[c],
                ground: self.ground[c],
                film: Pack::of(self.film_um),
                lobe_back: Pack::of(back),
                lobe_back_again: Pack::of(back_again),
                slant: Pack::of(slant),
                clear_diffuse: clear_diffuse[c],
                clear_lobe: clear_lobe[c],
                mu: light.mu,
            })
        });
        Lit { ray: Ray::at(light.theta_deg, 0.0), clear: light.clear, inside, returned }
    }

    /// What the clear coat passes over a way this many times its own thickness.
    fn passed(&self, ways: f64) -> Wave {
        wave(&self.clear.map(|depth| base::lane::exp(-depth * ways)))
    }

    /// Radiance factor toward a view turned by `azimuth_deg` about the normal from the light's side, over
    /// what the surface lets through on both ways: it stays finite down to grazing angles.
    pub(crate) fn toward(&self, lit: &Lit, view: &Slant, azimuth_deg: f64) -> [f64; 31] {
        let path = Path::new(lit.ray, Ray::at(view.theta_deg, azimuth_deg));
        let facing = Facing::one(path.cos_incidence);
        let first: Vec<(Wave, f64)> = self
            .flakes
            .iter()
            .map(|f| (f.seen(&facing), f.area * f.mixed(|sd| tilt_density(path.tan2, path.cos_tilt, sd).0)))
            .collect();
        let phases: Vec<f64> =
            self.pigments.iter().map(|p| phase(p.forwardness, path.cos_deflection()) / (1.0 - p.forwardness)).collect();
        let (lobe, returned) = lit.returned.as_ref().map_or(([0.0; 2], [0.0; 2]), |(returned, sd)| {
            (
                [THREE, MORE].map(|k| tilt_density(path.tan2, path.cos_tilt, k * sd).0),
                [1.0, MORE_RETURNED].map(|k| returned.toward(&path.view, k)),
            )
        });
        let mut out = [0.0; 31];
        for (c, inside) in lit.inside.iter().enumerate() {
            let zero = Pack::of(0.0);
            let mut toward = Toward {
                phase: zero,
                dim: view.dim[c],
                first: zero,
                lobe: lobe.map(Pack::of),
                returned: returned.map(Pack::of),
                crossing: lit.clear[c] * view.clear[c] * (1.0 / (INDEX * INDEX)),
                mu: view.mu,
            };
            for (wave, density) in &first {
                toward.first = toward.first + wave[c] * *density;
            }
            for (pigment, phase) in self.pigments.iter().zip(&phases) {
                toward.phase = toward.phase + pigment.scatter[c] * *phase;
            }
            let beta = inside.toward(&toward);
            for (slot, value) in out.iter_mut().skip(c * LANES).zip(beta.0) {
                *slot = value.max(0.0);
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::Bench;
    use crate::film::interface::fresnel;
    use crate::film::{Direction, PlainFilm, PlainFlakes, radiance_factors};
    use crate::geometry::Geometry;
    use crate::shelf::{Optics, Part, Substrate, Toner, TonerKind};
    use crate::spectrum::Spectrum;

    fn shelf() -> Shelf {
        let ramp = |low: f64, high: f64| -> [f64; 31] { std::array::from_fn(|i| low + (high - low) * i as f64 / 30.0) };
        let flake = |area, film_index| Flake {
            area,
            slope_sd: 0.12,
            loading: 0.4,
            tail_weight: 0.2,
            reflectance: std::array::from_fn(|i| 0.4 + 0.3 * base::math::sin(i as f64 / 6.0)),
            film_index,
            absorptance: [0.05; 31],
        };
        let toner = |name: &str, kind, absorption, scattering, forwardness, flake| Toner {
            name: name.into(),
            kind,
            density_g_cm3: 1.5,
            max_fraction: 0.5,
            solids_fraction: None,
            optics: Optics { absorption, scattering, forwardness, crowding: 1.0, widening: 0.02, flake },
        };
        Shelf::new(
            vec![
                toner("red", TonerKind::Solid, ramp(2.0, 0.05), ramp(0.2, 0.8), 0.3, None),
                toner("silver", TonerKind::Aluminium, [0.0; 31], ramp(0.1, 0.1), 0.0, Some(flake(0.9, None))),
                toner("pearl", TonerKind::Pearl, [0.0; 31], ramp(0.05, 0.1), 0.0, Some(flake(0.7, Some(1.8)))),
            ],
            vec![Substrate { name: "grey".into(), reflectance: Spectrum::new([0.3; 31]).unwrap() }],
            [0.01; 31],
        )
        .unwrap()
    }

    fn mix(parts: &[(usize, f64)]) -> Mix {
        Mix {
            parts: parts.iter().map(|&(toner, fraction)| Part { toner, fraction }).collect(),
            film_um: 15.0,
            substrate: 0,
        }
    }

    /// Both say the same where both can speak: at 45 degrees of incidence.
    #[test]
    fn invariant_agrees_with_the_bench_at_its_six_views() {
        let shelf = shelf();
        let bench = Bench::new(&shelf);
        for parts in [&[(0, 0.2)][..], &[(0, 0.05), (1, 0.15)], &[(0, 0.02), (1, 0.05), (2, 0.2)]] {
            let mix = mix(parts);
            let around = Around::new(&shelf, &mix);
            let lit = around.lit(&around.slant(45.0));
            let wanted = bench.predict(&mix);
            for (geometry, wanted) in Geometry::ALL.into_iter().zip(wanted) {
                let view = f64::from(geometry.aspecular_deg()) - 45.0;
                let azimuth = if view < 0.0 { 180.0 } else { 0.0 };
                let found = around.toward(&lit, &around.slant(view.abs()), azimuth);
                let passes = [45.0_f64, view].map(|a| 1.0 - fresnel(base::math::cos(a.to_radians()), 1.0, INDEX));
                for (found, wanted) in found.iter().zip(wanted) {
                    let found = found * passes[0] * passes[1];
                    // Tables in the slope there, a coarser bundle of returned light here.
                    assert!((found - wanted).abs() < 0.004 * wanted + 2e-4, "{geometry}: {found} {wanted}");
                }
            }
        }
    }

    #[test]
    fn invariant_agrees_with_the_plain_film_out_of_plane() {
        let shelf = shelf();
        let mix = mix(&[(1, 0.2)]);
        let around = Around::new(&shelf, &mix);
        let optics = &shelf.toners()[1].optics;
        let flake = optics.flake.as_ref().unwrap();
        let own = flake.slope_sd * (1.0 + flake.loading * 0.2);
        let film = PlainFilm {
            film_um: 15.0,
            absorption_per_um: vec![0.0; 31],
            scattering_per_um: optics.scattering.iter().map(|s| s * 0.2 / 1.2).collect(),
            flakes: vec![PlainFlakes {
                area_per_um: 0.9 * 0.2,
                slope_sd: (own * own + 0.02 * 0.2).sqrt(),
                tail_weight: 0.2,
                reflectance: flake.reflectance[..31].to_vec(),
                absorptance: vec![0.05; 31],
            }],
            ground: vec![0.3; 31],
            clear: vec![0.01; 31],
        };
        for (incidence, view, azimuth) in [(10.0, 30.0, 60.0), (70.0, 20.0, 140.0), (50.0, 60.0, 170.0)] {
            let lit = around.lit(&around.slant(incidence));
            let found = around.toward(&lit, &around.slant(view), azimuth);
            let direction =
                Direction { incidence_deg: incidence, aspecular_deg: view + incidence, azimuth_deg: azimuth };
            let wanted = radiance_factors(&film, &[direction]).unwrap();
            let passes = [incidence, view].map(|a: f64| 1.0 - fresnel(base::math::cos(a.to_radians()), 1.0, INDEX));
            for (found, wanted) in found.iter().zip(&wanted[0]) {
                let found = found * passes[0] * passes[1];
                assert!((found - wanted).abs() < 0.006 * wanted + 3e-4, "{incidence} {view}: {found} {wanted}");
            }
        }
    }
}
