//! The rules by which chances move.

use job::catalogue::{Catalogue, STARTING_FILES};
use job::outlook::{Known, Likelihood, in_ten, outlook};
use job::what::{How, Seen, Severity};

use super::record::{Record, catalogue, look, made_good, odds, opened, same, zone_of};

const PITTED: Seen = Seen::Bad(Severity::Pitted);
const THIN: Seen = Seen::Bad(Severity::Thin);

/// Blisters along the seam of the right sill.
fn blisters() -> Record {
    Record::with([look("Z01.R", How::Eye, PITTED, &[("K01", true)])])
}

#[test]
fn worked_membrane_of_the_trade_common_practice() {
    let near = |got: f64, told: f64| (got - told).abs() <= 0.005;
    let mut record = blisters();
    let membrane = zone_of(&record.outlook(), "Z03.R").chance;
    assert!(near(membrane.likely, 0.77) && near(membrane.low, 0.57) && near(membrane.high, 0.89), "{membrane:?}");
    record.add(opened("Z03.L", Some(Severity::Thin)));
    let membrane = zone_of(&record.outlook(), "Z03.R").chance;
    assert!(near(membrane.likely, 0.89) && near(membrane.low, 0.77) && near(membrane.high, 0.95), "{membrane:?}");
    // "All-clear probe, tap and scope instead."
    let clear = Record::with([look("Z01.R", How::ScopeThere, Seen::Clear, &[("K77", true)])]);
    assert!(near(clear.p("Z03.R"), 0.21));
}

#[test]
fn what_a_blister_says_is_readable_and_reaches_the_zones_behind_it() {
    let outlook = blisters().outlook();
    for zone in ["Z03.R", "Z02.R"] {
        let zone = zone_of(&outlook, zone);
        assert_eq!(zone.likelihood, Likelihood::Likely);
        let says: Vec<&str> = zone.reasons.iter().map(|reason| reason.say.as_str()).collect();
        assert!(says[0].starts_with("starting guess for a 50-year-old shell on salted roads: about 5 in 10"));
        assert_eq!(zone.reasons[1].entry, Some(2));
        assert!(says[1].starts_with("blisters along the lower seam of the sill (seen, entry 2): x"), "{says:?}");
    }
    let membrane = zone_of(&outlook, "Z03.R");
    assert_eq!(membrane.reasons[1].say, "blisters along the lower seam of the sill (seen, entry 2): x3.3");
    assert_eq!(in_ten(&membrane.chance), "6 to 9 in 10");
    for zone in ["Z03.L", "Z01.L", "Z04.R", "Z07.R"] {
        assert_eq!(zone_of(&outlook, zone).reasons.len(), 1, "{zone}");
    }
}

/// Acceptance: "scope clear" lowers, "not checked" changes nothing.
#[test]
fn a_clear_scope_lowers_and_not_looked_changes_nothing() {
    let mut record = blisters();
    let before = record.outlook();
    record.add(look("Z03.R", How::ScopeThere, Seen::NotLooked, &[("K49", true)]));
    assert_eq!(record.outlook(), before);
    record.add(look("Z03.R", How::ScopeThere, Seen::Clear, &[]));
    let after = record.p("Z03.R");
    assert!(same(odds(after), odds(zone_of(&before, "Z03.R").chance.likely) * 0.3), "{after}");
}

#[test]
fn invariant_a_clear_look_never_raises_and_pits_never_lower() {
    let base = Record::new().outlook();
    assert_eq!(base.zones.len(), 116);
    for how in How::ALL {
        let (mut clear, mut pitted, mut unseen) = (Record::new(), Record::new(), Record::new());
        for zone in &base.zones {
            clear.add(look(&zone.instance.id, *how, Seen::Clear, &[]));
            pitted.add(look(&zone.instance.id, *how, PITTED, &[]));
            unseen.add(look(&zone.instance.id, *how, Seen::NotLooked, &[]));
        }
        let (clear, pitted) = (clear.outlook(), pitted.outlook());
        assert_eq!(unseen.outlook(), base);
        for ((before, clear), pitted) in base.zones.iter().zip(&clear.zones).zip(&pitted.zones) {
            for chance in [&before.chance, &clear.chance, &pitted.chance] {
                assert!(0.02 <= chance.low && chance.low <= chance.likely);
                assert!(chance.likely <= chance.high && chance.high <= 0.98);
            }
            assert!(clear.chance.likely < before.chance.likely, "{}", before.instance.id);
            assert!(pitted.chance.likely > before.chance.likely, "{}", before.instance.id);
        }
    }
}

#[test]
fn one_thing_seen_three_times_is_one_fact_and_the_latest_word_stands() {
    let once = blisters();
    let mut often = blisters();
    often.add(look("Z01.R", How::Eye, PITTED, &[("K01", true)]));
    often.add(look("Z03.R", How::Eye, Seen::Clear, &[("K02", true)]));
    assert!(same(often.p("Z01.R"), once.p("Z01.R")));
    // The rows of one observation are one statement, whichever of them the entry names.
    often.add(look("Z01.R", How::TapAndProbe, Seen::Clear, &[("K01", false)]));
    let absent = (1.0 - 0.6) / (1.0 - 0.18);
    let by_eye = 0.7;
    assert!(same(odds(often.p("Z03.R")), absent * by_eye), "{}", often.p("Z03.R"));
    assert!(same(often.p("Z03.L"), 0.5));
}

