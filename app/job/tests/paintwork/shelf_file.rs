//! The toner file: what is written reads back bit for bit, and what is wrong is named by its key.

use job::colour::{Optics, Shelf, TonerKind};
use job::ids::Hash;
use job::mixing::KeptFile;
use job::paintwork::engine;
use job::shelf_file::{Learned, MOST_BYTES, OddPanel, ShelfFile, ShelfFileError, ToSpray, TonerKnown, read, write};
use proptest::prelude::*;

use crate::support::{ramp, shelf};

fn file() -> ShelfFile {
    let known = |name: &str, doubts: &[&str]| TonerKnown {
        name: name.into(),
        panels: 3,
        mean_de00: 2.0 / 3.0,
        doubts: doubts.iter().map(|doubt| (*doubt).into()).collect(),
    };
    let next = ToSpray {
        toner: "copper mica".into(),
        words: "let down with titanium white".into(),
        unsure: 0.7,
        fractions: [("copper mica", 0.1 + 0.2), ("titanium white", 0.04)].map(|(n, f)| (n.to_owned(), f)).into(),
        film_um: 15.0,
        primer: "white".into(),
    };
    let learned = Learned {
        count: 9,
        mean_de00: 1.0 / 3.0,
        p90_de00: 2.5,
        files: vec!["panels.csv".into()],
        by_toner: vec![known("titanium white", &[]), known("copper mica", &["not settled: over the light primer"])],
        worst: vec![OddPanel { panel: "P7".into(), mean_de00: 4.25 }],
        next: vec![next],
    };
    let pigments = [("titanium white", "PW6"), ("carbon black", "PBk7")];
    let pigments = pigments.map(|(toner, pigment)| (toner.to_owned(), pigment.parse().unwrap())).into();
    ShelfFile { shelf: shelf(), learned: Some(learned), pigments }
}

fn refused(text: &str) -> ShelfFileError {
    read("toners.json", text.as_bytes()).unwrap_err()
}

#[test]
fn invariant_a_shelf_reads_back_bit_for_bit() {
    for file in [file(), ShelfFile { learned: None, ..file() }] {
        let text = write(&file);
        let (again, doubts) = read("toners.json", text.as_bytes()).unwrap();
        assert_eq!(again, file);
        assert!(doubts.is_empty(), "{doubts:?}");
        assert_eq!(write(&again), text);
        assert!(text.starts_with(
            r#"{"format":"guidecoat toners","version":1,"toners":[{"name":"titanium white","kind":"solid""#
        ));
        assert_eq!(text.lines().count(), 1);
    }
}

proptest! {
    /// Any figures an optics may have, to the last bit.
    #[test]
    fn invariant_any_figure_survives_the_file(
        absorption in prop::array::uniform31(0.0..1e4_f64),
        scattering in prop::array::uniform31(prop_oneof![0.0..1e-300_f64, 0.0..1e4_f64]),
        crowding in 0.0..50.0_f64,
    ) {
        let shelf = shelf();
        let mut toners = shelf.toners().to_vec();
        toners[0].optics = Optics { absorption, scattering, crowding, ..toners[0].optics.clone() };
        let changed = Shelf::new(toners, shelf.substrates().to_vec(), *shelf.clear()).unwrap();
        let file = ShelfFile { shelf: changed, learned: None, pigments: Default::default() };
        let (again, _) = read("toners.json", write(&file).as_bytes()).unwrap();
        prop_assert_eq!(again, file);
    }

    /// A file cut short, or with some bytes swapped for others: refused in words, or read; never a panic.
    #[test]
    fn invariant_a_mangled_file_does_not_panic(
        cut in any::<(prop::sample::Index, prop::sample::Index)>(),
        put in "[\\PC]{0,6}",
    ) {
        let text = write(&file());
        let (a, b) = (cut.0.index(text.len()), cut.1.index(text.len()));
        let mut text = text;
        text.replace_range(a.min(b)..a.max(b), &put);
        if let Err(e) = read("toners.json", text.as_bytes()) {
            prop_assert!(e.to_string().starts_with("toners.json"), "{e}");
            prop_assert!(!e.to_string().contains('\n'));
        }
    }
}

