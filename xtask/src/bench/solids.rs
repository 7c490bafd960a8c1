//! A lab folder with its solid toners only.

use std::collections::BTreeSet;
use std::path::Path;

use anyhow::{Context, Result};

/// Writes the tables of `from` into `to` with solid toners alone, and the panels that hold no other; returns how
/// many toners and panels these are. The tables quote nothing.
pub(super) fn write(from: &Path, to: &Path) -> Result<(usize, usize)> {
    std::fs::create_dir_all(to)?;
    let read = |name: &str| std::fs::read_to_string(from.join(name)).with_context(|| format!("cannot read {name}"));
    let write = |name: &str, text: String| std::fs::write(to.join(name), text);
    let (toners, others) = toners(&read("toners.csv")?);
    let panels = panels(&read("panels.csv")?, &others);
    let names: BTreeSet<&str> = panels.lines().skip(1).filter_map(|line| line.split(',').next()).collect();
    let measured = read("measurements.csv")?;
    let kept = measured
        .lines()
        .enumerate()
        .filter(|(index, line)| *index == 0 || line.split(',').next().is_some_and(|name| names.contains(name)));
    let kept: String = kept.map(|(_, line)| format!("{line}\n")).collect();
    let counts = (toners.lines().count() - 1, names.len());
    write("measurements.csv", kept)?;
    write("toners.csv", toners)?;
    write("panels.csv", panels)?;
    write("substrate.csv", read("substrate.csv")?)?;
    Ok(counts)
}

/// The table with its solids, and the names of the others.
fn toners(table: &str) -> (String, BTreeSet<String>) {
    let (mut kept, mut others) = (String::new(), BTreeSet::new());
    for (index, line) in table.lines().enumerate() {
        let mut cells = line.split(',');
        let (name, kind) = (cells.next().unwrap_or_default(), cells.next().unwrap_or_default());
        if index == 0 || kind == "solid" {
            kept.push_str(line);
            kept.push('\n');
        } else {
            others.insert(name.to_owned());
        }
    }
    (kept, others)
}

/// The table without the columns of `others` and without the panels that hold any of them.
fn panels(table: &str, others: &BTreeSet<String>) -> String {
    let mut lines = table.lines();
    let heads: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let other = |column: usize| heads.get(column).is_some_and(|head| others.contains(*head));
    let mut kept = String::new();
    for cells in std::iter::once(heads.clone()).chain(lines.map(|line| line.split(',').collect())) {
        let holds_other =
            cells.iter().enumerate().any(|(i, cell)| other(i) && cell.parse().is_ok_and(|x: f64| x > 0.0));
        if !holds_other {
            let cells: Vec<&str> =
                cells.iter().enumerate().filter(|(i, _)| !other(*i)).map(|(_, cell)| *cell).collect();
            kept.push_str(&cells.join(","));
            kept.push('\n');
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::{panels, toners};

    #[test]
    fn solids_and_their_panels_stay() {
        let (kept, others) = toners("toner,kind\nwhite,solid\nfine,aluminium\n");
        assert_eq!(kept, "toner,kind\nwhite,solid\n");
        let table = "panel_id,white,fine,binder\nP1,0.3,0,0.7\nP2,0.2,0.1,0.7\n";
        assert_eq!(panels(table, &others), "panel_id,white,binder\nP1,0.3,0.7\n");
    }
}
