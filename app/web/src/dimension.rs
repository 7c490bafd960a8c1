//! A range drawn as a dimension: two end lines, a line between, a lozenge at the likely value, and the same
//! words for whoever cannot see it. Hours, chances and limits share this mark.

use job::outlook::{Chance, in_ten};
use job::question::Hours;
use maud::{Markup, html};

/// Where the scale begins and how long it is, in px of the drawing.
const LEFT: f64 = 10.0;
const WIDTH: f64 = 300.0;

/// The range of one mark as places between 0 and 1.
struct Mark {
    low: f64,
    likely: f64,
    high: f64,
    limit: Option<f64>,
    /// Where it stood before.
    before: Option<f64>,
    /// What the scale is divided into.
    parts: u32,
    /// The words at its ends.
    ends: [String; 2],
    /// What it says.
    says: String,
}

/// Hours on a scale from nothing to `scale_h`; a limit is a heavy upright with upright lines past it.
pub(crate) fn hours(hours: Hours, scale_h: f64, limit_h: Option<f64>) -> Markup {
    let at = |h: f64| h / scale_h.max(1.0);
    let limit = limit_h.map_or(String::new(), |h| format!("; limit {h:.0}"));
    let mark = Mark {
        low: at(hours.low),
        likely: at(hours.likely),
        high: at(hours.high),
        limit: limit_h.map(at),
        before: None,
        parts: 5,
        ends: ["0".into(), format!("{scale_h:.0} h")],
        says: format!("{}{limit}", hours.say()),
    };
    mark.draw()
}

/// A chance on a scale from none to all of ten such zones.
pub(crate) fn chance(chance: &Chance) -> Markup {
    on_ten(chance, None, in_ten(chance))
}

/// A chance that moves: the range is the one after, a hollow lozenge where it stood before.
pub(crate) fn moved(before: &Chance, after: &Chance) -> Markup {
    on_ten(after, Some(before.likely), format!("before {}, then {}", in_ten(before), in_ten(after)))
}

/// A share that was learned; a hollow lozenge at the starting guess.
pub(crate) fn learned(start: f64, now: &Chance) -> Markup {
    on_ten(now, Some(start), format!("starting guess {}, now {}", tenths(start), in_ten(now)))
}

/// One share as so many in ten: "about 3 in 10".
pub(crate) fn tenths(share: f64) -> String {
    match (share * 10.0).round() {
        n if n < 1.0 => "under 1 in 10".into(),
        n if n > 9.0 => "over 9 in 10".into(),
        n => format!("about {n:.0} in 10"),
    }
}

fn on_ten(chance: &Chance, before: Option<f64>, says: String) -> Markup {
    let mark = Mark {
        low: chance.low,
        likely: chance.likely,
        high: chance.high,
        limit: None,
        before,
        parts: 10,
        ends: ["none of 10".into(), "all 10".into()],
        says,
    };
    mark.draw()
}

/// The right end of a scale that holds these hours: 5, 10, 20, 30, 50 and so on.
pub(crate) fn scale(most_h: f64) -> f64 {
    let steps = [5.0, 10.0, 20.0, 30.0, 50.0, 80.0];
    let tens = std::iter::successors(Some(1.0), |tens| Some(tens * 10.0)).take(6);
    let all = tens.flat_map(|tens| steps.map(|step| step * tens));
    all.filter(|end| *end >= most_h).fold(f64::INFINITY, f64::min).min(8_000_000.0)
}

impl Mark {
    fn draw(&self) -> Markup {
        let at = |share: f64| LEFT + WIDTH * share.clamp(0.0, 1.0);
        let (low, likely, high) = (at(self.low), at(self.likely), at(self.high));
        let limit = self.limit.map(at);
        let step = WIDTH / f64::from(self.parts);
        let ticks: String = (0..=self.parts).map(|i| format!("M{:.0} 22V30", LEFT + step * f64::from(i))).collect();
        html! {
            svg.plot.dim viewBox="0 0 320 46" role="img" aria-label=(self.says) {
                @if let Some(limit) = limit && limit < high {
                    rect x=(format!("{limit:.1}")) y="3" width=(format!("{:.1}", high - limit)) height="20" fill="url(#past)" {}
                }
                path.d.hair d={ "M10 26H310" (ticks) } {}
                @if let Some(before) = self.before.map(at) { path.was d=(format!("M{before:.1} 3l8 10l-8 10l-8-10Z")) {} }
                path.d.cut d=(format!("M{low:.1} 13H{high:.1}")) {}
                path.d d=(format!("M{low:.1} 4V26M{high:.1} 4V26")) {}
                path.solid d=(format!("M{likely:.1} 3l8 10l-8 10l-8-10Z")) {}
                @if let Some(limit) = limit { path.d.cut d=(format!("M{limit:.1} 0V33")) {} }
                text.t x="8" y="44" { (self.ends[0]) }
                text.t.end x="314" y="44" { (self.ends[1]) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dimension_never_leaves_its_scale() {
        let drawn = hours(Hours { low: 0.0, likely: 900.0, high: 9000.0 }, 500.0, Some(4.0)).into_string();
        assert!(drawn.contains("M10.0 13H310.0") && drawn.contains("M310.0 3l8"), "{drawn}");
        assert!(drawn.contains("limit 4") && drawn.contains("url(#past)"), "{drawn}");
        let within = hours(Hours { low: 1.0, likely: 2.0, high: 3.0 }, 5.0, Some(4.0)).into_string();
        assert!(!within.contains("url(#past)"), "nothing lies past the limit: {within}");
    }

    #[test]
    fn a_chance_is_said_and_drawn_in_tens() {
        let drawn = chance(&Chance { low: 0.57, likely: 0.77, high: 0.89 }).into_string();
        assert!(drawn.contains("6 to 9 in 10") && drawn.contains("M181.0 13H277.0"), "{drawn}");
        assert!(!drawn.contains('%'));
    }

    #[test]
    fn a_chance_that_moved_shows_where_it_stood_as_a_hollow_lozenge() {
        let (before, after) =
            (Chance { low: 0.5, likely: 0.7, high: 0.85 }, Chance { low: 0.1, likely: 0.2, high: 0.3 });
        let drawn = moved(&before, &after).into_string();
        assert!(
            drawn.contains("before 5 in 10 or more, then") || drawn.contains("before 5 to 9 in 10, then"),
            "{drawn}"
        );
        assert!(
            drawn.contains("class=\"was\" d=\"M220.0 3l8") && drawn.contains("class=\"solid\" d=\"M70.0"),
            "{drawn}"
        );
        let drawn = learned(0.3, &after).into_string();
        assert!(drawn.contains("starting guess about 3 in 10, now 1 to 3 in 10") && !drawn.contains('%'), "{drawn}");
        assert_eq!([0.34, 0.0, 1.0].map(tenths), ["about 3 in 10", "under 1 in 10", "over 9 in 10"]);
    }

    #[test]
    fn a_scale_holds_what_is_drawn_on_it() {
        assert_eq!([0.0, 5.0, 5.1, 31.0, 81.0, 690.0, 1115.0].map(scale), [5.0, 5.0, 10.0, 50.0, 100.0, 800.0, 2000.0]);
        assert!(scale(f64::INFINITY).is_finite());
    }
}
