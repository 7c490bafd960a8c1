//! Which decimal mark a file uses, and numbers written with it.

use std::fmt::Display;
use std::ops::RangeInclusive;

use super::Stored;

/// The decimal mark of a whole file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Decimals {
    /// A point, or no decimals at all.
    Point,
    /// A comma everywhere; one number as example.
    Comma { example: String },
    /// Commas only, and each could as well part thousands.
    MaybeThousands,
    /// Both; one place of each, in words.
    Mixed { comma: String, point: String },
}

/// Why a cell is no number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Trouble {
    NotANumber,
    /// The other decimal mark; the number with the right one.
    WrongMark(String),
    MaybeThousands,
    Mixed {
        comma: String,
        point: String,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Whole,
    Point,
    Comma { maybe_thousands: bool },
    Other,
}

/// The mark that every number agrees on. Only columns that hold mostly numbers are asked, so that
/// a note such as "1,5 h" has no say. Where the comma separates columns it cannot also mark decimals.
pub(super) fn decide(separator: u8, heading: &[String], rows: &[Stored]) -> Decimals {
    if separator == b',' {
        return Decimals::Point;
    }
    let mut comma: Option<(String, String)> = None;
    let mut point: Option<String> = None;
    let mut surely_decimal = false;
    for (index, name) in heading.iter().enumerate() {
        let cells = || {
            rows.iter().filter_map(|row| {
                let cell = row.cells.get(index)?.trim();
                (!cell.is_empty()).then(|| (row.number, cell, form(cell)))
            })
        };
        let numbers = cells().filter(|(_, _, form)| *form != Form::Other).count();
        if 2 * numbers < cells().count() {
            continue;
        }
        for (row, cell, form) in cells() {
            let place = || format!("{cell} (row {row}, {name})");
            match form {
                Form::Comma { maybe_thousands } => {
                    surely_decimal |= !maybe_thousands;
                    comma.get_or_insert_with(|| (cell.to_owned(), place()));
                }
                Form::Point => {
                    point.get_or_insert_with(place);
                }
                Form::Whole | Form::Other => {}
            }
        }
    }
    match (comma, point) {
        (None, _) => Decimals::Point,
        (Some((_, comma)), Some(point)) => Decimals::Mixed { comma, point },
        (Some((example, _)), None) if surely_decimal => Decimals::Comma { example },
        (Some(_), None) => Decimals::MaybeThousands,
    }
}

/// The finite number that `cell` holds, written with the file's own mark.
pub(super) fn parse(cell: &str, decimals: &Decimals) -> Result<f64, Trouble> {
    let plain = match (form(cell), decimals) {
        (Form::Other, _) => return Err(Trouble::NotANumber),
        (Form::Whole, _) | (Form::Point, Decimals::Point | Decimals::MaybeThousands) => cell.to_owned(),
        (Form::Comma { .. }, Decimals::Comma { .. }) => cell.replace(',', "."),
        (Form::Comma { .. }, Decimals::Point) => {
            return Err(Trouble::WrongMark(cell.replace(',', ".")));
        }
        (Form::Point, Decimals::Comma { .. }) => {
            return Err(Trouble::WrongMark(cell.replace('.', ",")));
        }
        (Form::Comma { .. }, Decimals::MaybeThousands) => return Err(Trouble::MaybeThousands),
        (Form::Comma { .. } | Form::Point, Decimals::Mixed { comma, point }) => {
            return Err(Trouble::Mixed { comma: comma.clone(), point: point.clone() });
        }
    };
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(Trouble::NotANumber),
    }
}

/// Whether `cell` is written as a number with either mark.
pub(super) fn looks_like_number(cell: &str) -> bool {
    form(cell) != Form::Other
}

/// How `cell` is written: sign, digits, one mark, digits, exponent.
fn form(cell: &str) -> Form {
    let unsigned = cell.strip_prefix(['+', '-']).unwrap_or(cell);
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (unsigned, None),
    };
    let all_digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if let Some(exponent) = exponent {
        let digits = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
        if digits.is_empty() || !all_digits(digits) {
            return Form::Other;
        }
    }
    let mark = mantissa.bytes().find(|b| *b == b',' || *b == b'.');
    let (whole, rest) = mantissa.split_once([',', '.']).unwrap_or((mantissa, ""));
    if !all_digits(whole) || !all_digits(rest) || (whole.is_empty() && rest.is_empty()) {
        return Form::Other;
    }
    match mark {
        None => Form::Whole,
        Some(b'.') => Form::Point,
        Some(_) => Form::Comma {
            maybe_thousands: rest.len() == 3
                && (1..=3).contains(&whole.len())
                && !whole.starts_with('0')
                && exponent.is_none(),
        },
    }
}

/// "a number from 0 to 100", in the words that suit the range.
pub(super) fn wanted<T: Display + Bounds>(what: &str, allowed: &RangeInclusive<T>) -> String {
    match (allowed.start().is_bound(), allowed.end().is_bound()) {
        (true, true) => format!("{what} from {} to {}", allowed.start(), allowed.end()),
        (true, false) => format!("{what} of at least {}", allowed.start()),
        (false, true) => format!("{what} of at most {}", allowed.end()),
        (false, false) => what.to_owned(),
    }
}

/// Whether an end of a range limits anything.
pub(super) trait Bounds {
    fn is_bound(&self) -> bool;
}

impl Bounds for f64 {
    fn is_bound(&self) -> bool {
        self.is_finite() && self.abs() < f64::MAX
    }
}

impl Bounds for usize {
    fn is_bound(&self) -> bool {
        *self < usize::MAX
    }
}
