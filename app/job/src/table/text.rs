//! From bytes to text: encoding, separator, quotation marks, line numbers.

use super::{Limits, TableError};

const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

/// The bytes as text without byte order mark; fails on too many bytes, on nothing, on bytes that are
/// not UTF-8 and on NUL (a UTF-16 or binary file).
pub(super) fn decode<'a>(file: &str, bytes: &'a [u8], limits: &Limits) -> Result<&'a str, TableError> {
    if bytes.len() > limits.bytes {
        return Err(TableError::TooBig { file: file.into(), bytes: bytes.len(), limit: limits.bytes });
    }
    let bytes = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes);
    let good = match std::str::from_utf8(bytes) {
        Ok(_) => bytes.len(),
        Err(error) => error.valid_up_to(),
    };
    let good = bytes[..good].iter().position(|&b| b == 0).unwrap_or(good);
    match std::str::from_utf8(bytes) {
        Ok(text) if good == bytes.len() => {
            if text.trim().is_empty() {
                return Err(TableError::Empty { file: file.into() });
            }
            Ok(text)
        }
        _ => Err(TableError::NotText { file: file.into(), row: 1 + line_ends(&bytes[..good]) }),
    }
}

/// The one separator that the heading uses outside quotation marks; a comma if it uses none.
pub(super) fn separator(file: &str, text: &str) -> Result<u8, TableError> {
    let heading = text.trim_start_matches(|c: char| c != '\t' && c.is_whitespace());
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    let mut inside_quotes = false;
    for byte in heading.bytes() {
        match byte {
            b'"' => inside_quotes = !inside_quotes,
            b'\r' | b'\n' if !inside_quotes => break,
            _ if inside_quotes => {}
            _ => {
                if let Some((_, count)) = counts.iter_mut().find(|(kind, _)| *kind == byte) {
                    *count += 1;
                }
            }
        }
    }
    let used: Vec<u8> = counts.iter().filter(|(_, n)| *n > 0).map(|(kind, _)| *kind).collect();
    match used.as_slice() {
        [] => Ok(b','),
        [one] => Ok(*one),
        several => Err(TableError::TwoSeparators {
            file: file.into(),
            row: 1 + line_ends(&text.as_bytes()[..text.len() - heading.len()]),
            kinds: several
                .iter()
                .map(|&kind| separator_word(kind).unwrap_or("commas"))
                .collect::<Vec<_>>()
                .join(" and "),
        }),
    }
}

/// The separator in words, unless it is the comma.
pub(super) fn separator_word(separator: u8) -> Option<&'static str> {
    match separator {
        b';' => Some("semicolons"),
        b'\t' => Some("tabs"),
        _ => None,
    }
}

/// Fails on a quoted cell that never ends or that has text after its end. The reading library takes
/// both without a word, and a file cut short would lose its tail.
pub(super) fn check_quotes(file: &str, text: &str, separator: u8) -> Result<(), TableError> {
    enum State {
        CellStart,
        Plain,
        Quoted,
        QuoteInQuoted,
    }
    let bytes = text.as_bytes();
    let mut state = State::CellStart;
    let mut opened_at = 0;
    for (at, &byte) in bytes.iter().enumerate() {
        let ends_cell = byte == separator || byte == b'\r' || byte == b'\n';
        state = match state {
            State::CellStart if byte == b'"' => {
                opened_at = at;
                State::Quoted
            }
            State::CellStart | State::Plain if ends_cell => State::CellStart,
            State::CellStart | State::Plain => State::Plain,
            State::Quoted if byte == b'"' => State::QuoteInQuoted,
            State::Quoted => State::Quoted,
            State::QuoteInQuoted if byte == b'"' => State::Quoted,
            State::QuoteInQuoted if ends_cell => State::CellStart,
            State::QuoteInQuoted => {
                return Err(TableError::StrayQuote { file: file.into(), row: 1 + line_ends(&bytes[..at]) });
            }
        };
    }
    match state {
        State::Quoted => Err(TableError::OpenQuote { file: file.into(), row: 1 + line_ends(&bytes[..opened_at]) }),
        _ => Ok(()),
    }
}

/// Line numbers for places in the text that only move forward.
pub(super) struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> Lines<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { bytes: text.as_bytes(), at: 0, line: 1 }
    }

    /// The line of the first record at or after the byte `start`, past blank lines.
    pub(super) fn at_record(&mut self, start: usize) -> usize {
        let mut end = start.clamp(self.at, self.bytes.len());
        while self.bytes.get(end).is_some_and(|&b| b == b'\r' || b == b'\n') {
            end += 1;
        }
        self.line += line_ends(&self.bytes[self.at..end]);
        self.at = end;
        self.line
    }
}

/// Line ends in `bytes`: each LF, and each CR not followed by one.
fn line_ends(bytes: &[u8]) -> usize {
    let mut count = 0;
    for (at, &byte) in bytes.iter().enumerate() {
        let crlf = byte == b'\r' && bytes.get(at + 1) == Some(&b'\n');
        if byte == b'\n' || (byte == b'\r' && !crlf) {
            count += 1;
        }
    }
    count
}