#[test]
fn a_file_of_another_version_or_of_something_else_says_so() {
    let text = write(&file());
    let version = |v: &str| text.replacen("\"version\":1", &format!("\"version\":{v}"), 1);
    assert_eq!(
        refused(&version("2")).to_string(),
        "toners.json: version 2 of the toner file; this program reads version 1. Use the version of guidecoat that wrote it, or a later one"
    );
    assert_eq!(
        refused(&version("0")).to_string(),
        "toners.json: version 0 of the toner file; this program reads version 1. Learn the toners again from their panels"
    );
    assert!(refused(&version("\"1\"")).to_string().contains("key version: \"1\" found; needed: a whole number"));
    assert!(refused(&version("null")).to_string().contains("key version: missing"));
    for other in ["{}", "{\"format\":7}", &text.replacen("guidecoat toners", "something", 1)] {
        let said = refused(other).to_string();
        assert_eq!(said, "toners.json: this is no toner file; it should begin with \"format\": \"guidecoat toners\"");
    }
    assert!(refused("[]").to_string().contains("needed: an object"));
    assert!(refused("").to_string().contains("this is not JSON"));
    assert!(read("t.json", &vec![b' '; MOST_BYTES + 1]).unwrap_err().to_string().contains("at most"));
}

#[test]
fn what_is_wrong_is_named_by_its_key_and_what_would_be_right() {
    let text = write(&file());
    let swapped = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        refused(&text.replacen(from, to, 1)).to_string()
    };
    for (from, to, say) in [
        (
            "\"kind\":\"solid\"",
            "\"kind\":\"metal\"",
            "key toners.1.kind: \"metal\" found; needed: solid, aluminium, pearl or flop adjuster",
        ),
        ("\"max_fraction\":0.3,", "", "key toners.1.max_fraction: missing; needed: a number"),
        ("\"density_g_cm3\":2.1", "\"density_g_cm3\":\"2,1\"", "key toners.1.density_g_cm3: \"2,1\" found"),
        ("\"absorption\":[0.1,", "\"absorption\":[", "key toners.1.optics.absorption: a list of 30 found"),
        ("\"absorption\":[0.1,", "\"absorption\":[null,", "key toners.1.optics.absorption.1: null found"),
        (
            "\"name\":\"carbon black\"",
            "\"name\":\"Binder\"",
            "key toners.2.name: \"Binder\" found; needed: another name",
        ),
        ("\"name\":\"carbon black\"", "\"name\":\"\"", "key toners.2.name: \"\" found"),
        (
            "\"pigment\":\"PW6\"",
            "\"pigment\":\"white\"",
            "key toners.1.pigment: \"white\" found; needed: a Colour Index generic name such as PB15",
        ),
        ("\"pigment\":\"PW6\"", "\"pigment\":6", "key toners.1.pigment: 6 found"),
        ("\"clear\":[", "\"clear\":[0,", "key clear: a list of 32 found; needed: a list of 31 numbers"),
        ("\"count\":9", "\"count\":9.5", "key panels.count: 9.5 found; needed: a whole number from 1 to 2000"),
        ("\"panels\":3,", "\"panels\":-3,", "key panels.by_toner.1.panels: -3 found"),
        (
            "{\"name\":\"copper mica\",\"panels\"",
            "{\"name\":\"gold mica\",\"panels\"",
            "key panels.by_toner.2.name: \"gold mica\" found; needed: a toner of this file",
        ),
        ("[\"not settled", "[\"\",\"not settled", "key panels.by_toner.2.doubts.1: \"\" found"),
        ("\"mean_de00\":4.25", "\"mean_de00\":425", "key panels.worst.1.mean_de00: 425 found"),
        ("\"unsure\":0.7", "\"unsure\":-0.7", "key panels.next.1.unsure: -0.7 found"),
        ("\"titanium white\":0.04", "\"white\":0.04", "key panels.next.1.fractions.white: 0.04 found; needed: a toner"),
        ("\"titanium white\":0.04", "\"titanium white\":0.9", "key panels.next.1.fractions: an object found"),
        ("\"film_um\":15.0", "\"film_um\":0.0", "key panels.next.1.film_um: 0.0 found"),
        ("\"primer\":\"white\"", "\"primer\":\"pink\"", "key panels.next.1.primer: \"pink\" found"),
        ("\"version\":1,", "\"version\":1,\"toners\":7,\"old\":", "this is not JSON"),
    ] {
        let said = swapped(from, to);
        assert!(said.contains(say), "{said}");
    }
    // What makes no shelf is said with the toner's name.
    for (from, to, say) in [
        ("\"name\":\"carbon black\"", "\"name\":\"titanium white\"", "two of the name \"titanium white\""),
        ("\"kind\":\"pearl\"", "\"kind\":\"solid\"", "copper mica is a solid and has flakes"),
        ("\"crowding\":0.1", "\"crowding\":-0.1", "titanium white: its crowding is -0.1"),
        ("\"reflectance\":[0.045", "\"reflectance\":[1.045", "black: the primer's reflectance is 1.045"),
    ] {
        let said = swapped(from, to);
        assert!(said.starts_with("toners.json: ") && said.contains(say), "{said}");
    }
    let (_, doubts) = read("toners.json", text.replacen("{\"name\"", "{\"colour\":1,\"name\"", 1).as_bytes()).unwrap();
    assert_eq!(doubts[0].what, "toners.json: the key toners.1.colour is not used");
}

