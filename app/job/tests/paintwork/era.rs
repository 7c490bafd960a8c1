//! What was there in a car's year: judged by pigments, by what toners are, and by the look of the whole.

use job::catalogue::Catalogue;
use job::colour::{Bench, Flake, Measurement, Mix, Part, Shelf, Spectrum, Toner, TonerKind};
use job::era::{Era, Was, judge, not_there};
use job::paint;
use job::paintwork::engine;
use job::shelf_file::{self, ShelfFile};

use crate::support::shelf;

fn catalogue() -> Catalogue {
    Catalogue::starting_guesses().unwrap()
}

/// An invented shelf: a white, a black, a mica; aluminium that lies flat and aluminium that does not, a flake
/// whose hue travels, a red, and a clear that tips flakes.
fn full() -> ShelfFile {
    let base = shelf();
    let pearl = base.toners()[2].clone();
    let flake = |name: &str, kind, slope_sd: f64, film_index| {
        let of = Flake { slope_sd, film_index, ..pearl.optics.flake.clone().unwrap() };
        let mut toner = Toner { name: name.into(), kind, ..pearl.clone() };
        toner.optics.flake = Some(of);
        toner
    };
    let solid = |name: &str| Toner { name: name.into(), ..base.toners()[0].clone() };
    let mut toners = base.toners().to_vec();
    toners.push(flake("flat aluminium", TonerKind::Aluminium, 0.11, None));
    toners.push(flake("dull aluminium", TonerKind::Aluminium, 0.22, None));
    toners.push(flake("travelling flake", TonerKind::Pearl, 0.13, Some(1.4)));
    toners.push(solid("clean red"));
    toners.push(Toner { kind: TonerKind::FlopAdjuster, ..solid("flop control") });
    let pigments = [("titanium white", "PW6"), ("carbon black", "PBk7"), ("clean red", "PR254")];
    ShelfFile {
        shelf: Shelf::new(toners, base.substrates().to_vec(), *base.clear()).unwrap(),
        learned: None,
        pigments: pigments.map(|(toner, pigment)| (toner.to_owned(), pigment.parse().unwrap())).into(),
    }
}

fn even() -> Measurement {
    let angle = |name: &str| (name.parse().unwrap(), Spectrum::new([0.3; 31]).unwrap());
    Measurement::new(["45as15", "45as45", "45as110"].map(angle).to_vec()).unwrap()
}

fn of(file: &ShelfFile, toners: &[&str], year: u16) -> Era {
    let part = |name: &&str| Part { toner: file.shelf.toner(name).unwrap(), fraction: 0.05 };
    judge(&catalogue(), file, &toners.iter().map(part).collect::<Vec<_>>(), &even(), year)
}

fn told(era: &Era) -> Vec<(&str, Was)> {
    era.notes.iter().map(|note| (note.id.as_str(), note.what)).collect()
}

#[test]
fn a_recipe_of_today_on_an_old_car_is_told_what_was_not_there() {
    let era = of(&full(), &["titanium white", "clean red", "copper mica", "flat aluminium", "flop control"], 1971);
    assert_eq!(
        told(&era),
        [
            ("E06", Was::NotYet(1977)),
            ("E09", Was::NotYet(1975)),
            ("E11", Was::NotYet(1979)),
            ("E26", Was::NotYet(1986)),
            ("E27", Was::There),
        ]
    );
    // Every word of advice has its basis, and what softens it.
    assert!(era.against().all(|note| !note.softened_by.is_empty() && !note.basis.is_empty()));
    let bright = &era.notes[1];
    assert_eq!(bright.toners, ["flat aluminium"]);
    assert!(bright.words.ends_with("(flat aluminium): not on new cars before about 1975."), "{}", bright.words);
    assert!(era.notes[0].words.contains("learned under a clear coat"), "{}", era.notes[0].words);
    assert!(era.notes[4].softened_by.is_empty());
    assert!(era.words().starts_with("For a car of 1971 this was not there yet: clear over base; "));
    assert!(era.unknown.is_empty() && era.undated.is_empty());
}

#[test]
fn the_same_recipe_is_rare_and_then_there_as_years_go_by() {
    let file = full();
    let toners = ["clean red", "copper mica", "flat aluminium"];
    let in_year = |year: u16| of(&file, &toners, year).notes.iter().map(|n| n.what).collect::<Vec<_>>();
    assert_eq!(in_year(1978), [Was::NotYet(1979), Was::NotYet(1986), Was::Rare(1983), Was::Rare(1980)]);
    assert_eq!(in_year(1987), [Was::Rare(1989), Was::There, Was::There, Was::There]);
    assert_eq!(in_year(1995), [Was::There; 4]);
    let words = of(&file, &toners, 1995).words();
    assert_eq!(words, "Nothing that is known of this recipe is out of place on a car of 1995.");
}

#[test]
fn what_was_gone_is_told_as_well() {
    let mut file = full();
    file.pigments.insert("clean red".into(), "PR104".parse().unwrap());
    let era = of(&file, &["clean red"], 2001);
    assert_eq!(told(&era), [("E17", Was::Gone(1993)), ("E06", Was::There)]);
    assert!(era.words().contains("this was gone: chrome yellow"), "{}", era.words());
}

