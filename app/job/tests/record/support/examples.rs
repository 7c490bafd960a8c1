//! One example of everything that can happen to a car, all invented.

use std::collections::BTreeSet;

use job::details::{Aim, CarDetails, Climate, Fitted, Kept, Rates, Stage};
use job::ids::{EntryId, Hash, PersonId};
use job::mixing::{
    AngleFit, AngleWeight, BINDER, Brief, BriefEdit, Briefed, Carded, ColourServes, Formulated, KeptFile, Mixed,
    Poured, RecipePart, Said, Serve, Shelved, Wanted,
};
use job::person::{By, Role};
use job::question::{Answer, AnswerWay, Choice, Hours, OwnerWrote, Question, RangeSaid, Report, Shown};
use job::what::{
    ClimateRead, ClueSeen, FilmJudged, GeometrySpectrum, How, Limit, Look, MadeGood, Mark, Measured, Opened,
    Photograph, Quantity, Reading, Seen, Severity, Side, StageReached, What, Withdrawn,
};
use job::worked::{Part, Worked};
use uuid::Uuid;

pub(crate) fn by(name: &str, role: Role) -> By {
    By { id: PersonId(Uuid::from_u128(0xb)), name: name.into(), role }
}

pub(crate) fn details(title: &str) -> CarDetails {
    CarDetails {
        title: title.into(),
        body: "two_door_closed".into(),
        year: 1971,
        climate: Climate::TemperateSalted,
        kept: Kept::Unheated,
        fitted: BTreeSet::from([Fitted::Sunroof]),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: Some(Rates { currency: "EUR".into(), bench: 85.0, painter: 92.5, materials: None }),
        note: "Came on a trailer.".into(),
        invented: true,
    }
}

fn look(zone: &str, seen: Seen) -> What {
    let clues = vec![ClueSeen { clue: "K01".into(), there: true }];
    What::Looked(Look { zone: zone.into(), how: How::TapAndProbe, seen, clues, note: "Along the seam.".into() })
}

pub(crate) fn clear(zone: &str) -> What {
    look(zone, Seen::Clear)
}

pub(crate) fn not_looked(zone: &str) -> What {
    look(zone, Seen::NotLooked)
}

pub(crate) fn bad(zone: &str, severity: Severity) -> What {
    look(zone, Seen::Bad(severity))
}

fn reading(zone: &str, quantity: Quantity, value: f64, precision_abs: f64) -> What {
    What::Read(Reading {
        zone: zone.into(),
        quantity,
        value,
        instrument: "Gauge 1".into(),
        precision_abs,
        precision_rel_pct: 1.0,
        place: "lower edge".into(),
        limit: Some(Limit { value: 0.6, source: "Half of the wall when new".into() }),
        note: String::new(),
    })
}

pub(crate) fn film(zone: &str, um: f64) -> What {
    reading(zone, Quantity::Film, um, 2.0)
}

pub(crate) fn wall(zone: &str, mm: f64) -> What {
    reading(zone, Quantity::Wall, mm, 0.02)
}

pub(crate) fn opened(zone: &str, found: Option<Severity>) -> What {
    What::Opened(Opened {
        zone: zone.into(),
        found,
        through: "lower closing plate off".into(),
        extent_mm: found.map(|_| (310.0, 45.5)),
        note: "Daylight at the rear end.".into(),
    })
}

pub(crate) fn made_good(zone: &str) -> What {
    What::MadeGood(MadeGood { zone: zone.into(), note: "1.2 mm let in, butt welded, 40 mm stitches.".into() })
}

pub(crate) fn photographed(zone: Option<&str>, picture: &[u8], thumb: &[u8]) -> What {
    What::Photographed(Photograph {
        zone: zone.map(String::from),
        side: Side::Left,
        stage: Stage::Survey,
        caption: "Sill, rear end, from below".into(),
        mark: None,
        picture: Hash::of(picture),
        thumb: Hash::of(thumb),
        width_px: 2400,
        height_px: 1800,
    })
}

fn spectrum(geometry: &str, level: f64) -> GeometrySpectrum {
    GeometrySpectrum { geometry: geometry.into(), values: (0..31).map(|i| level + 0.003 * f64::from(i)).collect() }
}

