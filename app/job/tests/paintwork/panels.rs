//! A lab folder of four tables: read whole, or refused by file, row and column.

use job::colour::{Geometry, TonerKind};
use job::panels::{Lab, LabFile, LabFiles, read};
use proptest::prelude::*;

/// A lab folder as text.
#[derive(Clone)]
struct Folder {
    toners: String,
    panels: String,
    measurements: String,
    substrate: String,
}

/// Lightness by angle of a panel: a solid has one, a flake a falling row.
fn readings(panel: &str, levels: [f64; 6]) -> String {
    let row = |(geometry, level): (Geometry, f64)| format!("{panel},{geometry}{}\n", format!(",{level}").repeat(31));
    Geometry::ALL.into_iter().zip(levels).map(row).collect()
}

const FLAKE: [f64; 6] = [1.0, 0.86, 0.7, 0.38, 0.12, 0.06];

impl Folder {
    fn new() -> Self {
        let nm: String = (0..31).map(|i| format!(",{}", 400 + 10 * i)).collect();
        let primer = |name: &str, level: f64| format!("{name}{}\n", format!(",{level}").repeat(31));
        Self {
            toners: "toner,kind,density_g_cm3,max_mass_fraction\nwhite,solid,4.0,0.35\nblack,Solid,1.8,0.35\ncopper,pearl,2.0,0.3\n".into(),
            panels: "panel_id,series,white,black,copper,binder,dft_um_gauge,substrate\n\
                P1,masstone,0.3,0,0,0.7,25.1,black\n\
                P2,let-down,0.28,0.0025,0,0.7175,26.6,white\n\
                P3,masstone,0,0,0.24,0.76,14.4,black\n\
                P4,let-down,0,0.012,0.2,0.788,15.4,white\n"
                .into(),
            measurements: format!(
                "panel_id,geometry{nm}\n{}{}{}{}",
                readings("P1", [0.6; 6]),
                readings("P2", [0.45; 6]),
                readings("P3", FLAKE),
                readings("P4", FLAKE)
            ),
            substrate: format!("substrate{nm}\n{}{}", primer("black", 0.045), primer("white", 0.84)),
        }
    }

    fn with(mut self, change: impl FnOnce(&mut Self)) -> Self {
        change(&mut self);
        self
    }

    fn read(&self) -> Result<(Lab, Vec<String>), String> {
        let files = LabFiles {
            toners: LabFile { name: "toners.csv", bytes: self.toners.as_bytes() },
            panels: LabFile { name: "panels.csv", bytes: self.panels.as_bytes() },
            measurements: LabFile { name: "measurements.csv", bytes: self.measurements.as_bytes() },
            substrate: LabFile { name: "substrate.csv", bytes: self.substrate.as_bytes() },
        };
        match read(&files) {
            Ok((lab, doubts)) => Ok((lab, doubts.into_iter().map(|d| d.what).collect())),
            Err(e) => Err(e.to_string()),
        }
    }

    fn refused(&self) -> String {
        let said = self.read().unwrap_err();
        assert!(!said.contains('\n'));
        said
    }
}

/// The folder with one text in one of its files put in another's place.
fn swapped(file: fn(&mut Folder) -> &mut String, from: &str, to: &str) -> Folder {
    Folder::new().with(|folder| {
        let text = file(folder);
        assert!(text.contains(from), "{from}");
        *text = text.replacen(from, to, 1);
    })
}

fn toners(folder: &mut Folder) -> &mut String {
    &mut folder.toners
}
fn panels(folder: &mut Folder) -> &mut String {
    &mut folder.panels
}
fn measurements(folder: &mut Folder) -> &mut String {
    &mut folder.measurements
}
fn substrate(folder: &mut Folder) -> &mut String {
    &mut folder.substrate
}

#[test]
fn a_folder_is_read_whole() {
    let (lab, _) = Folder::new().read().unwrap();
    let kinds: Vec<TonerKind> = lab.panels.toners().iter().map(|t| t.kind).collect();
    assert_eq!(kinds, [TonerKind::Solid, TonerKind::Solid, TonerKind::Pearl]);
    assert_eq!(lab.series, ["masstone", "let-down", "masstone", "let-down"]);
    let second = &lab.panels.panels()[1];
    assert_eq!((second.name.as_str(), second.film_um, second.substrate), ("P2", 26.6, 1));
    let parts: Vec<(usize, f64)> = second.parts.iter().map(|p| (p.toner, p.fraction)).collect();
    assert_eq!(parts, [(0, 0.28), (1, 0.0025)]);
    assert_eq!(second.measured.by_angle().len(), 6);
    assert_eq!(lab.panels.substrates()[1].reflectance.values()[30], 0.84);
}

