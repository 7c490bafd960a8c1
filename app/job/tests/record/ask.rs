//! Stop and ask: a finding past the limit stops work, becomes a question, and reaches the fortnight report.

use jiff::civil::{Date, date};
use jiff::tz::TimeZone;
use job::ask::{self, Waits};
use job::car::Car;
use job::catalogue::Catalogue;
use job::details::{CarDetails, Rates};
use job::fortnight;
use job::outlook::outlook;
use job::question::{AnswerWay, Hours, Question};
use job::what::{Severity, What};

use crate::support::{Record, answered, asked, bad, clear, details, made_good, opened, photographed};

const TODAY: Date = date(2026, 3, 2);

fn catalogue() -> Catalogue {
    Catalogue::starting_guesses().unwrap()
}

fn record(change: impl FnOnce(&mut CarDetails)) -> Record {
    let mut record = Record::empty(1);
    let mut details = details("Car 1");
    change(&mut details);
    record.add(What::CarOpened(details));
    record
}

fn findings(car: &Car) -> Vec<(String, Option<usize>)> {
    let outlook = outlook(car, &catalogue()).unwrap();
    ask::findings(car, &outlook).iter().map(|f| (f.zone.id.clone(), f.question)).collect()
}

fn waiting(car: &Car) -> Vec<(String, Waits)> {
    let outlook = outlook(car, &catalogue()).unwrap();
    ask::waiting(car, &outlook).into_iter().map(|(zone, waits)| (zone.id.clone(), waits)).collect()
}

/// The first job to be done of the trade's ten: agreed hours 900, limit 8 h, a finding of about 14 h (common
/// practice, no source).
#[test]
fn a_finding_past_the_limit_stops_its_work_at_once() {
    let mut record = record(|d| (d.budget_h, d.ask_over_h) = (Some(900.0), Some(8.0)));
    assert!(findings(&record.fold()).is_empty(), "what is only probable stops nothing");
    record.add(clear("Z03.R"));
    let finding = record.add(opened("Z03.L", Some(Severity::Holed)));
    let car = record.fold();
    assert_eq!(findings(&car), [("Z03.L".to_string(), None)]);
    assert_eq!(waiting(&car), [("Z03.L".to_string(), Waits::NotAsked)]);
    let (said, question) = (outlook(&car, &catalogue()).unwrap(), draft(&car, &["Z03.L"]));
    assert!(ask::findings(&car, &said)[0].hours > 8.0);
    assert_eq!((question.finding, question.sent, question.options.len()), (Some(finding), false, 3));
    assert!(question.found.contains("rusted through over 310 by 46 mm"), "{}", question.found);
    assert!(question.found.contains("carries the car"), "a membrane is of class S1: {}", question.found);
    assert_eq!(question.by, date(2026, 3, 9));
    assert!(question.waits.iter().any(|line| line.contains("membrane")), "{:?}", question.waits);

    // A draft that nobody sent, and a question that nobody answered, free nothing.
    let id = record.add(What::Asked(question.clone()));
    assert_eq!(waiting(&record.fold()), [("Z03.L".to_string(), Waits::Question(1))]);
    let sent = Question { sent: true, ..question };
    let id = record.correct(id, What::Asked(sent.clone()));
    assert_eq!(waiting(&record.fold()), [("Z03.L".to_string(), Waits::Question(1))]);
    let version = record.fold().entry_by_id(id).unwrap().hash;
    let mut answer = answered(id, version, Some("A"), AnswerWay::Telephone);
    answer.shown.question = sent;
    record.add(What::Answered(answer));
    assert!(waiting(&record.fold()).is_empty());
    assert_eq!(findings(&record.fold()), [("Z03.L".to_string(), Some(1))]);
    record.add(made_good("Z03.L"));
    assert!(findings(&record.fold()).is_empty());
}

fn draft(car: &Car, zones: &[&str]) -> Question {
    let zones: Vec<String> = zones.iter().map(|z| z.to_string()).collect();
    ask::draft(car, &catalogue(), &zones, TODAY).unwrap()
}

#[test]
fn the_limit_is_the_agreed_one_or_the_usual_one() {
    let limit = |budget_h, ask_over_h| CarDetails { budget_h, ask_over_h, ..details("Car 1") }.ask_limit_h();
    // Eight hours, or 5 percent of the agreed hours if that is less: common practice, no source.
    assert_eq!(limit(None, None), 8.0);
    assert_eq!(limit(Some(900.0), None), 8.0);
    assert_eq!(limit(Some(100.0), None), 5.0);
    assert_eq!(limit(Some(100.0), Some(20.0)), 20.0);
}

