//! Of the zones called so likely, how many were bad: dots with bars beside a diagonal, and the same figures in a table.

use job::forecast::learn::{Bin, Calibration, InBin};
use job::outlook::{Chance, in_ten};
use maud::{Markup, html};

use crate::dimension::tenths;

/// Where the drawing has its figures, px of a box of 440 by 420.
const LEFT: f64 = 62.0;
const RIGHT: f64 = 422.0;
const TOP: f64 = 16.0;
const FLOOR: f64 = 376.0;

/// The picture and its table; nothing where there are no zones.
pub(super) fn calibration(of: &Calibration) -> Markup {
    let bins: Vec<(&Bin, InBin)> = of.bins.iter().filter_map(|bin| Some((bin, bin.zones?))).collect();
    html! {
        @if !bins.is_empty() {
            figure {
                div.beside {
                    (draw(&bins))
                    table {
                        caption { "Of the zones called so likely" }
                        thead { tr { th scope="col" { "Called" } th.r scope="col" { "Zones" } th.r scope="col" { "Bad" } th scope="col" { "So truly" } } }
                        tbody {
                            @for (bin, zones) in &bins {
                                tr {
                                    th scope="row" { (called(bin)) }
                                    td.r { (zones.count) }
                                    td.r { (zones.bad) }
                                    td { (in_ten(&Chance { low: zones.low, likely: zones.share, high: zones.high })) }
                                }
                            }
                        }
                    }
                }
                figcaption { "Each dot is a group of zones: across how likely they were called, upward how many of ten were bad. On the thin line the chances are right. The bars hold nine times in ten; few zones make long bars." }
            }
        }
    }
}

/// The edges of a bin in words.
fn called(bin: &Bin) -> String {
    format!("{:.0} to {:.0} in 10", bin.from * 10.0, bin.to * 10.0)
}

fn draw(bins: &[(&Bin, InBin)]) -> Markup {
    let x = |share: f64| LEFT + (RIGHT - LEFT) * share.clamp(0.0, 1.0);
    let y = |share: f64| FLOOR - (FLOOR - TOP) * share.clamp(0.0, 1.0);
    let says: Vec<String> = bins
        .iter()
        .map(|(bin, zones)| {
            format!("called {}, {} of {} bad, {}", called(bin), zones.bad, zones.count, tenths(zones.share))
        })
        .collect();
    html! {
        svg.plot.chart viewBox="0 0 440 420" role="img" aria-label=(format!("Were the chances right: {}.", says.join("; "))) {
            @for tenth in [0.0, 0.2, 0.4, 0.6, 0.8, 1.0] {
                path.d.hair d=(format!("M{LEFT} {:.1}H{RIGHT}M{:.1} {FLOOR}v6", y(tenth), x(tenth))) {}
                text.t.end x="54" y=(format!("{:.1}", y(tenth) + 5.0)) { (format!("{:.0}", tenth * 10.0)) }
                text.t.mid x=(format!("{:.1}", x(tenth))) y="398" { (format!("{:.0}", tenth * 10.0)) }
            }
            text.t.end x=(format!("{RIGHT}")) y="417" { "called so many in 10" }
            text.t x=(format!("{}", LEFT + 6.0)) y="30" { "bad, of 10" }
            path.d.thin d=(format!("M{LEFT} {FLOOR}L{RIGHT} {TOP}")) {}
            @for (_, zones) in bins {
                @let at = x(zones.foretold);
                path.d d=(format!("M{at:.1} {:.1}V{:.1}M{:.1} {:.1}h12M{:.1} {:.1}h12", y(zones.low), y(zones.high), at - 6.0, y(zones.low), at - 6.0, y(zones.high))) {}
                circle.solid cx=(format!("{at:.1}")) cy=(format!("{:.1}", y(zones.share))) r="6" {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use job::forecast::learn::Foretold;

    use super::*;

    #[test]
    fn every_group_is_a_dot_with_its_bar_and_a_row() {
        let zones = [(0.75, true), (0.75, true), (0.75, false), (0.2, false)].map(|(p, bad)| Foretold { p, bad });
        let drawn = calibration(&Calibration::of(&zones).unwrap()).into_string();
        assert_eq!(drawn.matches("<circle").count(), 2, "{drawn}");
        // Called 7.5 of 10: three quarters of the way across; two of three bad, as high.
        assert!(drawn.contains("cx=\"332.0\" cy=\"136.0\""), "{drawn}");
        assert!(drawn.contains("7 to 8 in 10") && drawn.contains("2 of 3 bad") && !drawn.contains('%'), "{drawn}");
        assert_eq!(calibration(&Calibration::of(&[]).unwrap()).into_string(), "");
    }
}
