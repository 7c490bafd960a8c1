//! What can be chosen, as the owner reads it: the same drawing on the sheet, the owner's page and in the file.

use job::question::{Choice, Question};
use maud::{Markup, html};

use crate::dimension;

/// The right end of the scale that all options of a question share, in hours.
pub(crate) fn scale(question: &Question) -> f64 {
    dimension::scale(question.options.iter().map(|o| o.hours.high).fold(0.0, f64::max))
}

/// What an option is, costs and risks, without its name.
pub(crate) fn body(option: &Choice, money: &[String], scale_h: f64) -> Markup {
    let own = format!("{}: ", option.key);
    let money = money.iter().find_map(|line| line.strip_prefix(own.as_str()));
    // A recipe makes no difference in hours but where somebody says so.
    let hours = option.recipe.is_none() || !option.hours.are_none();
    html! {
        @if !option.means.is_empty() { p { (option.means) } }
        @if hours {
            p { b { (option.hours_say()) } @if let Some(money) = money { br; (money) } }
            (dimension::hours(option.hours, scale_h, None))
        }
        @if !option.risks.is_empty() { p { span.lab { "What it risks" } br; (option.risks) } }
    }
}

/// The options as cards with their letters, to be read; `look` draws what stands first in each.
pub(crate) fn cards(question: &Question, money: &[String], look: impl Fn(&Choice) -> Markup) -> Markup {
    let scale_h = scale(question);
    html! {
        ol.picks.opts {
            @for option in &question.options {
                li.opt.stack { h3 { (option.key) ". " (option.title) } (look(option)) (body(option, money, scale_h)) }
            }
        }
    }
}