fn three_angles() -> Vec<GeometrySpectrum> {
    vec![spectrum("45as15", 0.61), spectrum("45as45", 0.22), spectrum("45as110", 0.08)]
}

pub(crate) fn measured(name: &str, source: &[u8]) -> What {
    What::Measured(Measured {
        name: name.into(),
        instrument: "Multi-angle instrument".into(),
        file: "panel.csv".into(),
        source: Hash::of(source),
        spectra: three_angles(),
        doubts: vec!["45as15: brighter than usual".into()],
        areas: Vec::new(),
        note: "Under the boot lid.".into(),
    })
}

pub(crate) fn shelved(file: &[u8], panels: &[u8]) -> Shelved {
    Shelved {
        name: "Spring shelf".into(),
        file: Hash::of(file),
        panels_files: vec![KeptFile { name: "panels.csv".into(), hash: Hash::of(panels) }],
        toners: 16,
        panels: 90,
        mean_de00: 1.21,
        p90_de00: 2.4,
        doubts: vec!["coarse aluminium: no panel over white".into()],
        note: "Sprayed in one week, one gun.".into(),
    }
}

/// A recipe of three toners; the last is a trace of black.
pub(crate) fn formulated(target: EntryId, shelf: EntryId) -> Formulated {
    let part = |toner: &str, fraction: f64| RecipePart { toner: toner.into(), fraction };
    Formulated {
        name: "Copper 1".into(),
        target,
        shelf,
        brief: Brief {
            edits: vec![BriefEdit { geometry: "45as110".into(), dl: 2.0, dc: -1.5, dh_deg: 40.0 }],
            weights: vec![AngleWeight { geometry: "45as15".into(), weight: 0.15 }],
        },
        briefed: None,
        parts: vec![part("copper mica", 0.18), part("oxide red", 0.04), part("carbon black", 0.0021)],
        film_um: 16.5,
        primer: "N4".into(),
        coats: 4,
        predicted: three_angles(),
        mean_de00: 0.84,
        by_angle: vec![AngleFit { geometry: "45as15".into(), d65: 0.6, a: 0.9, fl11: 1.1 }],
        after: None,
        cards: Vec::new(),
        doubts: Vec::new(),
        note: "Same face, no violet in the flop.".into(),
    }
}

/// A brief that keeps the face and turns the flop's hue back.
pub(crate) fn briefed(donor: EntryId) -> Briefed {
    Briefed {
        name: "Copper without the violet".into(),
        donor,
        words: vec![
            Said { what: Wanted::KeepFace, how_much: 1.0 },
            Said { what: Wanted::LoseHueTravel, how_much: 0.75 },
        ],
        face_of: None,
        flop_of: None,
        brief: Brief {
            edits: vec![BriefEdit { geometry: "45as110".into(), dl: 2.0, dc: -1.5, dh_deg: 40.0 }],
            weights: vec![AngleWeight { geometry: "45as15".into(), weight: 0.15 }],
        },
        why: "The owner likes the face in the sun, not the flop under a lamp.".into(),
        doubts: vec!["45as110: near grey".into()],
        note: "Said on the telephone.".into(),
    }
}

/// Parts and days that a colour must serve.
pub(crate) fn serves(parts: &[(&str, Option<&str>)]) -> ColourServes {
    let serve =
        |(part, on): &(&str, Option<&str>)| Serve { part: (*part).into(), on: on.map(|on| on.parse().unwrap()) };
    ColourServes { serves: parts.iter().map(serve).collect(), note: "Doors hung first.".into() }
}

pub(crate) fn mixed(recipe: EntryId) -> Mixed {
    let step = |toner: &str, wanted_g: f64, poured_g: Option<f64>| Poured {
        toner: toner.into(),
        wanted_g,
        poured_g,
        lot: "L 7".into(),
    };
    Mixed {
        recipe,
        into: None,
        parts_of_car: vec!["Z01.L".into(), "bonnet".into()],
        wanted_g: 500.0,
        scale_g: 0.1,
        steps: vec![
            step(BINDER, 388.9, Some(389.1)),
            step("copper mica", 90.0, Some(90.0)),
            step("oxide red", 20.0, None),
            step("carbon black", 1.1, Some(1.1)),
        ],
        shift_de00: 0.04,
        retained: "Shelf 2, glass jar".into(),
        note: "Stirred twice.".into(),
    }
}

