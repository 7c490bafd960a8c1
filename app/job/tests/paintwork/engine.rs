//! What crosses between the record and the colour engine.

use job::colour::brief::BriefError;
use job::colour::recipe::{Limits, USUAL_WEIGHTS, search};
use job::colour::{Bench, Geometry, Measurement, Mix, Part, Spectrum};
use job::ids::EntryId;
use job::mixing::{AngleWeight, Brief, BriefEdit};
use job::paint;
use job::paintwork::engine::{self, About};
use uuid::Uuid;

use crate::support::shelf;

/// What a mix on the small shelf looks like.
fn target() -> Measurement {
    let parts = vec![Part { toner: 1, fraction: 0.004 }, Part { toner: 2, fraction: 0.2 }];
    let predicted = Bench::new(&shelf()).predict(&Mix { parts, film_um: 18.0, substrate: 1 });
    let spectra = Geometry::ALL.into_iter().zip(predicted).map(|(g, values)| (g, Spectrum::new(values).unwrap()));
    Measurement::new(spectra.collect()).unwrap()
}

fn weight(geometry: &str, weight: f64) -> AngleWeight {
    AngleWeight { geometry: geometry.into(), weight }
}

#[test]
fn a_brief_leaves_the_usual_weight_to_angles_it_does_not_name() {
    let plain = engine::wish(&target(), &Brief::default()).unwrap().wish;
    assert_eq!(plain.weights, USUAL_WEIGHTS);
    assert_eq!(plain.target, target());
    let brief = Brief {
        edits: vec![BriefEdit { geometry: "45as110".into(), dl: 3.0, dc: 0.0, dh_deg: 0.0 }],
        weights: vec![weight("45as110", 0.5), weight("45as-15", 0.0)],
    };
    let wish = engine::wish(&target(), &brief).unwrap().wish;
    let of = |geometry: Geometry| wish.weights.iter().find(|(g, _)| *g == geometry).unwrap().1;
    assert_eq!((of(Geometry::As110), of(Geometry::AsMinus15), of(Geometry::As45)), (0.5, 0.0, USUAL_WEIGHTS[3].1));
    assert_ne!(wish.target.at(Geometry::As110), target().at(Geometry::As110));
    assert_eq!(wish.target.at(Geometry::As15), target().at(Geometry::As15));
}

#[test]
fn a_brief_about_an_angle_that_nobody_measured_is_refused() {
    let face = Measurement::new(vec![(Geometry::As15, *target().at(Geometry::As15).unwrap())]).unwrap();
    let edit = BriefEdit { geometry: "45as110".into(), dl: 3.0, dc: 0.0, dh_deg: 0.0 };
    let brief = Brief { edits: vec![edit], weights: vec![] };
    assert!(matches!(engine::wish(&face, &brief), Err(BriefError::NoAngle { geometry: Geometry::As110 })));
    let brief = Brief { edits: vec![], weights: vec![weight("45as110", 1.0)] };
    assert!(engine::wish(&face, &brief).is_err());
    let none = Brief { edits: vec![], weights: vec![weight("45as15", 0.0)] };
    let said = engine::wish(&face, &none).unwrap_err().to_string();
    assert!(said.contains("weight"), "{said}");
    let odd = Brief { edits: vec![], weights: vec![weight("45as20", 1.0)] };
    assert!(engine::wish(&face, &odd).is_err());
}

/// A recipe from the search into the record, into a file, and back to the same mix.
#[test]
fn a_found_recipe_is_kept_and_comes_back_as_the_same_mix() {
    let shelf = shelf();
    let wish = engine::wish(&target(), &Brief::default()).unwrap().wish;
    let limits = Limits { how_many: 1, ..Limits::usual(&shelf) };
    let found = search(&shelf, &wish, &limits, &|_| true).unwrap();
    let recipe = &found.recipes[0];
    let [target, on] = [1, 2].map(|n| EntryId(Uuid::from_u128(n)));
    let about = About {
        name: "Copper 1".into(),
        target,
        shelf: on,
        brief: Brief::default(),
        briefed: None,
        after: None,
        cards: vec![],
        doubts: vec![base::Warning::new("thin")],
        note: String::new(),
    };
    let kept = engine::formulated(&shelf, recipe, about);
    assert_eq!((kept.target, kept.shelf, kept.coats), (target, on, u32::from(recipe.coats)));
    assert_eq!(kept.by_angle.len(), 6);
    assert_eq!((kept.mean_de00, kept.by_angle[5].fl11), (recipe.fit.mean_de00, recipe.fit.by_angle[5].1[2]));
    assert_eq!(kept.doubts, ["thin"]);
    assert_eq!(engine::mix(&kept, &shelf).unwrap(), recipe.mix);
    let predicted = engine::predicted(&kept).unwrap();
    assert_eq!(predicted.at(Geometry::As75).unwrap().values(), &recipe.predicted[4]);

    let on_file = engine::found(&shelf, recipe);
    assert_eq!(on_file.mix("r.json", &shelf).unwrap(), recipe.mix);
    assert_eq!(engine::recipe_file(&kept), on_file);
    assert!(paint::of_spectra("r", &kept.predicted).is_ok());
}