#[test]
fn of_one_evidence_group_only_the_strongest_counts() {
    let (_, text) = STARTING_FILES.iter().find(|(name, _)| *name == "clues.csv").unwrap();
    // The shop holds what the scope shows and what the probe says to be one fact.
    let text = text.replacen("K49,scope,", "K49,sill_probe,", 1);
    let own = Catalogue::with_overrides(&[("clues.csv", text.as_bytes())]).unwrap();
    let record = Record::with([
        look("Z01.R", How::TapAndProbe, PITTED, &[("K04", true)]),
        look("Z03.R", How::ScopeThere, PITTED, &[("K49", true)]),
    ]);
    let (probe, scope) = (0.72 / 0.1, 0.8 / 0.1);
    let apart = record.p("Z03.R");
    assert_eq!(apart, 0.98, "{} is over the end", probe * scope);
    let as_one = outlook(&record.fold(), &own).unwrap().zone("Z03.R").unwrap().chance.likely;
    assert!(same(odds(as_one), scope), "{as_one}");
}

#[test]
fn a_look_that_answers_its_own_clue_counts_once() {
    // The probe says clear and the clue says why: one fact, the finer statement.
    let probed = Record::with([look("Z01.L", How::TapAndProbe, Seen::Clear, &[("K04", false)])]);
    let absent = (1.0 - 0.75) / (1.0 - 0.04);
    assert!(same(odds(probed.p("Z01.L")), odds(0.72) * absent));
    // Bare metal all round says more than a jacking point that is not crushed, and the two are one look.
    let bare = Record::with([look("Z06.RR", How::BareMetal, Seen::Clear, &[("K06", false)])]);
    assert!(same(odds(bare.p("Z06.RR")), odds(0.58) * 0.15));
    // Pits that were seen are another fact than a probe that did not go through.
    let pits = Record::with([look("Z01.L", How::BareMetal, PITTED, &[("K04", false)])]);
    assert!(same(odds(pits.p("Z01.L")), odds(0.72) * absent * 3.0));
    // Blocked drains speak the other way; the look still counts.
    let drains = Record::with([look("Z01.L", How::TapAndProbe, Seen::Clear, &[("K70", true)])]);
    assert!(same(odds(drains.p("Z01.L")), odds(0.72) * 0.4 * 2.0));
    // Of several looks the surest counts; they are one fact.
    let twice =
        Record::with([look("Z01.L", How::Eye, Seen::Clear, &[]), look("Z01.L", How::TapAndProbe, Seen::Clear, &[])]);
    assert!(same(odds(twice.p("Z01.L")), odds(0.72) * 0.4));
}

#[test]
fn what_is_put_right_or_taken_out_no_longer_counts() {
    let before = Record::new().outlook();
    let mut record = Record::new();
    let seq = record.add(look("Z01.R", How::Eye, THIN, &[("K01", true)]));
    assert!(record.p("Z03.R") > 0.7);
    record.withdraw(seq);
    assert_eq!(record.outlook().zones, before.zones);

    let mut record = Record::new();
    let first = record.add(look("Z01.R", How::Eye, THIN, &[("K01", true)]));
    record.add(look("Z01.R", How::Eye, PITTED, &[("K01", true)]));
    // The correction counts where the first version stood, so the later look still has the last word.
    record.correct(first, look("Z01.R", How::Eye, Seen::Clear, &[("K01", false)]));
    assert!(same(odds(record.p("Z03.R")), 0.6 / 0.18));
    assert_eq!(zone_of(&record.outlook(), "Z01.R").known, Known::NotKnown);
}

#[test]
fn what_was_seen_is_known() {
    let mut record = Record::with([look("Z51.L", How::Eye, Seen::Bad(Severity::Holed), &[])]);
    let zone = zone_of(&record.outlook(), "Z51.L");
    assert_eq!((zone.known, zone.chance.low, zone.opened), (Known::NeedsMetal, 0.98, false));
    assert_eq!(zone.reasons[0].say, "seen: holed (entry 2)");
    assert!(zone.look.is_none() && zone.stake_h > 0.0);

    record.add(opened("Z51.L", None));
    let zone = zone_of(&record.outlook(), "Z51.L");
    assert_eq!((zone.known, zone.chance.high, zone.opened), (Known::FoundSound, 0.02, true));
    // A later glance at it changes nothing of that.
    record.add(look("Z51.L", How::Eye, Seen::Clear, &[]));
    assert_eq!(zone_of(&record.outlook(), "Z51.L").known, Known::FoundSound);

    record.add(opened("Z51.L", Some(Severity::Thin)));
    record.add(made_good("Z51.L"));
    let zone = zone_of(&record.outlook(), "Z51.L");
    assert_eq!((zone.known, zone.stake_h, zone.reasons[0].say.as_str()), (Known::MadeGood, 0.0, "made good (entry 6)"));

    // Opened and only pitted: still a chance, but from inside.
    record.add(opened("Z61", Some(Severity::Pitted)));
    let zone = zone_of(&record.outlook(), "Z61");
    assert_eq!(zone.known, Known::NotKnown);
    assert_eq!(zone.reasons.last().unwrap().say, "opened: pitted (entry 7): x3");
}

