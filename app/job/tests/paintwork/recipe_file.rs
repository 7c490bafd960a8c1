//! Recipes and briefs as files.

use job::colour::{Geometry, Mix, Part};
use job::mixing::BINDER;
use job::paintwork::engine;
use job::recipe_file::{Predicted, RecipeFile, brief, read};
use proptest::prelude::*;

use crate::support::shelf;

const RECIPE: &str = r#"{"fractions":{"copper mica":0.18,"carbon black":0.002},"dft_um":16.5,"primer":"N5",
    "coats":4,"predicted":{"mean_de00":0.84,"by_angle":{"15":0.6,"110":1.1,"-15":0.2}}}"#;

fn one(text: &str) -> RecipeFile {
    read("r.json", text.as_bytes()).unwrap().0.remove(0)
}

fn refused(text: &str) -> String {
    read("r.json", text.as_bytes()).unwrap_err().to_string()
}

#[test]
fn one_recipe_or_a_list_of_them_is_read_and_written_back() {
    let recipe = one(RECIPE);
    assert_eq!((recipe.dft_um, recipe.primer.as_str(), recipe.coats), (16.5, "N5", Some(4)));
    assert_eq!(recipe.fractions, [("carbon black".to_owned(), 0.002), ("copper mica".to_owned(), 0.18)]);
    let predicted = recipe.predicted.clone().unwrap();
    assert_eq!(predicted.by_angle, [(Geometry::AsMinus15, 0.2), (Geometry::As15, 0.6), (Geometry::As110, 1.1)]);
    let text = serde_json::to_string(&recipe).unwrap();
    assert_eq!(one(&text), recipe);
    assert!(text.contains(r#""by_angle":{"-15":0.2,"15":0.6,"110":1.1}"#), "{text}");

    let list = format!("{{\"recipes\":[{RECIPE},{RECIPE}],\"reachable\":true,\"evaluations\":7}}");
    let (recipes, doubts) = read("r.json", list.as_bytes()).unwrap();
    assert_eq!((recipes.len(), doubts.len()), (2, 0));
    // Nothing but the four keys is needed.
    let bare = one(r#"{"fractions":{"copper mica":0.18,"carbon black":0},"dft_um":16,"primer":"N5"}"#);
    assert_eq!((bare.fractions.len(), bare.coats, bare.predicted.is_none()), (1, None, true));
    // What this program writes for people is no surprise to it; what nobody knows is a warning.
    let extra = RECIPE.replacen('{', "{\"load\":0.2,\"add_to_pot_g\":{\"copper mica\":2},\"colour\":\"red\",", 1);
    let (_, doubts) = read("r.json", extra.as_bytes()).unwrap();
    assert_eq!(doubts.iter().map(|d| d.what.as_str()).collect::<Vec<_>>(), ["r.json: the key colour is not used"]);
}

#[test]
fn what_is_wrong_is_named_by_its_key() {
    let with = |from: &str, to: &str| {
        assert!(RECIPE.contains(from));
        refused(&RECIPE.replacen(from, to, 1))
    };
    for (from, to, say) in [
        ("0.18", "1.18", "key fractions.copper mica: 1.18 found; needed: a number from 0 to 1"),
        ("0.18", "-0.1", "key fractions.copper mica: -0.1 found"),
        ("0.002", "0.9", "key fractions: the fractions add up to 1.0800; needed: at most 1"),
        ("0.18", "\"0.18\"", "key fractions.copper mica: \"0.18\" found"),
        ("16.5", "0", "key dft_um: 0 found; needed: a number from 0.5 to 500"),
        ("\"primer\":\"N5\",", "", "key primer: missing"),
        ("\"coats\":4", "\"coats\":0", "key coats: 0 found"),
        ("\"110\":", "\"111\":", "key predicted.by_angle.111: 1.1 found; needed: as key one of -15, 15, 25"),
        ("\"fractions\":{\"copper mica\":0.18,\"carbon black\":0.002}", "\"fractions\":{}", "at least one toner"),
        ("\"dft_um\":16.5,", "", "key dft_um: missing; needed: the dry film in um"),
    ] {
        let said = with(from, to);
        assert!(said.starts_with("r.json, ") && said.contains(say), "{said}");
    }
    assert!(refused("{\"recipes\":[]}").contains("needed: at least one recipe"));
    assert!(refused("{\"recipes\":[{}]}").contains("key recipes.1.fractions: missing"));
    let eight: Vec<String> = (0..14).map(|n| format!("\"t{n}\":0.01")).collect();
    assert!(refused(&format!("{{\"fractions\":{{{}}}}}", eight.join(","))).contains("14 of them found"));
}

#[test]
fn the_binder_may_be_told_and_must_then_be_the_rest() {
    let told = RECIPE.replacen("{\"copper", "{\"binder\":0.818,\"copper", 1);
    assert_eq!(one(&told), one(RECIPE));
    let wrong = RECIPE.replacen("{\"copper", "{\"binder\":0.7,\"copper", 1);
    assert!(refused(&wrong).contains("key fractions.binder: 0.7 found; needed: what the toners leave over, 0.8180"));
}

#[test]
fn a_recipe_finds_its_toners_on_the_shelf_or_says_which_are_missing() {
    let shelf = shelf();
    let mix = one(RECIPE).mix("r.json", &shelf).unwrap();
    let parts = vec![Part { toner: 1, fraction: 0.002 }, Part { toner: 2, fraction: 0.18 }];
    assert_eq!(mix, Mix { parts, film_um: 16.5, substrate: 1 });
    let predicted = Some(Predicted { mean_de00: 0.84, by_angle: one(RECIPE).predicted.unwrap().by_angle });
    assert_eq!(RecipeFile::of(&shelf, &mix, Some(4), predicted), one(RECIPE));
    assert_eq!(engine::parts(&mix, &shelf)[1].toner, "copper mica");

    let gold = RECIPE.replacen("copper mica", "gold mica", 1);
    assert_eq!(
        one(&gold).mix("r.json", &shelf).unwrap_err().to_string(),
        "r.json: the toner gold mica is not on the shelf; it has titanium white, carbon black, copper mica"
    );
    let two = gold.replacen("carbon black", "blue", 1);
    let said = one(&two).mix("r.json", &shelf).unwrap_err().to_string();
    assert!(said.contains("the toners blue, gold mica are not on the shelf"), "{said}");
    let grey = RECIPE.replacen("N5", "N6", 1);
    assert_eq!(
        one(&grey).mix("r.json", &shelf).unwrap_err().to_string(),
        "r.json: the primer N6 is not on the shelf; it has black, N5, white"
    );
}

#[test]
fn steps_and_pots_carry_the_binder_under_its_name() {
    let shelf = shelf();
    assert_eq!(engine::step(&shelf, None, 388.9).toner, BINDER);
    assert_eq!(engine::step(&shelf, Some(1), 1.1).toner, "carbon black");
    let pot = [(BINDER.to_owned(), 390.0), ("copper mica".to_owned(), 90.0)];
    assert_eq!(engine::pot(&shelf, &pot).unwrap(), [(None, 390.0), (Some(2), 90.0)]);
    assert_eq!(engine::pot(&shelf, &[("gold mica".to_owned(), 1.0)]).unwrap_err(), "gold mica");
    let kept = engine::spectra(&[[0.5; 31]; 6]);
    let names: Vec<&str> = kept.iter().map(|s| s.geometry.as_str()).collect();
    assert_eq!(names, ["45as-15", "45as15", "45as25", "45as45", "45as75", "45as110"]);
}

#[test]
fn a_brief_names_what_changes_and_what_counts() {
    let text =
        br#"{"edits":[{"angle":75,"dL":2,"dh":-40.5},{"angle":"45as110","dC":-3}],"weights":{"15":0.15,"-15":0}}"#;
    let (read, doubts) = brief("b.json", text).unwrap();
    assert!(doubts.is_empty());
    let edits: Vec<(&str, f64, f64, f64)> =
        read.edits.iter().map(|e| (e.geometry.as_str(), e.dl, e.dc, e.dh_deg)).collect();
    assert_eq!(edits, [("45as75", 2.0, 0.0, -40.5), ("45as110", 0.0, -3.0, 0.0)]);
    let weights: Vec<(&str, f64)> = read.weights.iter().map(|w| (w.geometry.as_str(), w.weight)).collect();
    assert_eq!(weights, [("45as-15", 0.0), ("45as15", 0.15)]);
    assert!(brief("b.json", b"{}").unwrap().0.is_plain());
    let (_, doubts) = brief("b.json", br#"{"edits":[{"angle":15,"dl":1}],"wieghts":{}}"#).unwrap();
    let said: Vec<&str> = doubts.iter().map(|d| d.what.as_str()).collect();
    assert_eq!(said, ["b.json: the key wieghts is not used", "b.json: the key edits.1.dl is not used"]);
}

#[test]
fn a_brief_that_makes_no_sense_is_refused() {
    for (text, say) in [
        (r#"{"weights":{}}"#, "at least one angle with a weight over 0"),
        (r#"{"weights":{"-15":0,"15":0,"25":0,"45":0,"75":0,"110":0}}"#, "at least one angle with a weight over 0"),
        (r#"{"weights":{"15":-1}}"#, "key weights.15: -1 found"),
        (r#"{"weights":{"20":1}}"#, "key weights.20: 1 found; needed: as key one of -15, 15, 25, 45, 75, 110"),
        (r#"{"weights":{"15":1,"45as15":2}}"#, "each angle once"),
        (r#"{"edits":[{"angle":20}]}"#, "key edits.1.angle: 20 found; needed: one of -15, 15, 25, 45, 75, 110"),
        (r#"{"edits":[{"angle":15.5}]}"#, "key edits.1.angle: 15.5 found"),
        (r#"{"edits":[{"dL":1}]}"#, "key edits.1.angle: missing"),
        (r#"{"edits":[{"angle":15},{"angle":"15"}]}"#, "key edits.2.angle: \"15\" found; needed: each angle once"),
        (r#"{"edits":[{"angle":15,"dL":900}]}"#, "key edits.1.dL: 900 found; needed: a number from -200 to 200"),
        (r#"{"edits":[{"angle":15,"dh":"left"}]}"#, "key edits.1.dh: \"left\" found"),
        (r#"{"edits":{}}"#, "key edits: an object found; needed: a list"),
        (r#"{"edits":[7]}"#, "key edits.1: 7 found; needed: an object"),
        (r#"7"#, "key (the whole file): 7 found"),
    ] {
        let said = brief("b.json", text.as_bytes()).unwrap_err().to_string();
        assert!(said.starts_with("b.json, ") && said.contains(say), "{said}");
    }
}

proptest! {
    #[test]
    fn invariant_any_bytes_are_read_or_refused_in_words(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Err(e) = read("r.json", &bytes) {
            prop_assert!(e.to_string().starts_with("r.json"));
        }
        if let Err(e) = brief("b.json", &bytes) {
            prop_assert!(e.to_string().starts_with("b.json"));
        }
    }

    #[test]
    fn invariant_any_fractions_survive_the_file(fractions in prop::collection::btree_map("[a-z ]{1,8}[a-z]", 1e-9..0.08_f64, 1..12)) {
        let fractions: Vec<(String, f64)> =
            fractions.into_iter().map(|(name, f)| (name.trim().to_owned(), f)).filter(|(name, _)| name != BINDER).collect();
        prop_assume!(!fractions.is_empty());
        let mut names: Vec<&String> = fractions.iter().map(|(name, _)| name).collect();
        names.sort();
        names.dedup();
        prop_assume!(names.len() == fractions.len());
        let mut recipe = RecipeFile { fractions, dft_um: 17.0, primer: "N5".into(), coats: None, predicted: None };
        recipe.fractions.sort_by(|a, b| a.0.cmp(&b.0));
        let text = serde_json::to_string(&recipe).unwrap();
        prop_assert_eq!(one(&text), recipe);
    }
}
