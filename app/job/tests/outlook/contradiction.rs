//! Looks that cannot both be right.

use job::outlook::{Contradiction, Known};
use job::what::{How, Seen, Severity};

use super::record::{Record, look, made_good, opened, zone_of};

const THIN: Seen = Seen::Bad(Severity::Thin);
const PITTED: Seen = Seen::Bad(Severity::Pitted);

fn told(record: &Record) -> Vec<Contradiction> {
    record.outlook().contradictions
}

#[test]
fn bad_and_then_clear_is_told_with_both_entries() {
    let mut record = Record::with([look("Z03.L", How::ScopeThere, THIN, &[])]);
    assert!(told(&record).is_empty());
    record.add(look("Z03.L", How::TapAndProbe, Seen::Clear, &[]));
    let found = told(&record);
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!((one.instance.id.as_str(), one.earlier, one.later), ("Z03.L", 2, 3));
    assert!(one.say.contains("entry 2") && one.say.contains("thin") && one.say.contains("entry 3: "), "{}", one.say);
    assert!(one.say.ends_with("clear"), "{}", one.say);
    // The later one counts: it is no longer known to be bad.
    let zone = zone_of(&record.outlook(), "Z03.L");
    assert!(zone.known == Known::NotKnown && zone.p < zone_of(&Record::new().outlook(), "Z03.L").p);
}

#[test]
fn clear_and_then_bad_or_opened_is_told_too() {
    let mut record = Record::with([look("Z01.R", How::Eye, Seen::Clear, &[]), opened("Z01.R", Some(Severity::Holed))]);
    assert_eq!(told(&record).len(), 1);
    assert_eq!(zone_of(&record.outlook(), "Z01.R").known, Known::NeedsMetal);
    // Opened once more and found sound: now it is these two that are against each other.
    record.add(opened("Z01.R", None));
    let found = told(&record);
    assert_eq!((found.len(), found[0].earlier, found[0].later), (1, 3, 4));
}

#[test]
fn what_settles_nothing_or_was_done_between_is_no_contradiction() {
    let mut record = Record::with([look("Z01.R", How::Eye, PITTED, &[]), look("Z01.R", How::Eye, Seen::Clear, &[])]);
    record.add(look("Z01.R", How::ScopeThere, Seen::NotLooked, &[]));
    assert!(told(&record).is_empty());
    let mut record = Record::with([opened("Z01.R", Some(Severity::Thin)), made_good("Z01.R")]);
    record.add(look("Z01.R", How::Eye, Seen::Clear, &[]));
    assert!(told(&record).is_empty());
    // Two zones are two zones.
    let record = Record::with([look("Z01.R", How::Eye, THIN, &[]), look("Z01.L", How::Eye, Seen::Clear, &[])]);
    assert!(told(&record).is_empty());
}

#[test]
fn one_that_is_taken_out_or_put_right_is_no_longer_told() {
    let mut record = Record::with([look("Z01.R", How::Eye, THIN, &[])]);
    let later = record.add(look("Z01.R", How::TapAndProbe, Seen::Clear, &[]));
    assert_eq!(told(&record).len(), 1);
    record.correct(later, look("Z01.R", How::TapAndProbe, THIN, &[]));
    assert!(told(&record).is_empty());
    let mut record = Record::with([look("Z01.R", How::Eye, THIN, &[])]);
    let later = record.add(look("Z01.R", How::TapAndProbe, Seen::Clear, &[]));
    record.withdraw(later);
    assert!(told(&record).is_empty());
}

/// The body has no such zone, or the clue speaks of one that it has not: what is left of the entry still counts.
#[test]
fn a_clue_for_a_zone_that_the_body_has_not_says_nothing() {
    let plain = Record::with([look("Z53.L", How::TapAndProbe, PITTED, &[])]);
    let base = plain.zones();
    // Z56 is the sunroof and Z62 the rear deck of an open car; this one has neither.
    assert!(base.zone("Z56").is_none() && base.zones.iter().all(|zone| zone.instance.zone != "Z62"));
    let ghost = Record::with([
        look("Z53.L", How::TapAndProbe, PITTED, &[]),
        look("Z56", How::Eye, THIN, &[("K01", true)]),
        look("Z99.X", How::Eye, THIN, &[("K999", true)]),
        opened("Z62", Some(Severity::Holed)),
        made_good("Z56"),
    ]);
    let outlook = ghost.outlook();
    assert!(outlook.zones.iter().zip(&base.zones).all(|(ghost, plain)| ghost.p == plain.p));
    assert!(outlook.contradictions.is_empty() && outlook.troubles.is_empty());
}
