"""Sums by point of a lattice, and their transforms: the sign and the layout that all of this package shares."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice

ComplexArray = npt.NDArray[np.complex128]
# Which frequencies, of the points // 2 + 1 that the transform of real masses has.
Frequencies = npt.NDArray[np.intp]


def add_at(summed: FloatArray, index: IntArray, mass: FloatArray, factor: float = 1.0) -> None:
    """Adds ``factor`` times masses to an array of a power of two points, at points counted modulo their number."""
    point = index & (len(summed) - 1)
    # For few masses a pass over the whole array would cost more.
    if len(summed) <= 4 * len(index):
        found = np.bincount(point, mass)
        summed[: len(found)] += found if factor == 1.0 else factor * found
    else:
        np.add.at(summed, point, mass if factor == 1.0 else factor * mass)


def transform(summed: FloatArray) -> ComplexArray:
    """Sum of mass exp(-2 pi i f point / points) at every frequency f of the half."""
    found: ComplexArray = np.fft.rfft(summed)
    return found


def roots(lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) w = exp(-2 pi i f / points): the transform of a loss of one step."""
    found: ComplexArray = np.exp(-2j * np.pi / lattice.points * frequencies)
    return found


def chances(spectrum: ComplexArray, lattice: Lattice) -> FloatArray:
    """(points,) chances of the lattice's totals, from the whole half spectrum (points // 2 + 1,).

    What rounding leaves below 0 is set to 0: its size is that of the last digits, and says nothing.
    """
    if lattice.points == 1:
        return np.ones(1)
    found: FloatArray = np.roll(np.fft.irfft(spectrum, lattice.points), -(lattice.first % lattice.points))
    return np.maximum(found, 0.0, out=found)
