//! One photon's way through the film, carrying every wavelength at once.
//!
//! Each flight adds what all its possible collisions would send to the eyes, integrated in closed form
//! along the flight; only where the photon goes next is drawn. The draw follows one leading
//! wavelength, each taking its turn, and the other wavelengths are weighed by the balance heuristic
//! over all leaders (E. Veach and L. Guibas, SIGGRAPH 1995; for wavelengths A. Wilkie and others,
//! Computer Graphics Forum 33(4), 2014), so that no weight runs away and spectra come out smooth.

use base::stream::Stream;
use base::{lane, math};

use crate::interface::{INDEX, reflectance};
use crate::scene::{Scene, Stratum};

/// Events after which a photon is given up. Loss by the surface makes longer ways all but impossible.
const MOST_EVENTS: usize = 20_000;
/// A photon whose greatest weight is below this lives on with a chance in proportion to its weight.
const LIGHT: f64 = 0.5;
/// From this event on, a flight reports to the eyes with the chance below, and then for those that did
/// not: a long way's many flights tell much the same, and reporting is the costly part.
const LATE: usize = 6;
const LATE_CHANCE: f64 = 0.125;
/// Flattest cosine of a ray to the vertical; flatter ones are lifted to it.
const FLATTEST: f64 = 1e-9;

/// A photon and what it has sent to each eye.
pub(crate) struct Walk<'a, const N: usize> {
    scene: &'a Scene<'a, N>,
    random: Stream,
    leader: usize,
    /// How many flights the present one reports for; 0 if it does not report.
    reports: f64,
    stratum: usize,
    depth_um: f64,
    ray: [f64; 3],
    weight: [f64; N],
    /// Density of this path if another wavelength had led, over the mean of all.
    odds: [f64; N],
    /// Transmittance from here to each eye.
    sight: Vec<[f64; N]>,
    /// Radiance factor gathered, by eye.
    pub(crate) gathered: Vec<[f64; N]>,
}

/// Where a flight ended.
enum End {
    Surface,
    Ground,
    Collision,
}

impl<'a, const N: usize> Walk<'a, N> {
    pub(crate) fn new(scene: &'a Scene<'a, N>, random: Stream) -> Self {
        Self {
            scene,
            random,
            leader: 0,
            reports: 1.0,
            stratum: 0,
            depth_um: 0.0,
            ray: scene.light,
            weight: [1.0; N],
            odds: [1.0; N],
            sight: vec![[1.0; N]; scene.eyes.len()],
            gathered: vec![[0.0; N]; scene.eyes.len()],
        }
    }

    fn start(&mut self, leader: usize) {
        self.leader = leader;
        self.stratum = 0;
        self.depth_um = 0.0;
        self.ray = self.scene.light;
        self.weight = [1.0; N];
        self.odds = [1.0; N];
        self.sight.fill([1.0; N]);
    }

    /// What the first flight sends to the eyes; it is the same for every photon.
    pub(crate) fn first_flight(&mut self) {
        self.start(0);
        self.reports = 1.0;
        self.fly();
    }

    /// Follows one photon and gathers what all flights but the first send to the eyes.
    pub(crate) fn follow(&mut self, leader: usize) {
        self.start(leader);
        self.reports = 0.0;
        for event in 1..MOST_EVENTS {
            let end = self.fly();
            self.reports = match event {
                ..LATE => 1.0,
                _ if self.random.uniform() < LATE_CHANCE => 1.0 / LATE_CHANCE,
                _ => 0.0,
            };
            let lives = match end {
                End::Surface => self.turn_at_surface(),
                End::Ground => self.turn_at_ground(),
                End::Collision => self.collide(),
            };
            if !lives || !self.weigh() {
                return;
            }
        }
    }

