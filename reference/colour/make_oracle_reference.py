"""Makes adding_doubling.csv with iadpython 0.5.3 (and scipy): total reflectance of thick slabs.

Run it in this folder. mc_film.csv has no generator here: its cases came from another simulator.
"""

import csv

import iadpython

# Absorption and scattering in 1/um, mean cosine of scattering, thickness in um. All but opaque:
# the program puts air under the slab, whatever index is asked for there, so nothing may come back
# from the bottom.
CASES = [
    (0.1, 0.02, 0.0, 30),
    (0.02, 0.1, 0.0, 100),
    (0.1, 0.02, 0.0, 100),
    (0.05, 0.005, 0.0, 100),
    (0.05, 0.3, 0.5, 60),
    (0.02, 0.2, 0.7, 200),
    (0.1, 0.2, 0.3, 60),
    (0.2, 0.1, 0.6, 60),
    (0.03, 0.3, -0.3, 80),
]


def reflectance(absorption, scattering, asymmetry, thickness, points):
    extinction = absorption + scattering
    slab = iadpython.Sample(
        a=scattering / extinction, b=extinction * thickness, g=asymmetry,
        n=1.5, n_above=1.0, n_below=1.5, quad_pts=points,
    )
    return float(slab.rt()[0])


with open("adding_doubling.csv", "w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["absorption_per_um", "scattering_per_um", "mean_cosine", "thickness_um",
                  "reflectance_16_points", "reflectance_32_points"])
    for case in CASES:
        out.writerow([*case, *(f"{reflectance(*case, points):.7f}" for points in (16, 32))])
