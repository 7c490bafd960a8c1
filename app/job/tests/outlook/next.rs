//! Where to look next.

use job::outlook::next_looks;
use job::what::{How, Seen, Severity};

use super::record::{Record, catalogue, look, opened, same, zone_of};

#[test]
fn looks_that_are_worth_their_hours_come_most_worth_first() {
    let record = Record::with([look("Z01.R", How::Eye, Seen::Bad(Severity::Pitted), &[("K01", true)])]);
    let outlook = record.outlook();
    let looks = next_looks(&outlook);
    assert!(!looks.is_empty() && looks.len() <= outlook.zones.len());
    assert!(looks.windows(2).all(|pair| pair[0].1.worth_h >= pair[1].1.worth_h));
    assert!(looks.iter().all(|(_, look)| look.worth_h > 0.0 && look.hours_h > 0.0));
    // A membrane is not seen by eye; a scope through the holes that are there is the cheapest that tells.
    let membrane = zone_of(&outlook, "Z03.R");
    let best = membrane.look.unwrap();
    assert_eq!(best.how, How::ScopeThere);
    let way = catalogue().look(How::ScopeThere).unwrap().clone();
    let changes = (1.0 - membrane.chance.likely) * (1.0 - way.ratio_clear);
    assert!(same(best.worth_h, changes * membrane.stake_h - way.hours.likely));
}

#[test]
fn a_look_that_was_taken_is_not_advised_again() {
    let mut record = Record::new();
    let first = zone_of(&record.outlook(), "Z03.L").look.unwrap();
    record.add(look("Z03.L", first.how, Seen::Clear, &[]));
    let second = zone_of(&record.outlook(), "Z03.L").look.unwrap();
    assert_eq!((first.how, second.how), (How::ScopeThere, How::ScopeDrilled));
    assert!(second.worth_h < first.worth_h);
    record.add(look("Z03.L", How::ScopeDrilled, Seen::Clear, &[]));
    assert!(zone_of(&record.outlook(), "Z03.L").look.is_none());
    record.add(opened("Z03.R", Some(Severity::Pitted)));
    assert!(zone_of(&record.outlook(), "Z03.R").look.is_none());
}

#[test]
fn nobody_is_sent_to_look_at_what_is_known() {
    let mut record = Record::new();
    for zone in record.outlook().zones {
        record.add(opened(&zone.instance.id, None));
    }
    assert!(next_looks(&record.outlook()).is_empty());
}
