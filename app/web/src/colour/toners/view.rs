//! A shelf as it is looked at: each toner from face to flop, how well it fits, what to look at again, what to
//! spray next. The figures are the calibration's own, as they stand in the toner file.

use job::colour::{Bench, Illuminant, Mix, Part as Dose, Shelf};
use job::shelf_file::{Learned, ShelfFile, ToSpray, TonerKnown};
use maud::{Markup, html};

use crate::colour::swatches::{CAUTION, as_measured, near, one_place, shown};
use crate::fault::sentence;
use crate::shell::upper;

/// The film at which a toner is shown by itself, in um.
const MASSTONE_UM: f64 = 40.0;

/// How near the toners of a file come to their panels, in words.
pub(crate) fn fit_words(file: &ShelfFile) -> String {
    let toners = file.shelf.toners().len();
    match &file.learned {
        Some(from) => format!(
            "{toners} toners learned from {} panels, and within {} of them on average: {}.",
            from.count,
            one_place(from.mean_de00),
            near(from.mean_de00)
        ),
        None => format!("{toners} toners; how well they are known is not said."),
    }
}

/// Every toner of a shelf from face to flop, with how well it is known, and what is doubtful.
pub(crate) fn shelf_view(file: &ShelfFile, doubts: &[String]) -> Markup {
    let shelf = &file.shelf;
    let middle = middle_grey(shelf);
    let primer = shelf.substrates().get(middle).map_or("", |primer| primer.name.as_str());
    let bench = Bench::new(shelf);
    let known = file.learned.as_ref().filter(|from| !from.by_toner.is_empty());
    html! {
        section {
            h2 { "From face to flop" }
            p { "Each toner by itself, as much as a film holds of it, " (MASSTONE_UM) " \u{b5}m over " (primer) ", overcast day. From left: \u{2212}15\u{b0}, 15\u{b0} face, 25\u{b0}, 45\u{b0} flash, 75\u{b0}, 110\u{b0} flop." }
            @if known.is_some() { p { "Below each: the panels it stands on, and how far they are from what it is now taken to be: CIEDE2000, mean over the angles." } }
            ul.toners {
                @for (place, toner) in shelf.toners().iter().enumerate() {
                    li {
                        h3 { (toner.name) ", " (toner.kind.word()) }
                        (masstone(&bench, place, toner.max_fraction, middle, &toner.name))
                        @if let Some(fit) = known.and_then(|from| from.by_toner.iter().find(|fit| fit.name == toner.name)) { (one_fit(fit)) }
                    }
                }
            }
            p.small { (CAUTION) }
        }
        @match known {
            Some(from) => { (worst(from)) (next(from)) }
            None => section {
                h2 { "How well each toner is known" }
                p { "Not known: the toner file does not say how well each toner fits its panels, nor which panel to spray next. Toners that are learned from their panels here say so." }
            }
        }
        @if !doubts.is_empty() {
            section { h2 { "Doubtful" } ul.plain-list { @for doubt in doubts { li { (sentence(doubt)) } } } }
        }
    }
}

fn one_fit(fit: &TonerKnown) -> Markup {
    html! {
        p.small { (count(fit.panels, "panel")) ", " b.num { (one_place(fit.mean_de00)) } ": " (fits(fit.mean_de00)) }
        @for doubt in &fit.doubts { p.small { (sentence(doubt)) } }
    }
}

fn worst(from: &Learned) -> Markup {
    html! {
        @if !from.worst.is_empty() {
            section {
                h2 { "Panels that disagree most" }
                p { "Between the panel and the toners as learned, allowing for what gauge and gun usually miss: CIEDE2000, mean over the angles. Where one is far above the others, look at this panel again: measured wrongly, or sprayed otherwise than written." }
                ul.rows {
                    @for odd in &from.worst { li { b { (odd.panel) } span.num { (one_place(odd.mean_de00)) } } }
                }
            }
        }
    }
}

fn next(from: &Learned) -> Markup {
    html! {
        section {
            h2 { "Spray next" }
            @if from.next.is_empty() {
                p { "Not known: the toner file names no panel." }
            } @else {
                p { "These panels would teach most, the first of them the most. Amounts are dry matter in 100 g of dry film; of a tin that is not dry matter alone, pour more." }
                ul.rows {
                    @for panel in &from.next {
                        li { div {
                            b { (upper(&panel.toner)) ", " (panel.words) }
                            p { (recipe(panel)) }
                            p.small { "Why: how it looks is known to about " b.num { (one_place(panel.unsure)) } " in lightness only." }
                        } }
                    }
                }
            }
        }
    }
}

/// "18 g leaf blue and 82 g binder, 25 um over black".
fn recipe(panel: &ToSpray) -> String {
    let mut parts: Vec<(&str, f64)> = panel.fractions.iter().map(|(toner, part)| (toner.as_str(), *part)).collect();
    // The toner that it is about stands first.
    parts.sort_by_key(|(toner, _)| *toner != panel.toner);
    let load: f64 = parts.iter().map(|(_, part)| part).sum();
    let toners: Vec<String> = parts.iter().map(|(toner, part)| format!("{} {toner}", grams(*part))).collect();
    format!(
        "{} and {} binder, {:.0} \u{b5}m over {}.",
        toners.join(", "),
        grams((1.0 - load).max(0.0)),
        panel.film_um,
        panel.primer
    )
}

/// A mass fraction as g in 100 g, with as many places as somebody weighs.
fn grams(fraction: f64) -> String {
    match 100.0 * fraction {
        g if g < 1.0 => format!("{g:.2} g"),
        g => format!("{g:.1} g"),
    }
}

/// How well a toner fits its panels, by the mean difference over them (our choice).
fn fits(mean: f64) -> &'static str {
    match mean {
        m if m < 1.0 => "fits them well",
        m if m < 2.0 => "fits them fairly",
        _ => "fits them poorly; look at them again, or spray more",
    }
}

fn count(n: u32, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// The primer of middling lightness.
fn middle_grey(shelf: &Shelf) -> usize {
    let mut by_lightness: Vec<(usize, f64)> = shelf
        .substrates()
        .iter()
        .enumerate()
        .map(|(place, primer)| (place, primer.reflectance.values().iter().sum::<f64>()))
        .collect();
    by_lightness.sort_by(|a, b| a.1.total_cmp(&b.1));
    by_lightness.get(by_lightness.len() / 2).map_or(0, |(place, _)| *place)
}

fn masstone(bench: &Bench, toner: usize, fraction: f64, substrate: usize, name: &str) -> Markup {
    let mix = Mix { parts: vec![Dose { toner, fraction }], film_um: MASSTONE_UM, substrate };
    let seen = as_measured(&bench.predict(&mix));
    html! {
        @match seen {
            Some(paint) => svg.swatch viewBox="0 0 240 40" shape-rendering="crispEdges" role="img" aria-label={ (name) ", from face to flop" } {
                @for (n, (_, spectrum)) in paint.by_angle().iter().enumerate() {
                    rect x=(n * 40) width="40" height="40" fill=(shown(spectrum, Illuminant::D65).0) {}
                }
            },
            None => p.small { "It cannot be predicted." },
        }
    }
}
