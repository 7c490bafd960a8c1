//! What was typed wrong is named by its field, with what would be right.

use job::catalogue::Catalogue;
use job::shop::{Draft, ShopError};
use job::validate::{FieldError, doubts};
use job::what::{ClueSeen, Mark, Severity, What};
use job::worked::Part;

use crate::support::{
    Desk, at, clear, details, every_kind, film, made_good, measured, opened, photographed, wall, withdraws, worked,
};

async fn errors(desk: &Desk, what: What) -> Vec<FieldError> {
    let writes = desk.store.writes();
    let refused = desk.send(&desk.draft(what)).await;
    assert_eq!(desk.store.writes(), writes);
    match refused {
        Err(ShopError::Invalid(errors)) => errors,
        other => panic!("{other:?}"),
    }
}

fn changed(mut what: What, change: impl FnOnce(&mut What)) -> What {
    change(&mut what);
    what
}

#[tokio::test]
async fn a_lost_decimal_point_is_offered_back() {
    let desk = Desk::open().await;
    let error = errors(&desk, wall("Z01.L", 52.0)).await.remove(0);
    assert_eq!((error.field, error.take.as_deref()), ("value", Some("0.52")));
    assert_eq!(error.say, "52 mm was typed. Did you mean 0.52?");
    assert_eq!(error.right, "Anything from 0.1 to 4 mm is taken.");
    // 900 would be 9 mm, which nobody means; and a film has no such slip.
    for odd in [wall("Z01.L", 900.0), wall("Z01.L", 5.0), film("Z01.L", 30_000.0)] {
        let error = errors(&desk, odd).await.remove(0);
        assert_eq!((error.field, error.take), ("value", None));
    }
}

