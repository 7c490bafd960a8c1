//! How the hours of a shell are spread, drawn through the four figures that are known of them.
//!
//! The curve says how many of ten such shells are done within so many hours. Between its figures it is
//! smoothed (monotone cubic; F. N. Fritsch and R. E. Carlson, Monotone piecewise cubic interpolation, SIAM
//! Journal on Numerical Analysis 17, 1980), beyond them its ends are only drawn, not known.

use job::outlook::Outcome;
use maud::{Markup, html};

/// Where the drawing has its figures, px of a box of 440 by 300.
const LEFT: f64 = 62.0;
const RIGHT: f64 = 424.0;
const TOP: f64 = 62.0;
const FLOOR: f64 = 242.0;
/// Hours nearer than this are one place.
const LEAST_H: f64 = 0.5;

/// The share of such shells that is done within so many hours.
#[derive(Debug)]
pub(super) struct Curve {
    knots: Vec<(f64, f64)>,
    slopes: Vec<f64>,
}

impl Curve {
    /// Through the figures of an outcome; `None` where they lie too near to each other to be a range.
    pub(super) fn through(o: &Outcome) -> Option<Self> {
        // A normal curve has its thousandths 1.4 times further out than P10 and 1.8 times P95's step.
        let start = (o.p10 - 1.4 * (o.p50 - o.p10)).max(0.0);
        let end = o.p95 + 1.8 * (o.p95 - o.p80);
        let figures = [(start, 0.0), (o.p10, 0.1), (o.p50, 0.5), (o.p80, 0.8), (o.p95, 0.95), (end, 1.0)];
        let mut knots: Vec<(f64, f64)> = Vec::new();
        for (h, share) in figures {
            match knots.last_mut() {
                Some(last) if h - last.0 < LEAST_H => last.1 = share,
                _ => knots.push((h, share)),
            }
        }
        if knots.len() < 3 || !knots.iter().all(|(h, _)| h.is_finite()) {
            return None;
        }
        let secants: Vec<f64> = knots.windows(2).map(|k| (k[1].1 - k[0].1) / (k[1].0 - k[0].0)).collect();
        // The harmonic mean of the slopes beside a knot never lets the curve turn down; the ends lie flat.
        let inner = secants.windows(2).map(|s| 2.0 * s[0] * s[1] / (s[0] + s[1]));
        let slopes = std::iter::once(0.0).chain(inner).chain([0.0]).collect();
        Some(Self { knots, slopes })
    }

    /// The share of such shells that is done within `h` hours.
    pub(super) fn below(&self, h: f64) -> f64 {
        let places = self.knots.windows(2).zip(self.slopes.windows(2));
        for (k, m) in places {
            let ((h0, p0), (h1, p1)) = (k[0], k[1]);
            if h < h0 {
                return 0.0;
            }
            if h <= h1 {
                let (width, t) = (h1 - h0, (h - h0) / (h1 - h0));
                let (t2, t3) = (t * t, t * t * t);
                let share = p0 * (2.0 * t3 - 3.0 * t2 + 1.0)
                    + m[0] * width * (t3 - 2.0 * t2 + t)
                    + p1 * (3.0 * t2 - 2.0 * t3)
                    + m[1] * width * (t3 - t2);
                return share.clamp(0.0, 1.0);
            }
        }
        1.0
    }

    fn ends(&self) -> (f64, f64) {
        let first = self.knots.first().map_or(0.0, |k| k.0);
        (first, self.knots.last().map_or(first, |k| k.0))
    }

