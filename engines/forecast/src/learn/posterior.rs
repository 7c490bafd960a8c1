//! What a base rate may be after its lessons, by numerical integration.
//!
//! The variable of integration is x, the logarithm of the base rate's odds. In it the logarithm of the density is
//! concave, whatever the lessons, so there is one hill, which falls off at least as an exponential.

use base::math;

/// Nodes and weights of Gauss and Legendre's rule of 16 points on -1..=1, the positive half. Source: M. Abramowitz and
/// I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, worked out again to all digits.
const NODES: [f64; 8] = [
    0.095_012_509_837_637_44,
    0.281_603_550_779_258_9,
    0.458_016_777_657_227_37,
    0.617_876_244_402_643_8,
    0.755_404_408_355_003,
    0.865_631_202_387_831_8,
    0.944_575_023_073_232_6,
    0.989_400_934_991_649_9,
];
const WEIGHTS: [f64; 8] = [
    0.189_450_610_455_068_5,
    0.182_603_415_044_923_58,
    0.169_156_519_395_002_54,
    0.149_595_988_816_576_74,
    0.124_628_971_255_533_88,
    0.095_158_511_682_492_79,
    0.062_253_523_938_647_894,
    0.027_152_459_411_754_096,
];
/// The density is looked at until its logarithm has fallen by this much: e^-45 is 3e-20.
const FALL: f64 = 45.0;
/// With lessons left out it must still have fallen by this much: e^-35 is 6e-16.
const FALLEN: f64 = 35.0;
/// Doublings in search of an end, halvings in search of the hill's top, steps of a search for a quantile.
const MOST_STEPS: usize = 60;
/// A panel is halved no more often than this, and none any more once there are so many.
const MOST_DEPTH: usize = 24;
const MOST_PANELS: usize = 500;
/// By how much a panel may differ from its two halves, as a part of the whole; and what rounding alone may make it differ
/// by for each lesson, since the logarithm of the density is a sum over them.
const EXACT: f64 = 1e-13;
const ROUNDING: f64 = 1e-15;
/// Factors multiplied before a logarithm is taken: none is over a million, so the product is a number.
const TOGETHER: usize = 16;

/// The distribution of a base rate, with density proportional to
/// b^(a - 1) (1 - b)^(c - 1) / product of (1 - b + b m) over the odds m.
pub(super) struct Posterior {
    a: f64,
    c: f64,
    odds: Vec<f64>,
    /// The logarithm of the density at its top.
    top: f64,
    /// Side by side from the low end to the high one.
    panels: Vec<Panel>,
    whole: Sums,
}

/// A stretch of x.
struct Panel {
    from: f64,
    to: f64,
    sums: Sums,
}

/// The integrals of the density, and of the base rate times the density.
#[derive(Clone, Copy, Default)]
struct Sums {
    mass: f64,
    moment: f64,
}

impl Sums {
    fn and(self, other: Self) -> Self {
        Self { mass: self.mass + other.mass, moment: self.moment + other.moment }
    }
}

impl Posterior {
    pub(super) fn new(a: f64, c: f64, odds: Vec<f64>) -> Self {
        let mut own = Self { a, c, odds, top: 0.0, panels: Vec::new(), whole: Sums::default() };
        let summit = own.summit();
        own.top = own.ln_density(summit);
        let mut edges = own.edges(summit, -1.0);
        edges.reverse();
        edges.push(summit);
        edges.extend(own.edges(summit, 1.0));
        let panel = |(from, to): (&f64, &f64)| Panel { from: *from, to: *to, sums: own.integrate(*from, *to) };
        let begun: Vec<Panel> = edges.iter().zip(edges.iter().skip(1)).map(panel).collect();
        let about = begun.iter().fold(Sums::default(), |all, panel| all.and(panel.sums));
        let part = EXACT + (a + c) * ROUNDING;
        let exact = Sums { mass: about.mass * part, moment: about.moment * part };
        for panel in begun {
            own.halve(panel, exact, MOST_DEPTH);
        }
        own.whole = own.panels.iter().fold(Sums::default(), |all, panel| all.and(panel.sums));
        own
    }

    pub(super) fn mean(&self) -> f64 {
        self.whole.moment / self.whole.mass
    }

    /// The base rate that `p` of the distribution lies below, for `p` between 0 and 1.
    pub(super) fn quantile(&self, p: f64) -> f64 {
        let wanted = p * self.whole.mass;
        let mut below = 0.0;
        for panel in &self.panels {
            if below + panel.sums.mass >= wanted {
                return share(self.within(panel, wanted - below));
            }
            below += panel.sums.mass;
        }
        1.0
    }

    /// Where in a panel `wanted` of its mass lies below: Newton's method, kept between the ends found so far.
    fn within(&self, panel: &Panel, wanted: f64) -> f64 {
        let (mut low, mut high) = (panel.from, panel.to);
        let mut x = low + (high - low) * wanted / panel.sums.mass;
        for _ in 0..MOST_STEPS {
            let over = self.integrate(panel.from, x).mass - wanted;
            if over > 0.0 {
                high = x
            } else {
                low = x
            }
            let step = over / self.density(x);
            let next = if x - step > low && x - step < high { x - step } else { 0.5 * (low + high) };
            if (next - x).abs() < 1e-12 * (1.0 + x.abs()) {
                return next;
            }
            x = next;
        }
        x
    }

