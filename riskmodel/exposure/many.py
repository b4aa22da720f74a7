"""The year of a book so large that no single loss shows in it: exact transforms of losses, and no lattice for them.

On a lattice wide enough for the total of a large book every loss falls between the first two points, and splitting it
there would add more spread than chance does. Here the transform of each loss is worked out on sizes of its own, a few
percent apart; the lattice is only where the total is read off, and is fine enough for the narrowest draw.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.groups import Part, draw_blocks, small_product, times_real
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.payouts import on_points
from riskmodel.exposure.smoothing import Spread, closing_spread, kernel, lumpiness
from riskmodel.exposure.tails import inner_products
from riskmodel.exposure.window import limits
from riskmodel.exposure.years import Years

ComplexArray = npt.NDArray[np.complex128]
Draws = npt.NDArray[np.intp]
Block = tuple[Draws, int]
# Sizes of single losses: so many to a doubling, down to this share of the largest.
SIZES_A_DOUBLING, SMALLEST = 24, 2.0**-20
# Points of the lattice in one deviation of the narrowest draw: what is left of a normal's transform beyond is 1e-34.
POINTS_A_DEVIATION = 4.0
MOST_POINTS = 2**19
# Deviations at which a normal's transform is 1e-20: beyond that frequency nothing is worked out.
LAST_DEVIATIONS = 9.6
# What may be left at the last frequency: a book with more there is not large enough to be worked out so.
LEFT = 1e-9
# What is not looked at of the sum that shares out the worst years.
NOTHING = 1e-13
# What is done at a time, where the arithmetic lets other threads on.
THREADS = 2
# Yearly losses in the quietest draw from which a book may be that large.
MANY_LOSSES = 300.0


@dataclass(frozen=True, eq=False)
class Sized:
    """The single losses of a part's rows: ``sizes`` (m,) [currency] and, by row, ``mass`` (K x SIZES, m) on them."""

    sizes: FloatArray
    mass: list[FloatArray]


@dataclass(frozen=True, eq=False)
class DrawMoments:
    """By draw (D,): expected ``number`` of losses, ``mean`` and ``sd`` of the total [currency]; ``low`` and ``high``:
    between which it falls but for window.OUTSIDE. ``split`` [currency squared]: what the sizes add to the variance."""

    number: FloatArray
    mean: FloatArray
    sd: FloatArray
    low: FloatArray
    high: FloatArray
    split: float


def sized_losses(part: Part) -> Sized:
    """Every row's single losses on common sizes, their means kept."""
    payouts = part.book.severity.payouts(part.cover)
    most = float(payouts.most.max())
    doublings = int(-np.log2(SMALLEST))
    sizes = np.concatenate(
        [[0.0], most * np.exp2(np.linspace(-doublings, 0.0, doublings * SIZES_A_DOUBLING + 1))]
    )
    rows = range(part.book.rows)
    return Sized(sizes, [on_points(payouts.take(row), sizes).reshape(-1, len(sizes)) for row in rows])


def draw_moments(part: Part, losses: Sized) -> DrawMoments:
    """Moments of the total in closed form, draw by draw, and its limits."""
    book, sizes = part.book, losses.sizes
    number = np.zeros((book.chance.shape[2], len(sizes)))
    squares = np.zeros(len(number))
    for row, count in enumerate(book.count):
        sized = part.sized(row)
        number += small_product(count * sized.reshape(len(sized), -1), losses.mass[row])
        means = (losses.mass[row] @ sizes).reshape(sized.shape[1:])
        for group in book.groups:
            states = list(group)
            squares += count * np.einsum("dks,ks->d", sized[:, states], means[states]) ** 2
    mean = number @ sizes
    variance = np.maximum(number @ sizes**2 - squares, 0.0)
    low, high = limits(sizes, number)
    # A loss between two sizes is part at either: what it adds goes by the gap between them.
    gaps = np.maximum(np.diff(sizes, prepend=0.0), np.diff(sizes, append=sizes[-1]))
    split = float((number.mean(axis=0) @ gaps**2) / 4.0)
    return DrawMoments(number[:, 1:].sum(axis=1), mean, np.sqrt(variance), low, high, split)


def large_enough(found: DrawMoments) -> bool:
    """Whether single losses drown in the total in every draw."""
    return bool(found.number.min() >= MANY_LOSSES and found.sd.min() > 0)


def closing(found: DrawMoments) -> Spread:
    """How far each draw's total is moved and spread so that no gap between draws shows; nothing where none does."""
    weight = np.full(len(found.mean), 1.0 / len(found.mean))
    if lumpiness(found.mean, found.sd, weight) <= 1.0:
        return Spread(np.zeros(len(weight)), np.zeros(len(weight)))
    return closing_spread(found.mean, weight, found.low)


