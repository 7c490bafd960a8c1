"""Makes pert_quantiles.csv, range.csv, range_exact.csv, factor.csv and binomial.csv from scipy and numpy, in this folder.

    python3 -m venv VENV && VENV/bin/pip install numpy==2.4.6 scipy==1.17.1
    VENV/bin/python reference/schedule/make_reference.py
"""

import csv
import pathlib

import numpy as np
from scipy.integrate import dblquad
from scipy.special import ndtr
from scipy.stats import beta, binom, invgamma, norm, t

HERE = pathlib.Path(__file__).parent
SAMPLES = 4_000_000
CHANCES = [0.1, 0.5, 0.8, 0.95]
LIMITS = [10.0, 30.0, 60.0, 120.0]
RATES = [40.0, 55.0, 50.0]

# A car is wet or it is not; given that, findings are independent. Their chances where it is dry and where it is wet.
# Invented, as all figures here.
WET = 0.3
FINDINGS = [(0.45, 0.95), (0.1, 0.6), (0.02, 0.12), (0.9, 0.9), (0.25, 0.5)]

# The finding an item hangs on, or None where it is always there; then ways: weight, parts (stage, low, likely, high).
OPEN = (0, 1, 2, 4)
ITEMS = [
    (None, [(1.0, [(1, 2, 3, 7)])]),
    (
        0,
        [
            (50.0, [OPEN, (1, 2, 3, 5)]),
            (35.0, [OPEN, (1, 7, 12, 19)]),
            (15.0, [OPEN, (1, 12, 20, 34)]),
        ],
    ),
    (1, [(2.0, [(1, 8, 14, 30)]), (1.0, [(0, 20, 20, 50)])]),
    (2, [(1.0, [(1, 40, 65, 105), (0, 4, 8, 14)])]),
    (3, [(1.0, [(0, 5, 5, 5)]), (3.0, [(1, 6, 9, 9)])]),
    (4, [(0.0, [(0, 900, 900, 900)]), (1.0, [(1, 3, 4, 9), (0, 1, 1, 3)])]),
    # What has to be fitted again where the second item was done.
    (0, [(1.0, [(2, 1, 4, 6)])]),
]
STAGES = 3


def main():
    write("pert_quantiles.csv", ["mode", "p", "quantile"], quantiles())
    measures = ["hours", "opening", "metal", "fitting", "money"]
    header = ["findings", "severity", "hours", "shop_mean_log", "shop_sd_log", "samples"]
    for name in measures:
        header += [f"{name}_{what}" for what in ["mean", "sd", "p10", "p50", "p80", "p95"]]
        header += [f"{name}_se_{what}" for what in ["mean", "sd", "p10", "p50", "p80", "p95"]]
    header += ["shares"] + [f"past_{limit:g}" for limit in LIMITS]
    cases = [
        ("independent", 0.3, 0.5, 0.0, 0.0),
        ("network", 0.0, 0.0, 0.0, 0.0),
        ("network", 0.5, 0.4, 0.1, 0.2),
        ("network", 1.0, 1.0, -0.2, 0.3),
        ("network", 0.25, 0.0, 0.4, 0.0),
    ]
    write("range.csv", header, (ranged(*case, seed) for seed, case in enumerate(cases)))
    header = ["findings", "shop_mean_log", "shop_sd_log", "mean", "sd", "p10", "p50", "p80", "p95"]
    header += ["density_p10", "density_p50", "density_p80", "density_p95"] + [f"past_{limit:g}" for limit in LIMITS]
    cases = [("independent", 0.0, 0.0), ("network", 0.0, 0.0), ("network", 0.1, 0.2)]
    write("range_exact.csv", header, (exact(*case) for case in cases))
    write("factor.csv", ["foretold_mean_h", "foretold_sd_log", "worked_h"] + FACTOR, factors())
    write("binomial.csv", ["count", "quantile", "expected", "low", "high"], binomials())


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


def chances(findings):
    """Of each finding, where the car is dry and where it is wet."""
    if findings == "network":
        return FINDINGS
    return [((1 - WET) * dry + WET * wet,) * 2 for dry, wet in FINDINGS]


