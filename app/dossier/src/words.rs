//! Texts of users made ready for paper, without changing what they say.

use std::borrow::Cow;

use typst::foundations::{Array, IntoValue, Str, Value};

use crate::world;

/// Characters of one text that are printed; the rest stays in the record, and the sheet says so.
pub(crate) const MAX_TEXT_CHARS: usize = 4_000;

/// A word of more characters than this may be broken,
const LONG_WORD: usize = 14;
/// after every so many of them, so that it fits into any column.
const PIECE: usize = 6;

/// Turns texts into values for the sheets and remembers whether all of them can be printed.
#[derive(Default)]
pub(crate) struct Words {
    /// True once some character had no glyph in the fonts.
    pub(crate) unprintable: bool,
}

impl Words {
    /// A text for one line: line ends become blanks.
    pub(crate) fn line(&mut self, text: &str) -> Value {
        Str::from(self.tidy(text, " ")).into_value()
    }

    /// A text of several lines, as an array of them.
    pub(crate) fn lines(&mut self, text: &str) -> Value {
        let tidy = self.tidy(text.trim(), "\n");
        tidy.split('\n').map(|line| Str::from(line).into_value()).collect::<Array>().into_value()
    }

    fn tidy(&mut self, text: &str, line_end: &str) -> String {
        let mut out = String::with_capacity(text.len() + 8);
        let mut chars = text.chars();
        for c in chars.by_ref().take(MAX_TEXT_CHARS) {
            match c {
                '\n' => out.push_str(line_end),
                '\t' => out.push(' '),
                // A control character prints as nothing, and an override of the direction would reach
                // into the words around it.
                c if c.is_control() || steers_direction(c) => {}
                c => {
                    self.unprintable |= !c.is_whitespace() && !is_joiner(c) && !world::can_print(c);
                    out.push(c);
                }
            }
        }
        let left = chars.count();
        let out: String =
            out.split_inclusive(|c: char| c.is_whitespace() || c == '/' || c == '-').map(breakable).collect();
        if left == 0 { out } else { format!("{out} [{left} more characters stand in the record]") }
    }
}

/// A long word with places at which it may be broken; any other word as it is.
fn breakable(word: &str) -> Cow<'_, str> {
    if word.chars().count() <= LONG_WORD {
        return word.into();
    }
    let mut out = String::with_capacity(word.len() * 2);
    let mut piece = 0;
    for c in word.chars() {
        // Never before a mark that belongs to the letter in front of it.
        if piece >= PIECE && c.is_alphanumeric() {
            out.push('\u{200b}');
            piece = 0;
        }
        piece += 1;
        out.push(c);
    }
    out.into()
}

/// Bidirectional embeddings, overrides and isolates.
fn steers_direction(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Characters that shape their neighbours and have no glyph of their own.
fn is_joiner(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ad}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tidy(text: &str) -> (String, bool) {
        let mut words = Words::default();
        (words.tidy(text, " "), words.unprintable)
    }

    #[test]
    fn markup_is_left_as_typed() {
        let text = "#strong[x] *b* _i_ $x$ `r` \\ <a> @b // c";
        assert_eq!(tidy(text), (text.to_owned(), false));
    }

    #[test]
    fn long_runs_may_break_and_short_words_may_not() {
        assert_eq!(tidy(&"a".repeat(LONG_WORD + 4)).0, vec!["a".repeat(PIECE); 3].join("\u{200b}"));
        assert_eq!(tidy("(Antarctica/Dumont-Urville)").0, "(Antarctica/Dumont-Urville)");
        assert_eq!(tidy(&"a".repeat(LONG_WORD)).0, "a".repeat(LONG_WORD));
    }

    #[test]
    fn control_and_direction_characters_are_left_out() {
        assert_eq!(tidy("a\u{0}b\u{202e}c\r\nd\te").0, "abc d e");
    }

    #[test]
    fn a_text_past_the_limit_says_how_much_is_left() {
        let out = tidy(&"ab ".repeat(2_000)).0;
        assert!(out.ends_with("[2000 more characters stand in the record]"), "{out}");
    }

    #[test]
    fn a_character_without_a_glyph_is_noticed() {
        assert!(tidy("\u{8eca}").1);
        assert!(!tidy("\u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{3bc}m \u{2192}").1);
    }
}
