"""Makes the reference data of the colour engine, and its table of E308 weights.

Run it again after a change (any folder; about ten seconds):

    python3 -m venv .venv
    .venv/bin/pip install colour-science==0.4.7
    .venv/bin/python reference/colour/make_reference.py

`--check` writes nothing and fails if a file differs from what would be written.

It writes, beside itself, weights.csv, whites.csv, daylight_weights.csv, daylight_locus.csv,
observer_and_lights.csv, colorchecker_spectra.csv, colorchecker_lab.csv and colorchecker_srgb.csv, and
engines/colour/src/weights.rs. It does not write sharma2005.csv and srgb.csv, which are typed from
the publications; it checks the first of them against colour-science's own CIEDE2000.
"""

import argparse
import csv
import io
import sys
import warnings
from pathlib import Path

import numpy as np

warnings.filterwarnings("ignore")  # optional plotting libraries are not needed
import colour  # noqa: E402

HERE = Path(__file__).resolve().parent
ENGINE = HERE.parent.parent / "engines" / "colour" / "src"

PRACTICE = colour.SpectralShape(360, 780, 10)
SHOP = colour.SpectralShape(400, 700, 10)
WAVELENGTHS = list(range(400, 701, 10))
ILLUMINANTS = ["D65", "A", "FL11"]
OBSERVERS = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}
DECIMALS = 10  # enough for 1e-4 in Lab by far, and the same text from every numpy

CHART = "ColorChecker N Ohta"
BASIS = ["S0", "S1", "S2"]
# Correlated colour temperatures for the oracle of daylight; 7000 K ends one polynomial of CIE 15.
CCTS = [4000.0, 5003.0, 5455.0, 6504.0, 7000.0, 7001.0, 12000.0, 25000.0]


def pairs():
    for illuminant in ILLUMINANTS:
        for observer in OBSERVERS:
            yield illuminant, observer


def weights(illuminant, observer):
    """E2022 weights at 10 nm over 360..780, the outer ones added to 400 and 700 nm (E308)."""
    cmfs = colour.MSDS_CMFS[OBSERVERS[observer]].copy()
    cmfs.trim(colour.SpectralShape(360, 780, 1))
    light = colour.SDS_ILLUMINANTS[illuminant].copy().align(cmfs.shape)
    full = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(cmfs, light, PRACTICE)
    return colour.colorimetry.adjust_tristimulus_weighting_factors_ASTME308(full, PRACTICE, SHOP)


def ten_degree_weights(light, k):
    """E308 weights of a light for the 10 degree observer, times k; by k = None with Y = 100.

    The light is drawn in straight lines between its points, as CIE 15 says of the daylight basis.
    """
    cmfs = colour.MSDS_CMFS[OBSERVERS[10]].copy()
    cmfs.trim(colour.SpectralShape(360, 780, 1))
    light = colour.SpectralDistribution(
        np.interp(cmfs.wavelengths, light.wavelengths, light.values), cmfs.wavelengths
    )
    full = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(cmfs, light, PRACTICE, k)
    return colour.colorimetry.adjust_tristimulus_weighting_factors_ASTME308(full, PRACTICE, SHOP)


def daylight_basis_weights():
    """Weights of S0, S1 and S2 on one scale, by which S0 has Y = 100; linear in the light, so that
    a daylight's are W_S0 + M1 W_S1 + M2 W_S2, up to the factor that makes its own Y 100."""
    basis = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    k = 100 / ten_degree_weights(basis["S0"], 1)[:, 1].sum()
    return {name: ten_degree_weights(basis[name], k) for name in BASIS}


def daylight(cct):
    """Chromaticity and spectrum of a daylight, M1 and M2 not rounded; colour-science's own formula."""
    xy = colour.temperature.CCT_to_xy_CIE_D(cct)
    return xy, colour.sd_CIE_illuminant_D_series(xy, M1_M2_rounding=False)


