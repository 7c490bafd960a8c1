//! How far cards are from each other: batches months apart, a keep-sample sprayed again, any two cards.

use job::car::{Car, Entry};
use job::colour::Illuminant;
use job::colour::card::{CardError, Drift, drift};
use job::mixing::Carded;
use job::paintwork::{self, engine};
use maud::{Markup, html};

use crate::colour::swatches;
use crate::fault::{Fault, sentence};
use crate::layout::when;
use crate::link;
use crate::state::App;
use crate::typed::Typed;

/// Pairs of cards that are drawn; older ones are said in words alone.
const DRAWN: usize = 3;
/// Pairs of cards that are shown at all.
const MOST: usize = 40;

/// Every later card against the one it is held against, the latest first.
pub(super) fn drifts(app: &App, car: &Car) -> Markup {
    let mut all = engine::drifts(car);
    all.sort_by_key(|drifted| std::cmp::Reverse(drifted.cards.later.0.seq));
    html! {
        @if !all.is_empty() {
            section #drift {
                h2 { "Drift" }
                p.small { "Each later card of a recipe against its sealed master card, or else against its first." }
                @for (n, drifted) in all.iter().take(MOST).enumerate() {
                    @let (reference, later) = (drifted.cards.reference, drifted.cards.later);
                    div.entry {
                        h3 { (later.1.name) ", " (when(app, later.0.when())) (from(car, later.1)) " against " (reference.1.name) ", " (when(app, reference.0.when())) (from(car, reference.1)) }
                        (words(&drifted.drift))
                        @if n < DRAWN { (swatches_of(reference.1, later.1)) }
                        @else { p.small { a.touch href={ (link::colour(car.id, "batches")) "?a=" (reference.0.seq) "&b=" (later.0.seq) "#beside" } { "Side by side" } } }
                    }
                }
                @if all.len() > MOST { p.small { "Older pairs are left out; choose any two cards below." } }
            }
        }
    }
}

/// The batch that a card was sprayed from, in words.
fn from(car: &Car, card: &Carded) -> String {
    let batch = card.batch.and_then(|id| car.standing(id)).map(|entry| entry.seq);
    let known = |seq| paintwork::batches(car).iter().find(|b| b.entry.seq == seq).map(|b| b.number);
    batch.and_then(known).map_or_else(String::new, |number| format!(", batch {number}"))
}

fn words(drift: &Result<Drift, CardError>) -> Markup {
    html! {
        @match drift {
            Ok(drift) => {
                @if let Some((verdict, angles)) = drift.words.split_first() {
                    p { b { (sentence(verdict)) } }
                    @if !angles.is_empty() { ul.plain-list { @for words in angles { li { (sentence(words)) } } } }
                }
            }
            Err(e) => p.note { (sentence(&e.to_string())) },
        }
    }
}

fn swatches_of(one: &Carded, other: &Carded) -> Markup {
    html! {
        @if let (Ok(left), Ok(right)) = (engine::carded(one), engine::carded(other)) {
            section.light {
                h3 { (one.name) " left, " (other.name) " right, overcast day" }
                (swatches::split(&left, &right, [&one.name, &other.name], Illuminant::D65))
            }
        }
    }
}

/// Any two cards of the car, chosen.
pub(super) fn two(car: &Car, typed: &Typed) -> Result<Markup, Fault> {
    let cards = paintwork::cards(car);
    if cards.len() < 2 {
        return Ok(html! {});
    }
    let find = |name: &str| match typed.get(name) {
        "" => Ok(None),
        text => {
            let seq: u64 = text.parse().map_err(|_| Fault::NotFound("card"))?;
            cards.iter().find(|(entry, _)| entry.seq == seq).map(Some).ok_or(Fault::NotFound("card"))
        }
    };
    let (one, other) = (find("a")?, find("b")?);
    let select = |name: &'static str, label: &str, picked: Option<&(&Entry, &Carded)>| {
        html! {
            div.field {
                label for=(name) { (label) }
                select id=(name) name=(name) {
                    @for (entry, card) in &cards { option value=(entry.seq) selected[picked.is_some_and(|(p, _)| p.seq == entry.seq)] { (card.name) ", entry " (entry.seq) } }
                }
            }
        }
    };
    Ok(html! {
        section #beside {
            h2 { "Any two cards" }
            form.row.filters.tray.no-print action={ (link::colour(car.id, "batches")) "#beside" } {
                (select("a", "Card", one.or(cards.first())))
                (select("b", "against", other.or(cards.last())))
                button.main { "Show" }
            }
            @if let (Some((_, left)), Some((_, right))) = (one, other) {
                @match (engine::carded(left), engine::carded(right)) {
                    (Ok(before), Ok(after)) => {
                        (words(&drift(&before, &after)))
                        (swatches::pairs(&before, &after, [&left.name, &right.name]))
                        (swatches::reading())
                    }
                    _ => p.note { "One of the two cannot be read." },
                }
            }
        }
    })
}