    /// Keeps a panel, or what it is halved into.
    fn halve(&mut self, panel: Panel, exact: Sums, depth: usize) {
        let middle = 0.5 * (panel.from + panel.to);
        let half = |from, to| Panel { from, to, sums: self.integrate(from, to) };
        let halves = [half(panel.from, middle), half(middle, panel.to)];
        let both = halves[0].sums.and(halves[1].sums);
        let off =
            (both.mass - panel.sums.mass).abs() > exact.mass || (both.moment - panel.sums.moment).abs() > exact.moment;
        if off && depth > 0 && self.panels.len() < MOST_PANELS {
            halves.into_iter().for_each(|half| self.halve(half, exact, depth - 1));
        } else {
            self.panels.extend(halves);
        }
    }

    fn integrate(&self, from: f64, to: f64) -> Sums {
        let mut sums = Sums::default();
        for (x, weight) in places(from, to) {
            let mass = weight * self.density(x);
            sums = sums.and(Sums { mass, moment: mass * share(x) });
        }
        sums
    }

    /// Where the density was integrated at, panel by panel.
    pub(super) fn nodes(&self) -> Vec<Node> {
        let node = |(x, weight): (f64, f64)| Node {
            b: share(x),
            ln_b: -ln_one_plus_exp(-x),
            ln_not: -ln_one_plus_exp(x),
            weight,
            ln_density: self.ln_density(x) - self.top,
        };
        self.panels.iter().flat_map(|panel| places(panel.from, panel.to)).map(node).collect()
    }

    /// The density over its top.
    fn density(&self, x: f64) -> f64 {
        math::exp(self.ln_density(x) - self.top)
    }

    fn ln_density(&self, x: f64) -> f64 {
        let (b, not) = (share(x), share(-x));
        let product = |odds: &[f64]| math::ln(odds.iter().map(|m| not + b * m).product());
        let others: f64 = self.odds.chunks(TOGETHER).map(product).sum();
        -self.a * ln_one_plus_exp(-x) - self.c * ln_one_plus_exp(x) - others
    }

    /// How steeply the logarithm of the density rises.
    fn slope(&self, x: f64) -> f64 {
        let (b, not) = (share(x), share(-x));
        let others: f64 = self.odds.iter().map(|m| b * not * (m - 1.0) / (not + b * m)).sum();
        self.a * not - self.c * b - others
    }

    /// Nearly where the density is highest.
    fn summit(&self) -> f64 {
        let mut reach = 1.0;
        for _ in 0..MOST_STEPS {
            if self.slope(-reach) > 0.0 && self.slope(reach) < 0.0 {
                break;
            }
            reach *= 2.0;
        }
        let (mut low, mut high) = (-reach, reach);
        for _ in 0..MOST_STEPS {
            let middle = 0.5 * (low + high);
            if self.slope(middle) > 0.0 { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// Edges of panels on this side of the summit, each twice as far as the one before, until the density has fallen
    /// off. Panels are narrow at the summit since the density may stay high far beyond where the base rate still counts.
    fn edges(&self, summit: f64, side: f64) -> Vec<f64> {
        let mut step = 4.0 / (self.a + self.c).sqrt();
        let mut edges = Vec::new();
        for _ in 0..MOST_STEPS {
            edges.push(summit + side * step);
            if self.top - self.ln_density(summit + side * step) > FALL {
                break;
            }
            step *= 2.0;
        }
        edges
    }
}

/// A place the density was integrated at, worked out once for all groups that are left out of it.
pub(super) struct Node {
    /// The base rate there.
    b: f64,
    ln_b: f64,
    ln_not: f64,
    weight: f64,
    ln_density: f64,
}

/// The mean without some of the lessons: `so` that were bad and `not` that were not, with these odds.
///
/// Theirs is divided out of the density at its own nodes. `None` where what is left has not fallen off at the ends of
/// these, so that it must be integrated for itself.
pub(super) fn mean_without(nodes: &[Node], so: f64, not: f64, odds: &[f64]) -> Option<f64> {
    let ln_density = |node: &Node| {
        let others = |odds: &[f64]| math::ln(odds.iter().map(|m| 1.0 - node.b + node.b * m).product());
        let others: f64 = odds.chunks(TOGETHER).map(others).sum();
        node.ln_density - so * node.ln_b - not * node.ln_not + others
    };
    let left: Vec<f64> = nodes.iter().map(ln_density).collect();
    let top = left.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // A panel's outermost places are its last two: the lower one, then the upper one.
    let fallen = |end: Option<&f64>| end.is_some_and(|end| top - end >= FALLEN);
    if !fallen(left.get(2 * NODES.len() - 2)) || !fallen(left.last()) {
        return None;
    }
    let sums = nodes.iter().zip(&left).fold(Sums::default(), |all, (node, ln_density)| {
        let mass = node.weight * math::exp(ln_density - top);
        all.and(Sums { mass, moment: mass * node.b })
    });
    Some(sums.moment / sums.mass)
}

/// The places of a stretch, two and two about its middle and from there outward, each with its weight.
fn places(from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    NODES
        .iter()
        .zip(WEIGHTS)
        .flat_map(move |(node, weight)| [middle - half * node, middle + half * node].map(|x| (x, half * weight)))
}

/// The share with these logarithmic odds.
fn share(x: f64) -> f64 {
    if x > 0.0 { 1.0 / (1.0 + math::exp(-x)) } else { math::exp(x) / (1.0 + math::exp(x)) }
}

/// ln(1 + e^x), without overflow.
fn ln_one_plus_exp(x: f64) -> f64 {
    x.max(0.0) + math::ln(1.0 + math::exp(-x.abs()))
}
