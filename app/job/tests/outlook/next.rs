//! Where to look next.

use std::collections::BTreeSet;

use job::outlook::NextLook;
use job::what::{How, Seen, Severity};

use super::record::{Record, catalogue, look, opened};

#[test]
fn looks_come_most_worth_first_and_tell_what_hangs_on_them() {
    let record = Record::with([look("Z01.R", How::Eye, Seen::Bad(Severity::Pitted), &[("K01", true)])]);
    let outlook = record.outlook();
    assert!(outlook.looks.windows(2).all(|pair| pair[0].worth_h >= pair[1].worth_h));
    let worth: Vec<_> = outlook.worth_looking().collect();
    // Each first choice tells of something that no better one tells of, and together they tell of all that is worth it.
    let choices = outlook.first_choices();
    let told = |looks: &[&NextLook]| -> BTreeSet<String> {
        looks.iter().flat_map(|look| look.reaches.iter().map(|zone| zone.id.clone())).collect()
    };
    for (at, choice) in choices.iter().enumerate() {
        let before = told(&choices[..at]);
        assert!(choice.reaches.iter().any(|zone| !before.contains(&zone.id)), "{}", choice.say);
    }
    assert!(told(&choices) == told(&worth) && choices.len() < worth.len() && choices[0] == worth[0]);
    assert!(worth.len() >= 3 && worth.len() < outlook.looks.len());
    assert!(worth.iter().all(|look| look.worth_h > 0.0));
    let mut keys = std::collections::BTreeSet::new();
    for look in &outlook.looks {
        assert!(keys.insert(look.key.as_str()), "{} twice", look.key);
        assert!(look.gain_h >= 0.0 && look.hours.likely > 0.0 && !look.reaches.is_empty() && !look.say.is_empty());
        assert!((look.worth_h - (look.gain_h - look.hours.likely)).abs() < 1e-9, "{}", look.key);
        let stakes = look.reaches.iter().map(|instance| outlook.zone(&instance.id).unwrap().stake_h);
        let told: Vec<f64> = stakes.collect();
        assert!((look.stake_h - told.iter().sum::<f64>()).abs() < 1e-9, "{}", look.key);
        assert!(told.windows(2).all(|pair| pair[0] >= pair[1]), "{}: {told:?}", look.key);
    }
    // Every act of the catalogue that reaches something unknown is offered on each side on which it is done.
    for way in catalogue().ways_in() {
        let of_it = outlook.looks.iter().filter(|look| look.key.split('.').next() == Some(&way.id)).count();
        let needs = way.how == How::CoverOff;
        assert!(of_it == 0 && needs || of_it == 1 || of_it == 2, "{}: {of_it}", way.id);
    }
}

/// The same way is not offered twice at one place, a surer one is; what is open or known is not looked at again.
#[test]
fn a_look_that_was_taken_is_not_advised_again() {
    let offered = |record: &Record, key: &str| record.outlook().looks.into_iter().find(|look| look.key == key);
    let mut record = Record::new();
    let (there, drilled) = ("scope_there.Z03.L", "scope_drilled.Z03.L");
    let first = offered(&record, there).unwrap();
    assert!(first.how == How::ScopeThere && first.reaches[0].id == "Z03.L" && first.reaches.len() == 1);
    let before = offered(&record, drilled).unwrap();
    record.add(look("Z03.L", How::ScopeThere, Seen::Clear, &[]));
    assert!(offered(&record, there).is_none());
    // The surer way may still be taken; it has less left to tell.
    assert!(offered(&record, drilled).unwrap().gain_h < before.gain_h);
    record.add(look("Z03.L", How::ScopeDrilled, Seen::Clear, &[]));
    record.add(opened("Z03.R", Some(Severity::Pitted)));
    let outlook = record.outlook();
    for side in ["Z03.R", "Z03.L"] {
        let eye_again = format!("eye.{side}");
        assert!(outlook.looks.iter().all(|look| ![there, drilled, &eye_again].contains(&look.key.as_str())));
    }
    assert!(outlook.looks.iter().all(|look| look.reaches.iter().all(|instance| instance.id != "Z03.R")));
}

#[test]
fn nobody_is_sent_to_look_at_what_is_known() {
    let mut record = Record::new();
    for zone in record.zones().zones {
        record.add(opened(&zone.instance.id, None));
    }
    let outlook = record.outlook();
    assert!(outlook.looks.is_empty() && outlook.pair.is_none() && outlook.worth_looking().next().is_none());
}

#[test]
fn a_pair_is_worth_more_than_the_best_look_alone_and_hardly_more_than_both() {
    for record in [Record::new(), Record::with([look("Z01.R", How::Eye, Seen::Bad(Severity::Thin), &[])])] {
        let outlook = record.outlook();
        let pair = outlook.pair.expect("a shell nobody has looked at has two looks that go together");
        let (first, second) = (&outlook.looks[pair.first], &outlook.looks[pair.second]);
        assert!(pair.first < pair.second && pair.worth_h > 0.0);
        assert!((pair.worth_h - (pair.gain_h - first.hours.likely - second.hours.likely)).abs() < 1e-9);
        // Two answers may change a plan that neither changes alone, but seldom do.
        assert!(pair.gain_h < 1.1 * (first.gain_h + second.gain_h), "{pair:?}");
        let both = |id: &str| first.reaches.iter().chain(&second.reaches).filter(|at| at.id == id).count();
        assert!(first.reaches.iter().all(|at| both(&at.id) == 1), "{} {}", first.say, second.say);
    }
}

#[test]
fn a_shell_that_has_been_looked_at_has_less_to_gain() {
    let best = |record: &Record| record.outlook().looks.first().map_or(0.0, |look| look.gain_h);
    let mut record = Record::new();
    let before = best(&record);
    for zone in record.zones().zones {
        record.add(look(&zone.instance.id, How::BareMetal, Seen::Clear, &[]));
    }
    assert!(best(&record) < before);
    // The same record gives the same looks.
    assert_eq!(record.outlook(), record.outlook());
}
