//! Why a zone is thought of as it is: each piece of evidence by what the odds would be without it.

use job::what::{How, Seen, Severity, What};

use super::record::{Record, look, odds, opened, same, zone_of};

const THIN: Seen = Seen::Bad(Severity::Thin);

fn entries() -> Vec<What> {
    vec![
        look("Z01.R", How::Eye, Seen::Bad(Severity::Pitted), &[("K01", true)]),
        look("Z03.R", How::ScopeThere, Seen::Clear, &[]),
        look("Z10.R", How::Eye, THIN, &[]),
        opened("Z03.L", Some(Severity::Holed)),
        opened("Z05.R", None),
        look("Z02.R", How::TapAndProbe, Seen::Clear, &[]),
    ]
}

#[test]
fn a_reason_is_the_odds_with_it_over_the_odds_without_it() {
    let all = Record::with(entries());
    let zone = zone_of(&all.outlook(), "Z03.R");
    let told: Vec<_> = zone.reasons.iter().filter(|reason| reason.entry.is_some()).collect();
    assert!(told.len() >= 4, "{told:?}");
    for reason in &told {
        // Entry 1 opened the car, so entry n is the one at n - 2; the place stays and says nothing.
        let mut without = entries();
        without[reason.entry.unwrap() as usize - 2] = look("Z44", How::Eye, Seen::NotLooked, &[]);
        let wanted = odds(zone.p) / odds(zone_of(&Record::with(without).zones(), "Z03.R").p);
        assert!((reason.ratio / wanted - 1.0).abs() < 1e-6, "{}: {wanted}", reason.say);
        assert!(reason.say.contains(&format!("entry {}", reason.entry.unwrap())), "{}", reason.say);
    }
}

#[test]
fn the_strongest_come_first_three_for_and_three_against() {
    let zone = zone_of(&Record::with(entries()).outlook(), "Z03.R");
    let strength = |ratio: f64| ratio.max(1.0 / ratio);
    let seen: Vec<f64> = zone.reasons.iter().filter(|r| r.entry.is_some()).map(|r| strength(r.ratio)).collect();
    assert!(seen.windows(2).all(|pair| pair[0] >= pair[1]), "{seen:?}");
    assert!(seen.iter().all(|strength| *strength >= 1.05));
    let (most_for, against) = (zone.most_for(), zone.most_against());
    assert!(!most_for.is_empty() && most_for.len() <= 3 && !against.is_empty() && against.len() <= 3);
    assert!(most_for.iter().all(|reason| reason.ratio > 1.0) && against.iter().all(|reason| reason.ratio < 1.0));
    assert!(most_for.windows(2).all(|pair| pair[0].ratio >= pair[1].ratio));
    assert!(against.windows(2).all(|pair| pair[0].ratio <= pair[1].ratio));
    let say = |say: &str| zone.reasons.iter().any(|reason| reason.say.starts_with(say));
    assert!(say("rotten opposite: ") && say("rotten next to it: ") && say("scope"), "{:?}", zone.reasons);
}

/// What is known needs no reasons but that it is; what was told of the car before is told after too.
#[test]
fn what_is_known_says_so_and_nothing_else() {
    let outlook = Record::with(entries()).outlook();
    for (id, say) in [("Z03.L", "seen: holed (entry 5)"), ("Z05.R", "opened and found sound (entry 6)")] {
        let zone = zone_of(&outlook, id);
        assert_eq!((zone.reasons.len(), zone.reasons[0].say.as_str(), zone.reasons[0].ratio), (1, say, 1.0));
        assert!(zone.most_for().is_empty() && zone.most_against().is_empty());
        assert!(same(zone.p, if id == "Z03.L" { 1.0 } else { 0.0 }));
    }
}
