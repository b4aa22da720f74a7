"""Gaps between the nodes of a mixture: how wide they are against what a year does at a node, and how to close them.

A quadrature keeps means and variances; its curve is another thing. Where the book is so large that its year at
a node is narrower than the gap to the next, the curve is a row of lumps. A sum of normals of deviation s at
equal gaps g is smooth but for ripples of 2 exp(-2 pi² s² / g²) (Poisson's summation): 5e-9 at a gap of one
deviation, 1.4 % at two.

Where the nodes stand for a parameter that varies without steps, each year's total is spread over a triangle
that reaches its neighbours, and the nodes are drawn a little together, so that mean and variance stay as they
were.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.transforms import ComplexArray, Frequencies, roots

# Nodes of less weight show in no curve.
WEIGHTLESS = 1e-9
# A triangle of half-width g has this share of g² for its variance.
TRIANGLE = 1.0 / 6.0


@dataclass(frozen=True, eq=False)
class Spread:
    """By how much each node's total moves, ``shift`` (z,), and over what it spreads, ``half`` (z,) [currency]."""

    shift: FloatArray
    half: FloatArray


def lumpiness(mean: FloatArray, sd: FloatArray, weight: FloatArray) -> float:
    """The widest gap between neighbouring nodes' means (z,), in the deviations their years have; 0 for one node."""
    some = weight > WEIGHTLESS
    order = np.argsort(mean[some], kind="stable")
    gaps = np.diff(mean[some][order])
    if not gaps.size or not gaps.max() > 0:
        return 0.0
    deviations = sd[some][order]
    beside = np.sqrt(0.5 * (deviations[1:] ** 2 + deviations[:-1] ** 2))
    return float(np.max(gaps / np.maximum(beside, np.finfo(float).tiny)))


def closing_spread(mean: FloatArray, weight: FloatArray, room: FloatArray) -> Spread:
    """The triangles that close the gaps, none wider than ``room`` (z,): what lies between a node's total and 0."""
    order = np.argsort(mean, kind="stable")
    gaps = np.diff(mean[order])
    half = np.zeros(len(mean))
    half[order] = np.maximum(np.append(gaps, 0.0), np.insert(gaps, 0, 0.0))
    half = np.minimum(half, room)
    centre = mean @ weight
    between = float(weight @ (mean - centre) ** 2)
    kept = max(1.0 - TRIANGLE * float(weight @ half**2) / between, 0.0) if between > 0 else 1.0
    return Spread((np.sqrt(kept) - 1.0) * (mean - centre), half)


def kernel(lattice: Lattice, frequencies: Frequencies, shift: float, half: float) -> ComplexArray:
    """(f,) transform of a triangle on the lattice, its centre moved by ``shift`` with the mean kept exactly.

    A triangle is two even runs of points one after the other, so it has no mass below 0.
    """
    run = max(round(half / lattice.step), 1)
    root = roots(lattice, frequencies)
    away = shift / lattice.step
    lower = int(np.floor(away))
    share = away - lower
    moved = np.exp(-2j * np.pi / lattice.points * ((frequencies * (lower - run + 1)) % lattice.points))
    one = np.where(root == 1.0, run, (1.0 - root**run) / np.where(root == 1.0, 1.0, 1.0 - root)) / run
    found: ComplexArray = moved * (1.0 - share + share * root) * one * one
    return found
