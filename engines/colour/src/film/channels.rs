//! The film's equations for one direction of light and any number of views.
//!
//! Light inside a flake paint takes three kinds of way out. *First order*: one flake mirrors the light
//! straight into the view; this is exact, with the flakes' and pigments' shadow on the way in and out.
//! *Chains*: light that met flakes only, several times, stays in a lobe around the mirror direction.
//! *Diffuse*: whatever met a pigment or the primer. Chains and diffuse light are two-flux solutions over
//! depth; what comes out of them is the integral of their sources along the view, with the exact
//! attenuation of that direction.
//!
//! Four constants close the two-flux channels. `SPREAD` was fitted to the 80 Monte Carlo films of
//! `reference/colour/mc_film.csv` in the study that they come from. `MORE`, `EVEN` and `MORE_RETURNED` were
//! set on films of translucent flakes from the simulator in `oracle/`, and not on those 80. So agreement
//! with either set is no full evidence; `tests/film.rs` draws films that none of the four has seen.

use super::interface::DIFFUSE_BACK;
use super::lane::{Pack, Real};

/// Two-flux scattering for a unit of isotropic scattering.
const SPREAD: f64 = 1.355;
/// Widening of the lobe after three flakes: their slopes add up as squares.
pub(crate) const THREE: f64 = 1.732_050_807_568_877_2;
/// Widening of the lobe after more than three flakes.
pub(crate) const MORE: f64 = 3.2;
/// Share of such light that has lost all direction.
const EVEN: f64 = 0.12;
/// Widening of the last flakes' slopes for light that met more than one flake on either side of the surface.
pub(crate) const MORE_RETURNED: f64 = 1.1;

/// Everything about a film that does not depend on the view, for lanes of wavelengths.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Matter<T> {
    /// Absorption of pigments and binder, per um.
    pub(crate) absorb: T,
    /// Scattering, per um.
    pub(crate) scatter: T,
    /// The part of first scattering that turns back, times the scattering, per um.
    pub(crate) turned: T,
    /// Flakes' extinction along the light, per um of depth.
    pub(crate) dim: T,
    /// Flakes' absorption, per um.
    pub(crate) flake_absorb: T,
    /// Flakes' mirror reflection along the light, per um.
    pub(crate) mirror: T,
    /// Flakes' reflection of diffuse light, per um.
    pub(crate) flake_diffuse: T,
    /// Primer.
    pub(crate) ground: T,
    /// Film in um.
    pub(crate) film: T,
    /// Part of the flakes' light that the surface sends back.
    pub(crate) lobe_back: T,
    /// Part it sends back of what it sent back before.
    pub(crate) lobe_back_again: T,
    /// Mean of 1 / cosine along the light it sends back.
    pub(crate) slant: T,
    /// What the clear coat passes at each internal reflection of diffuse light, and of the lobe.
    pub(crate) clear_diffuse: Pack,
    /// As above.
    pub(crate) clear_lobe: Pack,
    /// Cosine of the light, inside.
    pub(crate) mu: f64,
}

/// What a view adds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Toward<T> {
    /// First scattering into this view, per um, as if even.
    pub(crate) phase: T,
    /// Flakes' extinction along the view, per um of depth.
    pub(crate) dim: T,
    /// Flakes that mirror the light into the view: sum of area, reflectance and tilt density, per um.
    pub(crate) first: T,
    /// Tilt density toward this view after three flakes, and after more.
    pub(crate) lobe: [T; 2],
    /// Radiance times pi toward this view from light that came back from the surface, after one flake on
    /// either side, and after more.
    pub(crate) returned: [T; 2],
    /// T_i T_v / n^2 with the clear coat.
    pub(crate) crossing: Pack,
    /// Cosine of the view, inside.
    pub(crate) mu: f64,
}

