//! The bytes that released versions wrote still open.
//!
//! `v1.jsonl` is what version 1 of every kind looks like, as it was written then; `v2.jsonl` holds the kinds
//! that came with the owner's side, and the second version of a car's details; `v3.jsonl` the kinds that came
//! with mixing paint; `v4.jsonl` hours worked and the ways of looking that came with them; `v5.jsonl` the way to
//! the car's colour: briefs, sampled pictures, the question with recipes, what the colour is for. No such file is
//! ever edited: what comes later joins them in a file of its own, and these must go on being read.

use job::car::{Car, ZoneState};
use job::chain::verify;
use job::details::{Aim, Climate, Fitted, Kept, Stage};
use job::event::{Stored, decode, encode};
use job::ids::Hash;
use job::mixing::Wanted;
use job::paintwork::decided::{car_colour, colour_questions, colour_waits};
use job::paintwork::{self, briefs};
use job::question::{AnswerWay, Standing};
use job::what::{How, Severity, What};
use job::worked::Part;

use crate::support::stored;

const V1: &str = include_str!("v1.jsonl");
const V1_HEAD: &str = "d875a4ff28d0cfb103439f8fd46083aa9f9175b236b917fa29d9b11a53d91765";

const V2: &str = include_str!("v2.jsonl");
const V2_HEAD: &str = "88692610c7f5242a4ee8a5250ae5aac3e46233ab7f2a11dbd7cda5138e467441";

const V3: &str = include_str!("v3.jsonl");
const V3_HEAD: &str = "410721d9aeab4ed17847a70f73a77818d99a9235f8a975b8a5c931dccdc1fe2f";

const V4: &str = include_str!("v4.jsonl");
const V4_HEAD: &str = "ab0d0ded976b5c650210ef2dbf075a689e5f2948f6d7197de547baf1b98b2223";

const V5: &str = include_str!("v5.jsonl");
const V5_HEAD: &str = "0308311f3271aa5139444f7028cf374ef282eca801697b9011e4dc840f324c38";

fn v1() -> Vec<Stored> {
    lines(V1)
}

fn lines(text: &str) -> Vec<Stored> {
    let entry = |line: &str| {
        let read: serde_json::Value = serde_json::from_str(line).unwrap();
        read["entry"].as_str().unwrap().parse().unwrap()
    };
    text.lines().enumerate().map(|(i, line)| stored(i as u64 + 1, entry(line), line.to_owned())).collect()
}

#[test]
fn regression_the_bytes_of_version_1_verify() {
    let events = v1();
    let verdict = verify(&events, Some(V1_HEAD.parse().unwrap()));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.head, V1_HEAD.parse().unwrap());
    assert_eq!(verdict.events, 16);
}

#[test]
fn regression_version_1_holds_every_kind_that_it_had_and_all_are_understood() {
    let whats: Vec<What> = v1().iter().map(|s| decode(s).unwrap().what).collect();
    assert!(whats.iter().all(|w| !matches!(w, What::Newer { .. })));
    // Every kind of version 1, by the key that is in the file for good.
    for key in [
        "car_opened",
        "car_changed",
        "stage_reached",
        "looked",
        "read",
        "photographed",
        "opened",
        "made_good",
        "colour_measured",
        "climate_read",
        "film_judged",
        "withdrawn",
    ] {
        assert!(whats.iter().any(|w| w.kind() == key), "{key} is missing");
    }
}

#[test]
fn regression_version_1_adds_up_to_the_same_car() {
    let car = Car::fold(&v1()).unwrap();
    assert_eq!((car.count, car.stage), (16, Stage::Survey));
    assert_eq!(car.details.title, "Car 1");
    assert_eq!((car.details.year, car.details.climate), (1971, Climate::TemperateSalted));
    assert_eq!((car.details.kept, car.details.aim), (Kept::Unheated, Aim::Show));
    assert!(car.details.fitted.contains(&Fitted::Sunroof) && car.details.invented);
    assert_eq!(car.details.rates.as_ref().map(|r| (r.bench, r.painter)), Some((85.0, 92.5)));

    // Bad and thin at first; corrected to holed.
    assert_eq!(car.state("Z01.L"), ZoneState::Bad(Severity::Holed));
    assert_eq!(car.entry(4).unwrap().superseded_by, Some(15));
    // Opened, found holed, made good.
    assert_eq!((car.state("Z03.L"), car.zone("Z03.L").unwrap().opened), (ZoneState::MadeGood, true));
    // Looked, clear; then taken out.
    assert_eq!(car.state("Z02.R"), ZoneState::NotLooked);
    // A look that saw nothing.
    assert_eq!(car.state("Z04.L"), ZoneState::NotLooked);

    let (_, reading) = car.readings().next().unwrap();
    assert_eq!((reading.value, reading.good_to()), (0.52, 0.02 + 0.0052));
    assert_eq!(reading.limit.as_ref().map(|l| l.value), Some(0.6));
    let (_, photo) = car.photographs().next().unwrap();
    assert_eq!((photo.picture, photo.thumb), (Hash::of(b"picture"), Hash::of(b"thumb")));
    let mark = photo.mark.as_ref().unwrap();
    assert_eq!((mark.view.as_str(), mark.u_mm, mark.v_mm), ("left", 1520.5, 210.25));
    let (_, measured) = car.measurements().next().unwrap();
    assert_eq!(measured.spectra.len(), 3);
    assert_eq!(job::paint::measurement(measured).unwrap().by_angle().len(), 3);

    let noted = car.entry(16).unwrap();
    assert_eq!(noted.when().to_string(), "2026-03-02T07:05:00Z");
    assert_eq!((noted.by.name.as_str(), noted.by.role.key()), ("Bench A", "bench"));
}

