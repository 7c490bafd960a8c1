//! The range of the whole shell, and what moved it.

use jiff::civil::date;
use job::catalogue::Found;
use job::ids::Hash;
use job::outlook::{Range, movements, range};
use job::question::{Answer, AnswerWay, Choice, Hours, Question, RangeSaid, Shown};
use job::what::{How, Seen, Severity, What};
use job::worked::{Part, Worked};

use super::record::{Record, catalogue, look, made_good, opened, same, zone_of};

fn range_of(record: &Record) -> Range {
    let (car, catalogue) = (record.fold(), catalogue());
    range(&car, catalogue, &record.outlook()).unwrap()
}

/// The parts of the job that are metal.
const METAL: [Part; 2] = [Part::Opening, Part::Metal];

/// What the shop's own factor does to mean hours.
fn pace() -> f64 {
    catalogue().pace().shop().mean()
}

fn mean_of(range: &Range, zone: &str) -> Option<f64> {
    range.by_zone.iter().find(|share| share.zone == zone).map(|share| share.mean_h)
}

#[test]
fn a_range_adds_up_and_repeats() {
    let record = Record::with([look("Z01.R", How::Eye, Seen::Bad(Severity::Thin), &[("K01", true)])]);
    let told = range_of(&record);
    assert_eq!(told, range_of(&record));
    let o = told.outcome;
    assert!(0.0 < o.p10 && o.p10 < o.p50 && o.p50 < o.p80 && o.p80 < o.p95);
    let sum_h: f64 = told.by_zone.iter().map(|zone| zone.mean_h).sum();
    assert!((sum_h - o.mean).abs() < 1e-6 && (told.known_h + told.guessed_h - o.mean).abs() < 1e-6);
    // One zone is known; it counts in full.
    assert!(same(told.known_h, mean_of(&told, "Z01.R").unwrap()));
    let shares: f64 = told.by_zone.iter().map(|zone| zone.share).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    assert!(told.notes[0].contains("network") && told.notes[1].contains("0.3") && told.notes[1].contains("0.5"));
    // The picture of it is all of the draws, and the parts of the job hold at least the metal.
    let drawn: f64 = told.density.iter().map(|(_, share)| share).sum();
    assert!((drawn - 1.0).abs() < 1e-9 && told.density.windows(2).all(|pair| pair[0].0 < pair[1].0));
    let parts: f64 = told.parts.iter().map(|(_, part)| part.mean).sum();
    assert!((parts - told.whole.mean).abs() < 1e-6 && told.whole.mean >= o.mean);
    let metal: f64 = told.parts.iter().filter(|(part, _)| METAL.contains(part)).map(|(_, part)| part.mean).sum();
    assert!(metal > o.mean - 1e-6, "{metal} {}", o.mean);
    assert!(told.past.is_none() && told.money.is_none() && told.worked_h == 0.0);
}

#[test]
fn invariant_findings_that_go_together_make_the_range_wider() {
    let record = Record::new();
    let told = range_of(&record);
    // Were all zones independent, their variances would add; each one's is at most what its chance and its
    // longest hours allow.
    let catalogue = catalogue();
    let most = |zone: &str| {
        let hours = catalogue.zone(zone).unwrap().hours;
        hours.open.high + hours.full.high
    };
    let outlook = record.outlook();
    let variance: f64 = outlook
        .zones
        .iter()
        .map(|zone| zone.chance.likely * (1.0 - zone.chance.likely) * most(&zone.instance.zone) * zone.stake_h)
        .sum();
    assert!(told.outcome.sd > variance.sqrt(), "{} {}", told.outcome.sd, variance.sqrt());
}

#[test]
fn what_is_opened_costs_no_opening_and_what_is_done_costs_nothing() {
    let mut record = Record::new();
    let zone = zone_of(&record.outlook(), "Z51.L");
    assert!(same(mean_of(&range_of(&record), "Z51.L").unwrap(), zone.p * zone.stake_h * pace()));
    record.add(opened("Z51.L", Some(Severity::Holed)));
    let zone = zone_of(&record.outlook(), "Z51.L");
    assert_eq!(zone.found, Found::Holed);
    let hours = catalogue().zone("Z51").unwrap().hours;
    let pert = |h: job::catalogue::Spread| (h.low + 4.0 * h.likely + h.high) / 6.0;
    let expected = 0.35 * pert(hours.patch) + 0.45 * pert(hours.section) + 0.20 * pert(hours.full);
    assert!(same(zone.stake_h, expected) && same(mean_of(&range_of(&record), "Z51.L").unwrap(), expected * pace()));
    record.add(made_good("Z51.L"));
    record.add(opened("Z51.R", None));
    let told = range_of(&record);
    assert_eq!((mean_of(&told, "Z51.L"), mean_of(&told, "Z51.R")), (None, None));
}