/// The three channels solved over depth.
pub(crate) struct Inside<T> {
    m: Matter<T>,
    /// Extinction along the light.
    e_in: T,
    e_in_t: T,
    /// Chains: D = a e^{-gz} + b r e^{-g(t-z)}, U = a r e^{-gz} + b e^{-g(t-z)}.
    g: T,
    a: T,
    b: T,
    r: T,
    eg: T,
    /// Chains of three flakes and more at the surface, and those that met the surface between.
    chained: [T; 2],
    returned: [T; 2],
    /// Diffuse: F- and F+ as amplitudes of e^{-gz}, e^{-g(t-z)}, e^{-al z}, e^{-al (t-z)}.
    al: T,
    eal: T,
    down: [T; 4],
    up: [T; 4],
    /// What the primer sends up.
    from_ground: T,
}

impl<T: Real> Inside<T> {
    /// Solves the channels.
    #[inline(always)]
    pub(crate) fn solve(m: Matter<T>) -> Self {
        let one = T::of(1.0);
        let t = m.film;
        let taken = (m.absorb + m.scatter) * (1.0 / m.mu);
        let e_in = taken + m.dim;

        // Diffuse rate first: the chains' rate must keep clear of it.
        let kd = m.absorb * 2.0 + m.flake_absorb + T::of(1e-9);
        let sd = m.scatter * SPREAD + m.flake_diffuse + T::of(1e-12);
        let al = (kd * (kd + sd * 2.0)).sqrt();

        // Chains over a black bottom.
        let kc = taken + m.flake_absorb + T::of(1e-9);
        let sc = m.mirror + T::of(1e-12);
        let g = (kc * (kc + sc * 2.0)).sqrt().apart_from(al);
        let r = sc / (kc + sc + g);
        let eg = (-(g * t)).exp();
        let clear = T::lanes(m.clear_lobe);
        let alone = r * (one - eg * eg) / (one - r * r * eg * eg);
        let once = (kc + sc) * 2.0;
        let first = sc * (one - (-(once * t)).exp()) / once;
        let chained = (alone - first).positive();
        // No film, no chains.
        let more = chained / (alone + T::of(1e-12));
        // The light that the surface sent back runs at a slant.
        let ks = (m.absorb + m.scatter) * m.slant + m.flake_absorb + T::of(1e-9);
        let gs = (ks * (ks + sc * 2.0)).sqrt();
        let rs = sc / (ks + sc + gs);
        let es = (-(gs * t)).exp();
        let slanted = rs * (one - es * es) / (one - rs * rs * es * es);
        let again = one / (one - m.lobe_back_again * clear * slanted);
        let returned = alone * m.lobe_back * clear * slanted * again;
        let once = (ks + sc) * 2.0;
        let first_slanted = sc * (one - (-(once * t)).exp()) / once;
        let simple = first * m.lobe_back * clear * first_slanted;
        // One figure for the surface in the two-flux solution that feeds the diffuse light: such that what
        // goes down is 1 + alone * kept = 1 / (1 - rm * alone). With `kept` itself the light that comes
        // back again and again would count twice, and a film that absorbs nothing would run away.
        let kept = m.lobe_back * clear * again;
        let rm = kept / (one + alone * kept);
        let a = one / (one - eg * eg * r * r - rm * (r - r * eg * eg));
        let b = -(a * eg * r);
        let dt = a * eg + b * r;

        // Diffuse light fed by the chains' scattering: turned part up, the rest on.
        let k = 1.0 / m.mu;
        let q_back = m.turned * k;
        let q_on = (m.scatter - m.turned) * k;
        let sum = kd + sd;
        let inv = one / (al * al - g * g);
        // Source amplitudes of e^{-gz} (l = -g) and e^{-g(t-z)} (l = +g).
        let feed = |down: T, up: T, l: T| {
            let minus = (sum - l) * down + sd * up;
            let plus = (sum + l) * up + sd * down;
            (minus * inv, plus * inv)
        };
        let (d1, u1) = (a, a * r);
        let (d2, u2) = (b * r, b);
        let (pm1, pp1) = feed(q_on * d1 + q_back * u1, q_back * d1 + q_on * u1, -g);
        let (pm2, pp2) = feed(q_on * d2 + q_back * u2, q_back * d2 + q_on * u2, g);

        let k2 = T::lanes(m.clear_diffuse) * DIFFUSE_BACK;
        let rp = sd / (sum + al);
        let eal = (-(al * t)).exp();
        let pm0 = pm1 + pm2 * eg;
        let pp0 = pp1 + pp2 * eg;
        let pmt = pm1 * eg + pm2;
        let ppt = pp1 * eg + pp2;
        let c1 = k2 * pp0 - pm0;
        let c2 = m.ground * (pmt + dt) - ppt;
        let m11 = one - k2 * rp;
        let m12 = eal * (rp - k2);
        let m21 = eal * (rp - m.ground);
        let m22 = one - m.ground * rp;
        let inv = one / (m11 * m22 - m12 * m21);
        let x = (c1 * m22 - m12 * c2) * inv;
        let y = (m11 * c2 - m21 * c1) * inv;
        let down_t = x * eal + y * rp + pmt;
        Self {
            m,
            e_in,
            e_in_t: (-(e_in * t)).exp(),
            g,
            a,
            b,
            r,
            eg,
            chained: [chained - chained * more, chained * more],
            returned: [simple, returned - simple],
            al,
            eal,
            down: [pm1, pm2, x, y * rp],
            up: [pp1, pp2, x * rp, y],
            from_ground: m.ground * (down_t + dt),
        }
    }