#[test]
fn regression_the_bytes_of_version_2_verify_and_add_up_to_the_same_car() {
    let events = lines(V2);
    let verdict = verify(&events, Some(V2_HEAD.parse().unwrap()));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, 12);
    let kinds: Vec<String> = events.iter().map(|s| decode(s).unwrap().what.kind().to_owned()).collect();
    assert!(["question", "answer", "owner_wrote", "report"].iter().all(|key| kinds.iter().any(|k| k == key)));

    let car = Car::fold(&events).unwrap();
    assert_eq!((car.details.budget_h, car.details.ask_limit_h()), (Some(900.0), 12.5));
    assert_eq!(car.details.history.len(), 2);
    let threads = car.threads();
    assert_eq!(threads.len(), 2);
    let first = &threads[0];
    assert_eq!((first.versions.len(), first.answers.len(), first.wrote.len()), (2, 2, 1));
    let (entry, answer) = first.answer().unwrap();
    assert_eq!((entry.seq, answer.choice.as_deref(), answer.way), (8, Some("B"), AnswerWay::InPerson));
    assert_eq!(answer.shown.range.p95_h, 1115.0);
    assert_eq!(threads[1].standing(), Standing::Withdrawn);
    assert_eq!(car.decided("Z03.L").map(|hours| hours.likely), Some(14.0));
    let (entry, report) = job::fortnight::last(&car).unwrap();
    assert_eq!((entry.seq, report.pdf), (10, Hash::of(b"report")));
}

#[test]
fn regression_the_bytes_of_version_3_verify_and_add_up_to_the_same_paintwork() {
    let events = lines(V3);
    let verdict = verify(&events, Some(V3_HEAD.parse().unwrap()));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, 12);
    let kinds: Vec<String> = events.iter().map(|s| decode(s).unwrap().what.kind().to_owned()).collect();
    assert!(["shelf", "recipe", "batch", "card"].iter().all(|key| kinds.iter().any(|k| k == key)));

    let car = Car::fold(&events).unwrap();
    // The second shelf was taken out.
    let (entry, shelf) = paintwork::shelf_in_use(&car).unwrap();
    assert_eq!((entry.seq, shelf.file, shelf.panels_files[0].hash), (3, Hash::of(b"toners"), Hash::of(b"panels")));
    assert_eq!((shelf.toners, shelf.panels, shelf.mean_de00, shelf.p90_de00), (16, 90, 1.21, 2.4));
    let lines = paintwork::lines(&car);
    assert_eq!((lines.len(), lines[0].len()), (1, 2));
    let (entry, recipe) = lines[0][1];
    assert_eq!((entry.seq, recipe.name.as_str(), recipe.coats, recipe.primer.as_str()), (7, "Copper 2", 4, "N4"));
    assert_eq!((recipe.fraction("copper mica"), recipe.film_um), (Some(0.172), 16.5));
    assert_eq!((recipe.by_angle[0].fl11, recipe.cards.len(), recipe.brief.is_plain()), (1.1, 1, true));
    let first = lines[0][0].1;
    assert_eq!((first.brief.edits[0].dh_deg, first.brief.weights[0].weight), (40.0, 0.15));
    assert_eq!(job::paintwork::engine::predicted(first).unwrap().by_angle().len(), 3);
    let batches = paintwork::batches(&car);
    assert_eq!((batches.len(), batches[0].additions.len(), batches[0].cards.len()), (1, 1, 1));
    assert_eq!(batches[0].mixed.retained, "Shelf 2, glass jar");
    assert_eq!(batches[0].pot_g().last(), Some(&("carbon black".to_owned(), 1.1)));
    let cards = paintwork::cards(&car);
    let named: Vec<(u64, &str)> = cards.iter().map(|(entry, card)| (entry.seq, card.name.as_str())).collect();
    assert_eq!(named, [(6, "Card 1"), (10, "Card 2, second spray")]);
    assert_eq!((cards[0].1.master(), cards[0].1.film_um), (Some("Drawer 3, envelope 12"), Some(17.2)));
}

