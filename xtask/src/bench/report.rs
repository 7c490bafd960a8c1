//! The rows of a bench run and the page they are printed on.

use std::fmt::{Display, Write as _};

use super::machine::Machine;

/// One line of the table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) work: String,
    pub(super) limit: String,
    pub(super) measured: String,
    /// Whether the measured value keeps the limit; `None` without a limit or a measurement.
    pub(super) within: Option<bool>,
    pub(super) rival: String,
    pub(super) ratio: String,
}

impl Row {
    /// A time in seconds, held against a limit in seconds if there is one.
    pub(super) fn time(work: impl Into<String>, seconds: f64, limit_s: Option<f64>) -> Self {
        Self {
            work: work.into(),
            limit: limit_s.map(duration).unwrap_or_default(),
            measured: duration(seconds),
            within: limit_s.map(|limit| seconds <= limit),
            rival: String::new(),
            ratio: String::new(),
        }
    }

    /// A rate in items per second, held against the least it should be if there is one.
    pub(super) fn rate(work: impl Into<String>, per_second: f64, at_least: Option<f64>) -> Self {
        Self {
            work: work.into(),
            limit: at_least.map(|least| format!("at least {}", rate(least))).unwrap_or_default(),
            measured: rate(per_second),
            within: at_least.map(|least| per_second >= least),
            rival: String::new(),
            ratio: String::new(),
        }
    }

    /// A size in bytes, held against the most it should be.
    pub(super) fn size(work: impl Into<String>, bytes: usize, most: usize) -> Self {
        Self {
            work: work.into(),
            limit: kilobytes(most),
            measured: kilobytes(bytes),
            within: Some(bytes <= most),
            rival: String::new(),
            ratio: String::new(),
        }
    }

    /// A row that keeps its place and says why it is empty.
    pub(super) fn not_measured(work: impl Into<String>, limit: impl Into<String>, why: impl Display) -> Self {
        let why = format!("{why:#}");
        Self {
            work: work.into(),
            limit: limit.into(),
            measured: format!("not measured: {}", why.lines().next().unwrap_or_default()),
            within: None,
            rival: String::new(),
            ratio: String::new(),
        }
    }
}

/// Three significant digits and a unit that suits them.
pub(super) fn duration(seconds: f64) -> String {
    let (value, unit) = match seconds {
        s if s < 1e-6 => (s * 1e9, "ns"),
        s if s < 1e-3 => (s * 1e6, "us"),
        s if s < 1.0 => (s * 1e3, "ms"),
        s => (s, "s"),
    };
    format!("{} {unit}", three_digits(value))
}

/// Items per second, likewise.
pub(super) fn rate(per_second: f64) -> String {
    let (value, unit) = match per_second {
        r if r >= 1e6 => (r / 1e6, "million/s"),
        r if r >= 1e3 => (r / 1e3, "thousand/s"),
        r => (r, "/s"),
    };
    format!("{} {unit}", three_digits(value))
}

/// Thousands of bytes.
fn kilobytes(bytes: usize) -> String {
    format!("{} kB", three_digits(bytes as f64 / 1e3))
}

pub(super) fn three_digits(value: f64) -> String {
    let decimals = match value {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        _ => 2,
    };
    format!("{value:.decimals$}")
}

/// The page as Markdown.
pub(super) fn page(machine: &Machine, rows: &[Row]) -> String {
    let mut page = format!("# Bench of {}\n\nWritten by `cargo xtask bench`; never edited by hand.\n\n", machine.date);
    for (name, value) in &machine.facts {
        let _ = writeln!(page, "- {name}: {value}");
    }
    page.push_str(
        "\nA limit is a goal, not a test. Times are medians, over loopback where a page is fetched, \
         connection included. Rates and ratios compare the fastest run on either side; \
         a ratio above 1 means this program is that many times faster.\n\n\
         | work | limit | measured | kept | rival in the same run | ratio |\n|---|---|---|---|---|---|\n",
    );
    for row in rows {
        let kept = match row.within {
            Some(true) => "yes",
            Some(false) => "**no**",
            None => "",
        };
        let cells = [&row.work, &row.limit, &row.measured, kept, &row.rival, &row.ratio];
        let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
        let _ = writeln!(page, "| {} |", cells.join(" | "));
    }
    page
}

#[cfg(test)]
mod tests {
    use super::{Machine, Row, duration, page, rate};

    #[test]
    fn numbers_read_well() {
        assert_eq!(duration(0.015_12), "15.1 ms");
        assert_eq!(duration(7.9e-6), "7.90 us");
        assert_eq!(duration(12.0), "12.0 s");
        assert_eq!(rate(20.4e6), "20.4 million/s");
        assert_eq!(rate(950.0), "950 /s");
    }

    #[test]
    fn a_row_over_its_limit_and_an_empty_one_say_so() {
        let machine = Machine { date: "2030-01-02".into(), facts: vec![("cores", "2".into())] };
        let rows = [
            Row::time("start", 0.4, Some(0.3)),
            Row::rate("pairs", 3e7, Some(2e7)),
            Row::not_measured("pages", "30 ms", "no server\nmore"),
        ];
        let page = page(&machine, &rows);
        assert!(page.contains("| start | 300 ms | 400 ms | **no** |"));
        assert!(page.contains("| pairs | at least 20.0 million/s | 30.0 million/s | yes |"));
        assert!(page.contains("| pages | 30 ms | not measured: no server |  |"));
    }
}
