//! A folded car and its view.

use jiff::ToSpan;
use job::details::{Aim, Climate, Kept as Store, Stage};
use job::event::{Event, Stored, encode};
use job::ids::{EntryId, PersonId};
use job::mixing::{Formulated, RecipePart, Serve};
use job::person::{By, Role};
use job::question::{Answer, AnswerWay, Choice, Hours, OwnerWrote, Question, RangeSaid, Report, Shown};
use job::what::{FilmJudged, How, Limit, Look, MadeGood, Mark, Opened, Quantity, Reading, Seen, Side, Withdrawn};

use super::*;

fn details() -> job::details::CarDetails {
    job::details::CarDetails {
        title: "Test two-door".into(),
        body: "two_door_closed".into(),
        year: 1968,
        climate: Climate::TemperateSalted,
        kept: Store::DryStore,
        fitted: [Fitted::CoveredRoof].into(),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: "Bought without papers.".into(),
        invented: true,
    }
}

/// A record of these happenings, each an hour after the one before.
fn record(happened: Vec<(Option<usize>, What)>) -> Vec<Stored> {
    let car = CarId::fresh();
    let by = By { id: PersonId::fresh(), name: "Bench A".into(), role: Role::Bench };
    let mut prev = Hash::NONE;
    let mut stored: Vec<Stored> = Vec::new();
    for (seq, (corrects, what)) in (1..).zip(happened) {
        let at = "2026-07-01T08:00:00Z".parse::<Timestamp>().expect("a time") + (seq as i64).hours();
        let event = Event {
            car,
            seq,
            at,
            noted: None,
            by: by.clone(),
            entry: EntryId::fresh(),
            corrects: corrects.map(|place| stored[place - 1].entry),
            prev,
            what,
        };
        stored.push(encode(&event).expect("can be stored"));
        prev = stored[stored.len() - 1].hash;
    }
    stored
}

fn look(zone: &str, seen: Seen) -> What {
    What::Looked(Look { zone: zone.into(), how: How::TapAndProbe, seen, clues: vec![], note: "a look".into() })
}

fn photograph(zone: Option<&str>, caption: &str) -> What {
    What::Photographed(Photograph {
        zone: zone.map(str::to_owned),
        side: Side::Left,
        stage: Stage::Survey,
        caption: caption.into(),
        mark: Some(Mark { view: "left".into(), u_mm: 0.0, v_mm: 300.0 }),
        picture: Hash::of(caption.as_bytes()),
        thumb: Hash::of(b"thumb"),
        width_px: 2400,
        height_px: 1800,
    })
}

fn seen(stored: &[Stored]) -> DossierView {
    let car = Car::fold(stored).expect("folds");
    let catalogue = Catalogue::starting_guesses().expect("the catalogue");
    let zone = TimeZone::get("Europe/Berlin").expect("a zone");
    let papers = Papers { car: &car, catalogue: &catalogue, zone: &zone, pictures: &BTreeMap::new() };
    view(&papers, Ok(()), "2026-12-01T09:10:11Z".parse().expect("a time"))
}

#[test]
fn a_car_nobody_has_looked_at_is_all_dashed() {
    let view = seen(&record(vec![(None, What::CarOpened(details()))]));
    let all = view.not_opened.len();
    assert!(all > 100, "{all} zones");
    assert_eq!(
        view.says,
        format!("{all} of {all} zones have not been looked at; none was found bad that is not made good.")
    );
    assert!(view.not_opened.iter().all(|zone| zone.last_look.is_empty()));
    assert!(view.zones.is_empty() && view.checks.is_empty() && view.colours.is_empty() && view.comparisons.is_empty());
    assert_eq!((view.count, view.record.len(), view.stage.as_str()), (1, 1, "Intake"));
    assert!(view.invented);
    let facts: Vec<&str> = view.facts.iter().map(|fact| fact.words.as_str()).collect();
    assert!(facts.contains(&"Covered roof, no sunroof") && facts.contains(&"Bought without papers."), "{facts:?}");
}

