"""Places in a book's year: the product over a place's boats for each year that it may have, and their mixture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.groups import (
    ComplexArray,
    Frequencies,
    Group,
    Part,
    boat_groups,
    draw_blocks,
    mixed,
    of_equal,
    product_of,
)
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.places import Places, Rows

# Boats between two looks at which frequencies still matter.
BETWEEN_LOOKS = 8
# A modulus below this, times the points of a lattice, is below the last digit of a chance.
NEGLIGIBLE = 1e-20


def lone_rows(part: Part) -> Rows:
    """Rows of boats that share no place."""
    return np.arange(part.book.rows) if part.places is None else part.places.alone


def places_with_boats(part: Part) -> tuple[tuple[Places, Rows], ...]:
    """The places of more than one boat, each with its rows."""
    return () if part.places is None else tuple((part.places, rows) for rows in part.places.together)


def times_place(
    parts: Sequence[Part],
    rows: Rows,
    lattice: Lattice,
    spectrum: ComplexArray,
    frequencies: Frequencies,
) -> tuple[ComplexArray, Frequencies]:
    """A book's transforms (D, f) times those of one place, mixed over its years; negligible frequencies dropped."""
    places = parts[0].places
    assert places is not None
    each = np.ones((len(places.years), *spectrum.shape), dtype=complex)
    for number, boat in enumerate(rows):
        times_boat(each, parts, int(boat), lattice, frequencies)
        if number % BETWEEN_LOOKS == BETWEEN_LOOKS - 1:
            kept = (np.abs(spectrum) * np.abs(each).max(axis=0)).max(axis=0) > NEGLIGIBLE
            if not kept.all():
                each, spectrum, frequencies = each[:, :, kept], spectrum[:, kept], frequencies[kept]
    return spectrum * over_years(places, each), frequencies


def over_years(places: Places, each: ComplexArray) -> ComplexArray:
    """(D, f) mixture of what a place's years come to, (Y, D, f)."""
    found: ComplexArray = places.years[0][:, None] * each[0]
    for share, one in zip(places.years[1:], each[1:], strict=True):
        found += share[:, None] * one
    return found


def times_boat(
    each: ComplexArray, parts: Sequence[Part], boat: int, lattice: Lattice, frequencies: Frequencies
) -> None:
    """Multiply what a place's years come to (Y, D, f) by the factor that one row of it has in each of them."""
    split = [by_year(part, boat, boat_groups(part, boat, lattice, frequencies)) for part in parts]
    count, shares = parts[0].book.count[boat], [part.share for part in parts]
    for some in draw_blocks(*each.shape[1:]):
        plain = [product_of(same, some) for same, _ in split]
        for year, found in enumerate(each):
            factors = [
                one * product_of(struck[year], some) for one, (_, struck) in zip(plain, split, strict=True)
            ]
            found[some] *= of_equal(mixed(shares, factors), count)


def by_year(part: Part, boat: int, groups: list[Group]) -> tuple[list[Group], list[list[Group]]]:
    """A boat's groups that no spell touches, and the others as they are in each year of its place."""
    places = part.places
    assert places is not None
    same = [group for group in groups if not places.touches(group.states)]
    struck = [group for group in groups if places.touches(group.states)]
    years = range(len(places.years))
    return same, [[_in_year(group, places, boat, year) for group in struck] for year in years]


def _in_year(group: Group, places: Places, boat: int, year: int) -> Group:
    times = places.of(boat, year, group.states)
    sizes = group.sized.shape[1] // times.shape[1]
    return replace(group, sized=group.sized * np.repeat(times, sizes, axis=1))


def sized_in_years(part: Part, boat: int) -> FloatArray:
    """(Y x D, K, SIZES) chances of one boat's losses in each year of its place, one year's draws after the other's."""
    places, sized = part.places, part.sized(boat)
    assert places is not None
    found = np.repeat(sized[None], len(places.years), axis=0)
    for year, one in enumerate(found):
        one[:, list(places.states)] *= places.of(boat, year, places.states)[:, :, None]
    return found.reshape(-1, *sized.shape[1:])
