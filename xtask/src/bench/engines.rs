//! The benches of the crates, each beside its goal and its rival.

use anyhow::Result;

use super::divan::{self, Bench};
use super::report::{self, Row};
use super::rivals::{self, Rival};
use crate::command;
use crate::workspace::Workspace;

/// What a bench should reach.
struct Goal {
    work: &'static str,
    bench: &'static str,
    limit: Limit,
    rival: Option<&'static Rival>,
}

#[derive(Clone, Copy)]
enum Limit {
    /// Compared with the bench's rate of its fastest run.
    AtLeastPerSecond(f64),
    /// Compared with the bench's median.
    AtMostSeconds(f64),
}

const GOALS: &[Goal] = &[
    Goal {
        work: "CIEDE2000, a batch of a million pairs",
        bench: "colour/ciede2000_batch_of_1m",
        limit: Limit::AtLeastPerSecond(20e6),
        rival: Some(&rivals::CIEDE2000),
    },
    Goal {
        work: "film model, 6 toners of which 2 flakes, 31 wavelengths x 6 geometries",
        bench: "colour/film_of_6_toners",
        limit: Limit::AtMostSeconds(12e-6),
        rival: None,
    },
    Goal {
        work: "recipes of up to 6 out of 40 toners, three lights, four primers: a silver",
        bench: "colour/recipe_of_40_toners/silver",
        limit: Limit::AtMostSeconds(1.0),
        rival: None,
    },
    Goal {
        work: "the same: a pearl",
        bench: "colour/recipe_of_40_toners/pearl",
        limit: Limit::AtMostSeconds(1.0),
        rival: None,
    },
    Goal {
        work: "the same: a solid",
        bench: "colour/recipe_of_40_toners/solid",
        limit: Limit::AtMostSeconds(1.0),
        rival: None,
    },
    Goal {
        work: "a recipe of 6 toners over every light and view, for its picture",
        bench: "preview/appearance_of_6_toners",
        limit: Limit::AtMostSeconds(0.020),
        rival: None,
    },
    Goal {
        work: "the same on the panel under sun and sky, 960 x 540 spectral PNG",
        bench: "preview/png_from_the_mix",
        limit: Limit::AtMostSeconds(0.100),
        rival: None,
    },
    Goal {
        work: "how near 40 toners get while more of a wish is asked: a silver",
        bench: "colour/reach_curve_of_40_toners/silver",
        limit: Limit::AtMostSeconds(1.5),
        rival: None,
    },
    Goal {
        work: "the same: a pearl",
        bench: "colour/reach_curve_of_40_toners/pearl",
        limit: Limit::AtMostSeconds(1.5),
        rival: None,
    },
    Goal {
        work: "the same: a solid",
        bench: "colour/reach_curve_of_40_toners/solid",
        limit: Limit::AtMostSeconds(1.5),
        rival: None,
    },
    Goal {
        work: "a million sums of six correlated tasks, with quantiles",
        bench: "risk/risk_1m_x6",
        limit: Limit::AtMostSeconds(0.100),
        rival: Some(&rivals::RISK),
    },
    Goal {
        work: "range of a shell, 117 items of three ways",
        bench: "risk/range_shell",
        limit: Limit::AtMostSeconds(0.020),
        rival: None,
    },
    Goal {
        work: "all marginals, Alarm with 3 findings",
        bench: "network/alarm_three_findings",
        limit: Limit::AtMostSeconds(2e-3),
        rival: Some(&rivals::MARGINALS),
    },
    Goal {
        work: "Asia, all marginals",
        bench: "network/asia_all_marginals",
        limit: Limit::AtMostSeconds(50e-6),
        rival: None,
    },
    Goal {
        work: "shell forecast with next look: every look valued",
        bench: "outlook/outlook_of_a_young_record",
        limit: Limit::AtMostSeconds(0.050),
        rival: None,
    },
    Goal {
        work: "what would follow from a look, both answers",
        bench: "outlook/what_if_of_the_best_look",
        limit: Limit::AtMostSeconds(0.100),
        rival: None,
    },
    Goal {
        work: "2 000 events folded into a car",
        bench: "job/fold_2000_events",
        limit: Limit::AtMostSeconds(0.010),
        rival: None,
    },
];

