//! Numbers as the sentences print them.

/// `value` with one decimal, or with as many more as it takes to differ from `limit` in print.
///
/// Decisions compare unrounded values, so a margin of 2.97 is short of 3. Printed with one decimal the reason
/// would read "3.0 where 3.0 is needed"; with two it can be understood.
pub(crate) fn apart(value: f64, limit: f64) -> String {
    const MOST_DECIMALS: usize = 9;
    let least = plain(value);
    if value == limit || least != plain(limit) {
        return least;
    }
    (2..=MOST_DECIMALS)
        .map(|decimals| format!("{value:.decimals$}"))
        .find(|text| *text != format!("{limit:.decimals$}", decimals = text.split('.').next_back().map_or(0, str::len)))
        .unwrap_or(least)
}

/// `value` with one decimal, and no minus before a zero.
pub(crate) fn plain(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".into() } else { text }
}