#[test]
fn a_shell_that_is_done_has_a_range_of_nothing() {
    let mut record = Record::new();
    for zone in record.outlook().zones {
        record.add(made_good(&zone.instance.id));
    }
    let told = range_of(&record);
    assert_eq!((told.outcome.mean, told.outcome.p95, told.known_h, told.guessed_h), (0.0, 0.0, 0.0, 0.0));
    assert!(told.density.is_empty() && told.by_zone.is_empty());
    // There is still the rest of the job, but no metal in what the zones ask for.
    assert!(told.whole.mean > 0.0);
}

fn worked(part: Part, hours_h: f64) -> What {
    What::Worked(Worked { zone: None, part, hours_h, note: String::new() })
}

/// What was agreed, against what was worked on the metal and what is still to come.
#[test]
fn the_chance_to_pass_what_was_agreed_counts_what_was_worked() {
    let with = |budget_h| Record::of(job::details::CarDetails { budget_h: Some(budget_h), ..super::record::details() });
    let mut record = with(400.0);
    let past = |record: &Record| range_of(record).past.unwrap();
    let before = past(&record);
    assert!(before.limit_h == 400.0 && (0.0..=1.0).contains(&before.chance));
    record.add(worked(Part::Colour, 50.0));
    assert_eq!((past(&record).chance, range_of(&record).worked_h), (before.chance, 50.0));
    record.add(worked(Part::Metal, 60.0));
    assert!(past(&record).chance > before.chance && range_of(&record).worked_h == 110.0);
    // A quarter of all draws pass the hours that three quarters stay below.
    let o = range_of(&Record::new()).outcome;
    for (limit_h, wanted) in [(o.p10, 0.9), (o.p50, 0.5), (o.p80, 0.2), (o.p95, 0.05)] {
        assert!((past(&with(limit_h)).chance - wanted).abs() < 0.01, "{limit_h}");
    }
    // Nothing is left, and the metal took more than was agreed.
    let mut done = with(20.0);
    for zone in done.zones().zones {
        done.add(made_good(&zone.instance.id));
    }
    assert_eq!(past(&done).chance, 0.0);
    done.add(worked(Part::Metal, 30.0));
    assert_eq!(past(&done).chance, 1.0);
}

#[test]
fn hours_on_a_zone_come_off_only_when_the_range_no_longer_holds_its_work() {
    let with = |budget_h| Record::of(job::details::CarDetails { budget_h: Some(budget_h), ..super::record::details() });
    let on =
        |zone: &str, part| What::Worked(Worked { zone: Some(zone.into()), part, hours_h: 9.0, note: String::new() });
    let mut record = with(400.0);
    record.add(look("Z01.L", How::Eye, Seen::Bad(Severity::Holed), &[]));
    let past = |record: &Record| range_of(record).past.unwrap();
    let begun = past(&record);
    assert_eq!(begun.worked_h, 0.0);
    // Not open yet: opening and repair are both still in the range in full.
    record.add(on("Z01.L", Part::Opening));
    record.add(on("Z01.L", Part::Metal));
    assert_eq!(past(&record), begun);
    // Open: its opening is out of the range, and so the hours for it count.
    record.add(opened("Z01.L", Some(Severity::Holed)));
    assert_eq!(past(&record).worked_h, 9.0);
    record.add(made_good("Z01.L"));
    assert_eq!(past(&record).worked_h, 18.0);
    // The history tells the same sum at its end.
    let points = job::outlook::history(&record.fold(), catalogue()).unwrap();
    assert_eq!(points.last().unwrap().worked_h, 18.0);
    // Hours that name no zone come off at once.
    record.add(worked(Part::Metal, 5.0));
    assert_eq!(past(&record).worked_h, 23.0);
}

#[test]
fn nothing_hangs_on_what_was_made_good_or_decided() {
    let gained = |record: &Record| record.outlook().looks.iter().map(|look| look.gain_h).fold(0.0, f64::max);
    // Made good without ever having been seen bad, all but one zone: no look can save an hour on new metal.
    let mut record = Record::new();
    let zones: Vec<String> = record.zones().zones.iter().map(|zone| zone.instance.id.clone()).collect();
    assert!(gained(&record) > 1.0);
    for zone in zones.iter().filter(|zone| *zone != "Z65.L") {
        record.add(made_good(zone));
    }
    let most = zone_of(&record.zones(), "Z65.L").stake_h;
    assert!(gained(&record) < most, "{} {most}", gained(&record));
    decide(&mut record, &["Z65.L"], Hours { low: 10.0, likely: 16.0, high: 28.0 });
    assert_eq!(gained(&record), 0.0);
}