/// The key came later: without it a file is what it was, and a null says no more than no key.
#[test]
fn a_toner_without_a_pigment_is_written_as_it_always_was() {
    let without = ShelfFile { pigments: Default::default(), ..file() };
    let text = write(&without);
    assert!(!text.contains("pigment"));
    let null = write(&file()).replacen("\"PW6\"", "null", 1).replacen("\"PBk7\"", "null", 1);
    let (read, doubts) = read("toners.json", null.as_bytes()).unwrap();
    assert_eq!((read, doubts.len()), (without, 0));
}

/// A file of before: it says how many panels and how well, and nothing of single toners.
#[test]
fn what_a_file_does_not_say_of_its_toners_is_not_known() {
    let full = file();
    let from = full.learned.as_ref().unwrap();
    let plain = Learned { by_toner: vec![], worst: vec![], next: vec![], ..from.clone() };
    let text = write(&ShelfFile { learned: Some(plain.clone()), ..full.clone() });
    assert!(text.ends_with(
        "\"panels\":{\"count\":9,\"mean_de00\":0.3333333333333333,\"p90_de00\":2.5,\"files\":[\"panels.csv\"]}}\n"
    ));
    assert_eq!(read("t.json", text.as_bytes()).unwrap().0.learned, Some(plain));
    // Lists have an end.
    let many = |of: usize| Learned { worst: vec![from.worst[0].clone(); of], ..from.clone() };
    let text = |of: usize| write(&ShelfFile { learned: Some(many(of)), ..full.clone() });
    assert!(read("t.json", text(8).as_bytes()).is_ok());
    assert!(refused(&text(9)).to_string().contains("key panels.worst: 9 of them found; needed: at most 8"));
}

#[test]
fn a_learned_shelf_becomes_an_entry() {
    let kept = KeptFile { name: "panels.csv".into(), hash: Hash::of(b"panels") };
    let entry = engine::shelved("Shelf 1", Hash::of(b"t"), &file(), vec![kept], &[]).unwrap();
    assert_eq!((entry.toners, entry.panels, entry.mean_de00, entry.p90_de00), (3, 9, 1.0 / 3.0, 2.5));
    let nothing = ShelfFile { learned: None, ..file() };
    assert!(engine::shelved("Shelf 1", Hash::of(b"t"), &nothing, vec![], &[]).is_err());
    assert_eq!(file().shelf.toners()[2].kind, TonerKind::Pearl);
    assert_eq!(file().shelf.clear(), &ramp(0.03, -0.0005));
}