def tristimulus(spectrum, illuminant, observer):
    """colour-science's own route, which builds its weights itself."""
    return colour.sd_to_XYZ(
        spectrum,
        colour.MSDS_CMFS[OBSERVERS[observer]],
        colour.SDS_ILLUMINANTS[illuminant],
        method="ASTM E308",
    )


def table(header, rows):
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()


def weights_csv():
    rows = []
    for illuminant, observer in pairs():
        for axis, column in zip("XYZ", weights(illuminant, observer).T):
            rows.append([illuminant, observer, axis] + [f"{w:.{DECIMALS}f}" for w in column])
    return table(["illuminant", "observer", "axis"] + WAVELENGTHS, rows)


def daylight_weights_csv():
    lights = daylight_basis_weights()
    for cct in CCTS:
        lights[f"{cct:.0f}"] = ten_degree_weights(daylight(cct)[1], None)
    rows = []
    for name, table_of_light in lights.items():
        for axis, column in zip("XYZ", table_of_light.T):
            rows.append([name, axis] + [f"{w:.{DECIMALS}f}" for w in column])
    return table(["light", "axis"] + WAVELENGTHS, rows)


def daylight_locus_csv():
    rows = []
    for cct in CCTS:
        x, y = daylight(cct)[0]
        rows.append([f"{cct:.0f}", f"{x:.10f}", f"{y:.10f}"])
    return table(["cct_k", "x", "y"], rows)


def observer_and_lights_csv():
    """At 1 nm, for sums without E308's abridgement: what the E308 weights of this script start from."""
    cmfs = colour.MSDS_CMFS[OBSERVERS[10]].copy()
    cmfs.trim(colour.SpectralShape(360, 780, 1))
    columns = list(cmfs.values.T)
    for illuminant in ["A", "FL11"]:
        columns.append(colour.SDS_ILLUMINANTS[illuminant].copy().align(cmfs.shape).values)
    basis = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    for name in BASIS:
        columns.append(np.interp(cmfs.wavelengths, basis[name].wavelengths, basis[name].values))
    rows = [
        [f"{nm:.0f}"] + [f"{value:.7g}" for value in row]
        for nm, *row in zip(cmfs.wavelengths, *columns)
    ]
    return table(["nm", "x10", "y10", "z10", "A", "FL11"] + BASIS, rows)


def weights_rs():
    out = [
        "//! ASTM E308 weights at 10 nm, 400 to 700 nm, the outer weights added to the end ones.",
        "//!",
        "//! Generated by `reference/colour/make_reference.py`; do not edit. The same numbers stand in",
        "//! `reference/colour/weights.csv`, whose `.toml` gives the source.",
        "",
        "/// X, Y and Z weights per wavelength, for one illuminant and observer.",
        "pub(crate) type Weights = [[f64; 3]; 31];",
    ]
    for illuminant, observer in pairs():
        out += [
            "",
            f"/// {illuminant}, {observer} degree observer.",
            "#[rustfmt::skip]",
            f"pub(crate) const {illuminant}_{observer}: Weights = [",
        ]
        for row in weights(illuminant, observer):
            out.append("    [" + ", ".join(rust_number(w) for w in row) + "],")
        out.append("];")
    out += [
        "",
        "/// CIE daylight basis S0, S1 and S2, 10 degree observer, on one scale by which S0 has Y = 100;",
        "/// as in `reference/colour/daylight_weights.csv`.",
        "#[rustfmt::skip]",
        "pub(crate) const DAYLIGHT_10: [Weights; 3] = [",
    ]
    for rows_of_light in daylight_basis_weights().values():
        out.append("    [")
        for row in rows_of_light:
            out.append("        [" + ", ".join(rust_number(w) for w in row) + "],")
        out.append("    ],")
    out.append("];")
    return "\n".join(out) + "\n"


def rust_number(w):
    text = f"{w:.{DECIMALS}f}"
    if float(text) == 0.0:
        return "0.0"
    text = text.rstrip("0")
    return text + "0" if text.endswith(".") else text


