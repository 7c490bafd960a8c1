//! Names, numbers and marks of a text, one after the other.

use std::fmt;

use super::{BifError, MOST_NAME};

/// Characters that stand for themselves.
const MARKS: &[char] = &['{', '}', '(', ')', '[', ']', ',', ';', '|'];
/// Characters of a name that an error shows.
const SHOWN: usize = 40;

/// What may stand next to each other in the format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Token<'t> {
    /// One of the marks.
    Mark(char),
    /// A keyword, name or number.
    Word(&'t str),
    /// A name in double quotes, without them and without spaces at its ends.
    Quoted(&'t str),
    /// The end of the text.
    End,
}

impl fmt::Display for Token<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Token::Mark(mark) => write!(out, "\"{mark}\""),
            Token::Word(word) | Token::Quoted(word) => match word.char_indices().nth(SHOWN) {
                Some((cut, _)) => write!(out, "\"{}...\"", &word[..cut]),
                None => write!(out, "\"{word}\""),
            },
            Token::End => write!(out, "the end of the file"),
        }
    }
}

/// A place in the text.
#[derive(Clone)]
pub(super) struct Cursor<'t> {
    text: &'t str,
    at: usize,
    /// Where the last token began.
    begun: usize,
    last: Token<'t>,
}

impl<'t> Cursor<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        // Some editors put a byte order mark first.
        let at = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        Self { text, at, begun: at, last: Token::End }
    }

    /// A place for errors only.
    pub(super) fn at(text: &'t str, begun: usize) -> Self {
        Self { text, at: begun, begun, last: Token::End }
    }

    /// The token read last.
    pub(super) fn last(&self) -> Token<'t> {
        self.last
    }

    /// Where that token began.
    pub(super) fn begun(&self) -> usize {
        self.begun
    }

    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or_default()
    }

    pub(super) fn next(&mut self) -> Result<Token<'t>, BifError> {
        self.skip_blank()?;
        self.begun = self.at;
        let rest = self.rest();
        let token = match rest.chars().next() {
            None => Token::End,
            Some(mark) if MARKS.contains(&mark) => {
                self.at += mark.len_utf8();
                Token::Mark(mark)
            }
            Some('"') => {
                let inside = &rest[1..];
                let end = inside.find(['"', '\n']).filter(|end| inside[*end..].starts_with('"'));
                let Some(end) = end else {
                    return Err(self.wrong("a quote that is not closed on its line", "a second quote"));
                };
                self.at += end + 2;
                Token::Quoted(inside[..end].trim())
            }
            Some(control) if control.is_control() => {
                return Err(self.wrong("a control character", "a name, a number or a mark"));
            }
            Some(_) => {
                let word = word(rest);
                self.at += word.len();
                Token::Word(word)
            }
        };
        self.last = token;
        Ok(token)
    }

    fn skip_blank(&mut self) -> Result<(), BifError> {
        loop {
            let rest = self.rest();
            let blank = rest.len() - rest.trim_start().len();
            self.at += blank;
            let rest = self.rest();
            if rest.starts_with("//") {
                self.at += rest.find('\n').unwrap_or(rest.len());
            } else if let Some(comment) = rest.strip_prefix("/*") {
                let Some(end) = comment.find("*/") else {
                    self.begun = self.at;
                    return Err(self.wrong("a comment that is not closed", "\"*/\" after it"));
                };
                self.at += end + 4;
            } else {
                return Ok(());
            }
        }
    }

    /// Reads this mark.
    pub(super) fn mark(&mut self, mark: char, wanted: &str) -> Result<(), BifError> {
        let found = self.next()?;
        if found == Token::Mark(mark) { Ok(()) } else { Err(self.wrong(found, wanted)) }
    }

    /// Reads a name.
    pub(super) fn name(&mut self, wanted: &str) -> Result<&'t str, BifError> {
        self.next()?;
        self.as_name(wanted)
    }

    /// The token read last as a name.
    pub(super) fn as_name(&self, wanted: &str) -> Result<&'t str, BifError> {
        match self.last {
            Token::Word(name) | Token::Quoted(name) if name.len() > MOST_NAME => {
                Err(self.wrong(self.last, format!("a name of {MOST_NAME} bytes at most")))
            }
            Token::Word(name) | Token::Quoted(name) if !name.is_empty() => Ok(name),
            found => Err(self.wrong(found, wanted)),
        }
    }

    /// Passes over the rest of a `property` line.
    pub(super) fn skip_property(&mut self) -> Result<(), BifError> {
        loop {
            match self.next()? {
                Token::Mark(';') => return Ok(()),
                // Rather a semicolon forgotten than a brace meant; and blocks end at the first brace not in quotes.
                found @ (Token::End | Token::Mark('{' | '}')) => {
                    return Err(self.wrong(found, "\";\" after the property, or quotes around it"));
                }
                _ => {}
            }
        }
    }

    pub(super) fn not_the_end(&self, wanted: &str) -> Result<(), BifError> {
        if self.last == Token::End { Err(self.wrong(Token::End, wanted)) } else { Ok(()) }
    }

    /// An error at the token read last.
    pub(super) fn wrong(&self, found: impl ToString, wanted: impl Into<String>) -> BifError {
        let before = self.text.get(..self.begun).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |end| end + 1);
        BifError::Wrong {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            found: found.to_string(),
            wanted: wanted.into(),
        }
    }
}

/// The word at the beginning of a text: up to a space, a mark, a quote or a comment. A single slash is part of it.
fn word(text: &str) -> &str {
    let ends = |(at, c): &(usize, char)| {
        let comment = *c == '/' && (text[*at..].starts_with("//") || text[*at..].starts_with("/*"));
        c.is_whitespace() || c.is_control() || MARKS.contains(c) || *c == '"' || comment
    };
    text.char_indices().find(ends).map_or(text, |(end, _)| &text[..end])
}