#[test]
fn pigments_are_read_where_the_table_names_them() {
    assert!(Folder::new().read().unwrap().0.pigments.is_empty());
    let named = "toner,kind,density_g_cm3,max_mass_fraction,pigment\n\
        white,solid,4.0,0.35,PW6\nblack,Solid,1.8,0.35,pbk 7\ncopper,pearl,2.0,0.3,\n";
    let with = |toners: &str| Folder::new().with(|folder| folder.toners = toners.into());
    let (lab, doubts) = with(named).read().unwrap();
    let found: Vec<(&str, String)> = lab.pigments.iter().map(|(toner, p)| (toner.as_str(), p.to_string())).collect();
    assert_eq!(found, [("black", "PBk7".to_owned()), ("white", "PW6".to_owned())]);
    assert!(doubts.iter().all(|doubt| !doubt.contains("pigment")), "{doubts:?}");
    assert_eq!(
        with(&named.replace("PW6", "white lead")).refused(),
        "toners.csv, row 2, column pigment: \"white lead\" found; needed: a Colour Index generic name such as PB15, PR254 or PB15:3, or nothing"
    );
}

#[test]
fn columns_stand_in_any_order_and_semicolons_with_decimal_commas_are_read() {
    let (plain, _) = Folder::new().read().unwrap();
    let turned = Folder::new().with(|folder| {
        let turn = |text: &str| {
            let rows = text.lines().map(|line| line.split(',').rev().collect::<Vec<_>>().join(";").replace('.', ","));
            rows.collect::<Vec<_>>().join("\n")
        };
        folder.panels = turn(&folder.panels);
        folder.substrate = turn(&folder.substrate);
        folder.measurements = turn(&folder.measurements);
    });
    let (lab, doubts) = turned.read().unwrap();
    assert_eq!(lab, plain);
    assert!(
        doubts.iter().any(|d| d == "panels.csv: the columns are separated by semicolons; read as such"),
        "{doubts:?}"
    );
    // A binder column is what the toners leave over: without it, that is so all the same.
    let bare = Folder::new().with(|folder| {
        folder.panels = folder.panels.replace(",binder", "");
        for rest in [",0.7,", ",0.7175,", ",0.76,", ",0.788,"] {
            folder.panels = folder.panels.replacen(rest, ",", 1);
        }
    });
    assert_eq!(bare.read().unwrap().0, plain);
}