#[test]
fn times_are_in_the_shops_zone_and_the_files_own_in_utc() {
    let view = seen(&record(vec![(None, What::CarOpened(details()))]));
    assert_eq!(view.printed_at, "1 Dec 2026, 10:10");
    assert_eq!(view.printed_utc, jiff::civil::date(2026, 12, 1).at(9, 10, 11, 0));
    assert_eq!(view.record[0].when, "1 Jul 2026, 11:00");
}

#[test]
fn what_was_written_about_a_zone_stands_on_its_page() {
    let reading = Reading {
        zone: "Z01.L".into(),
        quantity: Quantity::Wall,
        value: 0.55,
        instrument: "Wall gauge".into(),
        precision_abs: 0.05,
        precision_rel_pct: 0.0,
        place: "front end".into(),
        limit: Some(Limit { value: 0.72, source: "80 percent of new".into() }),
        note: "scraped first".into(),
    };
    let opened = Opened {
        zone: "Z02.L".into(),
        found: Some(Severity::Holed),
        through: "outer sill".into(),
        extent_mm: Some((40.0, 25.0)),
        note: String::new(),
    };
    let made = MadeGood { zone: "Z03.L".into(), note: "new 1.0 mm, seam welded".into() };
    let view = seen(&record(vec![
        (None, What::CarOpened(details())),
        (None, look("Z01.L", Seen::Bad(Severity::Pitted))),
        (Some(2), look("Z01.L", Seen::Bad(Severity::Thin))),
        (None, What::Read(reading)),
        (None, photograph(Some("Z01.L"), "the sill")),
        (None, What::Opened(opened)),
        (None, What::MadeGood(made)),
        (None, photograph(None, "a corner")),
    ]));
    let [outer, inner, membrane] = &view.zones[..] else { panic!("{} zones", view.zones.len()) };
    assert_eq!((outer.state.as_str(), outer.side.as_str(), outer.entries.len()), ("Looked: bad, thin", "left", 2));
    assert_eq!(outer.entries[0].superseded_by, Some(3));
    assert_eq!(outer.entries[1].what, "Tap and probe: bad, thin (corrects entry 2)");
    let row = &outer.readings[0];
    assert_eq!(
        (row.value.as_str(), row.unit.as_str(), row.precision.as_str(), row.limit.as_str()),
        ("0.55", "mm", "0.05 mm", "0.72 mm")
    );
    assert_eq!(row.place, "front end. scraped first");
    assert_eq!((outer.photographs[0].number, outer.photographs[0].mark.as_str()), (1, "Left side"));
    assert_eq!(inner.entries[0].what, "Opened: holed, 40 x 25 mm");
    assert_eq!(inner.entries[0].note, "Through: outer sill");
    assert_eq!(membrane.state, "Opened and made good");
    assert_eq!((view.unplaced.len(), view.unplaced[0].number), (1, 2));
    assert!(view.says.contains("2 were found bad, 1 of them holed"), "{}", view.says);
    // An opened zone is not listed as not opened; one that hides something and was only tapped is.
    let listed = |name: &str, side: &str| view.not_opened.iter().find(|z| z.name.starts_with(name) && z.side == side);
    assert!(listed("Inner sill", "left").is_none() && listed("Inner sill", "right").is_some());
    assert!(listed("Outer sill", "left").is_some_and(|zone| zone.last_look.starts_with("Tap and probe: bad, thin.")));
    assert!(view.cautions.iter().any(|caution| caution.words.contains("Outer sill, left: ")));
}

#[test]
fn an_entry_taken_out_is_struck_and_its_photograph_is_not_printed() {
    let mut happened = vec![(None, What::CarOpened(details())), (None, photograph(Some("Z01.L"), "wrong car"))];
    let stored = record(happened.clone());
    let view = seen(&stored);
    assert_eq!(view.zones[0].photographs.len(), 1);
    // The same record again has other identifiers, so the entry to take out is named after it is written.
    happened.push((None, look("Z01.L", Seen::Clear)));
    let mut stored = record(happened);
    let car = Car::fold(&stored).expect("folds");
    let last = car.entry(3).expect("three entries");
    let out = Event {
        car: car.id,
        seq: 4,
        at: last.at,
        noted: None,
        by: last.by.clone(),
        entry: EntryId::fresh(),
        corrects: None,
        prev: car.head,
        what: What::Withdrawn(Withdrawn { entry: car.entry(2).expect("two").id, why: "another car".into() }),
    };
    stored.push(encode(&out).expect("can be stored"));
    let view = seen(&stored);
    assert!(view.zones[0].photographs.is_empty());
    assert_eq!(view.record[1].superseded_by, Some(4));
    assert_eq!(view.record[3].what, "Taken out entry 2: another car");
}

