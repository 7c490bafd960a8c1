"""Times all marginals of alarm.bif given three findings by pgmpy's variable elimination, and prints one line of JSON.

Needs pgmpy in the Python that runs it. Printed is the median of five runs, after one to warm up.
"""

import json
import pathlib
import statistics
import time

from pgmpy.inference import VariableElimination
from pgmpy.readwrite import BIFReader

RUNS = 5
EVIDENCE = {"BP": "LOW", "HRBP": "HIGH", "CVP": "LOW"}


def main():
    model = BIFReader(str(pathlib.Path(__file__).parent / "alarm.bif")).get_model()
    asked = VariableElimination(model)
    others = [variable for variable in model.nodes() if variable not in EVIDENCE]
    marginals(asked, others)
    median = statistics.median(timed(asked, others) for _ in range(RUNS))
    print(json.dumps({"median_s": median, "updates_per_s": 1 / median}))


def timed(asked, others):
    start = time.perf_counter()
    marginals(asked, others)
    return time.perf_counter() - start


def marginals(asked, others):
    """Each by a query of its own; one query for all would ask for their joint distribution."""
    return [asked.query([variable], EVIDENCE, show_progress=False) for variable in others]


if __name__ == "__main__":
    main()
