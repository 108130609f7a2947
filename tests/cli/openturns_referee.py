"""OpenTURNS (Debian's python3-openturns, a general library of uncertainty) as referee of `rank`: first-order and total indices from the
same rows of the paired design, and rank correlations from the same flights. Usage: openturns_referee.py PROGRAM

Which of its estimators is which: MauntzKucherenko's first-order index is the mean of b(c_i - a) over the variance, Saltelli 2010's;
Jansen's total index is the mean of (a - c_i)^2 over twice the variance. It takes the variance of the first matrix, with n - 1, and
centres by all of its columns; `rank` takes variance and mean of the first two. The ratio of the variances is allowed for here, the
rest is of the order of 1/n. Its Saltelli estimator is of the older form, without -a, and so less sure: held to the interval's reach."""
import json
import math
import tempfile
from pathlib import Path

import h5py
import numpy as np
import openturns as ot

from asking import finish, must, near, normal, uniform

ROWS = 4096
ISHIGAMI = "sin(x1) + 7*sin(x2)^2 + 0.1*x3^4*sin(x1)"
G = "*".join(f"((abs(4*x{i + 1} - 2) + {a})/(1 + {a}))" for i, a in enumerate((0, 1, 4.5, 9)))
LINEAR = "3*x1 + 2*x2 + x3 + 0.5*x4"


def fly(folder, formula, inputs, plan, flights):
    file, store = folder / "c.json", folder / "s.h5"
    store.unlink(missing_ok=True)
    file.write_text(json.dumps({
        "name": "refereed", "run": {"flights": flights, "seed": 21, "plan": plan}, "formula": formula,
        "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(inputs)],
        "criteria": [{"name": "safe", "measure": "result", "at_least": 0, "odds": 0.9, "confidence": 0.95}],
        "all_together": {"odds": 0.9, "confidence": 0.95}}))
    must("fly", file, "-o", store, "-q")
    with h5py.File(store) as kept:
        y = kept["measures/result"][()]
        x = np.stack([kept[f"quantities/inputs[{i}].value"][()] for i in range(len(inputs))], axis=1)
    return json.loads(must("rank", store, "--of", "result", "--json")), x, y


def hold_indices(folder, name, formula, inputs):
    n = len(inputs)
    answer, x, y = fly(folder, formula, inputs, "paired", ROWS * (n + 2))
    x, y = x.reshape(ROWS, n + 2, n), y.reshape(ROWS, n + 2)
    # Its order: the first matrix, the second, then the first with one column of the second after the other.
    design = ot.Sample(np.concatenate([x[:, place] for place in range(n + 2)]))
    output = ot.Sample(np.concatenate([y[:, place] for place in range(n + 2)])[:, None])
    ours = {row["path"]: row for row in answer["paired_design"]["quantities"]}
    ratio = y[:, 0].var(ddof=1) / y[:, :2].var()
    first = ot.MauntzKucherenkoSensitivityAlgorithm(design, output, ROWS).getFirstOrderIndices()
    total = ot.JansenSensitivityAlgorithm(design, output, ROWS).getTotalOrderIndices()
    older = ot.SaltelliSensitivityAlgorithm(design, output, ROWS).getFirstOrderIndices()
    for index in range(n):
        row = ours[f"inputs[{index}].value"]
        near(f"{name}: x{index + 1} alone", row["alone"]["value"], first[index] * ratio, 3e-4)
        near(f"{name}: x{index + 1} in all", row["in_all"]["value"], total[index] * ratio, 3e-4)
        low, high = row["alone"]["interval"]
        near(f"{name}: x{index + 1} alone, older form", row["alone"]["value"], older[index] * ratio, max(high - low, 0.02) + 0.04)


def hold_correlations(folder, name, formula, inputs, flights):
    answer, x, y = fly(folder, formula, inputs, "plain", flights)
    wanted = ot.CorrelationAnalysis(ot.Sample(x), ot.Sample(y[:, None])).computeSpearmanCorrelation()
    rows = {row["path"]: row for row in answer["quantities"]}
    for index in range(len(inputs)):
        near(f"{name}: rank correlation of x{index + 1}", rows[f"inputs[{index}].value"]["rank_correlation"]["value"], wanted[index], 1e-9)


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    hold_indices(folder, "Ishigami", ISHIGAMI, 3 * [uniform(-math.pi, math.pi)])
    hold_indices(folder, "g", G, 4 * [uniform(0, 1)])
    hold_indices(folder, "linear Gaussian", LINEAR, 4 * [normal(0, 1)])
    hold_indices(folder, "pure interaction", "x1*x2 + 0*x3", 3 * [normal(0, 1)])
    hold_correlations(folder, "Ishigami", ISHIGAMI, 3 * [uniform(-math.pi, math.pi)], 10000)
    hold_correlations(folder, "linear Gaussian", LINEAR, 4 * [normal(0, 1)], 20000)
    hold_correlations(folder, "with ties", "floor(4*x1) + floor(3*x2)", 2 * [uniform(0, 1)], 5000)
finish()
