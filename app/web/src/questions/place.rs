//! The place of a question on the outline: the whole car, calm, with numbered places and nothing else.

use job::body::{Body, View};
use job::car::{Car, ZoneState};
use job::validate::{body, instance};
use maud::{Markup, html};

use crate::drawing;

/// The view that shows most of what is asked about; a section through the sill means little to most people.
fn best<'a>(body: &'a Body, zones: &[String]) -> Option<&'a View> {
    let shows = |view: &View| zones.iter().filter(|z| view.patch(z).is_some()).count();
    let area = |view: &View| zones.iter().filter_map(|z| view.patch(z)).map(|p| p.area_px2).sum::<f64>();
    let mut views: Vec<&View> = body.views().iter().filter(|v| shows(v) > 0).collect();
    views.sort_by(|a, b| {
        let section = |v: &View| v.id == "section";
        (section(a).cmp(&section(b))).then(shows(b).cmp(&shows(a))).then(area(b).total_cmp(&area(a)))
    });
    views.first().copied()
}

/// The drawing with its numbers, and the names that the numbers stand for.
pub(crate) fn figure(car: &Car, zones: &[String]) -> Markup {
    let Some(view) = body(&car.details).and_then(|body| best(body, zones)) else { return html! {} };
    let named: Vec<_> = zones
        .iter()
        .enumerate()
        .filter_map(|(n, id)| Some((n + 1, instance(&car.details, id)?.name(), view.patch(id).map(|p| p.anchor))))
        .collect();
    let say = named.iter().map(|(n, name, _)| format!("{n} {name}")).collect::<Vec<_>>().join("; ");
    let balls = balls(view, &named.iter().filter_map(|(n, _, at)| Some((*n, (*at)?))).collect::<Vec<_>>());
    html! {
        figure.place-of {
            svg.plot viewBox=(format!("0 0 {:.0} {:.0}", view.width, view.height)) role="img" aria-label={ (view.caption) ": " (say) } {
                @for stroke in view.under() { path.d.hair d=(stroke.d) {} }
                @for stroke in view.over() { path.d.thin[stroke.weight < 3] d=(stroke.d) {} }
                @for id in zones {
                    @if let Some(patch) = view.patch(id) {
                        @let (class, fill) = drawing::look(shown(car.state(id)));
                        g.z.on.bad[class == "bad"].none[class == "none"] { path d=(patch.d) fill=[fill] fill-rule="evenodd" {} }
                    }
                }
                @for ball in &balls {
                    @let ((x, y), (u, v)) = (ball.place, ball.centre);
                    path.d.thin d=(format!("M{x:.1} {y:.1}L{u:.1} {v:.1}")) {}
                    circle.solid cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="5" {}
                }
                @for Ball { number, centre: (u, v), .. } in &balls {
                    circle.zs.clear cx=(format!("{u:.1}")) cy=(format!("{v:.1}")) r=(RADIUS) {}
                    text.t.b.mid.num x=(format!("{u:.1}")) y=(format!("{:.1}", v + 14.0)) { (number) }
                }
            }
            figcaption { (view.caption) ". " (say) "." }
        }
    }
}

/// Radius of a numbered ball, px: at the width of a phone its number is still read at arm's length.
const RADIUS: f64 = 34.0;

/// A number beside its place, joined to it by a line.
struct Ball {
    number: usize,
    place: (f64, f64),
    centre: (f64, f64),
}

/// Balls near their places, clear of each other and of the places, as far as there is room.
fn balls(view: &View, places: &[(usize, (f64, f64))]) -> Vec<Ball> {
    let (mut balls, diagonal): (Vec<Ball>, f64) = (Vec::new(), 0.7);
    let ways = [
        (0.0, 1.0),
        (0.0, -1.0),
        (1.0, 0.0),
        (-1.0, 0.0),
        (diagonal, diagonal),
        (-diagonal, diagonal),
        (diagonal, -diagonal),
        (-diagonal, -diagonal),
    ];
    for (number, place) in places {
        let far = [74.0, 120.0, 170.0, 230.0];
        let all = far.iter().flat_map(|far| ways.map(|(u, v)| (place.0 + u * far, place.1 + v * far)));
        let inside = |(x, y): &(f64, f64)| {
            (RADIUS..=view.width - RADIUS).contains(x) && (RADIUS..=view.height - RADIUS).contains(y)
        };
        let apart = |a: (f64, f64), b: (f64, f64), least: f64| (a.0 - b.0).abs().max((a.1 - b.1).abs()) >= least;
        let clear = |at: &(f64, f64)| {
            balls.iter().all(|ball| apart(*at, ball.centre, RADIUS * 2.2))
                && places.iter().all(|(_, place)| apart(*at, *place, RADIUS * 1.2))
        };
        let centre = all.filter(inside).find(clear).unwrap_or((place.0, place.1 + 74.0));
        balls.push(Ball { number: *number, place: *place, centre });
    }
    balls
}

/// A place that was made good since would be drawn solid and hide the outline; here it is only a place.
fn shown(state: ZoneState) -> ZoneState {
    if state == ZoneState::MadeGood { ZoneState::Clear } else { state }
}
