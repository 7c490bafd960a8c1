//! Ranges against outside figures: `reference/schedule`, each file with a `.toml` that says where it is from.

use base::stream::Stream;
use schedule::range::{self, range};
use schedule::{Common, Correlation, Findings, Item, Outcome, Part, Ranged, Shop, Spread, Way};

const SAMPLES: usize = 100_000;
const SEED: u64 = 20;
/// What a quantile table may be off for the whole sum, in hours and in money.
const TABLE: f64 = 0.01;
const TABLE_MONEY: f64 = 1.0;
const RATES: [f64; 3] = [40.0, 55.0, 50.0];
const LIMITS: [f64; 4] = [10.0, 30.0, 60.0, 120.0];

/// A reference file by the names of its columns.
struct Sheet {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Sheet {
    fn read(text: &str, rows: usize) -> Self {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let names = reader.headers().expect("a heading").iter().map(str::to_owned).collect();
        let cells = |row: csv::StringRecord| row.iter().map(str::to_owned).collect();
        let sheet = Self { names, rows: reader.records().map(|row| cells(row.expect("a row"))).collect() };
        assert_eq!(sheet.rows.len(), rows);
        sheet
    }

    fn text(&self, row: usize, name: &str) -> &str {
        let place = self.names.iter().position(|known| known == name).expect("a known column");
        &self.rows[row][place]
    }