#[test]
fn what_does_not_hang_together_is_refused_where_it_stands() {
    let cases: [(Folder, &str); 24] = [
        (
            swapped(panels, "0.7175", "0.6175"),
            "panels.csv, row 3, column binder: \"0.6175\" found; needed: what the toners leave over of 1, 0.7175 (to 0.002)",
        ),
        (
            swapped(panels, "25.1", "0"),
            "panels.csv, row 2, column dft_um_gauge: \"0\" found; needed: a number from 0.5 to 500",
        ),
        (swapped(panels, "P1,masstone,0.3", "P1,masstone,1.3"), "panels.csv, row 2, column white: \"1.3\" found"),
        (swapped(panels, "P1,masstone,0.3", "P1,masstone,-0.3"), "panels.csv, row 2, column white: \"-0.3\" found"),
        (swapped(panels, "P1,masstone,0.3", "P1,masstone,lots"), "panels.csv, row 2, column white: \"lots\" found"),
        (
            swapped(panels, "P1,masstone,0.3,0,0,0.7", "P1,masstone,0,0,0,1"),
            "panels.csv, row 2, column panel_id: \"P1\" found; needed: a panel with at least one toner",
        ),
        (
            swapped(panels, "26.6,white", "26.6,grey"),
            "panels.csv, row 3, column substrate: \"grey\" found; needed: one of black, white",
        ),
        (
            swapped(panels, "P2,let", "P1,let"),
            "panels.csv, row 3, column panel_id: \"P1\" found; needed: each panel once",
        ),
        (
            swapped(panels, "P2,let", "P9,let"),
            "panels.csv, row 3, column panel_id: \"P9\" found; needed: a panel that measurements.csv has readings of",
        ),
        (
            swapped(panels, "P4,let-down,0,0.012,0.2,0.788,15.4,white\n", ""),
            "measurements.csv, row 20, column panel_id: \"P4\" found; needed: a panel that panels.csv describes",
        ),
        (
            swapped(panels, ",copper,", ",gold,"),
            "panels.csv, heading: the column gold is no toner of toners.csv; it has white, black, copper",
        ),
        (swapped(toners, "copper,pearl", "gold,pearl"), "panels.csv, heading: the column copper is no toner"),
        (
            swapped(toners, "copper,pearl,2.0,0.3\n", "copper,pearl,2.0,0.3\ngold,pearl,2.0,0.3\n"),
            "panels.csv, heading: the column gold is missing",
        ),
        (
            swapped(toners, "black,Solid", "black,metal"),
            "toners.csv, row 3, column kind: \"metal\" found; needed: solid, aluminium, pearl or flop adjuster",
        ),
        (
            swapped(toners, "black,Solid", "White,solid"),
            "toners.csv, row 3, column toner: \"White\" found; needed: each toner once",
        ),
        (
            swapped(toners, "black,Solid", "binder,solid"),
            "toners.csv, row 3, column toner: \"binder\" found; needed: another name",
        ),
        (swapped(toners, "1.8", "0.1"), "toners.csv, row 3, column density_g_cm3: \"0.1\" found"),
        (
            swapped(measurements, "P1,45as15", "P1,45as20"),
            "measurements.csv, row 3, column geometry: \"45as20\" found; needed: one of 45as-15",
        ),
        (
            swapped(measurements, "P1,45as15,0.6", "P1,45as15,60"),
            "measurements.csv, row 3, column 400: \"60\" found; needed: a factor, 1 being a perfect white; this looks like percent",
        ),
        (swapped(measurements, "P1,45as15,0.6", "P1,45as15,x"), "measurements.csv, row 3, column 400: \"x\" found"),
        (swapped(measurements, "panel_id", "plate"), "measurements.csv, heading: the column panel_id is missing"),
        (
            swapped(substrate, "white,0.84", "black,0.84"),
            "substrate.csv, row 3, column substrate: \"black\" found; needed: each primer once",
        ),
        (swapped(substrate, "white,0.84", "white,84"), "substrate.csv, row 3, column 400: \"84\" found"),
        (swapped(substrate, "black,0.045", "black,-0.005"), "substrate.csv, row 2, column substrate: \"black\" found"),
    ];
    for (folder, say) in cases {
        let said = folder.refused();
        assert!(said.contains(say), "{said}\nwanted: {say}");
    }
    let over = swapped(panels, "P1,masstone,0.3", "P1,masstone,0.9").with(|folder| {
        folder.panels = folder.panels.replace(",binder", "").replacen("0.9,0,0,0.7,", "0.9,0.2,0,", 1);
        for rest in [",0.7175,", ",0.76,", ",0.788,"] {
            folder.panels = folder.panels.replacen(rest, ",", 1);
        }
    });
    let said = over.refused();
    assert!(
        said.contains("row 2, column black: \"0.2\" found; needed: fractions that leave room")
            && said.contains("1.1000"),
        "{said}"
    );
}

#[test]
fn a_missing_black_background_is_an_error_and_of_one_toner_a_doubt() {
    let white = Folder::new().with(|folder| folder.panels = folder.panels.replace("black\n", "white\n"));
    let said = white.refused();
    assert!(said.starts_with("panels.csv, column substrate: no panel stands over a dark primer (white)"), "{said}");
    let (_, doubts) = Folder::new().read().unwrap();
    assert!(doubts.iter().any(|d| d == "black stands on no panel over black; spray one"), "{doubts:?}");
    assert!(!doubts.iter().any(|d| d.starts_with("white stands on no panel over")), "{doubts:?}");
    let unused = swapped(panels, "0.28,0.0025,0,0.7175", "0.28,0,0,0.72").with(|folder| {
        folder.panels = folder.panels.replacen("0,0.012,0.2,0.788", "0,0,0.2,0.8", 1);
    });
    assert!(unused.refused().starts_with("panels.csv: black stands on no panel"));
}

