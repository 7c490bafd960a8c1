//! The way to the car's colour in the record: briefs, the question about it, the answer, what waits.

use std::sync::Arc;

use job::ask::colour::{Asking, Candidate, NotDrafted, draft, usual_waits};
use job::car::Car;
use job::catalogue::Catalogue;
use job::colour::brief::{Place, Want};
use job::colour::{Geometry, Illuminant, Observer, lab};
use job::era::{Era, Look, Note, Was};
use job::ids::EntryId;
use job::mixing::{AngleWeight, BriefEdit, Briefed, ColourServes, Said, Wanted};
use job::paintwork::briefs::{self, Briefing};
use job::paintwork::decided::{Since, car_colour, colour_questions, colour_waits};
use job::paintwork::{self, engine};
use job::question::{Answer, AnswerWay, Question};
use job::sampled::{Spot, sample};
use job::shop::{Draft, ShopError};
use job::validate::FieldError;
use job::what::{GeometrySpectrum, Measured, SampledArea, What};

use crate::support::{
    Desk, asked, at, briefed, carded, colour_asked, formulated, measured, serves, shelved, withdraws,
};

/// A shop whose car has a measured copper, a brief of it, two recipes for that brief, and a card of the first.
struct House {
    desk: Desk,
    donor: EntryId,
    shelf: EntryId,
    brief: EntryId,
    first: EntryId,
    second: EntryId,
    card: EntryId,
}

/// An invented copper: orange in the face, violet and darker in the flop.
fn copper() -> Vec<GeometrySpectrum> {
    let at = |(geometry, level, violet): (&str, f64, f64)| GeometrySpectrum {
        geometry: geometry.into(),
        values: (0..31)
            .map(|i| {
                let x = f64::from(i) / 30.0;
                level * (0.1 + 0.9 * x * x * x) + violet * (1.0 - x) * (1.0 - x)
            })
            .collect(),
    };
    let angles = [("45as15", 0.9, 0.0), ("45as45", 0.35, 0.02), ("45as75", 0.15, 0.08), ("45as110", 0.1, 0.12)];
    angles.map(at).to_vec()
}

fn of_copper(name: &str, spectra: Vec<GeometrySpectrum>) -> What {
    match measured(name, b"geometry,400") {
        What::Measured(plain) => What::Measured(Measured { spectra, ..plain }),
        other => other,
    }
}

impl House {
    async fn open() -> Self {
        let desk = Desk::open().await;
        for bytes in [b"geometry,400".as_slice(), b"toners", b"panels", b"card"] {
            desk.shop.keep_file(bytes).await.unwrap();
        }
        let donor = desk.keep(of_copper("Copper on the wing", copper())).await;
        let shelf = desk.keep(What::Shelved(shelved(b"toners", b"panels"))).await;
        let brief = desk.keep(What::Briefed(briefed(donor))).await;
        let recipe = |name: &str| {
            let mut recipe = formulated(donor, shelf);
            (recipe.name, recipe.briefed, recipe.predicted) = (name.into(), Some(brief), copper());
            What::Formulated(recipe)
        };
        let first = desk.keep(recipe("Copper 1")).await;
        let second = desk.keep(recipe("Copper 2")).await;
        let card = desk.keep(What::Carded(carded(first, None, b"card"))).await;
        Self { desk, donor, shelf, brief, first, second, card }
    }

    async fn car(&self) -> Arc<Car> {
        self.desk.shop.car(self.desk.car).await.unwrap()
    }

    async fn refused(&self, what: What) -> FieldError {
        let writes = self.desk.store.writes();
        let shown = format!("{what:?}");
        let refused = self.desk.send(&self.desk.draft(what)).await;
        assert_eq!(self.desk.store.writes(), writes);
        match refused {
            Err(ShopError::Invalid(mut errors)) => {
                assert!(errors.iter().all(|e| !e.say.is_empty() && !e.right.is_empty()), "{errors:?}");
                errors.remove(0)
            }
            other => panic!("{other:?} for {shown}"),
        }
    }

