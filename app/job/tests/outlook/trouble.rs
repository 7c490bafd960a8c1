//! Troubles besides rust.

use job::catalogue::ConditionKind;
use job::details::History;
use job::outlook::in_ten;
use job::what::{How, Seen};

use super::record::{Record, details, look, odds, same};

#[test]
fn an_impact_has_its_own_chance_and_leaves_the_rust_alone() {
    let base = Record::new();
    let record = Record::with([look("Z20.L", How::Eye, Seen::Clear, &[("K53", true), ("K54", false)])]);
    let outlook = record.outlook();
    let seen: Vec<_> = outlook.troubles.iter().filter(|trouble| trouble.seen).collect();
    let [bent] = seen.as_slice() else { panic!("{:?}", outlook.troubles) };
    assert_eq!(
        (bent.instance.id.as_str(), bent.condition, bent.say.as_str()),
        ("Z20.L", ConditionKind::Impact, "front leg bent")
    );
    let (diagonals, no_ripple) = (0.7 / 0.03, (1.0 - 0.55) / (1.0 - 0.02));
    assert!(same(odds(bent.chance.likely), odds(0.08) * diagonals * no_ripple));
    assert_eq!(bent.reasons[0].say, "before anybody looked: about 1 in 10");
    assert_eq!(bent.reasons[1].entry, Some(2));
    assert_eq!(in_ten(&bent.chance), "3 to 7 in 10");
    // Where no sign was seen, others at that corner are told only because they have become likelier.
    for other in outlook.troubles.iter().filter(|trouble| !trouble.seen) {
        assert!(other.condition == ConditionKind::Impact && other.chance.likely < bent.chance.likely, "{other:?}");
    }
    // The look was clear of rust, and that is all it says of rust.
    assert!(same(odds(record.p("Z20.L")), odds(base.p("Z20.L")) * 0.7));
}

#[test]
fn a_trouble_needs_a_sign_that_was_seen() {
    let record = Record::with([look("Z20.L", How::Eye, Seen::Clear, &[("K53", false)])]);
    assert!(record.outlook().troubles.is_empty());
}

#[test]
fn what_the_owner_tells_moves_a_trouble() {
    let told = |history: &[History]| {
        let mut details = details();
        details.history = history.iter().copied().collect();
        let mut record = Record::of(details);
        record.add(look("Z50.R", How::MagnetAndGauge, Seen::NotLooked, &[("K43", true)]));
        record.add(look("Z50.L", How::MagnetAndGauge, Seen::Clear, &[("K43", true)]));
        record.add(look("Z31", How::Eye, Seen::Clear, &[("K51", true)]));
        record.outlook().troubles.into_iter().filter(|trouble| trouble.seen).collect::<Vec<_>>()
    };
    let plain = told(&[]);
    // The gap speaks of the panel and of both legs; what could not be seen says nothing.
    let places: Vec<&str> = plain.iter().map(|trouble| trouble.instance.id.as_str()).collect();
    assert_eq!(places, ["Z20.L", "Z20.R", "Z31", "Z50.L"]);
    let sale = told(&[History::ResprayedForSale, History::OneOwnerNoHit]);
    for (before, after) in plain.iter().zip(&sale) {
        let times = odds(after.chance.likely) / odds(before.chance.likely);
        let expected = if before.condition == ConditionKind::BadRepair { 2.0 } else { 0.8 };
        // Signs of one trouble are heard by others at the same corner, so that it is not exactly that.
        assert!((times / expected - 1.0).abs() < 0.15, "{}: {times}", before.say);
    }
}
