//! The demo's toners and panels.

use colour::{Geometry, Measurement, Panel, Panels, Part, Spectrum, Substrate, TonerInfo, TonerKind};

use crate::csv::{number, rows};

fn spectrum(cells: &[String]) -> Spectrum {
    let values: Vec<f64> = cells.iter().map(|cell| number(cell)).collect();
    Spectrum::from_slice(&values).expect("thirty-one sound values")
}

/// Toners, primers and panels of demo/toners, which are invented and simulated.
pub(crate) fn demo() -> (Vec<TonerInfo>, Vec<Substrate>, Vec<Panel>) {
    let toners: Vec<TonerInfo> = rows("demo/toners/toners.csv")
        .iter()
        .skip(1)
        .map(|row| TonerInfo {
            name: row[0].clone(),
            kind: TonerKind::ALL.into_iter().find(|kind| kind.word() == row[1]).expect("a kind"),
            density_g_cm3: number(&row[2]),
            max_fraction: number(&row[3]),
            solids_fraction: None,
        })
        .collect();
    let substrates: Vec<Substrate> = rows("demo/toners/substrate.csv")
        .iter()
        .skip(1)
        .map(|row| Substrate { name: row[0].clone(), reflectance: spectrum(&row[1..]) })
        .collect();
    let measured = rows("demo/toners/measurements.csv");
    let table = rows("demo/toners/panels.csv");
    let column = |name: &str| table[0].iter().position(|cell| cell == name).expect("a column");
    let panels = table
        .iter()
        .skip(1)
        .map(|row| Panel {
            name: row[0].clone(),
            parts: (toners.iter().enumerate())
                .map(|(toner, info)| Part { toner, fraction: number(&row[column(&info.name)]) })
                .filter(|part| part.fraction > 0.0)
                .collect(),
            film_um: number(&row[column("dft_um_gauge")]),
            substrate: substrates.iter().position(|s| s.name == row[column("substrate")]).expect("a primer"),
            measured: Measurement::new(
                (measured.iter().filter(|line| line[0] == row[0]))
                    .map(|line| {
                        let geometry = Geometry::ALL.into_iter().find(|g| g.to_string() == line[1]);
                        (geometry.unwrap_or_else(|| panic!("{}", line[1])), spectrum(&line[2..]))
                    })
                    .collect(),
            )
            .expect("angles"),
        })
        .collect();
    (toners, substrates, panels)
}

/// What `calibrate` is made of.
pub(crate) fn panels(all: &(Vec<TonerInfo>, Vec<Substrate>, Vec<Panel>), keep: impl Fn(usize) -> bool) -> Panels {
    let kept = all.2.iter().enumerate().filter(|(i, _)| keep(*i)).map(|(_, panel)| panel.clone()).collect();
    Panels::new(all.0.clone(), all.1.clone(), kept).expect("sound panels")
}