def reading_lattice(found: DrawMoments, spread: Spread) -> Lattice:
    """Where totals are read off: fine enough for the narrowest draw and wide enough for all of them."""
    first = max(float((found.low + spread.shift - spread.half).min()), 0.0)
    last = float((found.high + spread.shift + spread.half).max())
    step = float(found.sd.min()) / POINTS_A_DEVIATION
    points = min(1 << int(np.ceil(np.log2((last - first) / step + 2.0))), MOST_POINTS)
    step = max(step, (last - first) / (points - 2.0))
    return Lattice(step, int(first / step), points, False)


def many_years(part: Part, losses: Sized, found: DrawMoments, lattice: Lattice) -> Years | None:
    """The total by draw; None where something is left at the last frequency, as in a book that is not large."""
    reach = _reach(found.sd, lattice)
    frequencies = np.arange(int(reach.max()))
    blocks = list(_blocks(reach))
    turns = _turns(losses, lattice, frequencies)
    # Rows by turns, so that both threads have as much to do; what they find is added up in the same order always.
    with ThreadPoolExecutor(THREADS) as pool:
        logs = list(pool.map(lambda first: _logs(part, losses, turns, (blocks, first)), range(THREADS)))
    spectrum = np.zeros((len(found.mean), len(frequencies)), dtype=complex)
    for draws, last in blocks:
        spectrum[draws, :last] = np.exp(sum(log[draws, :last] for log in logs))
    left = max(float(np.abs(spectrum[draws, last - 1]).max()) for draws, last in blocks)
    if len(frequencies) > lattice.points // 2 or left > LEFT:
        return None
    return Years(lattice, on_lattice(spectrum, frequencies, lattice), spectrum, frequencies)


def _logs(part: Part, losses: Sized, turns: ComplexArray, tools: tuple[Sequence[Block], int]) -> ComplexArray:
    """(D, f) logarithms of the transforms of every THREADS-th row from a first one on, added up."""
    blocks, first = tools
    log = np.zeros((part.book.chance.shape[2], turns.shape[1]), dtype=complex)
    for row in range(first, part.book.rows, THREADS):
        sized, moved = part.sized(row), times_real(losses.mass[row], turns) - 1.0
        groups = [_of_group(sized, moved, states) for states in part.book.groups]
        for draws, last in blocks:
            factor = _factor([(mine[draws], one[:, :last]) for mine, one, _ in groups])
            log[draws, :last] += part.book.count[row] * _logarithm(factor)
    return log


def _logarithm(factor: ComplexArray) -> ComplexArray:
    """The logarithm, up to whole turns: of whole numbers of boats they make no difference. Seven times as fast as the
    usual one, which looks out for numbers that a factor of modulus at most 1 never is."""
    found = np.empty_like(factor)
    with np.errstate(divide="ignore"):
        found.real = 0.5 * np.log(factor.real**2 + factor.imag**2)
    found.imag = np.arctan2(factor.imag, factor.real)
    return found


