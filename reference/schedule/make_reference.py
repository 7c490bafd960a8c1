"""Makes pert_quantiles.csv and range.csv from scipy and numpy, in this folder.

    python3 -m venv VENV && VENV/bin/pip install numpy==2.4.6 scipy==1.17.1
    VENV/bin/python reference/schedule/make_reference.py
"""

import csv
import pathlib

import numpy as np
from scipy.special import ndtr
from scipy.stats import beta

HERE = pathlib.Path(__file__).parent
SAMPLES = 4_000_000
CHANCES = [0.1, 0.5, 0.8, 0.95]

# chance, then ways: weight and parts (low, likely, high). Invented.
ITEMS = [
    (1.0, [(1.0, [(2, 3, 7)])]),
    (0.6, [(50.0, [(1, 2, 4), (2, 3, 5)]), (35.0, [(1, 2, 4), (7, 12, 19)]), (15.0, [(1, 2, 4), (12, 20, 34)])]),
    (0.25, [(2.0, [(8, 14, 30)]), (1.0, [(20, 20, 50)])]),
    (0.05, [(1.0, [(40, 65, 105), (4, 8, 14)])]),
    (0.9, [(1.0, [(5, 5, 5)]), (3.0, [(6, 9, 9)])]),
]


def main():
    write("pert_quantiles.csv", ["mode", "p", "quantile"], quantiles())
    header = ["finding", "hours", "samples", "mean", "sd", "p10", "p50", "p80", "p95"]
    header += ["se_mean", "se_sd", "se_p10", "se_p50", "se_p80", "se_p95", "shares"]
    cases = [(0.0, 0.0), (0.3, 0.0), (0.0, 0.5), (0.25, 0.4), (1.0, 1.0)]
    write("range.csv", header, (ranged(*case, seed) for seed, case in enumerate(cases)))


def write(name, header, rows):
    with open(HERE / name, "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def quantiles():
    for mode in [0, 0.01, 0.1, 0.25, 0.4, 0.5, 0.7, 0.95, 1]:
        for p in [1e-9, 1e-4, 0.01, 0.05, 0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 0.9999]:
            yield [mode, p, repr(float(beta.ppf(p, 1 + 4 * mode, 5 - 4 * mode)))]


def pert(spread, p):
    low, likely, high = spread
    if low == high:
        return np.full_like(p, low)
    mode = (likely - low) / (high - low)
    # Fine enough that straight lines between cost nothing that 4 million samples could show.
    grid = np.linspace(0, 1, 20_001)
    return low + (high - low) * np.interp(p, grid, beta.ppf(grid, 1 + 4 * mode, 5 - 4 * mode))


def ranged(finding, hours, seed):
    random = np.random.default_rng(seed)
    worse, slower = random.standard_normal(SAMPLES), random.standard_normal(SAMPLES)
    spent = []
    for chance, ways in ITEMS:
        bad = ndtr(np.sqrt(finding) * worse + np.sqrt(1 - finding) * random.standard_normal(SAMPLES))
        pace = ndtr(np.sqrt(hours) * slower + np.sqrt(1 - hours) * random.standard_normal(SAMPLES))
        # 0 is where it only just is there, 1 is as bad as can be; below 0 it is not.
        depth = (bad - (1 - chance)) / chance
        edges = np.cumsum([weight for weight, _ in ways]) / sum(weight for weight, _ in ways)
        way = np.searchsorted(edges[:-1], depth, side="right")
        item = np.zeros(SAMPLES)
        for number, (_, parts) in enumerate(ways):
            taken = (depth > 0) & (way == number)
            item[taken] = sum(pert(part, pace[taken]) for part in parts)
        spent.append(item)
    total = np.sum(spent, axis=0)
    mean, sd = total.mean(), total.std()
    points = np.quantile(total, CHANCES)
    kurtosis = np.mean((total - mean) ** 4) / sd**4
    errors = [sd / np.sqrt(SAMPLES), sd * np.sqrt((kurtosis - 1) / 4 / SAMPLES)]
    errors += [standard_error(total, p) for p in CHANCES]
    shares = [np.mean((item - item.mean()) * (total - mean)) / sd**2 for item in spent]
    numbers = [f"{x:.6f}" for x in [mean, sd, *points, *errors]]
    return [finding, hours, SAMPLES, *numbers, " ".join(f"{x:.5f}" for x in shares)]


def standard_error(total, p):
    """From the density around the quantile: sqrt(p (1 - p) / n) / f."""
    low, high = np.quantile(total, [p - 0.002, p + 0.002])
    return np.sqrt(p * (1 - p) / SAMPLES) * (high - low) / 0.004


if __name__ == "__main__":
    main()