    async fn correct(&self, entry: EntryId, what: What) -> EntryId {
        let draft = Draft { corrects: Some(entry), ..self.desk.draft(what) };
        self.desk.send(&draft).await.unwrap();
        draft.entry
    }

    fn question(&self) -> Question {
        colour_asked(&[(self.first, Some(self.card)), (self.second, None)], true)
    }

    /// The owner answers on the telephone; `changes` is the answer before.
    async fn answer(&self, question: EntryId, choice: Option<&str>, changes: Option<EntryId>) -> EntryId {
        let car = self.car().await;
        let entry = car.entry_by_id(question).unwrap();
        let What::Asked(asked) = &entry.what else { panic!("no question") };
        let shown = self.desk.shop.shown(&car, asked).await.unwrap();
        let answer = Answer {
            question,
            version: entry.hash,
            choice: choice.map(String::from),
            way: AnswerWay::Telephone,
            words: "After a walk in the sun.".into(),
            shown,
            changes,
        };
        self.desk.keep(What::Answered(answer)).await
    }

    fn brief(&self, change: impl FnOnce(&mut Briefed)) -> What {
        let mut brief = briefed(self.donor);
        change(&mut brief);
        What::Briefed(brief)
    }

    fn briefing(&self) -> Briefing {
        Briefing {
            name: "Copper, no violet".into(),
            donor: self.donor,
            words: vec![
                Said { what: Wanted::KeepFace, how_much: 1.0 },
                Said { what: Wanted::LoseHueTravel, how_much: 1.0 },
            ],
            face_of: None,
            flop_of: None,
            by_hand: Vec::new(),
            weights: vec![AngleWeight { geometry: "45as15".into(), weight: 0.5 }],
            why: "The face is right.".into(),
            note: String::new(),
        }
    }
}

/// Stored words must not part from those of the engine: a form sends the ones, a record keeps the others.
#[test]
fn the_stored_words_of_a_brief_are_the_engines() {
    assert_eq!(Wanted::ALL.len(), Want::ALL.len());
    for (stored, asked) in Wanted::ALL.iter().zip(Want::ALL) {
        assert_eq!((stored.key(), stored.words()), (asked.key(), asked.words()));
        assert_eq!((engine::want(*stored), engine::wanted(asked)), (asked, *stored));
        assert_eq!(stored.key().parse::<Want>().unwrap(), asked);
    }
}

#[tokio::test]
async fn words_become_edits_and_the_entry_gives_the_same_wish_again() {
    let house = House::open().await;
    let telling = briefs::tell(house.car().await.as_ref(), &house.briefing()).unwrap();
    assert!(!telling.briefed.brief.edits.is_empty());
    assert!(telling.briefed.brief.edits.iter().all(|edit| edit.geometry != "45as15"), "the face is kept");
    let id = house.desk.keep(What::Briefed(telling.briefed.clone())).await;
    let car = house.car().await;
    let (_, kept) = paintwork::brief_of(&car, id).unwrap();
    assert_eq!(briefs::wish(&car, kept).unwrap(), telling.wish);
    assert_eq!(telling.wish.wish.weights.iter().find(|(g, _)| *g == Geometry::As15).unwrap().1, 0.5);
    // The flop's hue is now the face's.
    let hue = |geometry| {
        let target = &telling.wish.wish.target;
        lab(target.at(geometry).unwrap(), Illuminant::D65, Observer::Deg10).hue_deg()
    };
    assert!((hue(Geometry::As110) - hue(Geometry::As15)).abs() < 2.0);
    assert_eq!(paintwork::briefs(&car).len(), 2);
}