#[test]
fn regression_the_bytes_of_version_4_verify_and_add_up_to_the_same_hours() {
    let events = lines(V4);
    let verdict = verify(&events, Some(V4_HEAD.parse().unwrap()));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, 14);
    let whats: Vec<What> = events.iter().map(|s| decode(s).unwrap().what).collect();
    assert!(whats.iter().all(|w| !matches!(w, What::Newer { .. })));
    assert!(whats.iter().any(|w| w.kind() == "worked"));
    let looks = whats.iter().filter_map(|w| if let What::Looked(look) = w { Some(look.how) } else { None });
    assert_eq!(looks.collect::<Vec<_>>(), [How::CoverOff, How::Ultrasonic]);

    let car = Car::fold(&events).unwrap();
    // The metal hours were put right, and the hours of no part were taken out.
    assert_eq!((car.worked_h(Some("Z01.L")), car.worked_h(None)), (12.0, 37.0));
    let parts: Vec<(Part, f64)> = car.worked_by_part().into_iter().collect();
    assert_eq!(
        parts,
        [
            (Part::Opening, 2.5),
            (Part::Metal, 9.5),
            (Part::Fit, 3.0),
            (Part::Fill, 4.0),
            (Part::Coat, 5.0),
            (Part::Colour, 6.0),
            (Part::Assembly, 7.0)
        ]
    );
    assert_eq!(car.state("Z01.L"), ZoneState::Bad(Severity::Holed));
    let (entry, worked) = car.worked().next().unwrap();
    assert_eq!((entry.seq, worked.zone.as_deref(), worked.note.as_str()), (5, Some("Z01.L"), "Two of us."));
}

#[test]
fn regression_the_bytes_of_version_5_verify_and_add_up_to_the_same_colour() {
    let events = lines(V5);
    let verdict = verify(&events, Some(V5_HEAD.parse().unwrap()));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, 14);
    let whats: Vec<What> = events.iter().map(|s| decode(s).unwrap().what).collect();
    assert!(whats.iter().all(|w| !matches!(w, What::Newer { .. })));
    assert!(["brief", "colour_serves"].iter().all(|key| whats.iter().any(|w| w.kind() == *key)));

    let car = Car::fold(&events).unwrap();
    // The picture and how it was sampled.
    let (entry, picture) = car.measurements().nth(1).unwrap();
    assert!(picture.is_picture() && entry.seq == 3);
    let area = &picture.areas[0];
    assert_eq!((area.place.as_str(), area.x, area.rgb, area.count), ("face", 0.25, [201.5, 110.25, 60.0], 1257));
    // The brief was put right: less hue is turned back.
    let all = paintwork::briefs(&car);
    assert_eq!(all.len(), 1);
    let (entry, brief) = all[0];
    assert_eq!((entry.seq, brief.words[1].what, brief.words[1].how_much), (6, Wanted::LoseHueTravel, 0.5));
    assert_eq!((brief.flop_of, brief.brief.edits[0].dh_deg), (Some(car.entry(3).unwrap().id), 40.0));
    assert_eq!(briefs::wish(&car, brief).unwrap().wish.target.by_angle().len(), 3);
    assert_eq!(paintwork::recipes_of_brief(&car, entry.id).len(), 2);
    // The owner chose A, then B; what it is for was told after that.
    assert_eq!(colour_questions(&car).len(), 1);
    let colour = car_colour(&car).unwrap();
    assert_eq!((colour.answered.seq, colour.recipe.0.seq, colour.primer), (12, 8, "N4"));
    assert!(colour.card.is_none() && colour_waits(&car).is_none());
    let parts: Vec<_> = colour.serves.iter().map(|s| (s.part.as_str(), s.on.map(|on| on.to_string()))).collect();
    assert_eq!(parts, [("Z01.L", Some("2026-05-04".to_owned())), ("bonnet", None)]);
    let (_, first) = colour_questions(&car)[0].answers[0];
    assert_eq!(first.chosen().unwrap().card, Some(car.entry(9).unwrap().id));
}

/// Fields and versions that came later are not written where they say nothing: an entry of then, written today,
/// is the text of then.
#[test]
fn regression_what_was_written_before_the_colour_was_asked_for_keeps_its_text() {
    let mut again = 0;
    for text in [V1, V2, V3, V4] {
        for stored in lines(text) {
            let event = decode(&stored).unwrap();
            if ["colour_measured", "recipe", "question", "answer"].contains(&event.what.kind()) {
                assert_eq!(encode(&event).unwrap().body, stored.body);
                again += 1;
            }
        }
    }
    assert_eq!(again, 9);
}

#[test]
fn regression_details_of_version_1_have_no_history_and_the_usual_limit() {
    let car = Car::fold(&v1()).unwrap();
    assert!(car.details.history.is_empty() && car.details.budget_h.is_none());
    assert_eq!(car.details.ask_limit_h(), 8.0);
}