def whites_csv():
    rows = []
    for illuminant, observer in pairs():
        x, y = colour.CCS_ILLUMINANTS[OBSERVERS[observer]][illuminant]
        rows.append([illuminant, observer, f"{x:.5f}", f"{y:.5f}"])
    return table(["illuminant", "observer", "x", "y"], rows)


def chart():
    for name, spectrum in colour.SDS_COLOURCHECKERS[CHART].items():
        at_10_nm = colour.SpectralDistribution(
            {w: float(spectrum[w]) for w in WAVELENGTHS}, name=name
        )
        yield name, at_10_nm


def chart_spectra_csv():
    rows = [[name] + [f"{v:.3f}" for v in sd.values] for name, sd in chart()]
    return table(["name"] + WAVELENGTHS, rows)


def chart_lab_csv():
    rows = []
    ones = colour.SpectralDistribution(dict.fromkeys(WAVELENGTHS, 1.0))
    for illuminant, observer in pairs():
        white = colour.XYZ_to_xy(tristimulus(ones, illuminant, observer))
        for name, spectrum in chart():
            xyz = tristimulus(spectrum, illuminant, observer)
            lab = colour.XYZ_to_Lab(xyz / 100, white)
            rows.append(
                [name, illuminant, observer] + [f"{v:.8f}" for v in [*xyz, *lab]]
            )
    return table(["name", "illuminant", "observer", "X", "Y", "Z", "L", "a", "b"], rows)


def chart_srgb_csv():
    rows = []
    ones = colour.SpectralDistribution(dict.fromkeys(WAVELENGTHS, 1.0))
    screen = colour.RGB_COLOURSPACES["sRGB"]
    screen_white = colour.xy_to_XYZ(screen.whitepoint)
    for illuminant, observer in pairs():
        white = tristimulus(ones, illuminant, observer) / 100
        for name, spectrum in chart():
            adapted = colour.adaptation.chromatic_adaptation_VonKries(
                tristimulus(spectrum, illuminant, observer) / 100,
                white,
                screen_white,
                transform="Bradford",
            )
            linear = screen.matrix_XYZ_to_RGB @ adapted
            steps = 255 * screen.cctf_encoding(linear)
            rows.append([name, illuminant, observer] + [f"{v:.3f}" for v in steps])
    return table(["name", "illuminant", "observer", "R", "G", "B"], rows)


def check_sharma():
    """Each typed pair against colour-science; pair 14 is the one that its arctan2 loses."""
    data = np.genfromtxt(HERE / "sharma2005.csv", delimiter=",", names=True)
    first = np.column_stack([data["L1"], data["a1"], data["b1"]])
    second = np.column_stack([data["L2"], data["a2"], data["b2"]])
    error = np.abs(colour.delta_E(first, second, method="CIE 2000") - data["dE00"])
    off = [int(n) for n, e in zip(data["pair"], error) if e > 1e-4]
    print(f"sharma2005.csv: {len(data)} pairs, beyond 1e-4 of colour-science: {off}")
    if len(data) != 34 or not set(off) <= {14}:
        sys.exit("sharma2005.csv disagrees with colour-science")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="write nothing, compare only")
    check_only = parser.parse_args().check
    files = {
        HERE / "weights.csv": weights_csv(),
        HERE / "whites.csv": whites_csv(),
        HERE / "daylight_weights.csv": daylight_weights_csv(),
        HERE / "daylight_locus.csv": daylight_locus_csv(),
        HERE / "observer_and_lights.csv": observer_and_lights_csv(),
        HERE / "colorchecker_spectra.csv": chart_spectra_csv(),
        HERE / "colorchecker_lab.csv": chart_lab_csv(),
        HERE / "colorchecker_srgb.csv": chart_srgb_csv(),
        ENGINE / "weights.rs": weights_rs(),
    }
    differing = []
    for path, text in files.items():
        if check_only:
            if not path.exists() or path.read_text() != text:
                differing.append(path.name)
        else:
            path.write_text(text)
            print(f"wrote {path.name}")
    check_sharma()
    if differing:
        sys.exit("out of date: " + ", ".join(differing))


if __name__ == "__main__":
    main()
