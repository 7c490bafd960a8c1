"""Times colour-science's CIEDE2000 on a million numpy pairs and prints one line of JSON.

Needs colour-science in the Python that runs it, as make_reference.py says. Printed is the best of
five runs, after one to warm up.
"""

import json
import time
import warnings

import numpy as np

warnings.filterwarnings("ignore")  # optional plotting libraries are not needed
from colour.difference import delta_E_CIE2000  # noqa: E402

PAIRS = 1_000_000
RUNS = 5


def main():
    random = np.random.default_rng(1)
    low, high = [0, -100, -100], [100, 100, 100]
    first = random.uniform(low, high, (PAIRS, 3))
    second = random.uniform(low, high, (PAIRS, 3))
    delta_E_CIE2000(first, second)
    best = min(timed(first, second) for _ in range(RUNS))
    print(json.dumps({"pairs_per_s": PAIRS / best}))


def timed(first, second):
    start = time.perf_counter()
    delta_E_CIE2000(first, second)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