def ranged(findings, severity, hours, shop_mean, shop_sd, seed):
    random = np.random.default_rng(seed)
    thrown = lambda: random.standard_normal(SAMPLES)
    wet = random.random(SAMPLES) < WET
    there = [random.random(SAMPLES) < np.where(wet, *pair[::-1]) for pair in chances(findings)]
    worse, slower = thrown(), thrown()
    shop = np.exp(shop_mean + shop_sd * thrown())
    spent, stages = [], [np.zeros(SAMPLES) for _ in range(STAGES)]
    for finding, ways in ITEMS:
        depth = ndtr(np.sqrt(severity) * worse + np.sqrt(1 - severity) * thrown())
        pace = ndtr(np.sqrt(hours) * slower + np.sqrt(1 - hours) * thrown())
        edges = np.cumsum([weight for weight, *_ in ways]) / sum(weight for weight, *_ in ways)
        way = np.searchsorted(edges[:-1], depth, side="right")
        item = np.zeros(SAMPLES)
        for number, (_, parts) in enumerate(ways):
            taken = way == number
            if finding is not None:
                taken &= there[finding]
            for stage, *spread in parts:
                took = pert(spread, pace[taken]) * shop[taken]
                item[taken] += took
                stages[stage][taken] += took
        spent.append(item)
    total = np.sum(spent, axis=0)
    money = sum(rate * stage for rate, stage in zip(RATES, stages))
    row = [findings, severity, hours, shop_mean, shop_sd, SAMPLES]
    for numbers in [total, *stages, money]:
        row += described(numbers)
    variance = total.var()
    shares = [np.mean((item - item.mean()) * (total - total.mean())) / variance for item in spent]
    return row + [" ".join(f"{x:.5f}" for x in shares)] + [f"{np.mean(total > limit):.6f}" for limit in LIMITS]


def described(numbers):
    mean, sd = numbers.mean(), numbers.std()
    points = np.quantile(numbers, CHANCES)
    kurtosis = np.mean((numbers - mean) ** 4) / sd**4
    errors = [sd / np.sqrt(SAMPLES), sd * np.sqrt((kurtosis - 1) / 4 / SAMPLES)]
    errors += [standard_error(numbers, p) for p in CHANCES]
    return [f"{x:.6f}" for x in [mean, sd, *points, *errors]]


STEP, PLACES = 1 / 256, 1 << 17


def exact(findings, shop_mean, shop_sd):
    """Nothing in common but the weather and the shop: given the weather, a convolution."""
    wholes = []
    for wet in [0, 1]:
        sum_of = np.zeros(PLACES)
        sum_of[0] = 1.0
        fourier = np.fft.rfft(sum_of)
        for finding in [None, *range(len(FINDINGS))]:
            # Items on one finding are there together.
            together = np.ones_like(fourier)
            for hangs_on, ways in ITEMS:
                if hangs_on == finding:
                    together = together * np.fft.rfft(one_item(ways))
            chance = 1.0 if finding is None else chances(findings)[finding][wet]
            fourier = fourier * (1 - chance + chance * together)
        wholes.append(np.fft.irfft(fourier, PLACES))
    masses = (1 - WET) * wholes[0] + WET * wholes[1]
    places = np.arange(PLACES) * STEP
    assert abs(masses.sum() - 1) < 1e-9 and masses.min() > -1e-12
    below = np.concatenate([[0.0], np.cumsum(masses)])
    edges = np.concatenate([[-STEP / 2], places + STEP / 2])
    # The shop's factor, in equal shares of its chance.
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    weights = weights / weights.sum()
    factors = np.exp(shop_mean + shop_sd * nodes)
    cdf = lambda x: float(sum(w * np.interp(x / f, edges, below) for w, f in zip(weights, factors)))
    first, second = np.sum(masses * places), np.sum(masses * (places**2 - STEP**2 / 12))
    mean = first * np.exp(shop_mean + shop_sd**2 / 2)
    sd = np.sqrt(second * np.exp(2 * shop_mean + 2 * shop_sd**2) - mean**2)
    points = [bisected(cdf, p) for p in CHANCES]
    densities = [(cdf(x + 0.05) - cdf(x - 0.05)) / 0.1 for x in points]
    numbers = [mean, sd, *points, *densities, *(1 - cdf(limit) for limit in LIMITS)]
    return [findings, shop_mean, shop_sd, *(f"{x:.7f}" for x in numbers)]


