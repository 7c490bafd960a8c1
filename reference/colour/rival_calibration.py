"""The calibration of solid toners, written again in numpy and fitted with SciPy's least_squares: a rival for the bench.

Given a lab folder that holds solid toners only, it fits what engines/colour/src/toner fits on the same panels: absorption
and scattering of each toner by wavelength, its forwardness and crowding, the clear coat, and each panel's film. Start, priors,
residuals and the film's equations are those of the program with no flakes in the film, where the flakes' terms vanish.
Other than there: derivatives are differences (2-point, grouped by their sparsity) and not exact, and no panel counts
less for being far off. It prints how long the fit took, without reading the files, and how well it fits.
"""

import csv
import json
import sys
import time
import warnings
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.sparse import csr_matrix, vstack

warnings.filterwarnings("ignore")  # optional plotting libraries are not needed
import colour  # noqa: E402

FOLDER = Path(sys.argv[1])
N, SPREAD, DIFFUSE_BACK = 1.5, 1.355, 0.5963458
ASPECULAR = [-15, 15, 25, 45, 75, 110]
WAVES = [str(nm) for nm in range(400, 701, 10)]


def rows(name):
    with open(FOLDER / name, newline="") as file:
        return list(csv.DictReader(file))


TONERS = [row["toner"] for row in rows("toners.csv")]
GROUNDS = {row["substrate"]: np.array([float(row[nm]) for nm in WAVES]) for row in rows("substrate.csv")}
PANELS = rows("panels.csv")
MEASURED = {}
for row in rows("measurements.csv"):
    MEASURED[row["panel_id"], int(row["geometry"].removeprefix("45as"))] = [float(row[nm]) for nm in WAVES]
BETA = np.array([[MEASURED[panel["panel_id"], angle] for angle in ASPECULAR] for panel in PANELS])
FRACTIONS = np.array([[float(panel[toner]) for toner in TONERS] for panel in PANELS])
GAUGE = np.array([float(panel["dft_um_gauge"]) for panel in PANELS])
GROUND = np.array([GROUNDS[panel["substrate"]] for panel in PANELS])
P, T, V, W = len(PANELS), len(TONERS), len(ASPECULAR), len(WAVES)


def ray(degrees):
    """Cosine inside, unit vector inside, and what the surface passes."""
    sin, cos = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    mu = np.sqrt(1 - (sin / N) ** 2)
    s, p = (cos - N * mu) / (cos + N * mu), (N * cos - mu) / (N * cos + mu)
    return mu, np.array([sin / N, mu]), 1 - 0.5 * (s * s + p * p)


MU, LIGHT, PASSES = ray(45.0)
VIEWS = [ray(angle - 45.0) for angle in ASPECULAR]
MU_V = np.array([view[0] for view in VIEWS])[:, None]
CROSSING = np.array([PASSES * view[2] / N**2 for view in VIEWS])[:, None]
DEFLECTION = np.array([-LIGHT @ view[1] for view in VIEWS])


def phase(g):
    return (1 - g * g) / (1 + g * g - 2 * g * DEFLECTION) ** 1.5


def turned(g):
    return 0.5 - 0.75 * g if abs(g) < 1e-3 else (1 - g) / (2 * g) * ((1 + g) / np.sqrt(1 + g * g) - 1)


def film(absorb, scatter, turn, toward, ground, t, clear):
    """Radiance factors [.., view, wave]; `toward` is first scattering by view, the rest is [.., wave], `t` [.., 1]."""
    taken = (absorb + scatter) / MU
    kd, sd = 2 * absorb + 1e-9, SPREAD * scatter + 1e-12
    al = np.sqrt(kd * (kd + 2 * sd))
    g = taken + 1e-9
    g = np.where(np.abs(g - al) < 1e-5 * al, al + 1e-5 * al, g)
    eg, eal = np.exp(-g * t), np.exp(-al * t)
    back, on, both = turn / MU, (scatter - turn) / MU, kd + sd
    inverse = 1 / (al * al - g * g)
    pm = ((both + g) * on + sd * back) * inverse
    pp = ((both - g) * back + sd * on) * inverse
    k2, rp = np.exp(-4 * clear) * DIFFUSE_BACK, sd / (both + al)
    c1, c2 = k2 * pp - pm, ground * (pm * eg + eg) - pp * eg
    m11, m12 = 1 - k2 * rp, eal * (rp - k2)
    m21, m22 = eal * (rp - ground), 1 - ground * rp
    inverse = 1 / (m11 * m22 - m12 * m21)
    x, y = (c1 * m22 - m12 * c2) * inverse, (m11 * c2 - m21 * c1) * inverse
    risen = ground * (x * eal + y * rp + pm * eg + eg)

    v = lambda values: values[..., None, :]
    t = v(t)
    e = v(absorb + scatter) / MU_V
    et = np.exp(-e * t)
    fall = lambda rate, end: (1 - v(end) * et) / (v(rate) + e + 1e-12)
    gap = v(al) - e
    near = np.abs(gap * t) < 1e-3
    z = gap * t
    rise = np.where(near, t * et * (1 - z / 2 + z * z / 6), (et - v(eal)) / np.where(near, 1, gap))
    first, slow = fall(g, eg), fall(al, eal)
    even = v(pm + pp) * first + v(x * (1 + rp)) * slow + v(y * (1 + rp)) * rise
    out = (toward * first / MU + 2 * v(scatter) * even) / (4 * MU_V) + v(risen) * et
    return out * CROSSING * np.exp(-clear * (1 / MU + 1 / MU_V))


