//! The invented shop behaves as a shop does.

// A helper that fails is a test that fails.
#![allow(clippy::unwrap_used)]

use oracle::lab::{Coat, GEOMETRIES, Gun, Kind, Panel, Shop, donors, gauge_um, noisy, substrate};
use oracle::{Error, Photons};

const FEW: Photons = Photons { count: 4_000, seed: 2 };

fn sprayed(fractions: &[(&str, f64)], film_um: f64, over: &str, gun: Gun) -> Panel {
    Shop::invented(1).spray(fractions, film_um, over, gun).unwrap()
}

/// Radiance factors at 550 nm by geometry.
fn green(panel: &Panel) -> [f64; 6] {
    panel.radiance_factors(FEW).unwrap().map(|spectrum| spectrum[15])
}

#[test]
fn silver_flops_and_the_adjuster_softens_the_flop() {
    let plain = green(&sprayed(&[("medium silver", 0.2)], 15.0, "black", Gun::nominal()));
    let softened = green(&sprayed(&[("medium silver", 0.2), ("flop adjuster", 0.12)], 15.0, "black", Gun::nominal()));
    assert!(plain[1] > plain[2] && plain[2] > plain[3] && plain[3] > plain[4] && plain[4] > plain[5]);
    assert!(softened[1] / softened[4] < 0.8 * plain[1] / plain[4], "{plain:?} {softened:?}");
}

#[test]
fn white_is_crowded() {
    // Thin films on black: were scattering in proportion, twice the white would do what twice the film does.
    let read = |share: f64, film_um: f64| green(&sprayed(&[("opaque white", share)], film_um, "black", Gun::nominal()));
    let (thin, rich, thick) = (read(0.15, 5.0), read(0.30, 5.0), read(0.15, 10.0));
    assert!(rich[3] > 1.1 * thin[3] && rich[3] < 0.95 * thick[3], "{thin:?} {rich:?} {thick:?}");
}

#[test]
fn clear_pearl_shows_the_ground_and_silver_hides_it() {
    let difference = |toner: &str, share: f64| {
        let [black, white] =
            ["black", "white"].map(|over| green(&sprayed(&[(toner, share)], 18.0, over, Gun::nominal())));
        white[3] - black[3]
    };
    assert!(difference("blue interference mica", 0.15) > 0.1);
    assert!(difference("fine silver", 0.17).abs() < 0.02);
}

#[test]
fn a_mid_coat_lies_over_the_base() {
    let white = Coat { fractions: &[("opaque white", 0.3)], film_um: 30.0 };
    let tint = Coat { fractions: &[("leaf blue", 0.1)], film_um: 5.0 };
    let red = |coats: &[Coat<'_>]| {
        let panel = Shop::invented(1).spray_coats(coats, "N5", Gun::nominal()).unwrap();
        panel.radiance_factors(FEW).unwrap()[3][22]
    };
    let (bare, tinted, buried) = (red(&[white]), red(&[white, tint]), red(&[tint, white]));
    assert!(tinted < 0.1 * bare && buried > 0.8 * bare, "{bare} {tinted} {buried}");
}

#[test]
fn guns_and_instruments_err_as_much_as_they_say() {
    let mixture: [(&str, f64); 1] = [("medium silver", 0.2)];
    let count = 400;
    let thickness: Vec<f64> =
        (0..count).map(|seed| sprayed(&mixture, 20.0, "N5", Gun::varied(seed)).film_um()).collect();
    let gauge: Vec<f64> = (0..count).map(|seed| gauge_um(20.0, seed)).collect();
    let read: Vec<f64> = (0..count).map(|seed| noisy(&[[0.5; 31]; 6], seed)[2][7]).collect();
    let spread = |values: &[f64]| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / values.len() as f64).sqrt() / mean
    };
    // A standard deviation from 400 draws is known to 3.5 %; four times that.
    assert!((spread(&thickness) / 0.05 - 1.0).abs() < 0.14);
    assert!((spread(&gauge) / 0.05 - 1.0).abs() < 0.14);
    // 0.2 % and 0.3 % and 0.0003 of 0.5, added as squares: 0.366 %.
    assert!((spread(&read) / 0.003_66 - 1.0).abs() < 0.14);
    assert_eq!(sprayed(&mixture, 20.0, "N5", Gun::nominal()).film_um(), 20.0);
    assert_eq!(GEOMETRIES.len(), 6);
}

#[test]
fn shops_differ_and_one_shop_repeats() {
    let read = |shop: u64| {
        let panel = Shop::invented(shop).spray(&[("magenta", 0.1)], 20.0, "white", Gun::varied(3)).unwrap();
        panel.radiance_factors(Photons { count: 500, seed: 1 }).unwrap()
    };
    assert_eq!(read(1), read(1));
    assert_ne!(read(1), read(2));
}

#[test]
fn donors_can_be_sprayed_within_the_limits() {
    let shop = Shop::invented(1);
    for donor in donors() {
        let fractions = shop.fractions(&donor.fractions).unwrap();
        for (toner, fraction) in shop.toners().iter().zip(fractions) {
            assert!(fraction <= toner.max_mass_fraction());
            let flakes = matches!(toner.kind(), Kind::Aluminium | Kind::Pearl);
            assert!(!(flakes && fraction > 0.0 && donor.class == "solid"), "{}", donor.id);
        }
        assert!(donor.fractions.len() <= 6 && substrate(donor.over).is_ok());
    }
}

#[test]
fn unknown_names_and_overfull_cups_are_errors() {
    let shop = Shop::invented(1);
    assert_eq!(shop.fractions(&[("gold dust", 0.1)]), Err(Error::UnknownToner("gold dust".to_owned())));
    assert!(matches!(shop.fractions(&[("magenta", 0.5), ("leaf blue", 0.5)]), Err(Error::TooMuchToner(_))));
    assert!(shop.fractions(&[("magenta", f64::NAN)]).is_err());
    for name in ["N2", "N9", "N+5", "grey", ""] {
        let found = substrate(name);
        assert!(found.is_err(), "{name}");
    }
    assert!(shop.spray(&[("magenta", 0.1)], -1.0, "N5", Gun::nominal()).is_err());
}
