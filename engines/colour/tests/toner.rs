//! Learning the demo's toners from their panels.

#[path = "support/csv.rs"]
mod csv;
#[path = "support/panels.rs"]
mod panels;

use std::sync::atomic::{AtomicU32, Ordering};

use colour::{
    Bench, CalibrateError, Calibration, Geometry, Illuminant, MOST_PANELS, Measurement, Mix, Observer, Panel, Panels,
    Part, Prediction, Spectrum, calibrate,
};
use panels::{demo, panels};

fn measured(prediction: &Prediction) -> Measurement {
    let by_angle = Geometry::ALL.into_iter().zip(prediction);
    let by_angle = by_angle.map(|(g, values)| (g, Spectrum::new(values.map(|v| v.max(0.0))).expect("a sound one")));
    Measurement::new(by_angle.collect()).expect("a sound one")
}

/// Mean CIEDE2000 over the angles, D65 and 10 degrees.
fn apart(one: &Measurement, two: &Measurement) -> f64 {
    let differences = one.differences(two, Illuminant::D65, Observer::Deg10);
    differences.iter().map(|(_, d)| d.de00).sum::<f64>() / differences.len() as f64
}

/// What the shelf makes of a panel it was not told of, at the film that the gauge read.
fn blind(found: &Calibration, panel: &Panel) -> f64 {
    let mix = Mix { parts: panel.parts.clone(), film_um: panel.film_um, substrate: panel.substrate };
    apart(&panel.measured, &measured(&Bench::new(&found.shelf).predict(&mix)))
}

/// The panels themselves, and every ninth held out.
///
/// The panels come from a simulator that shares no optics with the model. A held-out panel carries its own
/// gun and gauge errors (film 5 % and 5 %, flakes' lie 4 %), which nothing can know.
#[test]
fn oracle_the_demo_is_learned() {
    let all = demo();
    let whole = calibrate(&panels(&all, |_| true), &|_| true).expect("a shelf");
    println!("own panels: mean {:.3}, p90 {:.3}, {} rounds", whole.mean_de00, whole.p90_de00, whole.rounds);
    assert!(whole.mean_de00 < 0.6 && whole.p90_de00 < 1.0, "{} {}", whole.mean_de00, whole.p90_de00);
    assert!(!whole.stopped && whole.fits.len() == 90 && whole.by_toner.len() == 16);

    let part = calibrate(&panels(&all, |i| i % 9 != 4), &|_| true).expect("a shelf");
    let mut held: Vec<f64> = all.2.iter().skip(4).step_by(9).map(|panel| blind(&part, panel)).collect();
    held.sort_by(f64::total_cmp);
    println!("ten held out: {held:.2?}");
    assert_eq!(held.len(), 10);
    assert!((held[4] + held[5]) / 2.0 < 1.8, "{held:?}");
}

/// The panels of the demo that hold nothing but four of its toners: white, black, blue and a silver.
fn few() -> (Vec<colour::TonerInfo>, Vec<colour::Substrate>, Vec<Panel>) {
    const KEPT: [&str; 4] = ["titanium white", "carbon black", "phthalo blue green-shade", "medium aluminium"];
    let (toners, substrates, panels) = demo();
    let place = |name: &str| KEPT.iter().position(|kept| *kept == name);
    let panels = panels
        .into_iter()
        .filter_map(|panel| {
            let part = |p: &Part| Some(Part { toner: place(&toners[p.toner].name)?, fraction: p.fraction });
            let parts: Option<Vec<Part>> = panel.parts.iter().map(part).collect();
            Some(Panel { parts: parts?, ..panel })
        })
        .collect();
    let toners = KEPT.map(|name| toners.iter().find(|t| t.name == name).expect("a toner").clone()).to_vec();
    (toners, substrates, panels)
}

#[test]
fn invariant_the_same_panels_give_the_same_shelf() {
    let few = panels(&few(), |_| true);
    let once = calibrate(&few, &|_| true).unwrap();
    assert_eq!(once, calibrate(&few, &|_| true).unwrap());
    let bits = |c: &Calibration| -> Vec<u64> {
        let optics = c.shelf.toners().iter().map(|t| &t.optics);
        optics.flat_map(|o| o.absorption.iter().chain(&o.scattering).map(|v| v.to_bits()).collect::<Vec<_>>()).collect()
    };
    assert_eq!(bits(&once), bits(&calibrate(&few, &|_| true).unwrap()));
}

#[test]
fn a_stop_gives_a_shelf_and_says_so() {
    let few = panels(&few(), |_| true);
    let asked = AtomicU32::new(0);
    let found = calibrate(&few, &|progress| {
        assert!(progress.done <= progress.of && progress.best.is_finite());
        asked.fetch_add(1, Ordering::Relaxed) < 1
    })
    .unwrap();
    assert!(found.stopped);
    assert_eq!((found.rounds, asked.into_inner()), (2, 2));
    assert_eq!(found.shelf.toners().len(), 4);
    let whole = calibrate(&few, &|_| true).unwrap();
    assert!(!whole.stopped && whole.rounds > 2 && whole.mean_de00 < found.mean_de00);
}