    /// One flight to a collision or a boundary; weights and odds take its transmittance along.
    fn fly(&mut self) -> End {
        let gather = self.reports > 0.0;
        let scene = self.scene;
        let down = self.ray[2] < 0.0;
        let mu = self.ray[2].abs().max(FLATTEST);
        // The leading wavelength's optical length to the next collision.
        let mut left = -math::ln(self.random.uniform());
        let mut through = [1.0; N];
        let mut collision = None;
        let (mut index, mut depth_um) = (self.stratum, self.depth_um);
        let mut at_start = true;
        loop {
            let stratum = &scene.strata[index];
            let edge_um = if down { stratum.bottom_um } else { stratum.top_um };
            let length_um = (edge_um - depth_um).abs() / mu;
            let extinction = stratum.extinction(mu);
            if collision.is_none() {
                let optical = extinction[self.leader] * length_um;
                if left < optical {
                    let path_um = left / extinction[self.leader];
                    let reached = zip(&through, &transmitted(&extinction, path_um), |a, b| a * b);
                    let place_um = if down { depth_um + path_um * mu } else { depth_um - path_um * mu };
                    collision = Some((index, place_um, reached));
                    if !gather {
                        break;
                    }
                }
                left -= optical;
            }
            let passed = transmitted(&extinction, length_um);
            if gather && !(stratum.pigments.is_empty() && stratum.flakes.is_empty()) {
                let flight = Flight { index, down, mu, length_um, extinction: &extinction, passed: &passed };
                self.gather(&flight, &through, at_start);
            }
            through = zip(&through, &passed, |a, b| a * b);
            at_start = false;
            depth_um = edge_um;
            let last = if down { index + 1 == scene.strata.len() } else { index == 0 };
            if last {
                break;
            }
            index = if down { index + 1 } else { index - 1 };
        }
        if gather && down {
            self.gather_ground(&through);
        }
        let (end, reached) = match collision {
            Some((index, place_um, reached)) => {
                self.stratum = index;
                self.depth_um = place_um;
                (End::Collision, reached)
            }
            None => {
                self.stratum = index;
                self.depth_um = depth_um;
                (if down { End::Ground } else { End::Surface }, through)
            }
        };
        self.weight = zip(&self.weight, &reached, |a, b| a * b);
        self.odds = zip(&self.odds, &reached, |a, b| a * b);
        end
    }

    /// Adds what the collisions along one straight piece of a flight send to each eye.
    fn gather(&mut self, flight: &Flight<'_, N>, through: &[f64; N], at_start: bool) {
        let scene = self.scene;
        let stratum = &scene.strata[flight.index];
        let carried = zip(&self.weight, through, |a, b| a * b);
        for (eye_index, eye) in scene.eyes.iter().enumerate() {
            let scattered = scattered(stratum, self.ray, eye.toward);
            let (top, bottom) = (&eye.clear[flight.index], &eye.clear[flight.index + 1]);
            let (near, far) = if flight.down { (top, bottom) } else { (bottom, top) };
            let near = if at_start { &self.sight[eye_index] } else { near };
            let per_depth = &eye.per_depth[flight.index];
            let toward = if flight.down { flight.mu } else { -flight.mu };
            let factor = self.reports * std::f64::consts::PI * eye.gain / eye.toward[2];
            let sums = &mut self.gathered[eye_index];
            for j in 0..N {
                // Integral over the path s of exp(-extinction s) times the transmittance from there to
                // the eye; for a short or balanced path by its series.
                let rate = flight.extinction[j] + per_depth[j] * toward;
                let optical = rate * flight.length_um;
                let whole = (near[j] - flight.passed[j] * far[j]) / rate;
                let short = near[j] * flight.length_um * (1.0 - 0.5 * optical);
                let path_um = if optical.abs() < 1e-5 { short } else { whole };
                sums[j] += factor * carried[j] * scattered[j] * path_um;
            }
        }
    }

    /// Adds what the ground sends to each eye.
    fn gather_ground(&mut self, through: &[f64; N]) {
        let scene = self.scene;
        for (eye, sums) in scene.eyes.iter().zip(&mut self.gathered) {
            let clear = &eye.clear[scene.strata.len()];
            for j in 0..N {
                sums[j] += self.reports * eye.gain * self.weight[j] * through[j] * scene.ground[j] * clear[j];
            }
        }
    }

    fn turn_at_surface(&mut self) -> bool {
        let kept = reflectance(self.ray[2], 1.0 / INDEX);
        self.ray[2] = -self.ray[2];
        self.weight.iter_mut().for_each(|weight| *weight *= kept);
        for (sight, eye) in self.sight.iter_mut().zip(&self.scene.eyes) {
            *sight = eye.clear[0];
        }
        true
    }