#[tokio::test]
async fn a_chip_of_one_angle_takes_its_flop_from_another_paint() {
    let house = House::open().await;
    let chip = copper().into_iter().filter(|s| s.geometry == "45as15").collect();
    let chip = house.desk.keep(of_copper("Chip", chip)).await;
    let briefing = Briefing { donor: chip, flop_of: Some(house.donor), words: Vec::new(), ..house.briefing() };
    let car = house.car().await;
    let telling = briefs::tell(&car, &briefing).unwrap();
    let angles: Vec<Geometry> = telling.donor.by_angle().iter().map(|(g, _)| *g).collect();
    assert_eq!(angles, [Geometry::As15, Geometry::As75, Geometry::As110]);
    let id = house.desk.keep(What::Briefed(telling.briefed)).await;
    // A recipe for it is held against the completed paint.
    let mut recipe = formulated(chip, house.shelf);
    (recipe.briefed, recipe.brief.edits) = (Some(id), Vec::new());
    let recipe = house.desk.keep(What::Formulated(recipe)).await;
    let car = house.car().await;
    let (_, recipe) = paintwork::recipe_of(&car, recipe).unwrap();
    assert_eq!(briefs::wish_of_recipe(&car, recipe).unwrap().wish.target.by_angle().len(), 3);
    assert_eq!(paintwork::recipes_of_brief(&car, id).len(), 1);
    assert_eq!(paintwork::recipes_of_brief(&car, house.brief).len(), 2);
}

