//! The angles a file names, and angles that changed places.

use job::colour::{Geometry, Measurement, Spectrum};
use job::paint::{angle, disorder, read};

/// Lightness of a flake by angle, -15 first, as flat greys.
const FLAKE: [f64; 6] = [1.0, 0.86, 0.7, 0.38, 0.12, 0.06];

fn paint(levels: [f64; 6]) -> Measurement {
    let spectrum = |level: f64| Spectrum::new([level; 31]).unwrap();
    Measurement::new(Geometry::ALL.into_iter().zip(levels.map(spectrum)).collect()).unwrap()
}

#[test]
fn a_single_angle_instrument_stands_for_45_degrees_and_says_what_is_lost() {
    for geometry in Geometry::ALL {
        let read = angle(&geometry.to_string()).unwrap();
        assert_eq!((read.geometry, read.lost), (geometry, None));
    }
    for word in ["45:0", "45/0", "0:45", " 0/45 "] {
        let read = angle(word).unwrap();
        assert_eq!(read.geometry, Geometry::As45);
        assert!(read.lost.unwrap().contains("face and flop"), "{word}");
    }
    let sphere = angle("DE:8").unwrap();
    assert!(sphere.geometry == Geometry::As45 && sphere.lost.unwrap().contains("sphere"));
    for word in ["di:8", "d:8", "45as20", "", "45"] {
        assert_eq!(angle(word), None, "{word}");
    }
    let text = format!(
        "geometry{}\n45:0{}",
        (0..31).map(|i| format!(",{}", 400 + 10 * i)).collect::<String>(),
        ",0.3".repeat(31)
    );
    let (found, doubts) = read("solid.csv", text.as_bytes()).unwrap();
    assert_eq!(found[0].spectra[0].geometry, "45as45");
    assert!(doubts[0].what.contains("45:0 is the reading at 45 degrees alone"), "{doubts:?}");
}

#[test]
fn a_paint_in_its_usual_order_is_not_doubted() {
    assert_eq!(disorder(&paint(FLAKE), 8.0), None);
    // Noise between neighbours, and a reading beyond gloss that is darker than the face.
    assert_eq!(disorder(&paint([0.8, 0.86, 0.7, 0.38, 0.062, 0.064]), 8.0), None);
    // A solid has no order to break.
    assert_eq!(disorder(&paint([0.45, 0.44, 0.45, 0.46, 0.47, 0.48]), 8.0), None);
    let one = Measurement::new(vec![(Geometry::As45, Spectrum::new([0.3; 31]).unwrap())]).unwrap();
    assert_eq!(disorder(&one, 8.0), None);
}

/// Every pair that lightness can tell apart is named when it is exchanged.
#[test]
fn angles_that_changed_places_are_named() {
    for one in 0..6 {
        for other in one + 1..6 {
            let mut levels = FLAKE;
            levels.swap(one, other);
            let said = disorder(&paint(levels), 8.0);
            let (first, second) = (Geometry::ALL[one], Geometry::ALL[other]);
            if (one, other) == (0, 1) {
                // Beyond gloss and face are about as light as each other.
                assert_eq!(said, None);
                continue;
            }
            let said = said.unwrap_or_else(|| panic!("{first} and {second}"));
            assert!(said.ends_with(&format!("as if {first} and {second} had changed places")), "{said}");
        }
    }
    let reversed = disorder(&paint([0.06, 0.08, 0.12, 0.38, 0.7, 0.86]), 8.0).unwrap();
    assert!(reversed.ends_with("Are the angles named rightly?"), "{reversed}");
}

#[test]
fn a_target_file_with_swapped_angles_is_kept_and_doubted() {
    let head = format!("name,geometry{}", (0..31).map(|i| format!(",{}", 400 + 10 * i)).collect::<String>());
    let mut levels = FLAKE;
    levels.swap(1, 5);
    let rows: String = Geometry::ALL
        .into_iter()
        .zip(levels)
        .map(|(geometry, level)| format!("\nT1,{geometry}{}", format!(",{level}").repeat(31)))
        .collect();
    let (found, doubts) = read("t.csv", format!("{head}{rows}").as_bytes()).unwrap();
    assert_eq!(found.len(), 1);
    assert_eq!(doubts.len(), 1, "{doubts:?}");
    assert!(doubts[0].what.starts_with("T1: the usual order of lightness is broken"));
    assert!(doubts[0].what.ends_with("45as15 and 45as110 had changed places"));
}