    fn turn_at_ground(&mut self) -> bool {
        let up2 = self.random.uniform();
        let azimuth = std::f64::consts::TAU * self.random.uniform();
        let sine = (1.0 - up2).sqrt();
        self.ray = [sine * math::cos(azimuth), sine * math::sin(azimuth), up2.sqrt()];
        self.weight = zip(&self.weight, self.scene.ground, |a, b| a * b);
        for (sight, eye) in self.sight.iter_mut().zip(&self.scene.eyes) {
            *sight = eye.clear[self.scene.strata.len()];
        }
        true
    }

    /// Draws what the photon meets and where it goes; false if it meets nothing that scatters.
    fn collide(&mut self) -> bool {
        let stratum = &self.scene.strata[self.stratum];
        let mu = self.ray[2].abs().max(FLATTEST);
        let extinction = stratum.extinction(mu);
        let seen = |index: usize| stratum.flakes[index].area_per_um * stratum.flakes[index].lobe.seen(mu);
        let pigments = stratum.pigments.len();
        let mut total = [0.0; N];
        for (scattering, _) in &stratum.pigments {
            total = zip(&total, scattering, |a, b| a + b);
        }
        for (index, flake) in stratum.flakes.iter().enumerate() {
            let area = seen(index);
            total = zip(&total, &flake.middling, |sum, middling| sum + area * middling);
        }
        if total[self.leader] <= 0.0 {
            return false;
        }
        let mut left = self.random.uniform() * total[self.leader];
        let mut chosen = 0;
        for part in 0..pigments + stratum.flakes.len() {
            let share = match part.checked_sub(pigments) {
                None => stratum.pigments[part].0[self.leader],
                Some(flake) => seen(flake) * stratum.flakes[flake].middling[self.leader],
            };
            if share > 0.0 {
                chosen = part;
                left -= share;
                if left < 0.0 {
                    break;
                }
            }
        }
        let (chance, sent) = match chosen.checked_sub(pigments) {
            None => {
                let (scattering, asymmetry) = stratum.pigments[chosen];
                self.ray = scatter(self.ray, asymmetry, &mut self.random);
                (*scattering, *scattering)
            }
            Some(index) => {
                let flake = &stratum.flakes[index];
                let area = seen(index);
                let normal = flake.lobe.meet(self.ray, &mut self.random);
                let along = dot(self.ray, normal);
                for (ray, normal) in self.ray.iter_mut().zip(normal) {
                    *ray -= 2.0 * along * normal;
                }
                let reflected = flake.faces.reflected(along.abs().min(1.0));
                (scaled(&flake.middling, area), scaled(&reflected, area))
            }
        };
        self.weight = zip(&self.weight, &sent, |a, b| a * b);
        for j in 0..N {
            // Where nothing scatters, no chance is left to divide.
            self.odds[j] *= extinction[j] * chance[j] / total[j].max(f64::MIN_POSITIVE);
        }
        if self.reports == 0.0 {
            return true;
        }
        let within_um = self.depth_um - stratum.top_um;
        for (sight, eye) in self.sight.iter_mut().zip(&self.scene.eyes) {
            let (top, per_depth) = (&eye.clear[self.stratum], &eye.per_depth[self.stratum]);
            *sight = zip(top, &transmitted(per_depth, within_um), |a, b| a * b);
        }
        true
    }

    /// Puts weights on the scale of the mean odds and lets light photons die by chance; false if it died.
    fn weigh(&mut self) -> bool {
        let scale = N as f64 / by_four(&self.odds, 0.0, |a, b| a + b);
        self.odds = scaled(&self.odds, scale);
        self.weight = scaled(&self.weight, scale);
        let heaviest = by_four(&self.weight, 0.0, f64::max);
        if heaviest >= LIGHT {
            return true;
        }
        let chance = heaviest / LIGHT;
        if self.random.uniform() >= chance {
            return false;
        }
        self.weight = scaled(&self.weight, 1.0 / chance);
        true
    }
}

/// One straight piece of a flight, within one stratum.
struct Flight<'b, const N: usize> {
    index: usize,
    down: bool,
    mu: f64,
    length_um: f64,
    extinction: &'b [f64; N],
    passed: &'b [f64; N],
}