def one_item(ways):
    """Chance of each place of the lattice, which is that of the half steps around it."""
    edges = np.arange(PLACES + 1) * STEP - STEP / 2
    grid = np.linspace(0, 1, 200_001)
    masses = np.zeros(PLACES)
    for weight, parts in ways:
        quantile = sum(pert(spread, grid) for _, *spread in parts)
        if quantile[0] == quantile[-1]:
            below = (edges >= quantile[0]).astype(float)
        else:
            below = np.interp(edges, quantile, grid)
        masses += weight / sum(way[0] for way in ways) * np.diff(below)
    return masses


def bisected(cdf, p):
    low, high = 0.0, PLACES * STEP
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if cdf(middle) < p else (low, middle)
    return (low + high) / 2


FACTOR = ["mean_log", "sd_log", "piece_sd_log", "p10", "p90", "quantile"]
PIECES = [(40, 0.3, 52), (12.5, 0.45, 11), (200, 0.2, 305), (6, 0.6, 6), (75, 0.25, 60), (30, 0.3, 47), (9, 0.5, 16)]


def factors():
    """After each piece, by integrating the prior times the likelihood; the quantile is where the piece itself fell."""
    for count in range(len(PIECES) + 1):
        logs = np.array([np.log(worked) - (np.log(mean) - sd**2 / 2) for mean, sd, worked in PIECES[:count]])
        # Shape 2 and mean 0.25 of the variance; the factor as 4 pieces.
        prior = lambda m, v: invgamma.pdf(v, 2, scale=0.25) * norm.pdf(m, 0, np.sqrt(v / 4))
        joint = lambda m, v: prior(m, v) * np.prod(norm.pdf(logs, m, np.sqrt(v)))
        # Variances in powers of e, means around the middle in standard deviations.
        middle = logs.sum() / (4 + count)

        def over(of):
            inner = lambda z, u: of(middle + z * np.exp(u / 2), np.exp(u)) * np.exp(1.5 * u)
            return dblquad(
                lambda z, u: inner(z, u) * joint(middle + z * np.exp(u / 2), np.exp(u)), -12, 14, -6, 6,
                epsabs=0, epsrel=1e-10,
            )[0]

        whole = over(lambda m, v: 1)
        mean = over(lambda m, v: m) / whole
        sd = np.sqrt(over(lambda m, v: (m - mean) ** 2) / whole)
        piece = np.sqrt(over(lambda m, v: v) / whole)
        # The marginal of the factor is Student's t of this spread.
        freedom = 4 + count
        reach = t.ppf(0.9, freedom) * sd / np.sqrt(freedom / (freedom - 2))
        last = PIECES[count - 1] if count else ("", "", "")
        fell = norm.cdf(logs[-1] / last[1]) if count else ""
        numbers = [mean, sd, piece, np.exp(mean - reach), np.exp(mean + reach)]
        yield [*last, *(f"{x:.9f}" for x in numbers), f"{fell:.12f}" if count else ""]


def binomials():
    for count in [0, 1, 2, 7, 20, 33, 150, 1_000, 10_000]:
        for quantile in [0.1, 0.5, 0.9]:
            low, high = (int(max(binom.ppf(p, count, 1 - quantile), 0)) for p in [0.05, 0.95])
            yield [count, quantile, repr(count * (1 - quantile)), low, high]


def standard_error(total, p):
    """From the density around the quantile: sqrt(p (1 - p) / n) / f."""
    low, high = np.quantile(total, [p - 0.002, p + 0.002])
    return np.sqrt(p * (1 - p) / SAMPLES) * (high - low) / 0.004


if __name__ == "__main__":
    main()