def _reach(sd: FloatArray, lattice: Lattice) -> npt.NDArray[np.intp]:
    """(D,) how many frequencies of each draw are worked out: the wider a draw, the sooner its transform is nothing."""
    reach = np.ceil(LAST_DEVIATIONS * lattice.points * lattice.step / (2.0 * np.pi * sd)) + 1
    found: npt.NDArray[np.intp] = np.minimum(reach, lattice.points // 2 + 1).astype(np.intp)
    return found


def _blocks(reach: npt.NDArray[np.intp]) -> Iterator[Block]:
    """A few draws at a time, of about one reach, with how many frequencies they need."""
    order = np.argsort(reach, kind="stable")
    for some in draw_blocks(len(order), int(np.median(reach))):
        yield order[some], int(reach[order[some]].max())


def on_lattice(spectrum: ComplexArray, frequencies: npt.NDArray[np.intp], lattice: Lattice) -> FloatArray:
    """(..., points) chances from transforms at the first frequencies."""
    whole = np.zeros((*spectrum.shape[:-1], lattice.points // 2 + 1), dtype=complex)
    whole[..., frequencies] = spectrum
    turned = np.roll(np.fft.irfft(whole, lattice.points, axis=-1), -(lattice.first % lattice.points), axis=-1)
    held: FloatArray = np.maximum(turned, 0.0)
    return held


def mixed_total(years: Years, spread: Spread) -> FloatArray:
    """(points,) chances of the total over all draws, gaps between them closed."""
    summed: ComplexArray = np.zeros(years.spectrum.shape[1], dtype=complex)
    for row, shift, half in zip(years.spectrum, spread.shift, spread.half, strict=True):
        moved = kernel(years.lattice, years.frequencies, shift, half) if shift or half else 1.0
        summed = summed + row * moved
    return on_lattice(summed / len(years.spectrum), years.frequencies, years.lattice)


def many_contributions(
    part: Part, losses: Sized, years: Years, weight: FloatArray, spread: Spread
) -> FloatArray:
    """(n, K) E[loss of a row's boats in an end state x weight(total)] over all draws (tails.contributions).

    The total is that whose gaps between draws are closed: what closing them moves belongs to no boat.
    """
    book, lattice = part.book, years.lattice
    points = lattice.points
    turned = np.fft.rfft(np.roll(weight, lattice.first % points))[years.frequencies]
    twice = np.where(years.frequencies == 0, 1.0, 2.0)
    base = years.spectrum * (np.conj(turned) * twice / points)
    for draw, (shift, half) in enumerate(zip(spread.shift, spread.half, strict=True)):
        if shift or half:
            base[draw] *= kernel(lattice, years.frequencies, shift, half)
    bases = [(draws, np.ascontiguousarray(base[draws, :last])) for draws, last in _blocks(_lasting(base))]
    turns = _turns(losses, lattice, years.frequencies)
    with ThreadPoolExecutor(THREADS) as pool:
        rows = pool.map(lambda row: _row_contributions(part, losses, turns, (bases, row)), range(book.rows))
        found = np.array(list(rows))
    return found * (book.count / len(base))[:, None]


def _lasting(base: ComplexArray) -> npt.NDArray[np.intp]:
    """(D,) up to which frequency there is anything in each draw that shows in the sum over all of them."""
    size = np.abs(base)
    after = np.cumsum(size[:, ::-1], axis=1)[:, ::-1]
    found: npt.NDArray[np.intp] = np.maximum((after > NOTHING * size.sum()).sum(axis=1), 1)
    return found


def _row_contributions(
    part: Part, losses: Sized, turns: ComplexArray, tools: tuple[Sequence[tuple[Draws, ComplexArray]], int]
) -> FloatArray:
    """(K,) E[loss of one boat of a row in an end state x weight(total)], added up over the draws."""
    bases, row = tools
    sized, mass = part.sized(row), losses.mass[row]
    # The real part of products is wanted: that of the conjugate's two numbers side by side.
    moved, paid = times_real(mass, turns) - 1.0, np.conj(times_real(mass * losses.sizes, turns))
    found = np.zeros(len(part.book.states))
    for states in part.book.groups:
        mine, one, flat = _of_group(sized, moved, states)
        if not len(flat):
            continue
        cost, summed = paid[flat].view(np.float64), np.zeros(len(flat))
        for draws, base in bases:
            factor = times_real(mine[draws], one[:, : base.shape[1]])
            factor += 1.0
            rest = np.divide(base, factor, out=factor).view(np.float64)
            summed += (mine[draws] * inner_products(rest, cost[:, : rest.shape[1]])).sum(axis=0)
        found += np.bincount(flat // sized.shape[2], summed, len(found))
    return found


def _of_group(
    sized: FloatArray, moved: ComplexArray, states: tuple[int, ...]
) -> tuple[FloatArray, ComplexArray, npt.NDArray[np.intp]]:
    """Chances (D, m) of end states that exclude each other, and transforms less 1 (m, f), by those sizes of bill of
    theirs that some draw has; and the places (m,) of these among all."""
    width = sized.shape[2]
    mine = sized[:, list(states)].reshape(len(sized), -1)
    some = np.flatnonzero(mine.any(axis=0))
    flat = np.array(states, dtype=np.intp)[some // width] * width + some % width
    return np.ascontiguousarray(mine[:, some]), np.ascontiguousarray(moved[flat]), flat


def _factor(groups: Sequence[tuple[FloatArray, ComplexArray]]) -> ComplexArray:
    """(d, f) transform of what one boat of a row costs in a year: the product of its groups'."""
    (mine, moved), *others = groups
    whole = times_real(mine, moved)
    whole += 1.0
    for mine, moved in others:
        whole *= 1.0 + times_real(mine, moved)
    return whole


def _turns(losses: Sized, lattice: Lattice, frequencies: npt.NDArray[np.intp]) -> ComplexArray:
    angle = -2.0 * np.pi * np.outer(losses.sizes, frequencies) / (lattice.points * lattice.step)
    found: ComplexArray = np.exp(1j * angle)
    return found