    /// Radiance factor toward a view.
    #[inline(always)]
    pub(crate) fn toward(&self, v: &Toward<T>) -> T {
        let [mirrored, diffuse] = self.parts_toward(v);
        mirrored + diffuse
    }

    /// What is transmitted straight through on both ways.
    pub(crate) fn straight(&self, v: &Toward<T>) -> T {
        let e = (self.m.absorb + self.m.scatter) * (1.0 / v.mu) + v.dim;
        self.e_in_t * (-(e * self.m.film)).exp()
    }

    /// Radiance factor toward a view: what only flakes turned, and the rest.
    #[inline(always)]
    pub(crate) fn parts_toward(&self, v: &Toward<T>) -> [T; 2] {
        let m = &self.m;
        let one = T::of(1.0);
        let t = m.film;
        let e = (m.absorb + m.scatter) * (1.0 / v.mu) + v.dim;
        let et = (-(e * t)).exp();
        let both = e + self.e_in + T::of(1e-12);
        let cross = 1.0 / (4.0 * m.mu * v.mu);

        let first = v.first * (std::f64::consts::PI * cross) * (one - self.e_in_t * et) / both;

        let (held, lost) = (1.0 - EVEN, EVEN);
        let chains = (self.chained[0] * v.lobe[0] + self.chained[1] * v.lobe[1] * held)
            * (std::f64::consts::PI * cross)
            + self.returned[0] * v.returned[0]
            + self.returned[1] * v.returned[1] * held
            + (self.chained[1] + self.returned[1]) * lost;

        let fall = |rate: T, end: T| (one - end * et) / (rate + e + T::of(1e-12));
        let rise = |rate: T, end: T| {
            let gap = rate - e;
            let x = gap * t;
            let series = t * et * (one - x * 0.5 + x * x * (1.0 / 6.0));
            T::where_small(x, 1e-3, series, (et - end) / gap)
        };
        let integral = [fall(self.g, self.eg), rise(self.g, self.eg), fall(self.al, self.eal), rise(self.al, self.eal)];
        let d = self.a * integral[0] + self.b * self.r * integral[1];
        let u = self.a * self.r * integral[0] + self.b * integral[1];
        let over = |f: &[T; 4]| f[0] * integral[0] + f[1] * integral[1] + f[2] * integral[2] + f[3] * integral[3];
        let down = over(&self.down);
        let up = over(&self.up);
        let single = (v.phase * d + m.scatter * u) * (1.0 / m.mu);
        let scattered = (single + m.scatter * (down + up) * 2.0) * (1.0 / (4.0 * v.mu));
        let diffuse = scattered + m.flake_diffuse * down + self.from_ground * et;

        let crossing = T::lanes(v.crossing);
        [(first + chains) * crossing, diffuse * crossing]
    }
}