#[test]
fn rotten_neighbours_double_the_odds_up_to_the_cap() {
    let base = Record::new();
    let mut record = Record::with([look("Z01.L", How::Eye, THIN, &[])]);
    let times = |record: &Record, zone: &str| odds(record.p(zone)) / odds(base.p(zone));
    assert!(same(times(&record, "Z03.L"), 2.0) && same(times(&record, "Z03.R"), 1.0));
    // The same zone opposite, and no other zone there.
    assert!(same(times(&record, "Z01.R"), 2.5));
    record.add(look("Z02.L", How::Eye, THIN, &[]));
    record.add(look("Z10.L", How::Eye, THIN, &[]));
    assert!(same(times(&record, "Z03.L"), 4.0));
    let reason = zone_of(&record.outlook(), "Z03.L").reasons.last().unwrap().clone();
    let said = "rotten next to it: outer sill, left; inner sill, left; B-post foot, left (entry 4): x4";
    assert_eq!((reason.say.as_str(), reason.entry), (said, Some(4)));
    // A leak comes from uphill only now and then: the front floor is next to the inner sill.
    assert!(same(times(&record, "Z14.L"), 1.8));
    // It was rotten, also when it has been made good; found sound it was not.
    record.add(made_good("Z02.L"));
    record.add(opened("Z10.L", None));
    assert!(same(times(&record, "Z03.L"), 4.0 * 0.5));
    // Both jacking points of one side are one neighbour.
    let jacks = Record::with([look("Z06.LF", How::Eye, THIN, &[]), look("Z06.LR", How::Eye, THIN, &[])]);
    assert!(same(times(&jacks, "Z03.L"), 2.0));
    assert!(same(times(&jacks, "Z06.RF"), 2.5));
    // The roof skin has no side: its neighbours on both are next to it, and vinyl has no such row.
    let roof = Record::with([look("Z53.L", How::Eye, THIN, &[])]);
    assert!(same(times(&roof, "Z52"), 1.0));
}

#[test]
fn clues_stay_on_their_side_and_in_their_place() {
    let base = Record::new();
    let record = Record::with([look("Z06.LF", How::Eye, PITTED, &[("K06", true)])]);
    let moved = |zone| !same(record.p(zone), base.p(zone));
    assert!(moved("Z06.LF") && moved("Z03.L"));
    assert!(!moved("Z06.LR") && !moved("Z06.RF") && !moved("Z03.R"));
    // Seen from the centre it speaks of both sides; a zone without a side hears it from either.
    let centre = Record::with([look("Z39", How::Eye, PITTED, &[("K29", true)])]);
    assert!(!same(centre.p("Z41.L"), base.p("Z41.L")) && same(centre.p("Z41.L"), centre.p("Z41.R")));
    let side = Record::with([look("Z14.R", How::Eye, PITTED, &[("K13", true)])]);
    assert!(!same(side.p("Z27"), base.p("Z27")) && same(side.p("Z14.L"), base.p("Z14.L")));
}

/// The trade's reading of car A, entry by entry; the zone-level reading of both cars is beside the code.
#[test]
fn odds_of_the_invented_car_a_from_its_record_common_practice() {
    let mut details = super::record::details();
    details.fitted = [job::details::Fitted::CoveredRoof].into();
    let mut record = Record::of(details);
    for side in ["L", "R"] {
        record.add(look(&format!("Z01.{side}"), How::Eye, PITTED, &[("K01", true), ("K08", true)]));
        record.add(look(&format!("Z14.{side}"), How::Eye, PITTED, &[("K13", true)]));
        record.add(look(&format!("Z08.{side}"), How::Eye, Seen::Clear, &[("K38", false)]));
        record.add(look(&format!("Z25.{side}"), How::Eye, Seen::Clear, &[("K24", false)]));
    }
    record.add(look("Z52", How::TapAndProbe, PITTED, &[("K32", true)]));
    let outlook = outlook(&record.fold(), catalogue()).unwrap();
    let text = include_str!("../../../../reference/forecast/fixture_cars.csv");
    let mut compared = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records().map(|row| row.unwrap()).filter(|row| &row[0] == "A")
    {
        let told: Vec<f64> = (2..5).map(|column| row[column].parse().unwrap()).collect();
        // This car has no sunroof and is closed, so it has neither Z56 nor Z62.
        for zone in outlook.zones.iter().filter(|zone| zone.instance.zone == row[1]) {
            let got = [zone.chance.low, zone.chance.likely, zone.chance.high];
            let near = got.iter().zip(&told).all(|(got, told)| (got - told).abs() <= 0.005 + 1e-9);
            assert!(near, "{}: {got:?}, {told:?}; {:?}", zone.instance.id, zone.reasons);
            compared += 1;
        }
    }
    assert_eq!(compared, outlook.zones.len());
}
