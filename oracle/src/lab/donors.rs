//! Colours for a recipe tool to match, sprayed from the shop's own toners.

/// A colour whose recipe is known to the shop alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Donor {
    /// Its name in the tables.
    pub id: &'static str,
    /// solid, metallic or pearl.
    pub class: &'static str,
    /// What the table of targets says about it.
    pub note: &'static str,
    /// Mass fractions of the dry film.
    pub fractions: Vec<(&'static str, f64)>,
    /// Thickness of the base coat.
    pub film_um: f64,
    /// The primer beneath.
    pub over: &'static str,
}

type Row = (&'static str, &'static str, &'static str, &'static [(&'static str, f64)], f64, &'static str);

const NOTE: &str = "copper pearl whose flop drifts to violet";

const ROWS: [Row; 14] = [
    (
        "T01",
        "pearl",
        NOTE,
        &[("copper-violet flake", 0.16), ("copper mica", 0.05), ("clear oxide red", 0.008), ("magenta", 0.008)],
        18.0,
        "N5",
    ),
    ("T02", "solid", "", &[("opaque white", 0.20), ("leaf blue", 0.014), ("deep black", 0.0008)], 28.0, "N6"),
    ("T03", "solid", "", &[("opaque white", 0.10), ("lemon yellow", 0.16), ("leaf blue", 0.006)], 30.0, "N6"),
    (
        "T04",
        "metallic",
        "",
        &[("medium silver", 0.13), ("clear oxide red", 0.03), ("magenta", 0.01), ("deep black", 0.003)],
        16.0,
        "N5",
    ),
    (
        "T05",
        "metallic",
        "",
        &[("bright silver", 0.12), ("medium silver", 0.08), ("flop adjuster", 0.05), ("deep black", 0.002)],
        16.0,
        "N5",
    ),
    ("T06", "solid", "", &[("clear oxide red", 0.06), ("magenta", 0.03), ("opaque white", 0.12)], 30.0, "N4"),
    ("T07", "pearl", "", &[("blue interference mica", 0.15), ("leaf blue", 0.03), ("cool black", 0.01)], 17.0, "N3"),
    ("T08", "metallic", "", &[("fine silver", 0.10), ("leaf blue", 0.035), ("cool black", 0.006)], 15.0, "N4"),
    ("T09", "solid", "", &[("opaque white", 0.26), ("clear oxide ochre", 0.008), ("deep black", 0.0003)], 30.0, "N8"),
    ("T10", "pearl", "", &[("copper mica", 0.17), ("fine silver", 0.04), ("magenta", 0.03)], 17.0, "N5"),
    (
        "T11",
        "metallic",
        "",
        &[("bright silver", 0.14), ("clear oxide ochre", 0.06), ("frost white", 0.03), ("deep black", 0.001)],
        17.0,
        "N5",
    ),
    (
        "T12",
        "pearl",
        "",
        &[("copper-violet flake", 0.07), ("medium silver", 0.07), ("magenta", 0.015), ("cool black", 0.01)],
        17.0,
        "N4",
    ),
    (
        "T13",
        "metallic",
        "",
        &[("medium silver", 0.16), ("blue interference mica", 0.06), ("frost white", 0.02)],
        16.0,
        "N5",
    ),
    ("T14", "solid", "", &[("cool black", 0.008), ("opaque white", 0.12), ("clear oxide red", 0.03)], 28.0, "N3"),
];

/// Fourteen donors: five solids, five metallics and four pearls.
pub fn donors() -> Vec<Donor> {
    ROWS.iter()
        .map(|(id, class, note, fractions, film_um, over)| Donor {
            id,
            class,
            note,
            fractions: fractions.to_vec(),
            film_um: *film_um,
            over,
        })
        .collect()
}