#[test]
fn a_film_that_was_judged_stands_in_the_checks_and_at_its_zone() {
    let judged = FilmJudged {
        zone: "Z01.R".into(),
        nominal_um: 80.0,
        readings_um: vec![82.0, 86.0],
        instrument: "Film gauge".into(),
        accept: true,
        mean_um: 84.0,
        why: "All over nominal.".into(),
    };
    let view = seen(&record(vec![(None, What::CarOpened(details())), (None, What::FilmJudged(judged))]));
    let check = &view.checks[0];
    assert_eq!((check.answer.as_str(), check.place.as_str()), ("Accepted", "Outer sill, right"));
    assert_eq!(check.figures, "2 readings, mean 84 \u{b5}m, nominal 80 \u{b5}m; Film gauge");
    assert!(view.zones[0].entries[0].what.starts_with("Film: 2 readings"));
}

#[test]
fn a_view_of_a_car_can_be_printed() {
    let stored = record(vec![
        (None, What::CarOpened(details())),
        (None, look("Z01.L", Seen::Bad(Severity::Holed))),
        (None, photograph(Some("Z01.L"), "no picture is at hand")),
    ]);
    let pdf = crate::render(&seen(&stored)).expect("renders");
    assert!(pdf.starts_with(b"%PDF-"));
}

fn question(by: &str, sent: bool) -> Question {
    let option = |key: &str, title: &str, likely: f64| Choice {
        key: key.into(),
        title: title.into(),
        means: format!("{title} and close"),
        risks: String::new(),
        hours: Hours { low: likely - 2.0, likely, high: likely + 6.0 },
        recipe: None,
        card: None,
    };
    Question {
        zones: vec!["Z03.L".into()],
        finding: None,
        ask: "How far shall we go with the membrane?".into(),
        found: "It is holed.".into(),
        photographs: vec![],
        options: vec![option("A", "Patch", 9.0), option("B", "Section", 16.0)],
        by: by.parse().expect("a day"),
        waits: vec!["Repair of the membrane".into()],
        serves: vec![],
        sent,
    }
}

/// The record with one more entry, made with what stands in it so far.
fn and_then(mut stored: Vec<Stored>, corrects: Option<u64>, what: impl FnOnce(&Car) -> What) -> Vec<Stored> {
    let car = Car::fold(&stored).expect("folds");
    let last = car.entries().last().expect("an entry");
    let event = Event {
        car: car.id,
        seq: car.count + 1,
        at: last.at + 1.hour(),
        noted: None,
        by: last.by.clone(),
        entry: EntryId::fresh(),
        corrects: corrects.and_then(|seq| car.entry(seq)).map(|old| old.id),
        prev: car.head,
        what: what(&car),
    };
    stored.push(encode(&event).expect("can be stored"));
    stored
}

fn answer(car: &Car, seq: u64, choice: Option<&str>, words: &str, changes: Option<u64>) -> What {
    let asked = car.entry(seq).expect("the question");
    let What::Asked(question) = &asked.what else { panic!("entry {seq} is no question") };
    What::Answered(Answer {
        question: asked.id,
        version: asked.hash,
        choice: choice.map(str::to_owned),
        way: AnswerWay::Telephone,
        words: words.into(),
        shown: Shown {
            question: question.clone(),
            range: RangeSaid { p10_h: 690.0, p50_h: 850.0, p80_h: 940.0, p95_h: 1115.0 },
            money: vec!["A: 410 to 950 EUR, likely 610".into()],
            head: car.head,
            count: car.count,
        },
        changes: changes.and_then(|seq| car.entry(seq)).map(|old| old.id),
    })
}

