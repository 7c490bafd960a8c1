//! Toners, recipes, batches and cards in the record: what is refused, and how entries lead to each other.

use std::sync::Arc;

use job::car::Car;
use job::colour::{Geometry, Measurement, Panel, Panels, Part, Spectrum, Substrate, TonerInfo, TonerKind};
use job::ids::{EntryId, Hash};
use job::mixing::{AngleWeight, BINDER, Brief, BriefEdit, Carded, Formulated, Mixed, RecipePart, kept_doubts};
use job::paintwork::again::{Names, sprayed, with_cards};
use job::paintwork::{self, engine};
use job::shop::{Draft, ShopError};
use job::validate::FieldError;
use job::what::What;

use crate::support::{Desk, carded, clear, formulated, measured, mixed, shelved, withdraws};

/// A shop whose car has a target, a shelf, a recipe, a batch and a card.
struct Bench {
    desk: Desk,
    target: EntryId,
    shelf: EntryId,
    recipe: EntryId,
    batch: EntryId,
    card: EntryId,
}

impl Bench {
    async fn open() -> Self {
        let desk = Desk::open().await;
        for bytes in [b"geometry,400".as_slice(), b"toners", b"panels", b"card"] {
            desk.shop.keep_file(bytes).await.unwrap();
        }
        let target = desk.keep(measured("Panel A", b"geometry,400")).await;
        let shelf = desk.keep(What::Shelved(shelved(b"toners", b"panels"))).await;
        let recipe = desk.keep(What::Formulated(formulated(target, shelf))).await;
        let batch = desk.keep(What::Mixed(mixed(recipe))).await;
        let card = desk.keep(What::Carded(carded(recipe, Some(batch), b"card"))).await;
        Self { desk, target, shelf, recipe, batch, card }
    }

