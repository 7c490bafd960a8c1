//! Reads the table that the `divan` bench runner prints.

/// One bench: its path, such as `colour/ciede2000_batch`, and what was measured.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bench {
    pub(super) path: String,
    pub(super) median_s: f64,
    /// Of the fastest run, if the bench counts items.
    pub(super) items_per_s: Option<f64>,
}

/// Columns right of the name: fastest, slowest, median, mean, samples, iterations.
const COLUMNS: usize = 6;

/// Every bench of the output; lines of any other form are passed over.
pub(super) fn parse(output: &str) -> Vec<Bench> {
    let mut found: Vec<Bench> = Vec::new();
    let mut names: Vec<&str> = Vec::new();
    for line in output.lines() {
        let mut cells: Vec<&str> = line.rsplitn(COLUMNS, '│').collect();
        if cells.len() < COLUMNS {
            continue;
        }
        cells.reverse();
        let content = cells[0].trim_start_matches(['│', '├', '╰', '─', ' ']);
        let depth = (cells[0].chars().count() - content.chars().count()) / 3;
        if !cells[0].contains('─') && depth > 0 {
            // A line below a bench, counting its items.
            if let (Some(bench), Some(rate)) = (found.last_mut(), items_per_s(content)) {
                bench.items_per_s = Some(rate);
            }
            continue;
        }
        let (name, _fastest) = content.split_once("  ").unwrap_or((content.trim_end(), ""));
        names.truncate(depth);
        names.push(name);
        if let Some(median_s) = seconds(cells[2]) {
            found.push(Bench { path: names.join("/"), median_s, items_per_s: None });
        }
    }
    found
}

fn value_and_unit(text: &str) -> Option<(f64, &str)> {
    let (value, unit) = text.trim().split_once(' ')?;
    Some((value.parse().ok()?, unit.trim()))
}

fn seconds(text: &str) -> Option<f64> {
    let (value, unit) = value_and_unit(text)?;
    let scale = match unit {
        "ps" => 1e-12,
        "ns" => 1e-9,
        "µs" => 1e-6,
        "ms" => 1e-3,
        "s" => 1.0,
        _ => return None,
    };
    Some(value * scale)
}

fn items_per_s(text: &str) -> Option<f64> {
    let (value, unit) = value_and_unit(text)?;
    let scale = match unit.strip_suffix("item/s")? {
        "" => 1.0,
        "K" => 1e3,
        "M" => 1e6,
        "G" => 1e9,
        _ => return None,
    };
    Some(value * scale)
}

#[cfg(test)]
mod tests {
    use super::{Bench, parse};

    const OUTPUT: &str = "\
Timer precision: 20 ns
colour                      fastest       │ slowest       │ median        │ mean          │ samples │ iters
├─ batch                    118.6 ms      │ 185 ms        │ 151.2 ms      │ 153 ms        │ 20      │ 20
│                           8.427 Mitem/s │ 5.404 Mitem/s │ 6.61 Mitem/s  │ 6.532 Mitem/s │         │
╰─ group                                  │               │               │               │         │
   ├─ small                 1.5 µs        │ 2 µs          │ 1.75 µs       │ 1.8 µs        │ 100     │ 100
   ╰─ large                 2 s           │ 2 s           │ 2 s           │ 2 s           │ 100     │ 100
                            4 item/s      │ 4 item/s      │ 4 item/s      │ 4 item/s      │         │
";

    #[test]
    fn benches_groups_and_counts() {
        let bench = |path: &str, median_s, items_per_s| Bench { path: path.into(), median_s, items_per_s };
        let found = parse(OUTPUT);
        assert_eq!(found[0], bench("colour/batch", 151.2 * 1e-3, Some(8.427e6)));
        assert_eq!(found[1], bench("colour/group/small", 1.75 * 1e-6, None));
        assert_eq!(found[2], bench("colour/group/large", 2.0, Some(4.0)));
        assert_eq!(found.len(), 3);
    }

    #[test]
    fn anything_else_is_passed_over() {
        assert_eq!(parse("running 3 tests\n│││││││││\n\n"), []);
    }
}