#[test]
fn a_question_stands_with_its_versions_and_every_answer() {
    let stored = record(vec![
        (None, What::CarOpened(details())),
        (None, What::Asked(question("2026-07-08", false))),
        (Some(2), What::Asked(question("2026-07-09", true))),
    ]);
    let open = seen(&stored);
    assert_eq!(open.figures.last().map(|f| f.words.as_str()), Some("1 of 1"));
    assert!(open.questions[0].open && open.questions[0].standing.contains("Silence is not consent"));
    assert_eq!(open.waits[0], "Question 1: How far shall we go with the membrane? Answer wanted by 9 July 2026.");
    assert!(open.waits[1].starts_with("Work on 1 place waits"), "{:?}", open.waits);

    let stored = and_then(stored, None, |car| answer(car, 3, Some("A"), "The *cheaper* one.", None));
    let stored = and_then(stored, None, |car| answer(car, 3, Some("B"), "Do it once.", Some(4)));
    let view = seen(&stored);
    let [page] = &view.questions[..] else { panic!("{} questions", view.questions.len()) };
    assert_eq!(page.standing, "Answered on 1 Jul 2026, 15:00: B. Section.");
    let versions: Vec<_> = page.versions.iter().map(|v| (v.seq, v.sent, v.by.as_str(), v.superseded_by)).collect();
    assert_eq!(versions, [(2, false, "8 July 2026", Some(3)), (3, true, "9 July 2026", None)]);
    assert_eq!(page.versions[1].options[1].hours, "14 to 22 hours, likely 16");
    let [first, second] = &page.answers[..] else { panic!("{} answers", page.answers.len()) };
    assert_eq!((first.choice.as_str(), first.words.as_str(), first.version), ("A. Patch", "The *cheaper* one.", 3));
    assert_eq!(
        (first.standing.as_str(), second.standing.as_str()),
        ("Changed by the answer in entry 5.", "This answer stands.")
    );
    assert_eq!((first.way.as_str(), first.count), ("by telephone", 3));
    // The head that was shown with the first answer is the hash of the entry before it.
    assert_eq!(first.head_hash, stored[2].hash.to_string());
    assert_eq!(first.range, "690 to 1115 hours, likely 850");
    assert!(view.waits.is_empty(), "{:?}", view.waits);
    // Both answers told a range, and today's comes last.
    let told: Vec<_> = view.ranges.iter().map(|row| (row.seq, row.told.as_str())).collect();
    assert_eq!(
        told,
        [
            (Some(4), "Beside the answer to question 1"),
            (Some(5), "Beside the answer to question 1"),
            (None, "As the record stands")
        ]
    );
    assert!(view.no_range.is_empty() && view.ranges[2].range.p50_h > 0.0);
}

#[test]
fn none_of_these_leaves_the_work_waiting_and_what_came_too_late_stays_to_be_read() {
    let stored = record(vec![(None, What::CarOpened(details())), (None, What::Asked(question("2026-07-09", true)))]);
    let stored = and_then(stored, None, |car| answer(car, 2, None, "Let us talk first.", None));
    let view = seen(&stored);
    assert_eq!(view.questions[0].answers[0].choice, "None of these");
    assert!(view.waits.iter().any(|line| line.starts_with("Work on 1 place waits")), "{:?}", view.waits);

    let stored = and_then(stored, None, |car| {
        What::Withdrawn(Withdrawn { entry: car.entry(2).expect("two").id, why: "found sound".into() })
    });
    let wrote = |question: Option<EntryId>, words: &str| {
        What::OwnerWrote(OwnerWrote { question, choice: Some("A".into()), words: words.into() })
    };
    let stored = and_then(stored, None, |car| wrote(Some(car.entry(2).expect("two").id), "A after all"));
    let stored = and_then(stored, None, |_| wrote(None, "Hello"));
    let view = seen(&stored);
    let page = &view.questions[0];
    assert_eq!(page.standing, "Taken back on 1 Jul 2026, 14:00 in entry 4: found sound.");
    assert_eq!((page.wrote.len(), page.wrote[0].note.as_str()), (1, "A after all"));
    assert_eq!((view.wrote.len(), view.wrote[0].note.as_str()), (1, "Hello"));
    assert!(view.waits.is_empty());
    crate::render(&view).expect("renders");
}