/// Runs every bench of the workspace; those with a goal come first, then the others as they are.
pub(super) fn rows(workspace: &Workspace) -> Result<Vec<Row>> {
    let mut cargo = command::cargo(&workspace.root);
    cargo.args(["bench", "--bench", "*"]);
    for package in workspace.packages.iter().filter(|package| package.has_benches) {
        cargo.args(["--package", &package.name]);
    }
    let output = command::output(&mut cargo);
    let (benches, why) = match output {
        Ok(text) => (divan::parse(&text), String::new()),
        Err(error) => (Vec::new(), format!(" ({error:#})")),
    };
    let mut rows = Vec::new();
    for goal in GOALS {
        let bench = benches.iter().find(|bench| bench.path == goal.bench);
        let mut row = goal_row(goal, bench, &why);
        if let Some(rival) = goal.rival {
            add_rival(&mut row, rival, bench, rival.per_second(workspace));
        }
        rows.push(row);
    }
    let others = benches.iter().filter(|bench| GOALS.iter().all(|goal| goal.bench != bench.path));
    rows.extend(others.map(|bench| match bench.items_per_s {
        Some(rate) => Row {
            measured: format!("{}, {}", report::duration(bench.median_s), report::rate(rate)),
            ..Row::time(&bench.path, bench.median_s, None)
        },
        None => Row::time(&bench.path, bench.median_s, None),
    }));
    Ok(rows)
}

fn goal_row(goal: &Goal, bench: Option<&Bench>, why: &str) -> Row {
    match (goal.limit, bench) {
        (Limit::AtLeastPerSecond(least), Some(Bench { items_per_s: Some(rate), .. })) => {
            Row::rate(goal.work, *rate, Some(least))
        }
        (Limit::AtMostSeconds(most), Some(bench)) => Row::time(goal.work, bench.median_s, Some(most)),
        (limit, _) => {
            let limit = match limit {
                Limit::AtLeastPerSecond(least) => format!("at least {}", report::rate(least)),
                Limit::AtMostSeconds(most) => report::duration(most),
            };
            Row::not_measured(goal.work, limit, format!("no result of a bench {}{why}", goal.bench))
        }
    }
}

fn add_rival(row: &mut Row, rival: &Rival, bench: Option<&Bench>, per_second: Result<f64>) {
    match per_second {
        Ok(theirs) => {
            row.rival = format!("{}: {}", rival.name, report::rate(theirs));
            if let Some(ours) = bench.and_then(|bench| bench.items_per_s) {
                row.ratio = report::three_digits(ours / theirs);
            }
        }
        Err(error) => row.rival = Row::not_measured("", "", &error).measured,
    }
}

#[cfg(test)]
mod tests {
    use anyhow::anyhow;

    use super::{Bench, GOALS, add_rival, goal_row};
    use crate::bench::rivals::CIEDE2000;

    #[test]
    fn a_goal_is_met_missed_or_not_measured() {
        let bench = |rate| Bench { path: GOALS[0].bench.into(), median_s: 1.0, items_per_s: rate };
        assert_eq!(goal_row(&GOALS[0], Some(&bench(Some(3e7))), "").within, Some(true));
        assert_eq!(goal_row(&GOALS[0], Some(&bench(Some(1e7))), "").within, Some(false));
        assert!(goal_row(&GOALS[0], Some(&bench(None)), "").measured.starts_with("not measured"));
        assert!(goal_row(&GOALS[1], None, " (broken)").measured.ends_with("(broken)"));
    }

    #[test]
    fn a_rival_that_cannot_run_says_why() {
        let bench = Bench { path: String::new(), median_s: 1.0, items_per_s: Some(3e7) };
        let mut row = goal_row(&GOALS[0], Some(&bench), "");
        add_rival(&mut row, &CIEDE2000, Some(&bench), Ok(1.5e6));
        assert_eq!(row.ratio, "20.0");
        add_rival(&mut row, &CIEDE2000, Some(&bench), Err(anyhow!("no network")));
        assert_eq!(row.rival, "not measured: no network");
    }
}