/// Light sent from one direction of travel into another, per um of path and steradian.
#[inline]
fn scattered<const N: usize>(stratum: &Stratum<'_, N>, ray: [f64; 3], toward: [f64; 3]) -> [f64; N] {
    let mut sum = [0.0; N];
    let cosine = dot(ray, toward);
    for (scattering, asymmetry) in &stratum.pigments {
        let phase = henyey_greenstein(*asymmetry, cosine);
        sum = zip(&sum, scattering, |sum, scattering| sum + phase * scattering);
    }
    if stratum.flakes.is_empty() {
        return sum;
    }
    // The mirror that sends `ray` into `toward` has its normal along their difference.
    let difference = [toward[0] - ray[0], toward[1] - ray[1], toward[2] - ray[2]];
    let length = dot(difference, difference).sqrt().max(1e-12);
    let (up, incidence) = (difference[2].abs() / length, (dot(ray, difference) / length).abs().min(1.0));
    for flake in &stratum.flakes {
        let facing = 0.25 * flake.area_per_um * flake.lobe.density(up);
        if facing > 0.0 {
            let reflected = flake.faces.reflected(incidence);
            sum = zip(&sum, &reflected, |sum, reflected| sum + facing * reflected);
        }
    }
    sum
}

/// Phase function per steradian at the cosine of the turn; see [`crate::Pigment`].
#[inline]
fn henyey_greenstein(asymmetry: f64, cosine: f64) -> f64 {
    let g2 = asymmetry * asymmetry;
    let base = 1.0 + g2 - 2.0 * asymmetry * cosine;
    (1.0 - g2) / (4.0 * std::f64::consts::PI * base * base.sqrt())
}

/// A direction drawn by [`henyey_greenstein`] about `ray`.
fn scatter(ray: [f64; 3], asymmetry: f64, random: &mut Stream) -> [f64; 3] {
    let u = random.uniform();
    let cosine = if asymmetry.abs() < 1e-6 {
        1.0 - 2.0 * u
    } else {
        let g2 = asymmetry * asymmetry;
        let ratio = (1.0 - g2) / (1.0 - asymmetry + 2.0 * asymmetry * u);
        ((1.0 + g2 - ratio * ratio) / (2.0 * asymmetry)).clamp(-1.0, 1.0)
    };
    let sine = (1.0 - cosine * cosine).sqrt();
    let azimuth = std::f64::consts::TAU * random.uniform();
    let (a, b) = (sine * math::cos(azimuth), sine * math::sin(azimuth));
    // Two unit vectors across the ray: T. Duff and others, Building an Orthonormal Basis, Revisited,
    // Journal of Computer Graphics Techniques 6(1), 2017.
    let [x, y, z] = ray;
    let sign = 1.0_f64.copysign(z);
    let c = -1.0 / (sign + z);
    let d = x * y * c;
    let first = [1.0 + sign * x * x * c, sign * d, -sign * x];
    let second = [d, sign + y * y * c, -y];
    let mut out = [0.0; 3];
    for k in 0..3 {
        out[k] = a * first[k] + b * second[k] + cosine * ray[k];
    }
    // Hundreds of turns would let the length drift by rounding.
    let length = dot(out, out).sqrt();
    out.map(|part| part / length)
}

#[inline]
fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline]
fn zip<const N: usize>(a: &[f64; N], b: &[f64; N], f: impl Fn(f64, f64) -> f64) -> [f64; N] {
    let mut out = [0.0; N];
    for ((out, a), b) in out.iter_mut().zip(a).zip(b) {
        *out = f(*a, *b);
    }
    out
}

#[inline]
fn scaled<const N: usize>(a: &[f64; N], by: f64) -> [f64; N] {
    zip(a, a, |a, _| a * by)
}

/// What is left of light after `length_um`; thinner than 1e-30 counts as that, for numbers too small
/// for full precision would slow everything down.
#[inline]
fn transmitted<const N: usize>(per_um: &[f64; N], length_um: f64) -> [f64; N] {
    zip(per_um, per_um, |per_um, _| {
        let optical = per_um * length_um;
        lane::exp(if optical < 69.0 { -optical } else { -69.0 })
    })
}

/// A sum or the like in four strands, which wait less for each other than one.
#[inline]
fn by_four<const N: usize>(values: &[f64; N], start: f64, f: impl Fn(f64, f64) -> f64) -> f64 {
    let mut strands = [start; 4];
    for four in values.chunks(4) {
        for (strand, value) in strands.iter_mut().zip(four) {
            *strand = f(*strand, *value);
        }
    }
    f(f(strands[0], strands[1]), f(strands[2], strands[3]))
}
