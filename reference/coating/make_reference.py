"""Makes dew_point.csv from psychrolib, in this folder.

    python3 -m venv VENV && VENV/bin/pip install psychrolib==2.5.0
    VENV/bin/python reference/coating/make_reference.py
"""

import csv
import pathlib

import psychrolib

HERE = pathlib.Path(__file__).parent

psychrolib.SetUnitSystem(psychrolib.SI)
with open(HERE / "dew_point.csv", "w", newline="", encoding="utf-8") as file:
    rows = csv.writer(file, lineterminator="\n")
    rows.writerow(["air_c", "rh_pct", "dew_point_c"])
    for air_c in range(1, 41):
        for rh_pct in range(30, 101, 5):
            dew_c = psychrolib.GetTDewPointFromRelHum(air_c, rh_pct / 100)
            # At and below 0 psychrolib goes over to ice, the Magnus form stays with water.
            if dew_c > 0:
                rows.writerow([air_c, rh_pct, f"{dew_c:.5f}"])
