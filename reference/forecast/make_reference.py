"""Makes the networks, marginals.csv, value_of_information.csv, learned.csv and intervals.csv in this folder.

    python3 -m venv VENV && VENV/bin/pip install numpy==2.4.6 scipy==1.17.1 pgmpy==1.1.2
    VENV/bin/python reference/forecast/make_reference.py
"""

import csv
import gzip
import math
import pathlib

import numpy as np
import pgmpy.utils
from pgmpy.inference import VariableElimination
from pgmpy.readwrite import BIFReader
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import beta, binomtest

HERE = pathlib.Path(__file__).parent
MODELS = pathlib.Path(pgmpy.utils.__file__).parent / "example_models"

CASES = [
    ("asia", ["", "xray=yes", "asia=yes dysp=yes", "smoke=no bronc=no dysp=yes"]),
    ("cancer", ["", "Xray=positive Dyspnoea=True"]),
    ("alarm", ["", "BP=LOW HRBP=HIGH CVP=LOW", "EXPCO2=ZERO PRESS=HIGH SAO2=LOW HISTORY=TRUE"]),
    ("child", ["", "CO2Report=>=7.5 XrayReport=Asy/Patchy LowerBodyO2=<5"]),
    ("dog", ["", "hear-bark=true", "light-on=true hear-bark=false"]),
]
# evidence and what may be asked next.
QUESTIONS = [("", ["xray", "bronc", "dysp", "smoke"]), ("smoke=yes dysp=yes", ["xray", "bronc", "asia"])]
# What it costs to leave or to repair, when sound and when bad.
LEAVE, REPAIR = (0.0, -1000.0), (-120.0, -150.0)


def main():
    models = {name: read(name) for name, _ in CASES}
    header = ["network", "evidence", "variable", "state", "probability", "p_evidence"]
    write("marginals.csv", header, (row for name, all in CASES for row in marginals(name, models[name], all)))
    header = ["evidence", "leave_sound", "leave_bad", "repair_sound", "repair_bad"]
    header += ["p_bad", "worth_now", "evpi", "ask", "evsi"]
    write("value_of_information.csv", header, values(models["asia"]))
    write("learned.csv", ["p", "weight", "openings", "mean", "p05", "p95"], learned())
    write("intervals.csv", ["bad", "count", "low", "high"], intervals())


