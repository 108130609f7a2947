"""Holds the quantiles of all continuous distributions against SciPy's, in both tails from 1e-12 on.

usage: referee_scipy.py PROGRAM, which is quantile_table"""
import subprocess
import sys

import numpy
from scipy import integrate, special, stats

MOST = 1e-9


def law(kind, p):
    """The distribution as SciPy has it."""
    if kind in ("normal", "measured"):
        return stats.norm(p[0], p[1])
    if kind == "lognormal":
        return stats.lognorm(p[1], scale=p[0])
    if kind == "uniform":
        return stats.uniform(p[0], p[1] - p[0])
    if kind == "measured_within":
        return stats.uniform(p[0] - p[1], 2 * p[1])
    if kind == "triangular":
        return stats.triang((p[1] - p[0]) / (p[2] - p[0]), p[0], p[2] - p[0])
    if kind == "truncated_normal":
        return stats.truncnorm((p[2] - p[0]) / p[1], (p[3] - p[0]) / p[1], p[0], p[1])
    if kind == "beta":
        return stats.beta(p[0], p[1])
    if kind == "weibull":
        return stats.weibull_min(p[0], scale=p[1])
    return stats.t(p[2], p[0], p[1])


def area(density, low, high):
    return integrate.quad(density, low, high, epsabs=0, epsrel=1e-13, limit=200)[0]


def tail_and_density(kind, p, side, value):
    """Probability of the tail that begins at a value, and the density there, for kinds whose quantiles SciPy loses digits of."""
    if kind == "von_mises":
        angle = numpy.radians(abs(value - p[0]))
        whole = 2 * numpy.pi * special.ive(0, p[1])
        return (area(lambda t: numpy.exp(p[1] * (numpy.cos(t) - 1)), angle, numpy.pi) / whole,
                numpy.radians(numpy.exp(p[1] * (numpy.cos(angle) - 1)) / whole))
    scipys = law(kind, p)
    if kind == "truncated_normal":
        whole = area(lambda x: numpy.exp(-0.5 * ((x - p[0]) / p[1]) ** 2), p[2], p[3])
        ends = (p[2], value) if side == "lower" else (value, p[3])
        return (area(lambda x: numpy.exp(-0.5 * ((x - p[0]) / p[1]) ** 2) / whole, *ends),
                numpy.exp(-0.5 * ((value - p[0]) / p[1]) ** 2) / whole)
    return (scipys.cdf(value) if side == "lower" else scipys.sf(value)), scipys.pdf(value)


def error_of(kind, p, side, tail, value):
    """Relative error of the place. Where SciPy's own quantile goes through 1 - p or stops early, its distribution function judges."""
    if kind in ("von_mises", "truncated_normal", "student_t", "lognormal", "weibull"):
        if kind == "von_mises" and (value < p[0]) != (side == "lower"):
            return 1.0
        got, density = tail_and_density(kind, p, side, value)
        return abs(got - tail) / (density * abs(value))
    wanted = law(kind, p).ppf(tail) if side == "lower" else law(kind, p).isf(tail)
    return abs(value - wanted) / abs(wanted)


def main():
    rows = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.split()
    worst, kinds, n_bad = {}, set(), 0
    for row in rows:
        kind, *numbers = row.split(",")
        p, side, tail, value = [float(x) for x in numbers[:4]], numbers[4], float(numbers[5]), float(numbers[6])
        error = error_of(kind, p, side, tail, value)
        kinds.add(kind)
        worst[kind] = max(worst.get(kind, 0.0), error)
        if not error <= MOST:
            n_bad += 1
            print(f"{kind} {p} {side} tail {tail:g}: {value:.17g} is off by {error:.2g}")
    for kind in sorted(kinds):
        print(f"{kind}: worst relative error {worst[kind]:.2g}")
    if len(kinds) != 11 or len(rows) != 22 * 16:
        sys.exit(f"wanted 11 kinds and 352 rows, got {len(kinds)} and {len(rows)}")
    sys.exit(n_bad > 0)


main()