fn report(photographs: Vec<EntryId>) -> Report {
    Report {
        from: jiff::civil::date(2026, 6, 25),
        to: jiff::civil::date(2026, 7, 8),
        says: "The left sill is worse.".into(),
        done: vec!["Right sill looked at: clear".into()],
        found: vec![],
        changed: vec![],
        need: vec![],
        next: vec![],
        photographs,
        range: RangeSaid { p10_h: 1.0, p50_h: 2.0, p80_h: 3.0, p95_h: 4.0 },
        pdf: Hash::of(b"a page"),
    }
}

#[test]
fn a_report_is_listed_and_its_range_is_told() {
    let view = seen(&record(vec![(None, What::CarOpened(details())), (None, What::Reported(report(vec![])))]));
    let row = &view.reports[0];
    assert_eq!((row.days.as_str(), row.says.as_str()), ("25 June to 8 July 2026", "The left sill is worse."));
    assert_eq!(view.ranges[0].told, "Report, 25 June to 8 July 2026");
    assert_eq!(view.figures.last().map(|f| f.words.as_str()), Some("none asked"));
}

#[test]
fn the_page_of_a_report_is_drawn_from_the_record_alone() {
    let mut stored = record(vec![
        (None, What::CarOpened(details())),
        (None, photograph(Some("Z01.L"), "the sill")),
        (None, photograph(Some("Z01.L"), "the sill again")),
        (None, What::Asked(question("2026-07-09", true))),
    ]);
    let draw = |stored: &[Stored]| {
        let car = Car::fold(stored).expect("folds");
        let ids = car.photographs().map(|(entry, _)| entry.id).collect();
        crate::of_report::view(&car, &report(ids), &TimeZone::UTC, &BTreeMap::new())
    };
    let view = draw(&stored);
    assert_eq!((view.period.as_str(), view.days.as_str()), ("Fortnight to 8 July 2026", "25 June to 8 July 2026"));
    assert_eq!((view.count, view.as_of.as_str()), (4, "1 Jul 2026, 12:00"));
    assert_eq!(view.head_hash, stored[3].hash.to_string());
    assert_eq!(view.need_by, "9 July");
    let photo = &view.photographs[1];
    assert_eq!(
        (photo.number, photo.place.as_str(), photo.stage.as_str()),
        (2, "Outer sill, left", "Bare-metal survey")
    );
    assert_eq!(photo.when, "1 Jul 2026");
    // Both were taken at one place, so that they share one mark.
    assert_eq!(view.maps.len(), 1);
    assert!(view.maps[0].svg.contains(">1 2</text></svg>"), "{}", &view.maps[0].svg[view.maps[0].svg.len() - 300..]);
    let again = |stored: &[Stored]| crate::render_report(&draw(stored)).expect("renders");
    assert_eq!(again(&stored), again(&stored));
    let before = again(&stored);
    stored = and_then(stored, None, |_| look("Z05.R", Seen::Clear));
    assert_ne!(before, again(&stored), "it names another record");
}

#[test]
fn a_period_is_called_what_people_call_it() {
    let day = |text: &str| text.parse::<jiff::civil::Date>().expect("a day");
    for (from, to, title, days) in [
        ("2026-11-11", "2026-11-24", "Fortnight to 24 November 2026", "11 to 24 November 2026"),
        ("2026-11-18", "2026-11-24", "Week to 24 November 2026", "18 to 24 November 2026"),
        ("2026-11-24", "2026-11-24", "Report of 24 November 2026", "24 November 2026"),
        ("2026-10-24", "2026-11-24", "32 days to 24 November 2026", "24 October to 24 November 2026"),
        ("2025-12-31", "2026-01-01", "2 days to 1 January 2026", "31 December 2025 to 1 January 2026"),
        ("2026-11-25", "2026-11-24", "Report to 24 November 2026", "25 to 24 November 2026"),
    ] {
        let said = (crate::report_title(day(from), day(to)), crate::of_report::days(day(from), day(to)));
        assert_eq!((said.0.as_str(), said.1.as_str()), (title, days));
    }
    let (first, last) = (jiff::civil::Date::MIN, jiff::civil::Date::MAX);
    assert!(crate::report_title(first, last).ends_with("days to 31 December 9999"));
    assert!(crate::report_title(last, first).starts_with("Report to "));
}

