//! How the range moved as the record grew.

use job::outlook::{history, range};
use job::what::{How, Seen, Severity, What};
use job::worked::{Part, Worked};

use super::record::{Record, catalogue, look, opened};

#[test]
fn a_record_in_which_nothing_moved_tells_only_how_it_began() {
    let mut record = Record::new();
    record.add(What::Worked(Worked { zone: None, part: Part::Other, hours_h: 2.0, note: String::new() }));
    let points = history(&record.fold(), catalogue()).unwrap();
    assert_eq!(points.iter().map(|point| point.seq).collect::<Vec<_>>(), [1]);
}

#[test]
fn each_point_is_the_range_as_it_stood_then() {
    let mut record = Record::with([look("Z01.R", How::Eye, Seen::Bad(Severity::Thin), &[("K01", true)])]);
    record.add(What::Worked(Worked { zone: None, part: Part::Other, hours_h: 2.0, note: String::new() }));
    let then = record.fold();
    record.add(look("Z03.R", How::ScopeThere, Seen::Clear, &[]));
    record.add(opened("Z51.L", Some(Severity::Holed)));
    let points = history(&record.fold(), catalogue()).unwrap();
    let seqs: Vec<u64> = points.iter().map(|point| point.seq).collect();
    assert_eq!(seqs, [1, 2, 4, 5]);
    let of = |car: &job::car::Car| {
        range(car, catalogue(), &job::outlook::zones_only(car, catalogue()).unwrap()).unwrap().outcome
    };
    for (point, car) in [(&points[1], then), (&points[3], record.fold())] {
        let wanted = of(&car);
        assert_eq!(point.when, car.entry(point.seq).unwrap().when());
        // Means are exact; the ends come from fewer draws.
        assert!((point.outcome.mean - wanted.mean).abs() < 1e-6, "{}", point.seq);
        for (got, wanted) in [
            (point.outcome.p10, wanted.p10),
            (point.outcome.p50, wanted.p50),
            (point.outcome.p80, wanted.p80),
            (point.outcome.p95, wanted.p95),
        ] {
            assert!((got / wanted - 1.0).abs() < 0.08, "{}: {got} {wanted}", point.seq);
        }
    }
    assert_eq!(points, history(&record.fold(), catalogue()).unwrap());
}

#[test]
fn a_long_record_is_told_by_its_first_and_last_and_no_more_than_a_picture_holds() {
    let mut record = Record::new();
    for (at, zone) in record.zones().zones.iter().take(60).enumerate() {
        let seen = if at % 3 == 0 { Seen::Bad(Severity::Thin) } else { Seen::Clear };
        record.add(look(&zone.instance.id, How::TapAndProbe, seen, &[]));
    }
    let points = history(&record.fold(), catalogue()).unwrap();
    assert_eq!((points.len(), points[0].seq, points[19].seq), (20, 1, 61));
    assert!(points.windows(2).all(|pair| pair[0].seq < pair[1].seq));
    // Looking makes the range narrower against its middle.
    let width = |at: usize| (points[at].outcome.p95 - points[at].outcome.p10) / points[at].outcome.p50;
    assert!(width(19) < width(0), "{} {}", width(19), width(0));
}