    fn recipe(&self) -> Formulated {
        formulated(self.target, self.shelf)
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

    async fn car(&self) -> Arc<Car> {
        self.desk.shop.car(self.desk.car).await.unwrap()
    }

    async fn correct(&self, entry: EntryId, what: What) -> EntryId {
        let draft = Draft { corrects: Some(entry), ..self.desk.draft(what) };
        self.desk.send(&draft).await.unwrap();
        draft.entry
    }
}

fn recipe(change: impl FnOnce(&mut Formulated), bench: &Bench) -> What {
    let mut recipe = bench.recipe();
    change(&mut recipe);
    What::Formulated(recipe)
}

fn batch(change: impl FnOnce(&mut Mixed), bench: &Bench) -> What {
    let mut batch = mixed(bench.recipe);
    change(&mut batch);
    What::Mixed(batch)
}

fn card(change: impl FnOnce(&mut Carded), bench: &Bench) -> What {
    let mut card = carded(bench.recipe, Some(bench.batch), b"card");
    change(&mut card);
    What::Carded(card)
}

fn part(toner: &str, fraction: f64) -> RecipePart {
    RecipePart { toner: toner.into(), fraction }
}

#[tokio::test]
async fn what_is_wrong_with_a_recipe_is_named_by_its_field() {
    let bench = Bench::open().await;
    let b = &bench;
    let weight = |geometry: &str, weight: f64| AngleWeight { geometry: geometry.into(), weight };
    let none: Vec<AngleWeight> =
        job::colour::Geometry::ALL.iter().map(|geometry| weight(&geometry.to_string(), 0.0)).collect();
    let cases = [
        (recipe(|r| r.parts = vec![part("a", 0.6), part("b", 0.5)], b), "parts", "the fractions add up to 1.1000"),
        (recipe(|r| r.parts.clear(), b), "parts", "the recipe has 0 toners"),
        (recipe(|r| r.parts = vec![part("a", 0.01); 13], b), "parts", "the recipe has 13 toners"),
        (recipe(|r| r.parts = vec![part("a", 0.1), part("a", 0.1)], b), "parts", "\"a\" comes twice"),
        (recipe(|r| r.parts = vec![part("a", 0.0)], b), "parts", "a has the fraction 0"),
        (recipe(|r| r.parts = vec![part("a", -0.1)], b), "parts", "a has the fraction -0.1"),
        (recipe(|r| r.parts = vec![part("a", f64::NAN)], b), "parts", "a has the fraction NaN"),
        (recipe(|r| r.parts = vec![part(BINDER, 0.1)], b), "parts", "the binder is among the toners"),
        (recipe(|r| r.film_um = 0.0, b), "film_um", "0 \u{b5}m was typed for the film of colour"),
        (recipe(|r| r.coats = 0, b), "coats", "0  was typed for the coats"),
        (recipe(|r| r.primer = " ".into(), b), "primer", "nothing was typed here"),
        (recipe(|r| r.name = "x".repeat(201), b), "name", "201 characters were typed"),
        (recipe(|r| r.predicted.clear(), b), "predicted", "there is no angle in it"),
        (recipe(|r| r.predicted[1].geometry = "45as15".into(), b), "predicted", "45as15 comes twice"),
        (recipe(|r| r.predicted[1].geometry = "45as20".into(), b), "predicted", "\"45as20\" is no angle"),
        (recipe(|r| r.predicted[0].values[3] = 10.1, b), "predicted", "45as15: a radiance factor of 10.1"),
        (recipe(|r| r.predicted[0].values[3] = f64::NAN, b), "predicted", "45as15: a radiance factor of NaN"),
        (recipe(|r| r.predicted[0].values.truncate(30), b), "predicted", "45as15: 30 wavelengths"),
        (recipe(|r| r.mean_de00 = f64::INFINITY, b), "mean_de00", "inf"),
        (recipe(|r| r.by_angle[0].fl11 = -1.0, b), "by_angle", "-1"),
        (recipe(|r| r.brief.weights = none.clone(), b), "weights", "no angle has any weight"),
        (recipe(|r| r.brief.weights = vec![weight("45as15", -0.1)], b), "weights", "-0.1"),
        (recipe(|r| r.brief.edits[0].dl = 201.0, b), "edits", "201"),
        (recipe(|r| r.doubts = vec!["x".into(); 21], b), "doubts", "21 doubts"),
        (recipe(|r| r.cards = vec![b.card], b), "after", "cards were chosen and no recipe"),
        (recipe(|r| r.target = b.shelf, b), "target", "entry 3 is of another kind (toners learned)"),
        (recipe(|r| r.shelf = b.target, b), "shelf", "entry 2 is of another kind (colour measured)"),
        (recipe(|r| r.after = Some(b.card), b), "after", "entry 6 is of another kind (card)"),
        (recipe(|r| (r.after, r.cards) = (Some(b.recipe), vec![b.batch]), b), "cards", "entry 5 is of another kind"),
        (recipe(|r| r.target = EntryId::fresh(), b), "target", "not in this car's record"),
    ];
    for (what, field, say) in cases {
        let error = bench.refused(what).await;
        assert_eq!(error.field, field, "{error:?}");
        assert!(error.say.contains(say.trim()), "{error:?} for {say}");
    }
    // Nothing left over for binder is possible; a trace over by rounding is not worth a word.
    let full = recipe(|r| r.parts = vec![part("a", 0.6), part("b", 0.4 + 1e-12)], &bench);
    bench.desk.keep(full).await;
}

#[tokio::test]
async fn what_is_wrong_with_a_batch_is_named_by_its_field() {
    let bench = Bench::open().await;
    let b = &bench;
    let cases = [
        (
            batch(|m| m.scale_g = 2.0, b),
            "scale_g",
            "the scale shows steps of 2 g, and the dose of carbon black is 1.1 g",
        ),
        (batch(|m| m.scale_g = 0.0, b), "scale_g", "0 g was typed"),
        (batch(|m| m.wanted_g = 0.5, b), "wanted_g", "0.5 g was typed for the batch"),
        (batch(|m| m.wanted_g = f64::NAN, b), "wanted_g", "NaN"),
        (batch(|m| m.parts_of_car.clear(), b), "parts_of_car", "0 parts"),
        (batch(|m| m.parts_of_car = vec!["x".into(); 61], b), "parts_of_car", "61 parts"),
        (batch(|m| m.parts_of_car = vec![" ".into()], b), "parts_of_car", "nothing was typed"),
        (batch(|m| m.steps.clear(), b), "steps", "0 steps"),
        (batch(|m| m.steps[1].toner = "blue".into(), b), "steps", "\"blue\" is not in this recipe"),
        (batch(|m| m.steps[1].wanted_g = -1.0, b), "steps", "-1 g was typed for the step of copper mica"),
        (batch(|m| m.steps[1].poured_g = Some(-1.0), b), "poured", "-1 g was typed for the copper mica poured"),
        (batch(|m| m.steps.iter_mut().for_each(|s| s.wanted_g = 0.0), b), "steps", "nothing was to be poured"),
        (batch(|m| m.steps[1].lot = "x".repeat(201), b), "lot", "201 characters"),
        (batch(|m| m.retained = "x".repeat(201), b), "retained", "201 characters"),
        (batch(|m| m.recipe = b.card, b), "recipe", "entry 6 is of another kind (card)"),
        (batch(|m| m.into = Some(b.recipe), b), "into", "entry 4 is of another kind (recipe)"),
    ];
    for (what, field, say) in cases {
        let error = bench.refused(what).await;
        assert_eq!(error.field, field, "{error:?}");
        assert!(error.say.contains(say), "{error:?} for {say}");
    }
    let right = batch(|m| m.scale_g = 1.1, &bench);
    bench.desk.keep(right).await;
}

#[tokio::test]
async fn what_is_wrong_with_a_card_or_a_shelf_is_named_by_its_field() {
    let bench = Bench::open().await;
    let b = &bench;
    let other = b.desk.keep(recipe(|r| r.name = "Another".into(), b)).await;
    let mut many = shelved(b"toners", b"panels");
    many.toners = 81;
    let mut none = shelved(b"toners", b"panels");
    none.mean_de00 = f64::NAN;
    let mut unnamed = shelved(b"toners", b"panels");
    unnamed.panels_files[0].name.clear();
    let mut crowd = shelved(b"toners", b"panels");
    crowd.panels_files = vec![crowd.panels_files[0].clone(); 13];
    let cases = [
        (card(|c| c.spectra.clear(), b), "file", "there is no angle in it"),
        (card(|c| c.spectra[0].values[0] = 45.0, b), "file", "a radiance factor of 45"),
        (card(|c| c.coats = 41, b), "coats", "41"),
        (card(|c| c.film_um = Some(0.0), b), "film_um", "0 \u{b5}m"),
        (card(|c| c.gun = "x".repeat(401), b), "gun", "401 characters"),
        (card(|c| c.master = Some(String::new()), b), "master", "nothing was typed"),
        (card(|c| c.name = String::new(), b), "name", "nothing was typed"),
        (card(|c| c.recipe = b.target, b), "recipe", "entry 2 is of another kind"),
        (card(|c| c.batch = Some(b.recipe), b), "batch", "entry 4 is of another kind"),
        (card(|c| c.recipe = other, b), "batch", "batch 5 was not mixed from this recipe"),
        (What::Shelved(many), "toners", "81"),
        (What::Shelved(none), "mean_de00", "NaN"),
        (What::Shelved(unnamed), "panels_files", "nothing was typed"),
        (What::Shelved(crowd), "panels_files", "13 files"),
    ];
    for (what, field, say) in cases {
        let error = bench.refused(what).await;
        assert_eq!(error.field, field, "{error:?}");
        assert!(error.say.contains(say), "{error:?} for {say}");
    }
    // A file that did not come with its entry is noticed before anything is kept.
    let lost = What::Carded(carded(b.recipe, None, b"never sent"));
    assert_eq!(bench.refused(lost).await.field, "photo");
}

#[tokio::test]
async fn a_name_that_was_corrected_leads_on_and_one_that_was_taken_out_is_refused() {
    let bench = Bench::open().await;
    let corrected = bench.correct(bench.recipe, recipe(|r| r.name = "Copper 1a".into(), &bench)).await;
    // The old name still serves, in the record and for what comes.
    bench.desk.keep(batch(|m| m.note = "second tin".into(), &bench)).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let (entry, found) = paintwork::recipe_of(&car, bench.recipe).unwrap();
    assert_eq!((entry.id, found.name.as_str()), (corrected, "Copper 1a"));
    assert_eq!(paintwork::batches_of(&car, corrected).len(), 2);
    assert_eq!(paintwork::cards_of(&car, corrected).len(), 1);
    assert!(paintwork::is_same(&car, bench.recipe, corrected));
    assert_eq!(paintwork::recipes(&car).len(), 1);

    bench.desk.keep(withdraws(corrected)).await;
    let error = bench.refused(batch(|m| m.note = "third tin".into(), &bench)).await;
    assert_eq!((error.field, error.say.as_str()), ("recipe", "entry 4 was taken out"));
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    assert!(paintwork::recipe_of(&car, bench.recipe).is_none());
    assert!(paintwork::recipes(&car).is_empty());
    // The batches stay: the paint is on the car.
    let batches = paintwork::batches(&car);
    assert_eq!((batches.len(), batches[0].recipe.is_none(), batches[0].cards.len()), (2, true, 1));
    // A recipe is corrected by a recipe, nothing else.
    let draft = Draft { corrects: Some(bench.card), ..bench.desk.draft(clear("Z01.L")) };
    assert!(matches!(bench.desk.send(&draft).await, Err(ShopError::Invalid(e)) if e[0].field == "corrects"));
}

#[tokio::test]
async fn the_latest_shelf_is_in_use_however_an_older_one_is_corrected() {
    let bench = Bench::open().await;
    let mut next = shelved(b"toners", b"panels");
    next.name = "Autumn shelf".into();
    let next = bench.desk.keep(What::Shelved(next)).await;
    let mut renamed = shelved(b"toners", b"panels");
    renamed.name = "Spring shelf, first".into();
    bench.correct(bench.shelf, What::Shelved(renamed)).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let names: Vec<&str> = paintwork::shelves(&car).iter().map(|(_, shelf)| shelf.name.as_str()).collect();
    assert_eq!(names, ["Autumn shelf", "Spring shelf, first"]);
    assert_eq!(paintwork::shelf_in_use(&car).unwrap().0.id, next);
    bench.desk.keep(withdraws(next)).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    assert_eq!(paintwork::shelf_in_use(&car).unwrap().1.name, "Spring shelf, first");
}

#[tokio::test]
async fn a_colour_is_followed_from_its_first_recipe_through_its_corrections() {
    let bench = Bench::open().await;
    let after = |name: &str, before: EntryId, cards: Vec<EntryId>| {
        recipe(|r| (r.name, r.after, r.cards) = (name.into(), Some(before), cards), &bench)
    };
    let second = bench.desk.keep(after("second", bench.recipe, vec![bench.card])).await;
    let third = bench.desk.keep(after("third", second, vec![])).await;
    let other = bench.desk.keep(recipe(|r| r.name = "other".into(), &bench)).await;
    let branch = bench.desk.keep(after("branch", bench.recipe, vec![])).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let ids = |told: &[paintwork::Told<'_, Formulated>]| told.iter().map(|(entry, _)| entry.id).collect::<Vec<_>>();
    assert_eq!(ids(&paintwork::chain(&car, third)), [bench.recipe, second, third]);
    assert_eq!(ids(&paintwork::corrections_of(&car, bench.recipe)), [second, branch]);
    let lines: Vec<Vec<EntryId>> = paintwork::lines(&car).iter().map(|line| ids(line)).collect();
    assert_eq!(lines, [vec![bench.recipe, second, third, branch], vec![other]]);

    // The first recipe corrected in the record so that it follows the last: no walk in a circle.
    bench.correct(bench.recipe, after("round", third, vec![])).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    assert_eq!(paintwork::chain(&car, third).len(), 3);
    assert_eq!(paintwork::lines(&car).iter().map(Vec::len).sum::<usize>(), 5);
}

#[tokio::test]
async fn a_pot_is_what_was_weighed_and_what_was_added_to_it() {
    let bench = Bench::open().await;
    let corrected =
        bench.desk.keep(recipe(|r| (r.name, r.after) = ("second".into(), Some(bench.recipe)), &bench)).await;
    let mut addition = mixed(corrected);
    addition.into = Some(bench.batch);
    addition.parts_of_car = vec!["bonnet".into(), "boot lid".into()];
    addition.steps.truncate(2);
    addition.steps.swap(0, 1);
    (addition.steps[0].wanted_g, addition.steps[0].poured_g) = (2.5, Some(2.6));
    (addition.steps[1].wanted_g, addition.steps[1].poured_g) = (1.0, None);
    let addition = bench.desk.keep(What::Mixed(addition)).await;
    bench.desk.keep(What::Carded(carded(corrected, Some(addition), b"card"))).await;
    let small = bench.desk.keep(batch(|m| m.parts_of_car = vec!["boot lid".into()], &bench)).await;

    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let batches = paintwork::batches(&car);
    assert_eq!(batches.iter().map(|b| (b.number, b.entry.id)).collect::<Vec<_>>(), [(1, bench.batch), (2, small)]);
    assert_eq!((batches[0].additions.len(), batches[0].cards.len()), (1, 2));
    // Read off where it was, as wanted where it was not.
    let pot = batches[0].pot_g();
    let expected = [(BINDER, 390.1), ("copper mica", 92.6), ("oxide red", 20.0), ("carbon black", 1.1)];
    assert_eq!(pot.len(), expected.len());
    for ((toner, grams), (name, wanted)) in pot.iter().zip(expected) {
        assert_eq!(toner, name);
        assert!((grams - wanted).abs() < 1e-9, "{toner} {grams}");
    }
    // The zone by its name, everything else as it was typed.
    let parts = paintwork::batches_by_part(&car);
    let expected = [("outer sill, left", vec![1]), ("bonnet", vec![1]), ("boot lid", vec![1, 2])];
    assert_eq!(parts, expected.map(|(part, numbers)| (part.to_owned(), numbers)));
}

#[tokio::test]
async fn later_cards_are_held_against_the_master_card_of_their_recipe() {
    let bench = Bench::open().await;
    let plain = |name: &str| card(|c| (c.name, c.master) = (name.into(), None), &bench);
    let second = bench.desk.keep(plain("Card 2")).await;
    bench.desk.keep(plain("Card 3")).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let pairs = |car: &job::car::Car| {
        let names = |w: &paintwork::Watched<'_>| (w.reference.1.name.clone(), w.later.1.name.clone());
        paintwork::watched(car).iter().map(names).collect::<Vec<_>>()
    };
    let pair = |one: &str, other: &str| (one.to_owned(), other.to_owned());
    assert_eq!(pairs(&car), [pair("Card 1", "Card 2"), pair("Card 1", "Card 3")]);
    let masters = paintwork::masters(&car);
    assert_eq!(masters.len(), 1);
    assert_eq!((masters[0].0.id, masters[0].2), (bench.card, "Drawer 3, envelope 12"));
    // Without the master card, the first that is left.
    bench.desk.keep(withdraws(bench.card)).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    assert_eq!(pairs(&car), [pair("Card 2", "Card 3")]);
    assert_eq!(paintwork::cards_of(&car, bench.recipe)[0].0.id, second);
    // The same readings do not drift.
    let drifts = engine::drifts(&car);
    assert_eq!(drifts.len(), 1);
    assert_eq!(drifts[0].drift.as_ref().unwrap().mean_de00, 0.0);
    assert_eq!(drifts[0].cards.later.1.name, "Card 3");
}

#[tokio::test]
async fn a_fortnight_tells_the_owner_of_batches_and_cards() {
    let bench = Bench::open().await;
    bench.desk.keep(batch(|m| m.parts_of_car = (0..60).map(|n| format!("part {n}")).collect(), &bench)).await;
    let car = bench.desk.shop.car(bench.desk.car).await.unwrap();
    let (from, to) = ("2026-03-01".parse().unwrap(), "2026-03-14".parse().unwrap());
    let utc = jiff::tz::TimeZone::UTC;
    let report = job::fortnight::draft(&car, bench.desk.shop.catalogue(), from, to, &utc).unwrap();
    for line in [
        "Colour mixed for outer sill, left, bonnet",
        "Card sprayed and measured: Card 1",
        "Colour mixed for part 0, part 1, part 2, part 3, 56 more",
    ] {
        assert!(report.done.iter().any(|done| done == line), "{line}: {:?}", report.done);
    }
}

#[tokio::test]
async fn every_file_of_a_shelf_travels_with_the_car() {
    let bench = Bench::open().await;
    let zip = crate::parcel::export(&bench.desk).await;
    let files = crate::support::Files::of(&zip);
    for (name, bytes) in [("colour/00003-toners.json", "toners"), ("colour/00003-panels-1.csv", "panels")] {
        assert_eq!(files.text(name), bytes);
    }
    let there = crate::support::shop_over(&std::sync::Arc::new(crate::support::Memory::default()));
    there.import(std::io::Cursor::new(&zip), "car.zip").await.unwrap();
    assert!(there.verify(bench.desk.car, None).await.unwrap().intact());
}

#[tokio::test]
async fn a_shelf_that_is_no_toner_file_or_is_gone_says_so() {
    let bench = Bench::open().await;
    let shelf = shelved(b"toners", b"panels");
    let said = bench.desk.shop.shelf(&shelf).await.unwrap_err().to_string();
    assert!(said.starts_with("Spring shelf, row 1, column 2: this is not JSON"), "{said}");
    bench.desk.store.meddle(Hash::of(b"toners"), None);
    let said = bench.desk.shop.shelf(&shelf).await.unwrap_err().to_string();
    assert!(said.contains("the toner file of \"Spring shelf\" is missing"), "{said}");
}

#[test]
fn doubts_are_kept_up_to_a_number_and_a_length() {
    let doubts: Vec<base::Warning> = (0..30).map(|n| base::Warning::new(format!("{n}\n{}", "x".repeat(900)))).collect();
    let kept = kept_doubts(&doubts);
    assert_eq!((kept.len(), kept[0].chars().count(), kept[19].as_str()), (20, 400, "and 11 more"));
    assert!(kept.iter().all(|doubt| !doubt.contains('\n')));
    assert_eq!(kept_doubts(&doubts[..20]).len(), 20);
    assert!(Brief::default().is_plain());
    let edit = BriefEdit { geometry: "45as15".into(), dl: 0.0, dc: 0.0, dh_deg: 0.0 };
    assert!(!Brief { edits: vec![edit], weights: vec![] }.is_plain());
}

fn primer(name: &str, level: f64) -> Substrate {
    Substrate { name: name.into(), reflectance: Spectrum::new([level; 31]).unwrap() }
}

/// One panel of each toner of the shop's recipe, over a black primer.
fn panels(toners: &[&str], primers: Vec<Substrate>) -> Panels {
    let measured = Measurement::new(vec![(Geometry::As45, Spectrum::new([0.2; 31]).unwrap())]).unwrap();
    let info = |name: &&str| TonerInfo {
        name: (*name).into(),
        kind: TonerKind::Solid,
        density_g_cm3: 2.0,
        max_fraction: 0.3,
        solids_fraction: None,
    };
    let panel = |toner: usize| Panel {
        name: format!("P{toner}"),
        parts: vec![Part { toner, fraction: 0.1 }],
        film_um: 20.0,
        substrate: 0,
        measured: measured.clone(),
    };
    Panels::new(toners.iter().map(info).collect(), primers, (0..toners.len()).map(panel).collect()).unwrap()
}

#[tokio::test]
async fn cards_come_in_behind_the_panels_that_their_toners_were_learned_from() {
    let bench = Bench::open().await;
    let zone = jiff::tz::TimeZone::UTC;
    let toners = ["carbon black", "oxide red", "copper mica"];
    let lab = panels(&toners, vec![primer("black", 0.05), primer("N4", 0.12)]);
    let all = with_cards(bench.car().await.as_ref(), &lab, &zone).unwrap();
    assert_eq!(all.panels().len(), 4);
    assert_eq!(&all.panels()[..3], lab.panels());
    let card = &all.panels()[3];
    assert!(card.name.starts_with("card of ") && card.name.ends_with(", Card 1"), "{}", card.name);
    // Names become places; the gauge goes before the recipe.
    let places: Vec<(usize, f64)> = card.parts.iter().map(|part| (part.toner, part.fraction)).collect();
    assert_eq!(places, [(2, 0.18), (1, 0.04), (0, 0.0021)]);
    assert_eq!((card.film_um, card.substrate, card.measured.by_angle().len()), (17.2, 1, 3));

    // Without a reading the recipe's film counts; a card of other toners or another primer teaches nothing here.
    let unread = Carded { film_um: None, ..carded(bench.recipe, None, b"card") };
    bench.desk.keep(What::Carded(unread)).await;
    let car = bench.car().await;
    let films: Vec<f64> = sprayed(&car, &Names::of_panels(&lab), &zone).iter().map(|panel| panel.film_um).collect();
    assert_eq!(films, [17.2, 16.5]);
    for other in [
        panels(&toners[..2], vec![primer("black", 0.05), primer("N4", 0.12)]),
        panels(&toners, vec![primer("black", 0.05)]),
    ] {
        assert_eq!(with_cards(&car, &other, &zone).unwrap(), other);
    }
    // A recipe that was taken out takes its cards with it.
    bench.desk.keep(withdraws(bench.recipe)).await;
    assert_eq!(with_cards(bench.car().await.as_ref(), &lab, &zone).unwrap(), lab);
}