pub(crate) fn carded(recipe: EntryId, batch: Option<EntryId>, source: &[u8]) -> Carded {
    Carded {
        name: "Card 1".into(),
        recipe,
        batch,
        instrument: "Multi-angle instrument".into(),
        file: "card.csv".into(),
        source: Hash::of(source),
        spectra: three_angles(),
        coats: 4,
        film_um: Some(17.2),
        gun: "1.3 tip, 2.0 bar, 150 mm".into(),
        master: Some("Drawer 3, envelope 12".into()),
        doubts: vec!["45as110: below zero at 400 nm".into()],
        note: "Hung upright.".into(),
    }
}

pub(crate) fn stage(stage: Stage) -> What {
    What::StageReached(StageReached { stage })
}

pub(crate) fn withdraws(entry: EntryId) -> What {
    What::Withdrawn(Withdrawn { entry, why: "Wrong car.".into() })
}

fn climate() -> What {
    What::ClimateRead(ClimateRead {
        air_c: 18.0,
        rh_pct: 70.0,
        panel_c: 15.0,
        product: "epoxy primer".into(),
        dew_point_c: 12.4,
        margin_c: 2.6,
        spray: false,
        why: "The panel is 2.6 above the dew point; 3 are needed.".into(),
    })
}

fn judged() -> What {
    What::FilmJudged(FilmJudged {
        zone: "Z01.R".into(),
        nominal_um: 80.0,
        readings_um: vec![82.0, 79.5, 91.0],
        instrument: "Gauge 1".into(),
        accept: true,
        mean_um: 84.17,
        why: "The mean is over the nominal film.".into(),
    })
}

fn choice(key: &str, low: f64, likely: f64, high: f64) -> Choice {
    Choice {
        key: key.into(),
        title: format!("Way {key}"),
        means: "New metal is let in.".into(),
        risks: "It may rust beside it.".into(),
        hours: Hours { low, likely, high },
        recipe: None,
        card: None,
    }
}

pub(crate) fn worked(zone: Option<&str>, part: Part, hours_h: f64) -> Worked {
    Worked { zone: zone.map(String::from), part, hours_h, note: "Two of us.".into() }
}

/// A question about the left membrane, sent or not.
pub(crate) fn asked(sent: bool) -> Question {
    Question {
        zones: vec!["Z03.L".into(), "Z01.L".into()],
        finding: None,
        ask: "How far shall we go inside the left sill?".into(),
        found: "The membrane is rusted through over 310 by 46 mm. We have stopped there until you choose.".into(),
        photographs: Vec::new(),
        options: vec![choice("A", 4.0, 7.0, 12.0), choice("B", 9.0, 14.0, 22.5)],
        by: "2026-03-16".parse().unwrap(),
        waits: vec!["Closing the left sill".into()],
        serves: Vec::new(),
        sent,
    }
}

/// A question about the colour, with an option for each recipe and its card.
pub(crate) fn colour_asked(recipes: &[(EntryId, Option<EntryId>)], sent: bool) -> Question {
    let option = |(key, (recipe, card)): (&str, &(EntryId, Option<EntryId>))| Choice {
        recipe: Some(*recipe),
        card: *card,
        ..choice(key, 0.0, 0.0, 0.0)
    };
    Question {
        zones: Vec::new(),
        ask: "Which of these colours shall the car have?".into(),
        found: "Two recipes come near the wish.".into(),
        options: ["A", "B", "C", "D"].into_iter().zip(recipes).map(option).collect(),
        by: "2026-03-20".parse().unwrap(),
        waits: vec!["Mixing the colour for the outside".into()],
        serves: serves(&[("Z01.L", Some("2026-05-04")), ("bonnet", None)]).serves,
        ..asked(sent)
    }
}

pub(crate) const RANGE: RangeSaid = RangeSaid { p10_h: 690.0, p50_h: 850.0, p80_h: 980.0, p95_h: 1115.0 };