#[tokio::test]
async fn each_field_is_named() {
    let desk = Desk::open().await;
    desk.shop.keep_file(b"source").await.unwrap();
    for bytes in [b"p".as_slice(), b"t"] {
        desk.shop.keep_file(bytes).await.unwrap();
    }
    let kinds = every_kind(desk.shop.car(desk.car).await.unwrap().entry(1).unwrap().id);
    let photo = || photographed(Some("Z01.L"), b"p", b"t");
    let cases: Vec<(What, &str)> = vec![
        (clear("Z99"), "zone"),
        (clear("Z01"), "zone"),
        (clear(""), "zone"),
        (photographed(Some("Z99"), b"p", b"t"), "zone"),
        (
            changed(clear("Z01.L"), |w| {
                if let What::Looked(x) = w {
                    x.note = "x".repeat(8_001)
                }
            }),
            "note",
        ),
        (
            changed(clear("Z01.L"), |w| {
                if let What::Looked(x) = w {
                    x.note = "\u{0}".into()
                }
            }),
            "note",
        ),
        (
            changed(clear("Z01.L"), |w| {
                if let What::Looked(x) = w {
                    x.clues = vec![ClueSeen { clue: "K9999".into(), there: false }];
                }
            }),
            "clue",
        ),
        (What::Worked(worked(Some("Z99.L"), Part::Metal, 4.0)), "zone"),
        (What::Worked(worked(None, Part::Other, 0.0)), "hours"),
        (What::Worked(worked(None, Part::Other, -1.0)), "hours"),
        (What::Worked(worked(Some("Z01.L"), Part::Fit, 200.5)), "hours"),
        (What::Worked(worked(None, Part::Coat, f64::NAN)), "hours"),
        (
            changed(What::Worked(worked(None, Part::Coat, 1.0)), |w| {
                if let What::Worked(x) = w {
                    x.note = "x".repeat(8_001)
                }
            }),
            "note",
        ),
        (wall("Z01.L", f64::NAN), "value"),
        (wall("Z01.L", 0.0), "value"),
        (film("Z01.L", -1.0), "value"),
        (
            changed(film("Z01.L", 90.0), |w| {
                if let What::Read(x) = w {
                    x.instrument = " ".into()
                }
            }),
            "instrument",
        ),
        (
            changed(film("Z01.L", 90.0), |w| {
                if let What::Read(x) = w {
                    x.precision_abs = -1.0
                }
            }),
            "precision_abs",
        ),
        (
            changed(film("Z01.L", 90.0), |w| {
                if let What::Read(x) = w {
                    x.precision_rel_pct = f64::NAN
                }
            }),
            "precision_rel_pct",
        ),
        (
            changed(film("Z01.L", 90.0), |w| {
                if let What::Read(x) = w {
                    x.place = "x".repeat(201)
                }
            }),
            "place",
        ),
        (
            changed(photo(), |w| {
                if let What::Photographed(x) = w {
                    x.caption = String::new()
                }
            }),
            "caption",
        ),
        (
            changed(photo(), |w| {
                if let What::Photographed(x) = w {
                    x.mark = mark("left", 1e9)
                }
            }),
            "mark",
        ),
        (
            changed(photo(), |w| {
                if let What::Photographed(x) = w {
                    x.mark = mark("left", f64::NAN)
                }
            }),
            "mark",
        ),
        (
            changed(photo(), |w| {
                if let What::Photographed(x) = w {
                    x.mark = mark("inside out", 0.0)
                }
            }),
            "mark",
        ),
        (
            changed(opened("Z01.L", Some(Severity::Thin)), |w| {
                if let What::Opened(x) = w {
                    x.extent_mm = Some((0.0, 9.0));
                }
            }),
            "length_mm",
        ),
        (
            changed(made_good("Z01.L"), |w| {
                if let What::MadeGood(x) = w {
                    x.note = "\n".into()
                }
            }),
            "note",
        ),
        (
            changed(measured("A", b"source"), |w| {
                if let What::Measured(x) = w {
                    x.spectra.clear()
                }
            }),
            "file",
        ),
        (
            changed(measured("A", b"source"), |w| {
                if let What::Measured(x) = w {
                    x.spectra[0].values.pop();
                }
            }),
            "file",
        ),
        (
            changed(measured("A", b"source"), |w| {
                if let What::Measured(x) = w {
                    x.spectra[0].values[3] = f64::NAN
                }
            }),
            "file",
        ),
        (
            changed(measured("A", b"source"), |w| {
                if let What::Measured(x) = w {
                    x.spectra[0].geometry = "45as20".into()
                }
            }),
            "file",
        ),
        (measured("", b"source"), "name"),
        (
            changed(kinds[16].clone(), |w| {
                if let What::ClimateRead(x) = w {
                    x.air_c = f64::NAN
                }
            }),
            "air",
        ),
        (
            changed(kinds[16].clone(), |w| {
                if let What::ClimateRead(x) = w {
                    x.rh_pct = 101.0
                }
            }),
            "rh",
        ),
        (
            changed(kinds[16].clone(), |w| {
                if let What::ClimateRead(x) = w {
                    x.panel_c = 300.0
                }
            }),
            "panel",
        ),
        (
            changed(kinds[17].clone(), |w| {
                if let What::FilmJudged(x) = w {
                    x.readings_um.clear()
                }
            }),
            "readings",
        ),
        (
            changed(kinds[17].clone(), |w| {
                if let What::FilmJudged(x) = w {
                    x.readings_um[1] = f64::NAN
                }
            }),
            "readings",
        ),
        (
            changed(kinds[17].clone(), |w| {
                if let What::FilmJudged(x) = w {
                    x.nominal_um = 0.0
                }
            }),
            "nominal_um",
        ),
        (
            changed(kinds[22].clone(), |w| {
                if let What::Withdrawn(x) = w {
                    x.why.clear()
                }
            }),
            "why",
        ),
        (
            changed(kinds[1].clone(), |w| {
                if let What::CarChanged(x) = w {
                    x.title.clear()
                }
            }),
            "title",
        ),
        (
            changed(kinds[1].clone(), |w| {
                if let What::CarChanged(x) = w {
                    x.body = "barge".into()
                }
            }),
            "body",
        ),
        (
            changed(kinds[1].clone(), |w| {
                if let What::CarChanged(x) = w {
                    x.year = 1870
                }
            }),
            "year",
        ),
    ];
    for (what, field) in cases {
        let shown = format!("{what:?}");
        let found = errors(&desk, what).await;
        assert!(found.iter().any(|e| e.field == field), "{field} not named for {shown}: {found:?}");
        assert!(found.iter().all(|e| !e.say.is_empty() && !e.right.is_empty()), "{found:?}");
    }
}