def lightness(beta):
    return 100 * np.cbrt(np.maximum(beta, -0.001) + 0.002)


SIZES = [T * W, T * W, W, T, T, P]
ENDS = np.cumsum(SIZES)


def apart(theta):
    parts = np.split(theta, ENDS[:-1])
    return parts[0].reshape(T, W), parts[1].reshape(T, W), *parts[2:]


def predict(theta):
    absorb, scatter, clear, forward, crowding, thicker = apart(theta)
    forward = 1 / (1 + np.exp(-forward)) - 0.2
    free = FRACTIONS / (1 + np.exp(crowding) * FRACTIONS)
    ks = free[:, :, None] * np.exp(scatter)
    toward = np.array([phase(g) / (1 - g) for g in forward])
    turn = np.array([turned(g) / (1 - g) for g in forward])
    return film(
        FRACTIONS @ np.exp(absorb),
        ks.sum(1),
        np.einsum("ptw,t->pw", ks, turn),
        np.einsum("ptw,tv->pvw", ks, toward),
        GROUND,
        (GAUGE * np.exp(thicker))[:, None],
        np.exp(clear),
    )


def start():
    levels = np.exp(np.linspace(np.log(1e-4), np.log(30), 25))
    ka, ks = (grid.reshape(-1, 1) for grid in np.meshgrid(levels, levels, indexing="ij"))
    absorb, scatter = np.full((T, W), np.log(0.1)), np.full((T, W), np.log(0.1))
    for toner in range(T):
        alone = [i for i in range(P) if not np.delete(FRACTIONS[i], toner).any()]
        misfit = 0
        for i in alone:
            c, one = FRACTIONS[i, toner], np.ones((1, W))
            beta = film(c * ka * one, c * ks * one, c * ks / 2 * one, (c * ks * one)[:, None, :], GROUND[i], np.array([[GAUGE[i]]]), 0.0)
            misfit = misfit + (lightness(beta[:, 3]) - lightness(BETA[i, 3])) ** 2
        if alone:
            best = np.argmin(misfit, axis=0)
            absorb[toner], scatter[toner] = np.log(ka[best, 0]), np.log(ks[best, 0])
    odds = lambda part: np.log(part / (1 - part))
    rest = [np.full(W, np.log(0.004)), np.full(T, odds(0.35)), np.full(T, np.log(0.3)), np.zeros(P)]
    return np.concatenate([absorb.ravel(), scatter.ravel(), *rest])


def priors(centre):
    """Rows of a linear least-squares prior: (matrix, offset)."""
    sds = np.concatenate([np.full(2 * T * W, 4.0), np.full(W, 1.0), np.full(T, 1.0), np.full(T, 1.2), np.full(P, 0.05)])
    size = len(centre)
    own = csr_matrix((1 / sds, (np.arange(size), np.arange(size))), (size, size))
    r, c, d, count = [], [], [], 0
    for run in range(2 * T + 1):
        sd = 0.3 if run < T else 0.2 if run < 2 * T else 0.05
        for wave in range(1, W - 1):
            for step, weight in [(-1, 1), (0, -2), (1, 1)]:
                r.append(count)
                c.append(run * W + wave + step)
                d.append(weight / sd)
            count += 1
    return vstack([own, csr_matrix((d, (r, c)), (count, size))]).tocsr(), np.concatenate([centre / sds, np.zeros(count)])


def sparsity():
    """Which unknowns each residual depends on."""
    r, c = [], []
    for i in range(P):
        present = [k for k in range(T) if FRACTIONS[i, k] > 0]
        plain = [ENDS[1] + W + k for k in present] + [ENDS[3] + k for k in present] + [ENDS[4] + i]
        for view in range(V):
            for wave in range(W):
                on = [k * W + wave for k in present] + [T * W + k * W + wave for k in present] + [ENDS[1] + wave] + plain
                r += [(i * V + view) * W + wave] * len(on)
                c += on
    return csr_matrix((np.ones(len(r)), (r, c)), (P * V * W, ENDS[-1]))


def fit():
    wanted, theta = lightness(BETA), start()
    prior, offset = priors(theta)
    residuals = lambda x: np.concatenate([(lightness(predict(x)) - wanted).ravel(), prior @ x - offset])
    pattern = vstack([sparsity(), (prior != 0).astype(float)]).tocsr()
    return least_squares(residuals, theta, jac="2-point", jac_sparsity=pattern, ftol=1e-4, max_nfev=40)


def difference(theta):
    """Mean CIEDE2000 over panels and angles, D65, 10 degrees."""
    with open(Path(__file__).parent / "weights.csv", newline="") as file:
        weights = [row for row in csv.DictReader(file) if row["illuminant"] == "D65" and row["observer"] == "10"]
    xyz = np.array([[float(row[nm]) for row in sorted(weights, key=lambda row: row["axis"])] for nm in WAVES])
    lab = lambda beta: colour.XYZ_to_Lab(beta @ xyz / 100, colour.XYZ_to_xy(xyz.sum(0)))
    return float(np.mean(colour.delta_E(lab(BETA), lab(np.maximum(predict(theta), 0)), method="CIE 2000")))


if __name__ == "__main__":
    begun = time.perf_counter()
    found = fit()
    seconds = time.perf_counter() - begun
    answer = {"fits_per_s": 1 / seconds, "seconds": seconds, "mean_de00": difference(found.x), "cost": 2 * found.cost}
    print(json.dumps({**answer, "rounds": found.njev, "panels": P, "unknowns": int(ENDS[-1])}))
