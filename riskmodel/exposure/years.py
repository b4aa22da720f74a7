"""A book's year, draw by draw: the total on a money lattice by multiplying exact factors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.groups import (
    ComplexArray,
    Part,
    boat_groups,
    by_blocks,
    draw_blocks,
    mixed,
    of_equal,
    product_of,
)
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.payouts import on_points
from riskmodel.exposure.together import (
    BETWEEN_LOOKS,
    NEGLIGIBLE,
    lone_rows,
    places_with_boats,
    sized_in_years,
    times_place,
)
from riskmodel.exposure.window import Mixture, limits

# Points of the lattice: the step is below a hundredth of the deviation, and `errors` says what that does.
POINTS = 2**13
# Sizes of loss that the limits of a total are worked out from, each a fixed factor above the one below.
SIZES_OF_LIMITS, SPAN_OF_LIMITS = 48, 2.0**20


@dataclass(frozen=True, eq=False)
class Years:
    """Totals of a year by draw: ``pmf`` (D, points) on ``lattice``, and the transforms it came from, ``spectrum``
    (D, f) at ``frequencies`` (f,)."""

    lattice: Lattice
    pmf: FloatArray
    spectrum: ComplexArray
    frequencies: npt.NDArray[np.intp]


def years_of(parts: Sequence[Part], lattice: Lattice) -> Years:
    """The total by draw: boats are independent given a draw and the year of their place, and each is as in one of
    ``parts``, by its share.

    A boat's factor is the product over groups of end states that exclude each other of 1 + sum p (phi - 1), mixed over
    the parts; a place's is the product over its boats, mixed over the years it may have. Every factor has modulus at
    most 1, so a frequency is dropped once it is negligible in every draw.
    """
    frequencies = np.arange(lattice.points // 2 + 1)
    draws = parts[0].book.chance.shape[2]
    spectrum = np.ones((draws, len(frequencies)), dtype=complex)
    count, shares = parts[0].book.count, [part.share for part in parts]
    for number, boat in enumerate(lone_rows(parts[0])):
        groups = [boat_groups(part, boat, lattice, frequencies) for part in parts]
        for some in draw_blocks(draws, len(frequencies)):
            one = mixed(shares, [product_of(each, some) for each in groups])
            spectrum[some] *= of_equal(one, count[boat])
        if number % BETWEEN_LOOKS == BETWEEN_LOOKS - 1:
            kept = np.abs(spectrum).max(axis=0) > NEGLIGIBLE
            if not kept.all():
                spectrum, frequencies = spectrum[:, kept], frequencies[kept]
    for _, rows in places_with_boats(parts[0]):
        spectrum, frequencies = times_place(parts, rows, lattice, spectrum, frequencies)
    return Years(lattice, _chances(spectrum, frequencies, lattice), spectrum, frequencies)


def _chances(spectrum: ComplexArray, frequencies: npt.NDArray[np.intp], lattice: Lattice) -> FloatArray:
    whole = np.zeros((len(spectrum), lattice.points // 2 + 1), dtype=complex)
    whole[:, frequencies] = spectrum
    turned = np.roll(np.fft.irfft(whole, lattice.points, axis=1), -(lattice.first % lattice.points), axis=1)
    return np.maximum(turned, 0.0)


def lattice_for(parts: Sequence[Part], points: int = POINTS) -> Lattice:
    """A lattice outside which no draw's total falls but for a chance of window.OUTSIDE on either side."""
    number, sizes, places = expected_numbers(parts)
    if not sizes.any():
        return Lattice(1.0, 0, 2, True)
    # Slopes at which a limit is infinite are passed over.
    with np.errstate(over="ignore"):
        low, high = limits(sizes, number, mixtures=places)
        # Room for what the lattice splits between two points.
        spread = 1.1 * float(high.max() - low.min()) / points
        low, high = limits(sizes, number, spread, places)
    lowest, top = float(low.min()), sum(_most(part) for part in parts)
    step = (min(float(high.max()), 1.01 * top) - lowest) / (points - 4)
    return Lattice(step, int(lowest / step), points, False)


def expected_numbers(parts: Sequence[Part]) -> tuple[FloatArray, FloatArray, list[Mixture]]:
    """(D, s) expected yearly numbers of losses of about each size (s,), by draw, spread so as to widen the total.

    Those of boats by themselves; beside them the same of each place, by the year it has.
    """
    most = max(float(part.book.severity.payouts(part.cover).most.max()) for part in parts)
    if most <= 0:
        return np.zeros((1, 1)), np.zeros(1), []
    sizes = np.concatenate([[0.0], np.geomspace(most / SPAN_OF_LIMITS, most, SIZES_OF_LIMITS)])
    number = np.zeros((parts[0].book.chance.shape[2], len(sizes)))
    for boat in lone_rows(parts[0]):
        for part in parts:
            number += _number(part, int(boat), part.sized(boat), sizes)
    mixtures = []
    for places, rows in places_with_boats(parts[0]):
        each = np.zeros((len(places.years), *number.shape))
        for boat in rows:
            for part in parts:
                sized = sized_in_years(part, int(boat))
                each += _number(part, int(boat), sized, sizes).reshape(each.shape)
        mixtures.append(Mixture(places.years, each))
    return number, sizes, mixtures


def _number(part: Part, boat: int, sized: FloatArray, sizes: FloatArray) -> FloatArray:
    often = part.book.count[boat] * part.share * sized.reshape(len(sized), -1)
    return by_blocks(often, on_points(part.payouts(boat), sizes).reshape(-1, len(sizes)))


def _most(part: Part) -> float:
    """The most a book could lose: the worst of each group on every boat."""
    most = part.book.severity.payouts(part.cover).most.max(axis=2)
    return float(
        sum(most[:, list(group)].max(axis=1) @ part.book.count for group in part.book.groups if group)
    )
