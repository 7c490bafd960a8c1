//! What a command gives back: a table for people or one JSON value for programs.

use std::io::{self, BufWriter, Write};

use serde::Serialize;

use crate::stop::Stop;

/// An answer. Its serialised form is the contract; its table is for reading.
pub(crate) trait Answer: Serialize {
    /// Writes the answer for people.
    ///
    /// # Errors
    /// When `out` cannot be written.
    fn table(&self, out: &mut dyn Write) -> io::Result<()>;
}

/// Prints an answer on standard output.
///
/// A reader that stops early, such as `head`, is no failure.
///
/// # Errors
/// When standard output cannot be written.
pub(crate) fn say(answer: &impl Answer, json: bool) -> Result<(), Stop> {
    let mut out = BufWriter::with_capacity(1 << 16, io::stdout().lock());
    let done = if json {
        serde_json::to_writer(&mut out, answer).map_err(io::Error::from).and_then(|()| out.write_all(b"\n"))
    } else {
        answer.table(&mut out)
    };
    match done.and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Stop::failed(format!("standard output: {e}"))),
        _ => Ok(()),
    }
}

/// Prints doubts on standard error, a line each.
pub(crate) fn doubt(warnings: impl IntoIterator<Item = impl std::fmt::Display>) {
    for warning in warnings {
        eprintln!("doubtful: {}", Stop::input(warning));
    }
}

/// Writes rows as columns; the first row is the heading. Cells that are numbers stand to the right.
pub(crate) fn columns(out: &mut dyn Write, rows: &[Vec<String>]) -> io::Result<()> {
    let most = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let widths: Vec<usize> = (0..most).map(|column| width(column).unwrap_or(0)).collect();
    let is_number = |cell: &String| cell.parse::<f64>().is_ok();
    let right: Vec<bool> = (0..most)
        .map(|column| rows.iter().skip(1).filter_map(|row| row.get(column)).all(|c| c.is_empty() || is_number(c)))
        .collect();
    for row in rows {
        let mut line = String::new();
        for ((cell, width), right) in row.iter().zip(&widths).zip(&right) {
            let gap = " ".repeat(width.saturating_sub(cell.chars().count()));
            line += &if *right { format!("{gap}{cell}  ") } else { format!("{cell}{gap}  ") };
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// A row of a table from anything that prints.
macro_rules! row {
    ($($cell:expr),+ $(,)?) => { vec![$($cell.to_string()),+] };
}
pub(crate) use row;

#[cfg(test)]
mod tests {
    use super::columns;

    #[test]
    fn numbers_stand_right_and_words_left() {
        let mut out = Vec::new();
        columns(&mut out, &[row!["name", "L*"], row!["roof", "9.5"], row!["left sill", "41.0"]]).unwrap();
        assert_eq!(String::from_utf8(out).unwrap(), "name         L*\nroof        9.5\nleft sill  41.0\n");
    }
}