fn mark(view: &str, u_mm: f64) -> Option<Mark> {
    Some(Mark { view: view.into(), u_mm, v_mm: 300.0 })
}

/// What is right is kept, of every kind: the checks above are not a wall.
#[tokio::test]
async fn every_kind_can_be_kept() {
    let desk = Desk::open().await;
    for bytes in [b"picture".as_slice(), b"thumb", b"geometry,400", b"report", b"toners", b"panels", b"card"] {
        desk.shop.keep_file(bytes).await.unwrap();
    }
    let looked = desk.keep(clear("Z01.L")).await;
    for mut what in every_kind(looked).into_iter().skip(1) {
        let car = desk.shop.car(desk.car).await.unwrap();
        if let (What::Answered(answer), Some(thread)) = (&mut what, car.threads().first()) {
            (answer.question, answer.version) = thread.asked().map(|(entry, _)| (entry.id, entry.hash)).unwrap();
        }
        let last = |kind: &str| car.counting().rev().find(|e| e.what.kind() == kind).map(|e| e.id).unwrap();
        match &mut what {
            What::Formulated(x) => (x.target, x.shelf) = (last("colour_measured"), last("shelf")),
            What::Briefed(x) => x.donor = last("colour_measured"),
            What::Mixed(x) => x.recipe = last("recipe"),
            What::Carded(x) => (x.recipe, x.batch) = (last("recipe"), Some(last("batch"))),
            _ => {}
        }
        let owners = matches!(what, What::OwnerWrote(_));
        let draft = desk.draft(what);
        let by = if owners { desk.owner } else { draft.by };
        desk.send(&Draft { by, ..draft }).await.unwrap();
    }
    assert_eq!(desk.count().await, 24);
    assert!(desk.shop.verify(desk.car, None).await.unwrap().intact());
    // And every file that any kind names travels with the car.
    let zip = crate::parcel::export(&desk).await;
    let there = crate::support::shop_over(&std::sync::Arc::new(crate::support::Memory::default()));
    there.import(std::io::Cursor::new(&zip), "car.zip").await.unwrap();
    assert!(there.verify(desk.car, None).await.unwrap().intact());
}

#[tokio::test]
async fn a_zone_that_this_car_does_not_have_is_refused() {
    let desk = Desk::open().await;
    let mut plain = details("Car 2");
    plain.fitted.clear();
    let car = desk.shop.open_car(plain, desk.lead, at(0)).await.unwrap();
    let sunroof = job::validate::instances(&desk.shop.car(desk.car).await.unwrap().details);
    let without = job::validate::instances(&desk.shop.car(car).await.unwrap().details);
    assert_eq!(sunroof.len(), without.len() + 1);
    let only = sunroof.iter().find(|i| !without.contains(i)).unwrap();
    assert!(desk.send(&desk.draft(clear(&only.id))).await.is_ok());
    let refused = desk.shop.keep(car, &desk.draft(clear(&only.id)), at(1)).await;
    assert!(matches!(refused, Err(ShopError::Invalid(e)) if e[0].field == "zone"));
}

#[tokio::test]
async fn a_car_with_wrong_details_is_not_opened() {
    let desk = Desk::open().await;
    let wrong = job::details::CarDetails { title: " ".into(), year: 1066, ..details("") };
    match desk.shop.open_car(wrong, desk.lead, at(0)).await {
        Err(ShopError::Invalid(errors)) => {
            assert_eq!(errors.iter().map(|e| e.field).collect::<Vec<_>>(), ["title", "year"]);
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(desk.shop.cars().await.unwrap().len(), 1);
}

#[test]
fn what_is_doubtful_is_kept_with_a_word() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let high = catalogue.zone("Z01").unwrap().gauge_mm.high;
    assert!(doubts(&wall("Z01.L", high), &catalogue).is_empty());
    assert!(doubts(&wall("Z01.L", high * 1.2), &catalogue)[0].contains("thicker than"));
    assert!(doubts(&film("Z01.L", 1000.0), &catalogue).is_empty());
    assert!(doubts(&film("Z01.L", 1001.0), &catalogue)[0].contains("filler or lead"));
    assert!(doubts(&withdraws(job::ids::EntryId::fresh()), &catalogue).is_empty());
}
