//! What would follow from a look, against what does follow once it has been kept.

use job::outlook::{Known, what_if, zones_only};
use job::what::{How, Seen, Severity};

use super::record::{Record, catalogue, look, opened, zone_of};

fn asked(record: &Record, key: &str) -> job::outlook::WhatIf {
    what_if(&record.fold(), catalogue(), key).unwrap().unwrap_or_else(|| panic!("no look {key}"))
}

/// A shell of which a few things are known already.
fn begun() -> Record {
    Record::with([
        look("Z01.R", How::Eye, Seen::Bad(Severity::Pitted), &[("K01", true)]),
        look("Z03.R", How::TapAndProbe, Seen::Clear, &[]),
        look("Z14.L", How::Eye, Seen::Bad(Severity::Thin), &[]),
        opened("Z51.L", None),
    ])
}

#[test]
fn seen_clear_is_what_the_record_would_make_of_it() {
    for key in ["scope_there.Z03.L", "W01.right", "W01.left", "W11", "W12", "tap_and_probe.Z20.L"] {
        let record = begun();
        let told = asked(&record, key);
        let mut kept = begun();
        for zone in &told.look.reaches {
            kept.add(look(&zone.id, told.look.how, Seen::Clear, &[]));
        }
        let (before, after) = (record.zones(), kept.zones());
        let reached = told.clear.zones.iter().filter(|zone| zone.reached).count();
        assert_eq!(reached, told.look.reaches.len().min(8), "{key}");
        for zone in &told.clear.zones {
            let id = &zone.instance.id;
            let (before, after) = (zone_of(&before, id).chance, zone_of(&after, id).chance);
            assert!((zone.before.likely - before.likely).abs() < 1e-9, "{key} {id}");
            assert!((zone.after.likely - after.likely).abs() < 1e-9, "{key} {id}: {:?} {after:?}", zone.after);
            assert!(!zone.reached || zone.after.likely < zone.before.likely, "{key} {id}");
        }
        let (now, then) = told.clear.mean_h;
        assert!(then < now && (now - mean(&record)).abs() < 1e-6 && (then - mean(&kept)).abs() < 1e-6, "{key}");
        // The look that was taken is not advised again for the same zones.
        assert_ne!(told.clear.next.as_deref(), Some(told.look.say.as_str()), "{key}");
    }
}

/// Mean hours as the range has them.
fn mean(record: &Record) -> f64 {
    let car = record.fold();
    let outlook = zones_only(&car, catalogue()).unwrap();
    job::outlook::range(&car, catalogue(), &outlook).unwrap().outcome.mean
}

#[test]
fn seen_bad_makes_the_likeliest_zone_known_and_raises_its_neighbours() {
    let record = begun();
    for key in ["scope_there.Z03.L", "W01.left"] {
        let told = asked(&record, key);
        let outlook = record.zones();
        let likeliest =
            told.look.reaches.iter().map(|at| zone_of(&outlook, &at.id)).reduce(|a, b| if b.p > a.p { b } else { a });
        let likeliest = likeliest.unwrap().instance.id.clone();
        let bad = told.bad.zones.iter().find(|zone| zone.instance.id == likeliest).unwrap();
        assert!(bad.reached && bad.after.low == 0.98 && bad.before.likely < 0.98, "{key}: {bad:?}");
        for zone in told.bad.zones.iter().filter(|zone| zone.instance.id != likeliest) {
            assert!(zone.after.likely > zone.before.likely, "{key} {}", zone.instance.id);
        }
        assert!(told.bad.zones.len() <= 8 && told.clear.zones.len() <= 8);
        let (now, then) = told.bad.mean_h;
        assert!(then > now && told.clear.mean_h.0 == now);
        // The record says the same of the other zones once it is seen thin there.
        let mut kept = begun();
        kept.add(look(&likeliest, told.look.how, Seen::Bad(Severity::Thin), &[]));
        let after = kept.zones();
        assert_eq!(zone_of(&after, &likeliest).known, Known::NeedsMetal);
        for zone in &told.bad.zones {
            let wanted = zone_of(&after, &zone.instance.id).chance.likely;
            assert!((zone.after.likely - wanted).abs() < 1e-9, "{key} {}", zone.instance.id);
        }
    }
}

#[test]
fn the_look_is_the_one_on_the_list_and_an_unknown_key_is_none() {
    let record = begun();
    let outlook = record.outlook();
    for listed in outlook.looks.iter().take(5) {
        let asked = asked(&record, &listed.key).look;
        assert!((asked.gain_h - listed.gain_h).abs() < 1e-9 && asked.reaches == listed.reaches, "{}", listed.key);
        assert_eq!((asked.say, asked.hours), (listed.say.clone(), listed.hours));
    }
    let none = |key: &str| what_if(&record.fold(), catalogue(), key).unwrap().is_none();
    // Opened and known; no such zone; no such way; not offered by that car; nothing.
    for key in ["scope_there.Z51.L", "eye.Z99.L", "W99", "W01.middle", "cover_off.Z53.L", ""] {
        assert!(none(key), "{key}");
    }
}
