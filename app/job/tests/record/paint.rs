//! A measured paint from its file, and from the record to the colour engine.

use job::paint::{MOST, PaintError, measurement, read};
use job::what::What;

use crate::support::measured;

fn file(rows: &[(&str, &str, f64)]) -> String {
    let mut text = String::from("name,geometry");
    for nm in (400..=700).step_by(10) {
        text += &format!(",{nm}");
    }
    for (name, geometry, value) in rows {
        text += &format!("\n{name},{geometry}{}", format!(",{value}").repeat(31));
    }
    text
}

#[test]
fn a_file_of_several_paints_is_read_angle_by_angle() {
    let text = file(&[("A", "45as110", 0.1), ("A", "45as15", 0.6), ("B", "45as45", 0.3)]);
    let (found, doubts) = read("panel.csv", text.as_bytes()).unwrap();
    let angles = |i: usize| found[i].spectra.iter().map(|s| s.geometry.as_str()).collect::<Vec<_>>();
    assert_eq!((found[0].name.as_str(), angles(0)), ("A", vec!["45as15", "45as110"]));
    assert_eq!((found[1].name.as_str(), angles(1)), ("B", vec!["45as45"]));
    assert_eq!(found[0].spectra[0].values, [0.6; 31]);
    assert!(doubts.is_empty(), "{doubts:?}");
    // What gloss alone can give, away from gloss, is kept and doubted.
    let (_, doubts) = read("panel.csv", file(&[("A", "45as75", 1.8)]).as_bytes()).unwrap();
    assert!(doubts.iter().any(|d| d.to_string().contains("45as75")), "{doubts:?}");
}

#[test]
fn what_is_wrong_is_named_with_its_row() {
    let unknown = read("panel.csv", file(&[("A", "45as15", 0.6), ("A", "45as20", 0.6)]).as_bytes()).unwrap_err();
    assert!(matches!(&unknown, PaintError::Geometry { row: 3, found, .. } if found == "45as20"));
    assert!(unknown.to_string().starts_with("panel.csv, row 3, column geometry: \"45as20\""));
    let percent = file(&[("A", "45as15", 60.0)]);
    let negative = file(&[("A", "45as15", -0.5)]);
    let missing = file(&[("A", "45as15", 0.6)]).replacen(",700", ",710", 1);
    let no_number = file(&[("A", "45as15", 0.6)]).replacen(",0.6", ",NaN", 1);
    for text in ["", "name,geometry\n", &percent, &negative, &missing, &no_number] {
        let said = read("panel.csv", text.as_bytes()).unwrap_err().to_string();
        assert!(said.starts_with("panel.csv"), "{said}");
    }
}

#[test]
fn one_angle_twice_under_other_words_is_refused() {
    // Zero-padded or spaced, it is the same angle to the colour engine or no angle at all.
    for twin in ["45as15 ", "45AS15", "45as015"] {
        let told = read("panel.csv", file(&[("A", "45as15", 0.6), ("A", twin, 0.5)]).as_bytes());
        assert!(told.is_err(), "{told:?}");
    }
}

#[test]
fn more_paints_than_are_taken_at_once() {
    let names: Vec<String> = (0..=MOST).map(|i| format!("P{i}")).collect();
    let rows: Vec<(&str, &str, f64)> = names.iter().map(|name| (name.as_str(), "45as45", 0.3)).collect();
    let refused = read("panel.csv", file(&rows).as_bytes()).unwrap_err();
    assert!(matches!(refused, PaintError::TooMany { found, .. } if found == MOST + 1), "{refused}");
    assert_eq!(read("panel.csv", file(&rows[1..]).as_bytes()).unwrap().0.len(), MOST);
}

#[test]
fn an_entry_of_the_record_becomes_a_measurement() {
    let What::Measured(mut entry) = measured("Panel A", b"source") else { unreachable!() };
    let angles = measurement(&entry).unwrap();
    assert_eq!(angles.by_angle().len(), 3);
    entry.spectra[1].geometry = "45as15".into();
    assert!(matches!(measurement(&entry), Err(PaintError::Spectra(_))));
    entry.spectra[1].geometry = "sideways".into();
    assert!(matches!(measurement(&entry), Err(PaintError::Geometry { row: 2, .. })));
    entry.spectra[1].geometry = "45as45".into();
    entry.spectra[1].values.push(0.1);
    assert!(matches!(measurement(&entry), Err(PaintError::Spectra(_))));
}