#[test]
fn flakes_are_told_apart_by_their_slope_and_their_film() {
    let file = full();
    let of_flake = |toner: &str| {
        let era = of(&file, &[toner], 1971);
        era.notes.iter().find(|note| !note.toners.is_empty()).unwrap().id.clone()
    };
    assert_eq!(of_flake("flat aluminium"), "E09");
    assert_eq!(of_flake("dull aluminium"), "E08");
    assert_eq!(of_flake("copper mica"), "E11");
    assert_eq!(of_flake("travelling flake"), "E12");
}

/// Flake that does not lie flat can look as if it did; aluminium must be in it, since mica has its own row.
#[test]
fn a_bright_face_over_a_dark_flop_counts_as_bright_flake() {
    let file = full();
    let angle = |(name, level): (&str, f64)| (name.parse().unwrap(), Spectrum::new([level; 31]).unwrap());
    let flop = Measurement::new([("45as15", 0.95), ("45as45", 0.1), ("45as110", 0.01)].map(angle).to_vec()).unwrap();
    let judged = |toner: &str| {
        let parts = [Part { toner: file.shelf.toner(toner).unwrap(), fraction: 0.1 }];
        judge(&catalogue(), &file, &parts, &flop, 1971)
    };
    let era = judged("dull aluminium");
    assert!(era.look.flop_index.unwrap() > 12.0);
    let bright = era.notes.iter().find(|note| note.id == "E09").unwrap();
    assert!(bright.toners.is_empty() && bright.words.contains("dark flop"), "{}", bright.words);
    for other in ["copper mica", "titanium white"] {
        assert!(judged(other).notes.iter().all(|note| note.id != "E09"), "{other}");
    }
}

#[test]
fn toners_without_a_pigment_and_pigments_without_a_date_are_named() {
    let mut file = full();
    file.pigments.remove("titanium white");
    file.pigments.insert("clean red".into(), "PR999".parse().unwrap());
    let era = of(&file, &["titanium white", "clean red", "copper mica", "flop control"], 1971);
    assert_eq!(era.unknown, ["titanium white"]);
    assert_eq!(era.undated, [("clean red".to_owned(), "PR999".parse().unwrap())]);
    assert_eq!(
        era.unknown_words().unwrap(),
        "The pigment of one toner is not known (titanium white). The catalogue dates no PR999 in clean red."
    );
    // Kind and look are judged all the same.
    assert!(era.notes.iter().any(|note| note.id == "E11"));
}

#[test]
fn a_form_of_a_pigment_is_dated_with_it() {
    let mut file = full();
    file.pigments.insert("clean red".into(), "PB15:3".parse().unwrap());
    assert_eq!(of(&file, &["clean red"], 1930).notes[1].id, "E15");
}

#[test]
fn a_shelf_without_any_clear_does_not_say_that_there_is_one() {
    let mut file = full();
    file.shelf = Shelf::new(file.shelf.toners().to_vec(), file.shelf.substrates().to_vec(), [0.0; 31]).unwrap();
    let era = of(&file, &["titanium white"], 1960);
    assert_eq!(era.notes[0].id, "E06");
    assert!(era.notes[0].words.contains("where the recipe is sprayed"), "{}", era.notes[0].words);
}

#[test]
fn the_filter_leaves_out_what_was_not_there_and_keeps_what_nobody_knows() {
    let file = full();
    let names = |year: u16| not_there(&catalogue(), &file, year).into_iter().map(|out| out.name).collect::<Vec<_>>();
    assert_eq!(names(1971), ["copper mica", "flat aluminium", "travelling flake", "clean red"]);
    assert_eq!(names(1985), ["travelling flake", "clean red"]);
    assert!(names(2005).is_empty());
    let out = not_there(&catalogue(), &file, 1971);
    assert!(out.iter().all(|out| file.shelf.toners()[out.toner].name == out.name));
    assert!(out[3].why.words.contains("1986"), "{}", out[3].why.words);
    let mut unknown = full();
    unknown.pigments.clear();
    assert_eq!(not_there(&catalogue(), &unknown, 1971).len(), 3);
}

/// A kept recipe through its shelf's file, pigments and all.
#[test]
fn a_kept_recipe_is_judged_on_its_own_shelf() {
    let (file, doubts) = shelf_file::read("t.json", shelf_file::write(&full()).as_bytes()).unwrap();
    assert!(doubts.is_empty());
    assert_eq!(file, full());
    let mix = Mix {
        parts: vec![Part { toner: 6, fraction: 0.1 }, Part { toner: 3, fraction: 0.05 }],
        film_um: 20.0,
        substrate: 1,
    };
    let predicted = engine::spectra(&Bench::new(&file.shelf).predict(&mix));
    let measured = paint::of_spectra("r", &predicted).unwrap();
    let era = judge(&catalogue(), &file, &mix.parts, &measured, 1971);
    assert_eq!(told(&era)[..3], [("E06", Was::NotYet(1977)), ("E09", Was::NotYet(1975)), ("E26", Was::NotYet(1986))]);
    assert!(era.look.words.is_some());
}
