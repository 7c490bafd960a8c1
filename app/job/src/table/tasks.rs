//! Tasks with a low, a likely and a high guess, one a row.

use base::Warning;
use schedule::{Shape, Spread, Task};

use super::{Limits, Table, TableError};

/// The columns of the file, in any order.
const NAMES: [&str; 5] = ["name", "low", "likely", "high", "shape"];
/// The most tasks in one file; the engine adds up no more.
pub const MOST: usize = 500;
/// A guess in hours; more than this is a slip of the finger.
const GUESS: std::ops::RangeInclusive<f64> = 0.0..=1_000_000.0;

/// Tasks in the file's order.
#[derive(Debug, Clone, PartialEq)]
pub struct Tasks {
    /// The guesses and the shape of each.
    pub tasks: Vec<Task>,
    /// What was unusual about the file but clear.
    pub warnings: Vec<Warning>,
}

/// Reads tasks: columns `name`, `low`, `likely`, `high` (in one unit, usually hours, 0 to 1 000 000) and
/// `shape`, which is `triangular` or `pert`.
///
/// Fails on a row without a name, on anything that is not a number, on guesses that fall, on another shape,
/// and on more than [`MOST`] tasks.
///
/// ```
/// use job::table::{Limits, tasks};
/// let read = tasks::read("sill.csv", b"name,low,likely,high,shape\nsill off,4,6,12,pert\n", &Limits::USUAL)?;
/// assert_eq!(read.tasks[0].spread.likely(), 6.0);
/// # Ok::<(), job::table::TableError>(())
/// ```
pub fn read(file: &str, bytes: &[u8], limits: &Limits) -> Result<Tasks, TableError> {
    let table = Table::read(file, bytes, limits)?;
    let [name, low, likely, high, shape] = NAMES.map(|name| table.column(name));
    let (name, low, likely, high, shape) = (name?, low?, likely?, high?, shape?);
    if let Some(over) = table.rows().nth(MOST) {
        let count = table.rows().len();
        return Err(over.refuse(&name, format!("at most {MOST} tasks; the file has {count}")));
    }
    let mut tasks = Vec::with_capacity(table.rows().len());
    for row in table.rows() {
        row.text(&name)?;
        let (l, m, h) = (row.f64(&low, GUESS)?, row.f64(&likely, GUESS)?, row.f64(&high, GUESS)?);
        if m < l {
            return Err(row.refuse(&likely, format!("at least the low of this row, {l}")));
        }
        if h < m {
            return Err(row.refuse(&high, format!("at least the likely of this row, {m}")));
        }
        let spread = Spread::new(l, m, h).map_err(|e| row.refuse(&low, e.to_string()))?;
        let shape = match row.text(&shape)? {
            word if word.eq_ignore_ascii_case("triangular") => Shape::Triangular,
            word if word.eq_ignore_ascii_case("pert") => Shape::Pert,
            _ => return Err(row.refuse(&shape, "triangular or pert")),
        };
        tasks.push(Task { spread, shape });
    }
    let mut warnings = table.warnings().to_vec();
    warnings.extend(table.unknown_columns(&NAMES));
    Ok(Tasks { tasks, warnings })
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "name,low,likely,high,shape\n";

    fn refused(rows: &str) -> String {
        read("t.csv", format!("{HEAD}{rows}").as_bytes(), &Limits::USUAL).expect_err("refused").to_string()
    }

    #[test]
    fn every_refusal_says_where_and_what_would_be_right() {
        assert_eq!(
            refused("a,1,2,3,pert\nb,5,4,9,pert\n"),
            "t.csv, row 3, column likely: \"4\" found; needed: at least the low of this row, 5"
        );
        assert_eq!(
            refused("a,1,2,1.5,pert\n"),
            "t.csv, row 2, column high: \"1.5\" found; needed: at least the likely of this row, 2"
        );
        assert!(refused("a,1,2,3,normal\n").ends_with("column shape: \"normal\" found; needed: triangular or pert"));
        assert!(refused("a,NaN,2,3,pert\n").contains("row 2, column low: \"NaN\""));
        assert!(refused("a,-1,2,3,pert\n").contains("row 2, column low: \"-1\""));
        assert!(refused(",1,2,3,pert\n").contains("row 2, column name: nothing found"));
        assert!(refused(&"a,1,2,3,pert\n".repeat(501)).contains("row 502, column name"));
    }

    #[test]
    fn columns_stand_in_any_order_and_a_fixed_task_is_one() {
        let read = read("t.csv", b"shape;high;likely;low;name\nPERT;4,5;4,5;4,5;strip\n", &Limits::USUAL).unwrap();
        assert_eq!(read.tasks[0].spread.mean(Shape::Pert), 4.5);
        assert_eq!(read.warnings.len(), 2);
    }
}