#[tokio::test]
async fn the_spectra_of_a_picture_are_not_wished_for() {
    let house = House::open().await;
    let picture = image::RgbImage::from_pixel(200, 200, image::Rgb([200, 110, 60]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    let spot = Spot { place: Place::Face, x: 0.5, y: 0.5, radius: 0.1 };
    let sampled = sample("A copper in the street", "street.png", &bytes.into_inner(), &[spot]).unwrap();
    house.desk.shop.keep_file(&sampled.picture).await.unwrap();
    let donor = house.desk.keep(What::Measured(sampled.measured)).await;
    let car = house.car().await;
    let briefing = Briefing { donor, words: Vec::new(), weights: Vec::new(), ..house.briefing() };
    let plain = briefs::tell(&car, &briefing).unwrap();
    assert!(plain.wish.wish.spectral.is_empty());
    // With the flop of a paint that was measured, that flop's spectra are there; the picture is still the donor.
    let lent = briefs::tell(&car, &Briefing { flop_of: Some(house.donor), ..briefing }).unwrap();
    assert!(lent.wish.wish.spectral.is_empty());
    // The other way round: a measured donor keeps its spectra.
    let measured = briefs::tell(&car, &Briefing { words: Vec::new(), face_of: Some(donor), ..house.briefing() });
    assert!(!measured.unwrap().wish.wish.spectral.is_empty());
    assert!(car.entry_by_id(donor).unwrap().what.say().contains("not a measurement"));
    // It travels with the car as the picture that it is.
    let zip = crate::parcel::export(&house.desk).await;
    let seq = car.entry_by_id(donor).unwrap().seq;
    assert_eq!(crate::support::Files::of(&zip).named(&format!("colour/{seq:05}")), format!("colour/{seq:05}.jpg"));
}

#[tokio::test]
async fn a_brief_that_cannot_be_is_refused_by_its_field() {
    let house = House::open().await;
    let twice = Said { what: Wanted::Quieter, how_much: 0.5 };
    let edit = |geometry: &str, dl: f64| BriefEdit { geometry: geometry.into(), dl, dc: 0.0, dh_deg: 0.0 };
    let cases: Vec<(What, &str)> = vec![
        (house.brief(|b| b.name = " ".into()), "name"),
        (house.brief(|b| b.why = "x".repeat(8_001)), "why"),
        (house.brief(|b| b.words = vec![twice, twice]), "words"),
        (house.brief(|b| b.words[0].how_much = 1.5), "words"),
        (house.brief(|b| b.words[0].how_much = f64::NAN), "words"),
        (house.brief(|b| b.donor = house.first), "donor"),
        (house.brief(|b| b.donor = EntryId::fresh()), "donor"),
        (house.brief(|b| b.face_of = Some(house.card)), "face_of"),
        (house.brief(|b| b.flop_of = Some(EntryId::fresh())), "flop_of"),
        (house.brief(|b| b.brief.edits = vec![edit("45as20", 1.0)]), "edits"),
        // Nobody measured there; and no surface is that light.
        (house.brief(|b| b.brief.edits = vec![edit("45as-15", 1.0)]), "edits"),
        (house.brief(|b| b.brief.edits = vec![edit("45as15", 190.0)]), "edits"),
        (house.brief(|b| b.doubts = vec![String::new(); 21]), "doubts"),
        (house.brief(|b| b.note = "x".repeat(8_001)), "note"),
    ];
    for (what, field) in cases {
        let shown = format!("{what:?}");
        assert_eq!(house.refused(what).await.field, field, "{shown}");
    }
    // A recipe names a brief of the paint that it is for.
    let other = house.desk.keep(of_copper("Another", copper())).await;
    let mut recipe = formulated(other, house.shelf);
    recipe.briefed = Some(house.brief);
    assert_eq!(house.refused(What::Formulated(recipe.clone())).await.field, "briefed");
    recipe.briefed = Some(house.card);
    assert_eq!(house.refused(What::Formulated(recipe)).await.field, "briefed");
}

#[tokio::test]
async fn sampled_areas_are_checked() {
    let house = House::open().await;
    let area = SampledArea {
        place: "face".into(),
        x: 0.5,
        y: 0.5,
        radius: 0.1,
        rgb: [200.0, 100.0, 60.0],
        spread: 2.0,
        count: 400,
    };
    let with = |areas: Vec<SampledArea>| match of_copper("Picture", copper()) {
        What::Measured(plain) => What::Measured(Measured { areas, ..plain }),
        other => other,
    };
    for wrong in [
        vec![SampledArea { place: "bonnet".into(), ..area.clone() }],
        vec![SampledArea { x: -0.1, ..area.clone() }],
        vec![SampledArea { rgb: [300.0, 0.0, 0.0], ..area.clone() }],
        vec![area.clone(); 4],
    ] {
        assert_eq!(house.refused(with(wrong)).await.field, "areas");
    }
    house.desk.keep(with(vec![area])).await;
}

#[tokio::test]
async fn a_question_about_the_colour_has_recipes_and_no_zones() {
    let house = House::open().await;
    let question = |change: &dyn Fn(&mut Question)| {
        let mut question = house.question();
        change(&mut question);
        What::Asked(question)
    };
    let wrong: Vec<(What, &str)> = vec![
        (question(&|q| q.zones = vec!["Z01.L".into()]), "zones"),
        (question(&|q| q.options.truncate(1)), "options"),
        (question(&|q| q.options[1].recipe = None), "recipe"),
        (question(&|q| q.options[1].recipe = Some(house.first)), "recipe"),
        (question(&|q| q.options[1].recipe = Some(house.card)), "recipe"),
        (question(&|q| q.options[1].recipe = Some(EntryId::fresh())), "recipe"),
        (question(&|q| q.options[1].card = Some(house.card)), "card"),
        (question(&|q| q.options[0].card = Some(house.first)), "card"),
        (question(&|q| q.options[1].key = "C".into()), "title_b"),
        (question(&|q| q.serves[1].part = String::new()), "serves"),
        (question(&|q| q.serves = vec![q.serves[0].clone(), q.serves[0].clone()]), "serves"),
    ];
    for (what, field) in wrong {
        let shown = format!("{what:?}");
        assert_eq!(house.refused(what).await.field, field, "{shown}");
    }
    // Four can be offered, five not; a zone question takes neither four options nor a card.
    let mut four = house.question();
    let mut more = Vec::new();
    for n in 3..=5 {
        let mut recipe = formulated(house.donor, house.shelf);
        recipe.name = format!("Copper {n}");
        more.push((house.desk.keep(What::Formulated(recipe)).await, None));
    }
    four.options = colour_asked(&[(house.first, None), (house.second, None), more[0], more[1]], true).options;
    house.desk.keep(What::Asked(four.clone())).await;
    let fifth = job::question::Choice { key: "E".into(), recipe: Some(more[2].0), ..four.options[0].clone() };
    four.options.push(fifth);
    assert_eq!(house.refused(What::Asked(four)).await.say, "5 options were given");
    let mut of_zone = asked(true);
    of_zone.options[0].card = Some(house.card);
    assert_eq!(house.refused(What::Asked(of_zone)).await.field, "options");
    // A card has no place on the car, so its photograph needs none here.
    house.desk.shop.keep_file(b"picture").await.unwrap();
    house.desk.shop.keep_file(b"thumb").await.unwrap();
    let photo = house.desk.keep(crate::support::photographed(None, b"picture", b"thumb")).await;
    house.desk.keep(question(&|q| q.photographs = vec![photo])).await;
    assert_eq!(
        house.refused(What::Asked(Question { photographs: vec![photo], ..asked(true) })).await.field,
        "photographs"
    );
}

#[tokio::test]
async fn the_owners_answer_becomes_the_colour_of_the_car() {
    let house = House::open().await;
    assert!(car_colour(house.car().await.as_ref()).is_none());
    let question = house.desk.keep(What::Asked(house.question())).await;
    assert!(car_colour(house.car().await.as_ref()).is_none(), "nobody answered");
    let answer = house.answer(question, Some("A"), None).await;
    let car = house.car().await;
    let colour = car_colour(&car).unwrap();
    assert_eq!((colour.number, colour.recipe.0.id, colour.now.0.id), (1, house.first, house.first));
    assert_eq!((colour.primer, colour.since), ("N4", Since::AsChosen));
    assert_eq!(colour.card.unwrap().0.id, house.card);
    assert_eq!((colour.answered.id, colour.decided), (answer, at(1)));
    assert_eq!(colour.serves, house.question().serves);
    assert_eq!(colour_questions(&car).len(), 1);
    // Zones and hours are untouched by it, and its options make no difference in either.
    assert!(car.decided("Z01.L").is_none() && car.waits_for("Z01.L").is_none());
    assert_eq!(colour.choice.hours_say(), "no difference in hours");
    assert!(colour.answer.shown.money.is_empty());

    // A changed mind stands instead; none of these decides nothing, and the colour waits again.
    let second = house.answer(question, Some("B"), Some(answer)).await;
    let car = house.car().await;
    assert_eq!(car_colour(&car).unwrap().recipe.0.id, house.second);
    assert!(colour_waits(&car).is_none());
    house.answer(question, None, Some(second)).await;
    let car = house.car().await;
    assert!(car_colour(&car).is_none());
    assert_eq!(colour_waits(&car).unwrap().number, 1);
}

#[tokio::test]
async fn a_later_question_counts_once_it_is_answered() {
    let house = House::open().await;
    let first = house.desk.keep(What::Asked(house.question())).await;
    house.answer(first, Some("A"), None).await;
    let again = house.desk.keep(What::Asked(house.question())).await;
    let car = house.car().await;
    assert_eq!((car_colour(&car).unwrap().number, colour_waits(&car).unwrap().number), (1, 2));
    house.answer(again, Some("B"), None).await;
    let car = house.car().await;
    assert_eq!((car_colour(&car).unwrap().number, car_colour(&car).unwrap().recipe.0.id), (2, house.second));
    // Taken back, it decides nothing: the earlier answer stands.
    house.desk.keep(withdraws(again)).await;
    assert_eq!(car_colour(house.car().await.as_ref()).unwrap().number, 1);
    // Asked anew after it was answered, it is not decided.
    house.correct(first, What::Asked(Question { ask: "Which one after all?".into(), ..house.question() })).await;
    assert!(car_colour(house.car().await.as_ref()).is_none());
}

#[tokio::test]
async fn what_became_of_the_chosen_recipe_is_told() {
    let house = House::open().await;
    let question = house.desk.keep(What::Asked(house.question())).await;
    house.answer(question, Some("A"), None).await;
    // A correction from its card is what is to be mixed now.
    let mut corrected = formulated(house.donor, house.shelf);
    (corrected.name, corrected.after, corrected.cards) =
        ("Copper 1, corrected".into(), Some(house.first), vec![house.card]);
    let corrected = house.desk.keep(What::Formulated(corrected)).await;
    let car = house.car().await;
    let colour = car_colour(&car).unwrap();
    assert_eq!((colour.recipe.0.id, colour.now.0.id), (house.first, corrected));

    let mut put_right = formulated(house.donor, house.shelf);
    put_right.primer = "N5".into();
    let put_right = house.correct(house.first, What::Formulated(put_right)).await;
    let car = house.car().await;
    let colour = car_colour(&car).unwrap();
    assert_eq!((colour.recipe.0.id, colour.primer, colour.since), (put_right, "N5", Since::Corrected));
    house.desk.keep(withdraws(put_right)).await;
    let car = house.car().await;
    let colour = car_colour(&car).unwrap();
    assert_eq!((colour.recipe.0.id, colour.since), (house.first, Since::TakenOut));
    assert!(colour.since.words().contains("ask again"));
}

#[tokio::test]
async fn what_the_colour_is_for_can_change_after_it_was_chosen() {
    let house = House::open().await;
    let before = ColourServes { note: "Before.".into(), ..serves(&[("boot lid", None)]) };
    house.desk.keep(What::ColourServes(before)).await;
    let question = house.desk.keep(What::Asked(house.question())).await;
    house.answer(question, Some("A"), None).await;
    let parts = |car: &Car| car_colour(car).unwrap().serves.iter().map(|s| s.part.clone()).collect::<Vec<_>>();
    assert_eq!(parts(house.car().await.as_ref()), ["Z01.L", "bonnet"]);
    house.desk.keep(What::ColourServes(serves(&[("roof", Some("2026-06-01"))]))).await;
    assert_eq!(parts(house.car().await.as_ref()), ["roof"]);
    for wrong in [serves(&[]), serves(&[("", None)]), serves(&[("roof", None), ("roof", None)])] {
        assert_eq!(house.refused(What::ColourServes(wrong)).await.field, "serves");
    }
    // One part on two days is two coats, and taken.
    house.desk.keep(What::ColourServes(serves(&[("roof", None), ("roof", Some("2026-06-01"))]))).await;
}

#[tokio::test]
async fn the_date_is_a_milestone_that_is_ahead_or_past() {
    let house = House::open().await;
    assert!(colour_waits(house.car().await.as_ref()).is_none());
    let drafted = house.desk.keep(What::Asked(Question { sent: false, ..house.question() })).await;
    let car = house.car().await;
    let waits = colour_waits(&car).unwrap();
    let said = |day: &str| waits.say(day.parse().unwrap());
    assert_eq!(
        said("2026-03-08"),
        "Waits for the colour: question 1, to be decided by 20 March 2026 (12 days left); the owner has not been asked yet"
    );
    house.correct(drafted, What::Asked(house.question())).await;
    let car = house.car().await;
    let waits = colour_waits(&car).unwrap();
    let say = |day: &str| waits.say(day.parse().unwrap()).split_once('(').unwrap().1.to_owned();
    assert_eq!((say("2026-03-19"), say("2026-03-20")), ("1 day left)".to_owned(), "today)".to_owned()));
    assert_eq!((say("2026-03-21"), say("2026-05-01")), ("1 day past)".to_owned(), "42 days past)".to_owned()));
    assert!(!waits.is_past("2026-03-20".parse().unwrap()) && waits.is_past("2026-03-21".parse().unwrap()));
    assert_eq!(waits.days_left("2024-03-20".parse().unwrap()), 730);
    assert_eq!(waits.waits, ["Mixing the colour for the outside"]);
}

fn asking(house: &House, era: Option<Era>) -> Asking {
    Asking {
        candidates: vec![
            Candidate { recipe: house.first, card: Some(house.card), era: era.clone() },
            Candidate { recipe: house.second, card: None, era },
        ],
        by: "2026-03-20".parse().unwrap(),
        waits: usual_waits(),
        serves: house.question().serves,
        photographs: Vec::new(),
    }
}

#[tokio::test]
async fn the_drafted_question_says_what_an_owner_needs_and_can_be_kept() {
    let house = House::open().await;
    let catalogue = Catalogue::starting_guesses().unwrap();
    let row = catalogue.era_pigments().find(|row| row.id == "E11").unwrap();
    let note = Note {
        id: row.id.clone(),
        item: row.item.clone(),
        what: Was::NotYet(1979),
        words: String::new(),
        softened_by: row.softens.clone(),
        basis: row.basis.clone(),
        confidence: row.confidence,
        toners: vec!["copper mica".into()],
    };
    let unknown = vec!["oxide red".to_owned()];
    let era = Era { year: 1971, look: Look::default(), notes: vec![note], unknown, undated: Vec::new() };
    let question = draft(house.car().await.as_ref(), &asking(&house, Some(era))).unwrap();
    assert!(question.is_of_colour() && !question.sent && question.zones.is_empty());
    let [a, b] = question.options.as_slice() else { panic!("two options") };
    assert_eq!(
        (a.key.as_str(), a.title.as_str(), a.recipe, a.card),
        ("A", "Copper 1", Some(house.first), Some(house.card))
    );
    for said in [
        "By daylight the face is orange; towards the flop it goes darker by",
        "differs from the wish by 0.8 on average, as predicted",
        "Mixed of 3 toners, over the primer N4, in 4 coats.",
        "A card was sprayed and measured (Card 1): it differs from the wish by",
        "Not there on a car of 1971: mica coated with",
    ] {
        assert!(a.means.contains(said), "{said}: {}", a.means);
    }
    assert!(a.risks.contains("A card is small and flat"), "{}", a.risks);
    assert!(b.risks.contains("No card has been sprayed: what the picture shows may be off."), "{}", b.risks);
    assert!(b.risks.contains("not on new cars before about 1979. What softens that: no pearl"), "{}", b.risks);
    assert!(b.risks.contains("The pigment of one toner is not known (oxide red)."), "{}", b.risks);
    assert!(!b.means.contains("A card was sprayed"), "{}", b.means);
    for said in [
        "Wished for: Copper on the wing, but keep the face, lose the other hue in the flop.",
        "The owner likes the face in the sun",
        "Two recipes come near it",
        "a screen is no proof",
    ] {
        assert!(question.found.contains(said), "{said}: {}", question.found);
    }
    assert_eq!(question.found.matches("Wished for").count(), 1);
    assert_eq!(question.options.iter().map(|o| o.hours_say()).collect::<Vec<_>>(), ["no difference in hours"; 2]);
    house.desk.keep(What::Asked(question)).await;
}

#[tokio::test]
async fn long_words_of_the_shop_are_cut_so_that_the_draft_can_be_kept() {
    let house = House::open().await;
    let mut long = formulated(house.donor, house.shelf);
    long.name = "x".repeat(200);
    let long = house.desk.keep(What::Formulated(long)).await;
    house.correct(house.brief, house.brief(|b| b.why = "y".repeat(8_000))).await;
    let mut asking = asking(&house, None);
    asking.candidates[1] = Candidate { recipe: long, card: None, era: None };
    let question = draft(house.car().await.as_ref(), &asking).unwrap();
    assert_eq!(question.options[1].title.chars().count(), 120);
    house.desk.keep(What::Asked(question)).await;
}

#[tokio::test]
async fn nothing_is_drafted_from_one_recipe_or_from_what_is_gone() {
    let house = House::open().await;
    let car = house.car().await;
    let refused = |change: &dyn Fn(&mut Asking)| {
        let mut asking = asking(&house, None);
        change(&mut asking);
        draft(&car, &asking).unwrap_err()
    };
    assert_eq!(refused(&|a| a.candidates.truncate(1)), NotDrafted::Count(1));
    assert_eq!(refused(&|a| a.candidates = vec![a.candidates[0].clone(); 5]), NotDrafted::Count(5));
    assert_eq!(refused(&|a| a.candidates[0].recipe = house.card), NotDrafted::NoRecipe);
    assert_eq!(refused(&|a| a.candidates[1].card = Some(house.card)), NotDrafted::NoCard);
    assert_eq!(refused(&|a| a.candidates[0].card = Some(house.first)), NotDrafted::NoCard);
}
