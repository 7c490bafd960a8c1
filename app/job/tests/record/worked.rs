//! Hours worked: what adds up, and what does not change a zone.

use job::car::ZoneState;
use job::what::{How, What};
use job::worked::Part;

use crate::support::{Record, clear, withdraws, worked};

#[test]
fn hours_add_up_by_zone_and_part_and_only_those_that_count() {
    let mut record = Record::new();
    record.add(What::Worked(worked(Some("Z01.L"), Part::Opening, 2.5)));
    let metal = record.add(What::Worked(worked(Some("Z01.L"), Part::Metal, 60.0)));
    record.correct(metal, What::Worked(worked(Some("Z01.L"), Part::Metal, 6.0)));
    record.add(What::Worked(worked(Some("Z03.L"), Part::Metal, 4.0)));
    record.add(What::Worked(worked(None, Part::Metal, 1.0)));
    let wrong = record.add(What::Worked(worked(None, Part::Coat, 30.0)));
    record.add(withdraws(wrong));
    record.add(What::Worked(worked(None, Part::Assembly, 0.25)));
    let car = record.fold();
    assert_eq!(
        (car.worked_h(Some("Z01.L")), car.worked_h(Some("Z03.L")), car.worked_h(Some("Z02.L"))),
        (8.5, 4.0, 0.0)
    );
    assert_eq!(car.worked_h(None), 13.75);
    let zones = car.worked_by_zone();
    assert_eq!(zones.keys().copied().collect::<Vec<_>>(), [None, Some("Z01.L"), Some("Z03.L")]);
    assert_eq!(
        zones[&Some("Z01.L")].iter().map(|(part, h)| (*part, *h)).collect::<Vec<_>>(),
        [(Part::Opening, 2.5), (Part::Metal, 6.0)]
    );
    let parts = car.worked_by_part();
    assert_eq!((parts[&Part::Metal], parts[&Part::Assembly], parts.get(&Part::Coat)), (11.0, 0.25, None));
    assert_eq!(parts.values().sum::<f64>(), car.worked_h(None));
}

#[test]
fn hours_stand_under_their_zone_and_say_nothing_about_its_metal() {
    let mut record = Record::new();
    record.add(clear("Z01.L"));
    record.add(What::Worked(worked(Some("Z01.L"), Part::Opening, 2.5)));
    let car = record.fold();
    assert_eq!((car.state("Z01.L"), car.zone("Z01.L").unwrap().opened), (ZoneState::Clear, false));
    let entry = car.about("Z01.L").last().unwrap();
    assert_eq!((entry.what.say(), entry.what.kind_words()), ("2.5 h: Opening".into(), "Hours worked"));
    assert_eq!((entry.what.note(), entry.what.sets_state()), ("Two of us.", false));
}

#[test]
fn a_cover_comes_off_only_where_there_is_one() {
    assert_eq!(How::CoverOff.needs(), Some(job::details::Fitted::CoveredRoof));
    assert!(How::ALL.iter().filter(|how| **how != How::CoverOff).all(|how| how.needs().is_none()));
}