#[test]
fn invariant_a_swapped_panel_is_the_worst() {
    let sound = few();
    let count = sound.2.len();
    assert!(count >= 18, "{count}");
    // A solid masstone, a let-down and a metallic take the next one's reading.
    for swapped in [0, count / 2, count - 1] {
        let mut all = sound.clone();
        let other = (swapped + 5) % count;
        all.2[swapped].measured = sound.2[other].measured.clone();
        let found = calibrate(&panels(&all, |_| true), &|_| true).unwrap();
        let worst = found.fits.iter().max_by(|a, b| a.mean_de00.total_cmp(&b.mean_de00)).unwrap();
        println!("{}: {:.1}", all.2[worst.panel].name, worst.mean_de00);
        assert_eq!(worst.panel, swapped);
    }
}

#[test]
fn bad_panels_are_turned_away() {
    type All = (Vec<colour::TonerInfo>, Vec<colour::Substrate>, Vec<Panel>);
    let sound = few();
    let with = |change: &dyn Fn(&mut All)| {
        let mut all = sound.clone();
        change(&mut all);
        Panels::new(all.0, all.1, all.2)
    };
    assert!(with(&|_| {}).is_ok());
    assert_eq!(with(&|all| all.2.clear()), Err(CalibrateError::NoPanels));
    let many = with(&|all| all.2 = vec![all.2[0].clone(); MOST_PANELS + 1]);
    assert_eq!(many, Err(CalibrateError::TooMany { found: MOST_PANELS + 1 }));
    for film_um in [0.0, -3.0, 501.0, f64::NAN, f64::INFINITY] {
        let found = with(&|all| all.2[1].film_um = film_um);
        assert!(
            matches!(&found, Err(CalibrateError::Figure { panel, figure: "the film", value, .. })
                if *panel == sound.2[1].name && value.to_bits() == film_um.to_bits()),
            "{film_um}: {found:?}"
        );
    }
    for fraction in [-0.1, f64::NAN, 1.1, f64::INFINITY] {
        let found = with(&|all| all.2[1].parts[0].fraction = fraction);
        assert!(matches!(found, Err(CalibrateError::Figure { .. })), "{fraction}: {found:?}");
    }
    let none = with(&|all| all.2[2].parts.clear());
    assert!(matches!(none, Err(CalibrateError::Figure { figure: "the sum of its toners", .. })), "{none:?}");
    let toner = with(&|all| all.2[0].parts[0].toner = 4);
    assert!(matches!(toner, Err(CalibrateError::Unknown { what: "toner", index: 4, known: 4, .. })), "{toner:?}");
    let primer = with(&|all| all.2[0].substrate = 8);
    assert!(matches!(primer, Err(CalibrateError::Unknown { what: "primer", index: 8, known: 8, .. })), "{primer:?}");
    let unseen = with(&|all| all.2.retain(|p| p.parts.iter().all(|part| part.toner != 3)));
    assert_eq!(unseen, Err(CalibrateError::Unseen("medium aluminium".into())));
    let white = all_over(&sound.1, "white");
    assert_eq!(with(&|all| all.2.iter_mut().for_each(|p| p.substrate = white)), Err(CalibrateError::NoDark));
}

fn all_over(substrates: &[colour::Substrate], name: &str) -> usize {
    substrates.iter().position(|s| s.name == name).expect("a primer")
}

#[test]
fn a_toner_on_few_panels_is_doubted() {
    let all = few();
    assert!(panels(&all, |_| true).warnings().is_empty());
    let silver: Vec<usize> =
        (0..all.2.len()).filter(|i| all.2[*i].parts.iter().any(|part| part.toner == 3)).skip(2).collect();
    let warnings = panels(&all, |i| !silver.contains(&i)).warnings();
    assert!(warnings.len() == 1 && warnings[0].what.contains("medium aluminium"), "{warnings:?}");
}

#[test]
fn invariant_a_toner_seen_once_is_the_one_to_spray_next() {
    let all = few();
    let blue = |panel: &Panel| panel.parts.iter().any(|part| part.toner == 2);
    let black = all_over(&all.1, "black");
    let once = all.2.iter().position(|p| blue(p) && p.parts.len() == 1 && p.substrate == black).expect("a masstone");
    let poor = calibrate(&panels(&all, |i| i == once || !blue(&all.2[i])), &|_| true).unwrap();
    assert_eq!(poor.next[0].toner, 2, "{:?}", poor.next);
    assert!(
        poor.by_toner[2].warnings.iter().any(|w| w.what.contains("not settled")),
        "{:?}",
        poor.by_toner[2].warnings
    );

    let whole = calibrate(&panels(&all, |_| true), &|_| true).unwrap();
    let unsure = |c: &Calibration| c.next.iter().filter(|n| n.toner == 2).map(|n| n.unsure).fold(0.0, f64::max);
    println!("{:.2} with one panel, {:.2} with all", unsure(&poor), unsure(&whole));
    assert!(unsure(&whole) < 0.5 * unsure(&poor));
}