def write(name, header, rows):
    with open(HERE / name, "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def read(name):
    """Bundled models are written out as they are; dog.bif is here already."""
    bundled, ours = MODELS / f"{name}.bif.gz", HERE / f"{name}.bif"
    if bundled.exists():
        ours.write_bytes(gzip.decompress(bundled.read_bytes()))
    model = BIFReader(str(ours)).get_model()
    assert model.check_model()
    return model


def known(text):
    return dict(finding.split("=", 1) for finding in text.split())


def marginals(name, model, all):
    asked = VariableElimination(model)
    for text in all:
        evidence = known(text)
        probability = joint(asked, evidence)
        for variable in model.nodes():
            if variable not in evidence:
                factor = asked.query([variable], evidence, show_progress=False)
                for state, p in zip(factor.state_names[variable], factor.values):
                    yield [name, text, variable, state, repr(float(p)), repr(probability)]


def joint(asked, evidence):
    if not evidence:
        return 1.0
    factor = asked.query(list(evidence), joint=True, show_progress=False)
    return float(factor.get_value(**evidence))


def values(model):
    asked = VariableElimination(model)
    for text, tests in QUESTIONS:
        evidence = known(text)
        bad = p_bad(asked, evidence)
        now = worth(bad)
        evpi = (1 - bad) * worth(0.0) + bad * worth(1.0) - now
        for test in tests:
            answers = asked.query([test], evidence, show_progress=False)
            then = sum(
                float(p) * worth(p_bad(asked, {**evidence, test: answer}))
                for answer, p in zip(answers.state_names[test], answers.values)
            )
            yield [text, *LEAVE, *REPAIR, *(repr(x) for x in [bad, now, evpi]), test, repr(then - now)]


def p_bad(asked, evidence):
    return float(asked.query(["lung"], evidence, show_progress=False).get_value(lung="yes"))


def worth(bad):
    """Of the better of the two decisions."""
    return max((1 - bad) * sound + bad * rotten for sound, rotten in [LEAVE, REPAIR])


def learned():
    """Openings are odds and what was found, `+` bad and `-` sound, and how many such there were."""
    plain = [(0.5, 2, 3, 5), (0.5, 1, 0, 8), (0.4, 10, 12, 15), (0.25, 8, 0, 0), (0.01, 8, 2, 3), (0.97, 8, 0, 40)]
    plain += [(0.3, 8, 3000, 10_000), (0.001, 1, 0, 2)]
    for p, weight, bad, opened in plain:
        a, b = weight * p + bad, weight * (1 - p) + opened - bad
        points = beta.ppf([0.05, 0.95], a, b)
        yield [p, weight, f"1+x{bad} 1-x{opened - bad}", repr(a / (a + b)), *(repr(float(x)) for x in points)]
    weighed = [
        (0.25, 8, [(3.0, 1, 1)]),
        (0.25, 8, [(3.0, 1, 4), (3.0, 0, 2), (0.2, 0, 5), (1.0, 1, 1)]),
        (0.6, 8, [(40.0, 0, 3), (0.05, 1, 2)]),
        (0.1, 20, [(1000.0, 1, 10), (0.001, 0, 10), (2.0, 1, 3), (0.5, 0, 7)]),
        (0.5, 2, [(1e6, 1, 5), (1e-6, 0, 5)]),
        (0.35, 8, [(2.5, 1, 700), (2.5, 0, 500), (0.4, 1, 150), (0.4, 0, 650)]),
    ]
    for p, weight, openings in weighed:
        says = " ".join(f"{odds!r}{'+' if bad else '-'}x{times}" for odds, bad, times in openings)
        yield [p, weight, says, *(f"{x:.12f}" for x in integrated(p, weight, openings))]


def integrated(p, weight, openings):
    """Mean and two quantiles by quad over the logarithmic odds x, whose density is beta times b (1 - b)."""
    a, b = weight * p, weight * (1 - p)

    def ln_density(x):
        ln_b, ln_not = -np.logaddexp(0, -x), -np.logaddexp(0, x)
        found = sum(t * -np.logaddexp(0, -(x + math.log(o)) if bad else x + math.log(o)) for o, bad, t in openings)
        return a * ln_b + b * ln_not + found

    grid = np.linspace(-60, 60, 24_001)
    heights = ln_density(grid)
    top, inside = heights.max(), grid[heights > heights.max() - 40]
    edges = np.linspace(inside[0], inside[-1], 61)

    def integral(of, to):
        pieces = [(low, min(high, to)) for low, high in zip(edges, edges[1:]) if low < to]
        return math.fsum(quad(of, low, high, epsabs=1e-15, epsrel=1e-13)[0] for low, high in pieces)

    density = lambda x: math.exp(ln_density(x) - top)
    whole = integral(density, edges[-1])
    mean = integral(lambda x: expit(x) * density(x), edges[-1]) / whole
    points = []
    for wanted in [0.05, 0.95]:
        low, high = edges[0], edges[-1]
        while high - low > 1e-12:
            middle = (low + high) / 2
            low, high = (middle, high) if integral(density, middle) < wanted * whole else (low, middle)
        points.append(expit(low))
    return [mean, *points]


def intervals():
    for bad, count in [(0, 1), (1, 1), (0, 7), (3, 5), (7, 10), (10, 10), (412, 1000), (1, 100_000)]:
        ends = binomtest(bad, count).proportion_ci(0.9, method="wilson")
        yield [bad, count, repr(float(ends.low)), repr(float(ends.high))]


if __name__ == "__main__":
    main()
