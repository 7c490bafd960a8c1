//! Paints as swatches: one paint by angle, and two as pairs that touch, each light a row.

use job::colour::{Geometry, Illuminant, Measurement, Observer, Prediction, Spectrum, swatch, tristimulus};
use maud::{Markup, html};

/// The observer for every figure on the Colour pages.
pub(crate) const OBSERVER: Observer = Observer::Deg10;

/// What stands below every picture of a paint.
pub(crate) const CAUTION: &str = "Not a proof: spray a card. Texture is not shown.";

/// A light in the shop's words, and its name in the standards.
pub(crate) fn light_words(light: Illuminant) -> (&'static str, &'static str) {
    match light {
        Illuminant::D65 => ("Overcast day", "D65"),
        Illuminant::A => ("Filament lamp", "A"),
        Illuminant::Fl11 => ("Shop tube", "FL11"),
    }
}

/// The nearest screen colour of a spectrum, and whether the screen cannot show it.
pub(crate) fn shown(spectrum: &Spectrum, light: Illuminant) -> (String, bool) {
    let swatch = swatch(tristimulus(spectrum, light, OBSERVER), light, OBSERVER);
    (swatch.hex(), swatch.outside_screen)
}

/// A prediction as a measurement would be; nothing where it is none.
pub(crate) fn as_measured(predicted: &Prediction) -> Option<Measurement> {
    let spectrum = |row: &[f64; 31]| Spectrum::new(row.map(|value| value.max(0.0))).ok();
    let angles: Option<Vec<_>> =
        Geometry::ALL.into_iter().zip(predicted).map(|(geometry, row)| Some((geometry, spectrum(row)?))).collect();
    Measurement::new(angles?).ok()
}

/// An angle in figures, such as `15°`, with a true minus.
pub(crate) fn degrees(geometry: Geometry) -> String {
    let angle = geometry.aspecular_deg();
    let minus = if angle < 0 { "\u{2212}" } else { "" };
    format!("{minus}{}\u{b0}", angle.abs())
}

/// The angle, and its word where the paint is known by it.
fn under(geometry: Geometry) -> Markup {
    let named = matches!(geometry, Geometry::As15 | Geometry::As45 | Geometry::As110);
    html! { (degrees(geometry)) @if named { br; (geometry.word()) } }
}

/// One paint by angle: a row of swatches under each light.
pub(crate) fn single(paint: &Measurement) -> Markup {
    html! { @for light in Illuminant::ALL { (one_light(light, strip(paint, light))) } }
}

/// One paint by angle under one light: swatches from face to flop.
pub(crate) fn strip(paint: &Measurement, light: Illuminant) -> Markup {
    let (words, _) = light_words(light);
    html! {
        ul.pair {
            @for (geometry, spectrum) in paint.by_angle() {
                @let (hex, outside) = shown(spectrum, light);
                li {
                    svg.swatch viewBox="0 0 84 108" shape-rendering="crispEdges" role="img" aria-label={ (words) ", " (degrees(*geometry)) } {
                        rect width="84" height="108" fill=(hex) {}
                    }
                    (under(*geometry))
                    @if outside { br; span.small { "past the screen" } }
                }
            }
        }
    }
}

/// Two paints side by side at every angle that both have: a row of split pairs under each light, the difference
/// first below each. `names` are those of the left and the right half.
pub(crate) fn pairs(left: &Measurement, right: &Measurement, names: [&str; 2]) -> Markup {
    html! {
        @if !left.by_angle().iter().any(|(geometry, _)| right.at(*geometry).is_some()) {
            p.note.stop { "The two were measured at different angles, so they cannot be compared." }
        } @else {
            @for light in Illuminant::ALL { (one_light(light, split(left, right, names, light))) }
        }
    }
}

/// Two paints as split pairs under one light.
pub(crate) fn split(left: &Measurement, right: &Measurement, names: [&str; 2], light: Illuminant) -> Markup {
    let (words, _) = light_words(light);
    let [one, other] = names;
    html! {
        ul.pair {
            @for (geometry, d) in left.differences(right, light, OBSERVER) {
                @if let (Some(a), Some(b)) = (left.at(geometry), right.at(geometry)) {
                    li {
                        svg.swatch viewBox="0 0 84 108" shape-rendering="crispEdges" role="img"
                            aria-label={ (words) ", " (degrees(geometry)) ": " (one) " left, " (other) " right, difference " (one_place(d.de00)) } {
                            rect width="42" height="108" fill=(shown(a, light).0) {}
                            rect x="42" width="42" height="108" fill=(shown(b, light).0) {}
                        }
                        b { (one_place(d.de00)) } br; (under(geometry))
                    }
                }
            }
        }
    }
}

fn one_light(light: Illuminant, row: Markup) -> Markup {
    let (words, name) = light_words(light);
    html! { section.light { h3 { (words) " " span.small { (name) } } (row) } }
}

/// How the figures below pairs are read.
pub(crate) fn reading() -> Markup {
    html! {
        p.small { "Number under each pair: CIEDE2000 difference. Side by side on one panel under 0.5 is not seen; on neighbouring panels a solid passes at 0.8 and a flake at about 1 to 1.5 (common practice, no source). " (CAUTION) }
    }
}

/// A difference in words, on the scale that [`reading`] explains.
pub(crate) fn near(de00: f64) -> &'static str {
    match de00 {
        d if d < 0.5 => "not seen side by side",
        d if d < 0.8 => "hardly seen on neighbouring panels",
        d if d < 1.5 => "passes for a flake, not for a solid",
        d if d < 3.0 => "seen on neighbouring panels",
        _ => "another colour",
    }
}

/// A figure to one place.
pub(crate) fn one_place(value: f64) -> String {
    format!("{value:.1}")
}