#[test]
fn hours_of_one_opened_zone_are_the_catalogues_and_of_several_never_a_sum_of_highs() {
    let mut record = record(|_| {});
    record.add(opened("Z03.L", Some(Severity::Holed)));
    record.add(opened("Z01.L", Some(Severity::Holed)));
    let car = record.fold();
    let catalogue = catalogue();
    let one = draft(&car, &["Z03.L"]);
    let patch = catalogue.zone("Z03").unwrap().hours.patch;
    assert_eq!(one.options[0].hours, Hours { low: patch.low, likely: patch.likely, high: patch.high });
    let two = draft(&car, &["Z03.L", "Z01.L"]);
    let other = catalogue.zone("Z01").unwrap().hours.patch;
    let hours = two.options[0].hours;
    assert!(hours.low > patch.low + other.low && hours.high < patch.high + other.high, "{hours:?}");
    assert!((hours.likely - patch.likely - other.likely).abs() < 1.5, "{hours:?}");
    assert!(two.options.windows(2).all(|w| w[0].hours.likely <= w[1].hours.likely));
    // Opening what is not open comes on top.
    let unopened = draft(&car, &["Z02.L"]);
    assert!(unopened.options[0].hours.likely > catalogue.zone("Z02").unwrap().hours.patch.likely);
    assert!(ask::draft(&car, &catalogue, &["Z99".into()], TODAY).is_none());
}

#[test]
fn what_is_only_pitted_can_be_left_and_coated() {
    let mut record = record(|_| {});
    record.add(bad("Z52", Severity::Pitted));
    let question = draft(&record.fold(), &["Z52"]);
    assert_eq!(question.options[0].title, "Clean it and coat it");
    assert!(!question.found.contains("carries the car"), "{}", question.found);
}

#[test]
fn money_is_multiplied_last_and_only_with_rates() {
    let rates = Rates { currency: "EUR".into(), bench: 85.0, painter: 92.5, materials: None };
    assert_eq!(ask::money(Hours { low: 12.0, likely: 16.0, high: 20.0 }, &rates), "1020 to 1700 EUR, likely 1360");
    let with = record(|_| {}).fold();
    assert_eq!(ask::shown(&with, &catalogue(), &asked(true)).unwrap().money.len(), 2);
    let without = record(|d| d.rates = None).fold();
    let shown = ask::shown(&without, &catalogue(), &asked(true)).unwrap();
    assert!(shown.money.is_empty());
    assert_eq!((shown.head, shown.count), (without.head, 1));
    assert!(shown.range.p10_h < shown.range.p50_h && shown.range.p50_h < shown.range.p95_h);
}

#[test]
fn the_shown_range_is_the_same_when_it_is_worked_out_again_later() {
    let mut record = record(|_| {});
    record.add(opened("Z03.L", Some(Severity::Holed)));
    let then = ask::shown(&record.fold(), &catalogue(), &asked(true)).unwrap();
    record.add(bad("Z01.L", Severity::Thin));
    let car = record.fold();
    assert_eq!(ask::shown(&car.at(2), &catalogue(), &asked(true)).unwrap(), then);
    assert_ne!(ask::shown(&car, &catalogue(), &asked(true)).unwrap().range, then.range);
}

#[test]
fn a_report_is_drafted_from_the_days_it_covers() {
    let mut record = record(|_| {});
    record.add(opened("Z03.L", Some(Severity::Holed)));
    record.add(clear("Z01.R"));
    record.add(made_good("Z04.L"));
    let placed = record.add(photographed(Some("Z03.L"), b"picture", b"thumb"));
    record.add(photographed(None, b"other", b"thumb"));
    record.add(What::Asked(asked(true)));
    let car = record.fold();
    let report = fortnight::draft(&car, &catalogue(), TODAY, TODAY, &TimeZone::UTC).unwrap();
    assert!(report.done.iter().any(|l| l.contains("made good")), "{:?}", report.done);
    assert!(report.found.iter().any(|l| l.contains("holed over 310 by 46 mm")), "{:?}", report.found);
    assert_eq!(report.need.len(), 1);
    assert!(report.need[0].contains("16 March"), "{:?}", report.need);
    assert_eq!(report.photographs, [placed], "a photograph without a place stays in the shop");
    assert!(report.changed[0].contains("first range"), "{:?}", report.changed);
    assert!(report.changed.iter().any(|l| l.contains("hours more")), "{:?}", report.changed);
    assert!(report.next.iter().any(|l| l.contains("2 places wait for your answer")), "{:?}", report.next);
    // What the owner was not asked yet is not the owner's delay.
    record.add(opened("Z02.R", Some(Severity::Holed)));
    let report = fortnight::draft(&record.fold(), &catalogue(), TODAY, TODAY, &TimeZone::UTC).unwrap();
    assert!(report.next.iter().any(|l| l == "One place waits until we have asked you"), "{:?}", report.next);

    // Another fortnight knows nothing of these.
    let later = fortnight::draft(&car, &catalogue(), date(2026, 4, 1), date(2026, 4, 14), &TimeZone::UTC).unwrap();
    assert!(later.done.is_empty() && later.found.is_empty() && later.photographs.is_empty());
    assert!(later.says.contains("quiet"));
    assert_eq!(fortnight::days(&car, date(2026, 3, 20), &TimeZone::UTC), (date(2026, 3, 7), date(2026, 3, 20)));
    assert_eq!(fortnight::days(&car, TODAY, &TimeZone::UTC), (TODAY, TODAY), "the car was not there before");
}
