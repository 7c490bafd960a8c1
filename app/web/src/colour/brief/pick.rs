//! A choice from a list with its label.

use maud::{Markup, html};

/// A select. `first` stands before the rest; what is picked is known by its value.
pub(crate) fn select(
    name: &str,
    label: &str,
    picked: Option<&str>,
    first: &[(&str, String)],
    rest: impl Iterator<Item = (String, String)>,
) -> Markup {
    let picked = picked.unwrap_or_default();
    let first = first.iter().map(|(value, words)| ((*value).to_owned(), words.clone()));
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                @for (value, words) in first.chain(rest) { option value=(value) selected[value == picked] { (words) } }
            }
        }
    }
}
