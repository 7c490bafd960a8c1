//! Whether a recipe belongs on a car of its age, in words: advice, never a refusal.

use job::catalogue::{Catalogue, Confidence};
use job::era::{self, Era, Was};
use job::shelf_file::ShelfFile;
use maud::{Markup, html};

use super::found::listed;
use crate::fault::sentence;

/// What is said of a recipe in the car's year, as part of a page. `level` is that of the heading.
pub(crate) fn block(era: &Era) -> Markup {
    html! {
        section {
            h2 { "Would it have looked right in " (era.year) "?" }
            (notes(era))
        }
    }
}

/// The same without a heading, for a page that holds several recipes.
pub(crate) fn notes(era: &Era) -> Markup {
    let there: Vec<_> = era.notes.iter().filter(|note| note.what == Was::There).collect();
    html! {
        p { (era.words()) }
        @if era.against().next().is_some() {
            ul.plain-list {
                @for note in era.against() {
                    li {
                        (sentence(&note.words))
                        @if !note.softened_by.is_empty() { " What softens it: " (sentence(&note.softened_by)) }
                        span.small { " " (sentence(&note.basis)) " " (confidence(note.confidence)) }
                    }
                }
            }
        }
        @if !there.is_empty() || !era.undated.is_empty() {
            details {
                summary { "What was there, and what is not known" }
                ul.plain-list {
                    @for note in &there { li { (sentence(&note.words)) span.small { " " (sentence(&note.basis)) " " (confidence(note.confidence)) } } }
                    @for (toner, pigment) in &era.undated { li { (toner) ": no row of the catalogue dates " (pigment) "." } }
                }
            }
        }
        @if let Some(words) = era.unknown_words() { p.small { (words) } }
        p.small { "Advice only: an owner may want exactly what was not there." }
    }
}

fn confidence(confidence: Confidence) -> String {
    sentence(confidence.words())
}

/// Toners that were not there in a year: their places on the shelf, and what is said of leaving them out.
pub(crate) fn left_out(catalogue: &Catalogue, file: &ShelfFile, year: u16) -> (Vec<usize>, String) {
    let missing = era::not_there(catalogue, file, year);
    let names: Vec<String> = missing.iter().map(|one| format!("{} ({})", one.name, one.why.what.words())).collect();
    let words = match names.len() {
        0 => format!("Nothing on the shelf is known not to have been there in {year}, so nothing was left out"),
        _ => format!("Only what there was in {year}: left out {}", listed(&names)),
    };
    (missing.into_iter().map(|one| one.toner).collect(), words)
}