#[test]
fn doubtful_panels_are_read_with_a_word() {
    let mut exchanged = FLAKE;
    exchanged.swap(1, 5);
    let swapped_angles = Folder::new().with(|folder| {
        folder.measurements = folder.measurements.replacen(&readings("P3", FLAKE), &readings("P3", exchanged), 1);
    });
    let (_, doubts) = swapped_angles.read().unwrap();
    let said = doubts.iter().find(|d| d.starts_with("P3: ")).unwrap();
    assert!(
        said.contains("usual order of lightness is broken") && said.ends_with("45as15 and 45as110 had changed places")
    );
    // A solid panel has no order.
    let solid = Folder::new().with(|folder| {
        let odd = [0.2, 0.3, 0.4, 0.5, 0.6, 0.7];
        folder.measurements = folder.measurements.replacen(&readings("P1", [0.6; 6]), &readings("P1", odd), 1);
    });
    assert!(!solid.read().unwrap().1.iter().any(|d| d.contains("order of lightness")));
    // Over 100 % beside gloss is normal; away from gloss it is doubted; an angle missing is said.
    let bright = [3.5, 2.2, 0.9, 0.3, 0.1, 0.05];
    let normal = Folder::new().with(|folder| {
        folder.measurements = folder.measurements.replacen(&readings("P3", FLAKE), &readings("P3", bright), 1);
    });
    assert!(!normal.read().unwrap().1.iter().any(|d| d.starts_with("P3")));
    let missing = Folder::new().with(|folder| {
        let five: String = readings("P2", [0.45; 6]).lines().skip(1).map(|line| format!("{line}\n")).collect();
        folder.measurements = folder.measurements.replacen(&readings("P2", [0.45; 6]), &five, 1);
    });
    assert!(missing.read().unwrap().1.iter().any(|d| d == "P2 was measured at 5 angles, others at 6"));
    let odd = swapped(toners, "max_mass_fraction\n", "max_mass_fraction,price\n").with(|folder| {
        folder.toners = folder.toners.replace("0.35\n", "0.35,1\n").replace("0.3\n", "0.3,1\n");
    });
    assert!(odd.read().unwrap().1.iter().any(|d| d == "toners.csv: the column price is not used"));
}

#[test]
fn tins_that_hold_more_than_dry_matter_say_how_much() {
    let paste = swapped(toners, "max_mass_fraction\n", "max_mass_fraction,solids_mass_fraction\n").with(|folder| {
        folder.toners = folder.toners.replace("0.35\n", "0.35,0.4\n").replace("0.3\n", "0.3,\n");
    });
    let (lab, _) = paste.read().unwrap();
    let solids: Vec<Option<f64>> = lab.panels.toners().iter().map(|t| t.solids_fraction).collect();
    assert_eq!(solids, [Some(0.4), Some(0.4), None]);
}

#[test]
fn there_is_a_limit_on_everything() {
    let many = Folder::new().with(|folder| {
        folder.toners += &(0..80).map(|n| format!("t{n},solid,1,0.3\n")).collect::<String>();
    });
    assert!(many.refused().contains("at most 80 toners; the file has 83"), "{}", many.refused());
    let wide = Folder::new().with(|folder| {
        let columns: String = (0..130).map(|n| format!(",c{n}")).collect();
        folder.panels = folder.panels.replacen("substrate\n", &format!("substrate{columns}\n"), 1);
        folder.panels = folder.panels.replace("black\n", &format!("black{}\n", ",0".repeat(130)));
        folder.panels = folder.panels.replace("white\n", &format!("white{}\n", ",0".repeat(130)));
    });
    assert!(wide.refused().contains("138 columns; at most 120 are read"), "{}", wide.refused());
    let long = Folder::new().with(|folder| {
        folder.panels += &(0..1_996).map(|n| format!("Q{n},,0.3,0,0,0.7,25,black\n")).collect::<String>();
    });
    assert!(long.refused().contains("readings of"), "{}", long.refused());
    let longer = long.clone().with(|folder| folder.panels += "R,,0.3,0,0,0.7,25,black\n");
    assert!(longer.refused().contains("at most 2000 panels; the file has 2001"), "{}", longer.refused());
}

proptest! {
    /// A folder with something cut out or put in, in any file: read or refused in words, never a panic.
    #[test]
    fn invariant_a_mangled_folder_does_not_panic(
        file in 0usize..4,
        cut in any::<(prop::sample::Index, prop::sample::Index)>(),
        put in "[\\PC]{0,6}",
    ) {
        let folder = Folder::new().with(|folder| {
            let text = [toners, panels, measurements, substrate][file](folder);
            let (a, b) = (cut.0.index(text.len()), cut.1.index(text.len()));
            let end = a.min(b) + (a.max(b) - a.min(b)).min(40);
            text.replace_range(a.min(b)..end, &put);
        });
        if let Err(said) = folder.read() {
            prop_assert!(!said.is_empty() && !said.contains('\n'), "{said}");
        }
    }
}
