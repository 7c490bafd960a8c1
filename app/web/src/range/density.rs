//! How the hours of a shell are spread: as many as were drawn, over the hours.

use job::outlook::Outcome;
use maud::{Markup, html};

/// Where the drawing has its figures, px of a box of 440 by 300.
const LEFT: f64 = 14.0;
const RIGHT: f64 = 426.0;
const TOP: f64 = 88.0;
const FLOOR: f64 = 242.0;
/// Ends with less than this of all draws in them are left off: they would make the rest small.
const THIN: f64 = 0.002;

/// The hours agreed, and how many of them are worked.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    pub(super) agreed_h: f64,
    pub(super) worked_h: f64,
}

impl Limit {
    /// Hours left of those agreed: the drawing is of what is still to do.
    fn left_h(self) -> f64 {
        self.agreed_h - self.worked_h
    }

    fn words(self) -> String {
        let left = format!("agreed {:.0} h", self.agreed_h);
        if self.worked_h > 0.0 { format!("{left}, {:.0} left", self.left_h().max(0.0)) } else { left }
    }
}

/// The middle of each bin and the share of draws in it, with a corner on the floor at either end.
#[derive(Debug)]
pub(super) struct Density {
    corners: Vec<(f64, f64)>,
    most: f64,
}

impl Density {
    /// `None` where nothing varies.
    pub(super) fn of(bins: &[(f64, f64)]) -> Option<Self> {
        let bins = without_thin_ends(bins);
        let [(first, _), (second, _), ..] = bins else { return None };
        let (width, last) = (second - first, bins.last()?.0);
        let most = bins.iter().map(|(_, share)| *share).fold(0.0, f64::max);
        if !(width > 0.0 && most > 0.0) {
            return None;
        }
        let start = ((first - width).max(0.0).min(*first), 0.0);
        let corners = std::iter::once(start).chain(bins.iter().copied()).chain([(last + width, 0.0)]).collect();
        Some(Self { corners, most })
    }

    /// How high the line stands at so many hours.
    fn at(&self, h: f64) -> f64 {
        let span = self.corners.windows(2).find(|c| (c[0].0..=c[1].0).contains(&h));
        span.map_or(0.0, |c| {
            let (from, to) = (c[0], c[1]);
            let along = if to.0 > from.0 { (h - from.0) / (to.0 - from.0) } else { 0.0 };
            from.1 + (to.1 - from.1) * along
        })
    }

    fn ends(&self) -> (f64, f64) {
        let first = self.corners.first().map_or(0.0, |c| c.0);
        (first, self.corners.last().map_or(first, |c| c.0))
    }

    /// The line, four figures as a dimension above it, and what was agreed as an upright with what lies past it hatched.
    pub(super) fn draw(&self, o: &Outcome, limit: Option<Limit>, says: &str) -> Markup {
        let (start, end) = self.ends();
        let left_h = limit.map(Limit::left_h);
        let (low, high) = (start.min(left_h.unwrap_or(start).max(0.0)), end.max(left_h.unwrap_or(end)));
        let step = step(high - low);
        let (axis0, axis1) = ((low / step).floor() * step, (high / step).ceil() * step);
        let x = |h: f64| LEFT + (RIGHT - LEFT) * ((h - axis0) / (axis1 - axis0)).clamp(0.0, 1.0);
        let y = |share: f64| FLOOR - (FLOOR - TOP) * share / self.most;
        let line = |from: f64| -> String {
            let corners = self.corners.iter().filter(|(h, _)| *h > from);
            corners.map(|(h, share)| format!("L{:.1} {:.1}", x(*h), y(*share))).collect()
        };
        let ticks = std::iter::successors(Some(axis0), |t| Some(t + step)).take_while(|t| *t <= axis1).take(20);
        let [p10, p50, p80, p95] = [o.p10, o.p50, o.p80, o.p95].map(x);
        html! {
            svg.plot.chart viewBox="0 0 440 300" role="img" aria-label=(says) {
                @if let Some(left_h) = left_h.filter(|left_h| *left_h < end) {
                    @let from = left_h.max(start);
                    path d=(format!("M{:.1} {FLOOR}L{:.1} {:.1}{}Z", x(from), x(from), y(self.at(from)), line(from))) fill="url(#past)" {}
                }
                path.d d=(format!("M{:.1} {FLOOR}{}", x(start), line(start))) {}
                path.d.thin d=(format!("M{LEFT} {FLOOR}H{RIGHT}")) {}
                @for tick in ticks {
                    path.d.hair d=(format!("M{:.1} {FLOOR}v7", x(tick))) {}
                    text.t.mid x=(format!("{:.1}", x(tick).clamp(22.0, 418.0))) y="267" { (format!("{tick:.0}")) }
                }
                text.t.end x="426" y="292" { "hours of metal work still to do" }
                path.d.cut d=(format!("M{p10:.1} 33H{p80:.1}")) {}
                path.d.thin d=(format!("M{p80:.1} 33H{p95:.1}")) {}
                path.d d=(format!("M{p10:.1} 21V45M{p80:.1} 26V40M{p95:.1} 21V45")) {}
                path.solid d=(format!("M{p50:.1} 22l9 11-9 11-9-11Z")) {}
                @for (at, words) in apart(&[(p50, o.p50), (p10, o.p10), (p95, o.p95), (p80, o.p80)]) {
                    text.t.mid x=(format!("{at:.1}")) y="14" { (words) }
                }
                @if let Some(limit) = limit {
                    @let at = x(limit.left_h());
                    path.d.cut d=(format!("M{at:.1} 50V254")) {}
                    @if at > 250.0 { text.t.b.end.clear x=(format!("{:.1}", at - 8.0)) y="70" { (limit.words()) } }
                    @else { text.t.b.clear x=(format!("{:.1}", at + 8.0)) y="70" { (limit.words()) } }
                }
            }
        }
    }
}