/// An answer to a question as it stands in the record.
pub(crate) fn answered(question: EntryId, version: Hash, choice: Option<&str>, way: AnswerWay) -> Answer {
    Answer {
        question,
        version,
        choice: choice.map(String::from),
        way,
        words: "Please keep as much of the old metal as you can.".into(),
        shown: Shown {
            question: asked(true),
            range: RANGE,
            money: vec!["A: 340 to 1020 EUR, likely 600".into()],
            head: version,
            count: 2,
        },
        changes: None,
    }
}

pub(crate) fn reported(pdf: &[u8]) -> Report {
    Report {
        from: "2026-03-02".parse().unwrap(),
        to: "2026-03-15".parse().unwrap(),
        says: "The left sill is worse than hoped; the right one is clear.".into(),
        done: vec!["Right sill scoped at both ends: clear".into()],
        found: vec!["Left membrane holed over 310 by 46 mm".into()],
        changed: vec!["Metal work: 690 to 1115 hours, likely 850".into()],
        need: vec!["Question 1 by 16 March".into()],
        next: vec!["Look into the A-post foot, left".into()],
        photographs: Vec::new(),
        range: RANGE,
        pdf: Hash::of(pdf),
    }
}

/// One of every kind, in the order of [`What::KINDS`]. `entry` is what the last takes out.
pub(crate) fn every_kind(entry: EntryId) -> Vec<What> {
    let mut photograph = photographed(Some("Z01.L"), b"picture", b"thumb");
    if let What::Photographed(photo) = &mut photograph {
        photo.mark = Some(Mark { view: "left".into(), u_mm: 1520.5, v_mm: 210.25 });
    }
    let examples = vec![
        What::CarOpened(details("Car 1")),
        What::CarChanged(CarDetails { note: "The owner decided.".into(), aim: Aim::Show, ..details("Car 1") }),
        stage(Stage::Survey),
        bad("Z01.L", Severity::Thin),
        wall("Z01.L", 0.52),
        photograph,
        opened("Z03.L", Some(Severity::Holed)),
        made_good("Z03.L"),
        What::Worked(worked(Some("Z03.L"), Part::Metal, 6.5)),
        measured("Panel A", b"geometry,400"),
        What::Shelved(shelved(b"toners", b"panels")),
        What::Briefed(briefed(entry)),
        What::Formulated(formulated(entry, entry)),
        What::Mixed(mixed(entry)),
        What::Carded(carded(entry, Some(entry), b"card")),
        What::ColourServes(serves(&[("Z01.L", Some("2026-05-04")), ("bonnet", None)])),
        climate(),
        judged(),
        What::Asked(asked(true)),
        What::Answered(answered(entry, Hash::of(b"question"), Some("B"), AnswerWay::Telephone)),
        What::OwnerWrote(OwnerWrote { question: None, choice: None, words: "May I come on Friday?".into() }),
        What::Reported(reported(b"report")),
        withdraws(entry),
    ];
    // A new kind does not compile until it has its place here, and fails until it has its example above.
    let place = |what: &What| match what {
        What::CarOpened(_) => Some(0),
        What::CarChanged(_) => Some(1),
        What::StageReached(_) => Some(2),
        What::Looked(_) => Some(3),
        What::Read(_) => Some(4),
        What::Photographed(_) => Some(5),
        What::Opened(_) => Some(6),
        What::MadeGood(_) => Some(7),
        What::Worked(_) => Some(8),
        What::Measured(_) => Some(9),
        What::Shelved(_) => Some(10),
        What::Briefed(_) => Some(11),
        What::Formulated(_) => Some(12),
        What::Mixed(_) => Some(13),
        What::Carded(_) => Some(14),
        What::ColourServes(_) => Some(15),
        What::ClimateRead(_) => Some(16),
        What::FilmJudged(_) => Some(17),
        What::Asked(_) => Some(18),
        What::Answered(_) => Some(19),
        What::OwnerWrote(_) => Some(20),
        What::Reported(_) => Some(21),
        What::Withdrawn(_) => Some(22),
        What::Newer { .. } => None,
    };
    assert!(examples.iter().enumerate().all(|(i, what)| place(what) == Some(i)));
    assert_eq!(examples.len(), What::KINDS.len());
    examples
}
