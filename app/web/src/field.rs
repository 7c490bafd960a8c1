//! Fields of a form, with what is wrong beside them.

use job::validate::FieldError;
use maud::{Markup, html};

use crate::fault::sentence;

/// The box on top of a form that could not be kept.
pub(crate) fn problems(errors: &[FieldError]) -> Markup {
    html! {
        @if !errors.is_empty() {
            div.note.stop.stack role="alert" tabindex="-1" {
                h2 {
                    "Not kept yet: "
                    @if errors.len() == 1 { "one thing to put right" } @else { (errors.len()) " things to put right" }
                }
                @for error in errors {
                    p {
                        @if error.field.is_empty() { (sentence(&error.say)) } @else { a href={ "#e-" (error.field) } { (sentence(&error.say)) } }
                        " " (error.right)
                    }
                }
                p { "Everything else you entered is still here." }
            }
        }
    }
}

/// What is wrong with one field, at the field, with a button that takes what was probably meant.
pub(crate) fn complaint(name: &str, errors: &[FieldError]) -> Markup {
    html! {
        @for (n, error) in errors.iter().filter(|e| e.field == name).enumerate() {
            p.msg id=[(n == 0).then(|| format!("e-{name}"))] { (sentence(&error.say)) " " (error.right) }
            @if let Some(take) = &error.take {
                p { button name="take" value=(take) { "Take " (take) } }
            }
        }
    }
}

/// Errors of fields that this page does not show stand in the box on top alone, and lead nowhere.
pub(crate) fn at_their_place(errors: &[FieldError], shown: &[&str]) -> Vec<FieldError> {
    let place = |error: &FieldError| if shown.contains(&error.field) { error.field } else { "" };
    errors.iter().map(|error| FieldError { field: place(error), ..error.clone() }).collect()
}

/// Whether a field is among the errors.
pub(crate) fn is_wrong(name: &str, errors: &[FieldError]) -> bool {
    errors.iter().any(|e| e.field == name)
}

/// One line of text or a figure.
pub(crate) struct Text<'a> {
    /// Its id on the page.
    pub(crate) id: &'a str,
    /// Its name in the form.
    pub(crate) name: &'a str,
    /// What it asks.
    pub(crate) label: &'a str,
    /// What is taken.
    pub(crate) hint: &'a str,
    /// What was typed.
    pub(crate) value: &'a str,
    /// The unit behind it; a field with one asks for a figure.
    pub(crate) unit: &'a str,
    /// What is wrong.
    pub(crate) errors: &'a [FieldError],
}

impl Text<'_> {
    /// Draws it.
    pub(crate) fn draw(&self) -> Markup {
        let wrong = is_wrong(self.name, self.errors);
        let describes =
            [(!self.hint.is_empty()).then(|| format!("{}-h", self.id)), wrong.then(|| format!("e-{}", self.name))];
        let described: Vec<String> = describes.into_iter().flatten().collect();
        html! {
            div.field.err[wrong] id={ "f-" (self.id) } {
                label for=(self.id) { (self.label) }
                @if !self.hint.is_empty() { p.hint id={ (self.id) "-h" } { (self.hint) } }
                (complaint(self.name, self.errors))
                div.in {
                    input id=(self.id) name=(self.name) value=(self.value)
                        inputmode=[(!self.unit.is_empty()).then_some("decimal")] autocomplete="off"
                        aria-invalid=[wrong.then_some("true")]
                        aria-describedby=[(!described.is_empty()).then(|| described.join(" "))];
                    @if !self.unit.is_empty() { span.unit { (self.unit) } }
                }
            }
        }
    }
}

/// Several lines of text.
pub(crate) fn note(name: &str, label: &str, hint: &str, value: &str, errors: &[FieldError]) -> Markup {
    note_with_id(name, name, label, hint, value, errors)
}

/// Several lines of text, where the page holds several fields of one name.
pub(crate) fn note_with_id(
    id: &str,
    name: &str,
    label: &str,
    hint: &str,
    value: &str,
    errors: &[FieldError],
) -> Markup {
    html! {
        div.field.err[is_wrong(name, errors)] {
            label for=(id) { (label) }
            @if !hint.is_empty() { p.hint { (hint) } }
            (complaint(name, errors))
            textarea id=(id) name=(name) { (value) }
        }
    }
}

/// A choice of one among several, drawn as cards.
pub(crate) fn radios<T: Copy>(
    legend: &str,
    name: &str,
    choices: &[T],
    picked: Option<&str>,
    say: impl Fn(T) -> (&'static str, &'static str),
) -> Markup {
    html! {
        fieldset {
            legend { (legend) }
            div.picks.side {
                @for choice in choices {
                    @let (key, words) = say(*choice);
                    label.pick { input type="radio" name=(name) value=(key) checked[picked == Some(key)]; span { (words) } }
                }
            }
        }
    }
}