/// The bins without those at either end that hold next to nothing.
fn without_thin_ends(bins: &[(f64, f64)]) -> &[(f64, f64)] {
    let thin = |bins: &mut dyn Iterator<Item = &(f64, f64)>| {
        let mut sum = 0.0;
        bins.take_while(|(_, share)| {
            sum += share;
            sum < THIN
        })
        .count()
    };
    let (low, high) = (thin(&mut bins.iter()), thin(&mut bins.iter().rev()));
    bins.get(low..bins.len().saturating_sub(high)).unwrap_or(bins)
}

/// A step that gives an axis of this length about five marks.
pub(super) fn step(length_h: f64) -> f64 {
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
    const BINS: [(f64, f64); 6] =
        [(550.0, 0.05), (650.0, 0.15), (750.0, 0.3), (850.0, 0.25), (950.0, 0.15), (1050.0, 0.1)];

    #[test]
    fn the_line_goes_through_every_bin_and_ends_on_the_floor() {
        let density = Density::of(&BINS).unwrap();
        for (h, share) in BINS {
            assert!((density.at(h) - share).abs() < 1e-12, "{h}");
        }
        assert_eq!((density.ends(), density.at(450.0), density.at(1150.0)), ((450.0, 1150.0), 0.0, 0.0));
        assert!((density.at(800.0) - 0.275).abs() < 1e-12 && density.at(2000.0) == 0.0);
        let thin =
            [&[(150.0, 0.0005), (250.0, 0.0), (350.0, 0.0), (450.0, 0.001)], &BINS[..], &[(1150.0, 0.001)]].concat();
        assert_eq!(Density::of(&thin).unwrap().ends(), density.ends(), "thin ends are left off");
        // Below nothing there are no hours.
        assert_eq!(Density::of(&[(1.0, 0.5), (3.0, 0.5)]).unwrap().ends(), (0.0, 5.0));
    }

    #[test]
    fn what_does_not_vary_is_not_drawn() {
        assert!(Density::of(&[]).is_none());
        assert!(Density::of(&[(40.0, 1.0)]).is_none());
    }

    #[test]
    fn the_drawing_hatches_only_what_is_past_and_takes_off_what_was_worked() {
        let density = Density::of(&BINS).unwrap();
        let limit = |agreed_h, worked_h| Some(Limit { agreed_h, worked_h });
        let drawn = density.draw(&USUAL, limit(900.0, 0.0), "says").into_string();
        assert!(drawn.contains("url(#past)") && drawn.contains("agreed 900 h<"), "{drawn}");
        let worked = density.draw(&USUAL, limit(900.0, 100.0), "says").into_string();
        assert!(worked.contains("agreed 900 h, 800 left") && worked != drawn, "{worked}");
        let far = density.draw(&USUAL, limit(5000.0, 0.0), "says").into_string();
        assert!(!far.contains("url(#past)") && far.contains("agreed 5000 h"), "{far}");
        let over = density.draw(&USUAL, limit(100.0, 400.0), "says").into_string();
        assert!(over.contains("url(#past)") && over.contains("0 left"), "{over}");
        assert!(!density.draw(&USUAL, None, "says").into_string().contains("agreed"));
        assert_eq!(apart(&[(100.0, 1.0), (120.0, 2.0), (200.0, 3.0)]).len(), 2);
        assert_eq!([4.0, 25.0, 700.0].map(step), [1.0, 5.0, 200.0]);
    }
}