/// The owner is asked about a zone and takes B.
fn decide(record: &mut Record, zones: &[&str], hours: Hours) -> u64 {
    let choice = |key: &str, hours| Choice {
        key: key.into(),
        title: "Section".into(),
        means: String::new(),
        risks: String::new(),
        hours,
        recipe: None,
        card: None,
    };
    let question = Question {
        zones: zones.iter().map(|zone| (*zone).into()).collect(),
        finding: None,
        ask: "What shall we do with the sill?".into(),
        found: "It is thin along the seam.".into(),
        photographs: Vec::new(),
        options: vec![choice("A", Hours { low: 1.0, likely: 2.0, high: 3.0 }), choice("B", hours)],
        by: date(2026, 4, 1),
        waits: Vec::new(),
        serves: Vec::new(),
        sent: true,
    };
    let asked = record.add(What::Asked(question.clone()));
    let asked = record.fold().entry(asked).unwrap().clone();
    let range = RangeSaid { p10_h: 1.0, p50_h: 2.0, p80_h: 3.0, p95_h: 4.0 };
    record.add(What::Answered(Answer {
        question: asked.id,
        version: asked.hash,
        choice: Some("B".into()),
        way: AnswerWay::Telephone,
        words: String::new(),
        shown: Shown { question, range, money: Vec::new(), head: Hash::NONE, count: asked.seq },
        changes: None,
    }))
}

#[test]
fn what_the_owner_decided_is_certain() {
    let mut record = Record::with([opened("Z01.L", Some(Severity::Thin))]);
    let before = range_of(&record);
    let seq = decide(&mut record, &["Z01.L", "Z03.L"], Hours { low: 10.0, likely: 16.0, high: 28.0 });
    let after = range_of(&record);
    assert!(same(mean_of(&after, "Z01.L").unwrap(), (10.0 + 64.0 + 28.0) / 6.0 * pace()));
    // The other zone of the question is contained in its hours.
    assert!(mean_of(&before, "Z03.L").is_some() && mean_of(&after, "Z03.L").is_none());
    let moved = movements(&record.fold(), catalogue(), seq - 1).unwrap();
    let [answer] = moved.as_slice() else { panic!("{moved:?}") };
    assert_eq!((answer.seq, answer.zone.as_deref()), (seq, Some("Z01.L")));
    assert!((answer.before_h - before.outcome.mean).abs() < 1e-6);
    assert!((answer.after_h - after.outcome.mean).abs() < 1e-6);
    record.add(made_good("Z01.L"));
    assert_eq!(mean_of(&range_of(&record), "Z01.L"), None);
}

#[test]
fn every_entry_that_moved_the_hours_is_told_and_no_other() {
    let mut record = Record::new();
    let start = range_of(&record).outcome.mean;
    let seen = record.add(look("Z01.R", How::Eye, Seen::Bad(Severity::Thin), &[("K01", true)]));
    record.add(look("Z03.R", How::ScopeThere, Seen::NotLooked, &[]));
    let scope = record.add(look("Z03.R", How::ScopeThere, Seen::Clear, &[]));
    let out = record.withdraw(seen);
    let moved = movements(&record.fold(), catalogue(), 1).unwrap();
    let places: Vec<(u64, Option<&str>)> = moved.iter().map(|m| (m.seq, m.zone.as_deref())).collect();
    assert_eq!(places, [(seen, Some("Z01.R")), (scope, Some("Z03.R")), (out, Some("Z01.R"))]);
    // Each begins where the one before it ended, the first at the start and the last at the end.
    assert!((moved[0].before_h - start).abs() < 1e-6);
    assert!(moved.windows(2).all(|pair| pair[0].after_h == pair[1].before_h));
    assert!((moved[2].after_h - range_of(&record).outcome.mean).abs() < 1e-6);
    assert!(moved[0].after_h > moved[0].before_h && moved[1].after_h < moved[1].before_h);
    assert_eq!(movements(&record.fold(), catalogue(), scope).unwrap().len(), 1);
    assert!(movements(&record.fold(), catalogue(), record.count()).unwrap().is_empty());
}