    /// The curve, the four figures as a dimension above it, and what was agreed as an upright.
    pub(super) fn draw(&self, o: &Outcome, agreed_h: Option<f64>, says: &str) -> Markup {
        let (start, end) = self.ends();
        let (low, high) = (start.min(agreed_h.unwrap_or(start)), end.max(agreed_h.unwrap_or(end)));
        let step = step(high - low);
        let (axis0, axis1) = ((low / step).floor() * step, (high / step).ceil() * step);
        let x = |h: f64| LEFT + (RIGHT - LEFT) * (h - axis0) / (axis1 - axis0);
        let y = |share: f64| FLOOR - (FLOOR - TOP) * share;
        let line = |from: f64, to: f64| {
            let at = move |i: u32| from + (to - from) * f64::from(i) / 96.0;
            (0..=96).map(|i| format!("L{:.1} {:.1}", x(at(i)), y(self.below(at(i))))).collect::<String>()
        };
        let ticks = std::iter::successors(Some(axis0), |t| Some(t + step)).take_while(|t| *t <= axis1).take(20);
        let [p10, p50, p80, p95] = [o.p10, o.p50, o.p80, o.p95].map(x);
        html! {
            svg.plot.chart viewBox="0 0 440 300" role="img" aria-label=(says) {
                @for (share, words) in [(0.0, "0"), (0.5, "5"), (1.0, "10")] {
                    path.d.hair d=(format!("M{LEFT} {:.1}H{RIGHT}", y(share))) {}
                    text.t.end x="54" y=(format!("{:.1}", y(share) + 5.0)) { (words) @if share == 1.0 { " of 10" } }
                }
                @if let Some(agreed) = agreed_h.filter(|agreed| *agreed < end) {
                    path d=(format!("M{:.1} {TOP}{}V{TOP}Z", x(agreed), line(agreed, end))) fill="url(#past)" {}
                }
                path.d d=(format!("M{:.1} {:.1}{}H{RIGHT}", x(start), y(self.below(start)), line(start, end))) {}
                @for (at, share) in [(p10, 0.1), (p50, 0.5), (p80, 0.8), (p95, 0.95)] { circle.solid cx=(format!("{at:.1}")) cy=(format!("{:.1}", y(share))) r="4" {} }
                path.d.thin d=(format!("M{LEFT} {FLOOR}H{RIGHT}")) {}
                @for tick in ticks {
                    path.d.hair d=(format!("M{:.1} {FLOOR}v7", x(tick))) {}
                    text.t.mid x=(format!("{:.1}", x(tick))) y="267" { (format!("{tick:.0}")) }
                }
                text.t.end x="424" y="292" { "hours of metal work" }
                path.d.cut d=(format!("M{p10:.1} 33H{p80:.1}")) {}
                path.d.thin d=(format!("M{p80:.1} 33H{p95:.1}")) {}
                path.d d=(format!("M{p10:.1} 21V45M{p80:.1} 26V40M{p95:.1} 21V45")) {}
                path.solid d=(format!("M{p50:.1} 22l9 11-9 11-9-11Z")) {}
                @for (at, words) in apart(&[(p50, o.p50), (p10, o.p10), (p95, o.p95), (p80, o.p80)]) {
                    text.t.mid x=(format!("{at:.1}")) y="14" { (words) }
                }
                @if let Some(agreed) = agreed_h {
                    @let at = x(agreed);
                    path.d.cut d=(format!("M{at:.1} 50V254")) {}
                    @if at > 300.0 { text.t.b.end x=(format!("{:.1}", at - 8.0)) y="232" { (format!("agreed {agreed:.0} h")) } }
                    @else { text.t.b x=(format!("{:.1}", at + 8.0)) y="232" { (format!("agreed {agreed:.0} h")) } }
                }
            }
        }
    }
}

/// A step that gives an axis of this length about five marks.
fn step(length_h: f64) -> f64 {
    let tens = std::iter::successors(Some(1.0), |tens| Some(tens * 10.0)).take(7);
    tens.flat_map(|tens| [tens, 2.0 * tens, 5.0 * tens]).find(|step| length_h / step <= 5.5).unwrap_or(1e7)
}

/// The figures that can be written beside each other; the first ones given go first.
fn apart(figures: &[(f64, f64)]) -> Vec<(f64, String)> {
    let mut written: Vec<(f64, String)> = Vec::new();
    for (at, h) in figures {
        if written.iter().all(|(other, _)| (other - at).abs() >= 38.0) {
            written.push((*at, format!("{h:.0}")));
        }
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    const USUAL: Outcome = Outcome { mean: 870.0, sd: 150.0, p10: 690.0, p50: 850.0, p80: 980.0, p95: 1115.0 };

    #[test]
    fn the_curve_goes_through_its_figures_and_never_turns_down() {
        let skewed = Outcome { mean: 30.0, sd: 40.0, p10: 0.0, p50: 4.0, p80: 60.0, p95: 130.0 };
        for o in [USUAL, skewed] {
            let curve = Curve::through(&o).unwrap();
            for (h, share) in [(o.p10, 0.1), (o.p50, 0.5), (o.p80, 0.8), (o.p95, 0.95)] {
                assert!((curve.below(h) - share).abs() < 1e-9, "{h}: {}", curve.below(h));
            }
            let shares: Vec<f64> = (0..2000).map(|h| curve.below(f64::from(h))).collect();
            assert!(shares.windows(2).all(|s| s[0] <= s[1]), "{o:?}");
            assert_eq!((curve.below(-1.0), curve.below(2000.0)), (0.0, 1.0));
        }
    }

    #[test]
    fn what_is_no_range_has_no_curve() {
        let all = |h| Outcome { mean: h, sd: 0.0, p10: h, p50: h, p80: h, p95: h };
        assert!(Curve::through(&all(0.0)).is_none());
        assert!(Curve::through(&all(40.0)).is_none());
        let half_nothing = Outcome { mean: 5.0, sd: 9.0, p10: 0.0, p50: 0.0, p80: 10.0, p95: 20.0 };
        let curve = Curve::through(&half_nothing).unwrap();
        assert_eq!((curve.below(0.0), curve.below(10.0)), (0.5, 0.8));
    }

    #[test]
    fn the_drawing_keeps_its_figures_apart_and_hatches_only_what_is_past() {
        let curve = Curve::through(&USUAL).unwrap();
        let drawn = curve.draw(&USUAL, Some(900.0), "says").into_string();
        assert!(drawn.contains("url(#past)") && drawn.contains("agreed 900 h"), "{drawn}");
        let far = curve.draw(&USUAL, Some(5000.0), "says").into_string();
        assert!(!far.contains("url(#past)") && far.contains("agreed 5000 h"), "{far}");
        assert!(!curve.draw(&USUAL, None, "says").into_string().contains("agreed"));
        assert_eq!(apart(&[(100.0, 1.0), (120.0, 2.0), (200.0, 3.0)]).len(), 2);
        assert_eq!([4.0, 25.0, 700.0].map(step), [1.0, 5.0, 200.0]);
    }
}
