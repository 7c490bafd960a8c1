//! The catalogue's coatings put before the coating engine.

use job::catalogue::Catalogue;
use job::coats::{judge_film, limits, may_spray};

#[test]
fn a_product_may_ask_for_more_than_is_usual_and_never_for_less() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let usual = limits(None);
    assert_eq!((usual.margin_min_c, usual.rh_max_pct, usual.surface_min_c), (3.0, 85.0, None));
    for layer in catalogue.layers() {
        let asked = limits(Some(layer));
        assert!(asked.rh_max_pct <= usual.rh_max_pct && asked.margin_min_c >= usual.margin_min_c, "{}", layer.id);
        assert_eq!(asked.surface_min_c, Some(layer.surface_min_c));
    }
    // A panel too cold for the product, in air that would do.
    let layer = catalogue.layers().max_by(|a, b| a.surface_min_c.total_cmp(&b.surface_min_c)).unwrap();
    let panel_c = layer.surface_min_c - 1.0;
    assert!(may_spray(panel_c, 40.0, panel_c, None).unwrap().spray);
    assert!(!may_spray(panel_c, 40.0, panel_c, Some(layer)).unwrap().spray);
}

#[test]
fn a_figure_out_of_range_names_its_field() {
    for (air_c, rh_pct, panel_c, field) in [
        (80.0, 50.0, 15.0, "air"),
        (f64::NAN, 50.0, 15.0, "air"),
        (18.0, 0.0, 15.0, "rh"),
        (18.0, 101.0, 15.0, "rh"),
        (18.0, 50.0, -60.0, "panel"),
    ] {
        let (named, say) = may_spray(air_c, rh_pct, panel_c, None).unwrap_err();
        assert_eq!(named, field, "{say}");
    }
    for (readings, nominal_um, field) in
        [(vec![80.0], 0.0, "nominal_um"), (vec![], 80.0, "readings"), (vec![f64::NAN], 80.0, "readings")]
    {
        let (named, say) = judge_film(&readings, nominal_um).unwrap_err();
        assert_eq!(named, field, "{say}");
    }
    assert!(judge_film(&[82.0, 85.0, 90.0], 80.0).unwrap().accept);
}