fn recipe(name: &str) -> What {
    What::Formulated(Formulated {
        name: name.into(),
        target: EntryId::fresh(),
        shelf: EntryId::fresh(),
        brief: Default::default(),
        briefed: None,
        parts: vec![RecipePart { toner: "Black".into(), fraction: 0.1 }],
        film_um: 18.0,
        primer: "N5".into(),
        coats: 3,
        predicted: Vec::new(),
        mean_de00: 1.0,
        by_angle: Vec::new(),
        after: None,
        cards: Vec::new(),
        doubts: Vec::new(),
        note: String::new(),
    })
}

/// The page of the colour as it is decided by a record.
fn decided(stored: &[Stored], panels: decided::Panels) -> Option<DecidedPage> {
    let car = Car::fold(stored).expect("folds");
    let catalogue = Catalogue::starting_guesses().expect("the catalogue");
    let papers = Papers { car: &car, catalogue: &catalogue, zone: &TimeZone::UTC, pictures: &BTreeMap::new() };
    decided::page(&papers, panels, "2026-07-05T09:00:00Z".parse().expect("a time"))
}

#[test]
fn the_colour_stands_as_it_was_decided_or_with_the_day_that_it_waits_for() {
    let stored =
        record(vec![(None, What::CarOpened(details())), (None, recipe("Copper 1")), (None, recipe("Copper 2"))]);
    assert!(decided(&stored, None).is_none(), "nobody was asked");
    let stored = and_then(stored, None, |car| {
        let mut asked = question("2026-07-09", true);
        for (option, seq) in asked.options.iter_mut().zip([2, 3]) {
            option.recipe = car.entry(seq).map(|entry| entry.id);
            option.hours = Hours { low: 0.0, likely: 0.0, high: 0.0 };
        }
        asked.zones.clear();
        asked.serves = vec![
            Serve { part: "Z01.L".into(), on: "2026-08-03".parse().ok() },
            Serve { part: "bonnet".into(), on: None },
        ];
        What::Asked(asked)
    });
    let waits = decided(&stored, None).expect("a page");
    assert_eq!(waits.says, "Waits for the colour: question 1, to be decided by 9 July 2026 (4 days left).");
    assert_eq!((waits.lines, waits.facts.len()), (vec!["Repair of the membrane".to_owned()], 0));
    let version = &seen(&stored).questions[0].versions[0];
    assert_eq!(version.places, "the colour of the car");
    assert_eq!(version.serves, ["Outer sill, left, 3 August 2026", "Bonnet, day not fixed"]);
    assert_eq!(
        (version.options[0].title.as_str(), version.options[0].hours.as_str()),
        ("A. Patch (recipe: entry 2; no card)", "no difference in hours")
    );

    let stored = and_then(stored, None, |car| answer(car, 4, Some("B"), "That one.", None));
    let page = decided(&stored, Some(Err("the toner file is gone".into()))).expect("a page");
    assert_eq!((page.says.as_str(), page.no_picture.as_str()), ("Section, over N5.", "The toner file is gone."));
    let fact = |label: &str| page.facts.iter().find(|f| f.label == label).map(|f| f.words.as_str());
    assert_eq!(fact("Recipe"), Some("Copper 2, entry 3"));
    assert_eq!(fact("Primer"), Some("N5"));
    assert_eq!(fact("To be mixed"), Some("As it was chosen."));
    assert!(fact("Card").is_some_and(|words| words.starts_with("None had been sprayed")));
    assert_eq!(fact("Decided"), Some("1 Jul 2026, 13:00, Bench A, by telephone: B. Section. Locked at entry 5."));
    assert!(
        fact("What was shown")
            .is_some_and(|words| words.starts_with("Question 1, options A, B, each with its pictures"))
    );
    assert_eq!(page.lines, ["Outer sill, left, 3 August 2026", "Bonnet, day not fixed"]);
    // A recipe that was corrected since is said.
    let stored = and_then(stored, Some(3), |_| recipe("Copper 2"));
    let page = decided(&stored, None).expect("a page");
    assert_eq!(page.warnings, ["The recipe was corrected in the record since the owner chose it."]);
}