    fn at(&self, row: usize, name: &str) -> f64 {
        self.text(row, name).parse().expect("a number")
    }
}

const WET: f64 = 0.3;
/// Of each finding, its chance in a dry car and in a wet one.
const FINDINGS: [(f64, f64); 5] = [(0.45, 0.95), (0.1, 0.6), (0.02, 0.12), (0.9, 0.9), (0.25, 0.5)];

fn chance((dry, wet): (f64, f64)) -> f64 {
    (1.0 - WET) * dry + WET * wet
}

fn spread([low, likely, high]: [i32; 3]) -> Spread {
    Spread::new(low.into(), likely.into(), high.into()).expect("three guesses that rise")
}

fn way(weight: f64, parts: &[(usize, [i32; 3])]) -> Way {
    let parts = parts.iter().map(|(stage, hours)| Part { stage: *stage, hours: spread(*hours) }).collect();
    Way::new(weight, parts).expect("a way")
}

/// The items that the generator lists.
fn items() -> Vec<Item> {
    let opening = (0, [1, 2, 4]);
    let on = |column: usize, ways| Item::drawn(column, chance(FINDINGS[column]), ways).expect("an item");
    vec![
        Item::always(vec![way(1.0, &[(1, [2, 3, 7])])]).expect("an item"),
        on(
            0,
            vec![
                way(50.0, &[opening, (1, [2, 3, 5])]),
                way(35.0, &[opening, (1, [7, 12, 19])]),
                way(15.0, &[opening, (1, [12, 20, 34])]),
            ],
        ),
        on(1, vec![way(2.0, &[(1, [8, 14, 30])]), way(1.0, &[(0, [20, 20, 50])])]),
        on(2, vec![way(1.0, &[(1, [40, 65, 105]), (0, [4, 8, 14])])]),
        on(3, vec![way(1.0, &[(0, [5; 3])]), way(3.0, &[(1, [6, 9, 9])])]),
        on(4, vec![way(0.0, &[(0, [900; 3])]), way(1.0, &[(1, [3, 4, 9]), (0, [1, 1, 3])])]),
        on(0, vec![way(1.0, &[(2, [1, 4, 6])])]),
    ]
}

/// What is there in each sample: wet or dry first, then each finding by its chance there.
fn findings(kind: &str, samples: usize, seed: u64) -> Findings {
    let mut stream = Stream::new(seed, 1);
    let mut columns = vec![Vec::with_capacity(samples); FINDINGS.len()];
    for _ in 0..samples {
        let wet = stream.uniform() < WET;
        for (column, chances) in columns.iter_mut().zip(FINDINGS) {
            let chance = match (kind, wet) {
                ("independent", _) => chance(chances),
                ("network", false) => chances.0,
                ("network", true) => chances.1,
                (other, _) => panic!("{other} is not known"),
            };
            column.push(stream.uniform() < chance);
        }
    }
    Findings::of_flags(samples, &columns).expect("as many flags as samples")
}

fn ranged(sheet: &Sheet, row: usize, severity: f64, hours: f64) -> Ranged {
    let rho = |rho| Correlation::new(rho).expect("a correlation from 0 to 1");
    let shop = Shop::new(sheet.at(row, "shop_mean_log"), sheet.at(row, "shop_sd_log")).expect("a factor");
    let findings = findings(sheet.text(row, "findings"), SAMPLES, 77 + row as u64);
    range(&items(), &findings, Common { severity: rho(severity), hours: rho(hours), shop }, SEED).expect("a range")
}

/// numpy's mean is sampled and ours is exact; all else is sampled on both sides.
fn agrees(sheet: &Sheet, row: usize, name: &str, got: &Outcome, table: f64) {
    let both = (1.0 + sheet.at(row, "samples") / SAMPLES as f64).sqrt();
    let five = [("sd", got.sd), ("p10", got.p10), ("p50", got.p50), ("p80", got.p80), ("p95", got.p95)];
    let sampled = five.map(|(what, got)| (what, got, both, table));
    for (what, got, sides, table) in [("mean", got.mean, 1.0, 0.0)].into_iter().chain(sampled) {
        let expect = sheet.at(row, &format!("{name}_{what}"));
        let allowed = 3.0 * sheet.at(row, &format!("{name}_se_{what}")) * sides + table;
        assert!((got - expect).abs() <= allowed, "{row} {name} {what}: {got}, not {expect}; {allowed} allowed");
    }
}

// Oracle: numpy and scipy, see reference/schedule/range.toml.
#[test]
fn oracle_ranges_agree_with_numpy_within_three_standard_errors() {
    let sheet = Sheet::read(include_str!("../../../reference/schedule/range.csv"), 5);
    for row in 0..sheet.rows.len() {
        let got = ranged(&sheet, row, sheet.at(row, "severity"), sheet.at(row, "hours"));
        agrees(&sheet, row, "hours", &got.outcome, TABLE);
        assert_eq!(got.stages.len(), 3);
        for (name, stage) in ["opening", "metal", "fitting"].into_iter().zip(&got.stages) {
            agrees(&sheet, row, name, stage, TABLE);
        }
        agrees(&sheet, row, "money", &got.money(&RATES).expect("three rates"), TABLE_MONEY);
        for (got, expect) in got.share.iter().zip(sheet.text(row, "shares").split(' ')) {
            let expect: f64 = expect.parse().expect("a number");
            assert!((got - expect).abs() < 0.01, "{row}: {got}, not {expect}");
        }
        for limit in LIMITS {
            let expect = sheet.at(row, &format!("past_{limit}"));
            let error = (expect * (1.0 - expect) * (1.0 / SAMPLES as f64 + 1.0 / sheet.at(row, "samples"))).sqrt();
            assert!((got.past(limit) - expect).abs() < 3.0 * error, "{row} {limit}: {}, not {expect}", got.past(limit));
        }
    }
}

// Oracle: convolution by numpy, see reference/schedule/range_exact.toml.
#[test]
fn oracle_ranges_agree_with_convolution() {
    let sheet = Sheet::read(include_str!("../../../reference/schedule/range_exact.csv"), 3);
    for row in 0..sheet.rows.len() {
        let got = ranged(&sheet, row, 0.0, 0.0);
        let mean = sheet.at(row, "mean");
        assert!((got.outcome.mean / mean - 1.0).abs() < 1e-6, "{row}: {}, not {mean}", got.outcome.mean);
        assert_eq!(got.outcome.mean, range::mean(&items(), shop(&sheet, row)));
        let sd = sheet.at(row, "sd");
        let allowed = 3.0 * sd * (19.0 / (4.0 * SAMPLES as f64)).sqrt();
        assert!((got.outcome.sd - sd).abs() < allowed, "{row}: {}, not {sd}", got.outcome.sd);
        for (name, p) in [("p10", 0.1_f64), ("p50", 0.5), ("p80", 0.8), ("p95", 0.95)] {
            let (expect, density) = (sheet.at(row, name), sheet.at(row, &format!("density_{name}")));
            let allowed = 3.0 * (p * (1.0 - p) / SAMPLES as f64).sqrt() / density + TABLE;
            let got = got.quantile(p);
            assert!((got - expect).abs() < allowed, "{row} {name}: {got}, not {expect}; {allowed} allowed");
        }
        for limit in LIMITS {
            let expect = sheet.at(row, &format!("past_{limit}"));
            let allowed = 3.0 * (expect * (1.0 - expect) / SAMPLES as f64).sqrt();
            assert!((got.past(limit) - expect).abs() < allowed, "{row} {limit}: {}, not {expect}", got.past(limit));
        }
    }
}

fn shop(sheet: &Sheet, row: usize) -> Shop {
    Shop::new(sheet.at(row, "shop_mean_log"), sheet.at(row, "shop_sd_log")).expect("a factor")
}

// Findings that go together widen the range: the same chances, drawn apart and from one common cause. The convolution
// in reference/schedule/range_exact.csv says 21.4 and 23.6 h.
#[test]
fn oracle_findings_that_go_together_widen_the_range() {
    let sheet = Sheet::read(include_str!("../../../reference/schedule/range_exact.csv"), 3);
    let (apart, together) = (ranged(&sheet, 0, 0.0, 0.0), ranged(&sheet, 1, 0.0, 0.0));
    assert_eq!(apart.outcome.mean, together.outcome.mean);
    let expect = sheet.at(1, "sd") / sheet.at(0, "sd");
    let got = together.outcome.sd / apart.outcome.sd;
    assert!((got - expect).abs() < 0.03 && expect > 1.1, "{got}, not {expect}");
}
