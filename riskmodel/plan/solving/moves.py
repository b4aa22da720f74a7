"""Departures from the best answer at a price, each with what it loses: those that lose too much are ruled out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.plan.solving.candidates import Candidates, Places
from riskmodel.plan.solving.lagrange import Response
from riskmodel.plan.solving.problem import BoolArray, IntArray

AFLOAT, HAULED = 0, 1


class Moves(NamedTuple):
    """Departures: ``item`` takes ``place`` instead, its vessel being in ``mode`` (AFLOAT or HAULED).

    ``loss`` is what the departure lowers benefit − price × cost by, ``extra`` its further cents, below 0 for money
    saved. A vessel that changes its mode has item −1.
    """

    vessel: Places
    mode: Places
    item: Places
    place: Places
    loss: FloatArray
    extra: IntArray

    def at(self, which: Places | BoolArray) -> Moves:
        """Some of the moves."""
        return Moves(
            self.vessel[which],
            self.mode[which],
            self.item[which],
            self.place[which],
            self.loss[which],
            self.extra[which],
        )


@dataclass(frozen=True)
class Vessels:
    """Per vessel: ``loss`` (2, vessels) of being in each mode (infinite where it has nothing to do there), and the
    ``extra`` (vessels,) cents of the mode it does not prefer."""

    loss: FloatArray
    extra: IntArray
    prefers: Places


def vessel_modes(given: Candidates, answer: Response) -> Vessels:
    """What each vessel loses in the mode that it does not prefer."""
    count = len(given.haul_out_cost)
    cost = [
        np.bincount(given.vessel, given.cost[pick], minlength=count).astype(np.int64) for pick in answer.pick
    ]
    loss = np.stack([np.maximum(answer.gain, 0.0), np.maximum(-answer.gain, 0.0)])
    able = np.zeros(count, dtype=bool)
    able[given.vessel[given.hauled.items]] = True
    loss[HAULED, ~able] = np.inf
    hauling = cost[HAULED] + given.haul_out_cost - cost[AFLOAT]
    return Vessels(loss, np.where(answer.hauled, -hauling, hauling), answer.hauled.astype(np.intp))


def item_moves(given: Candidates, answer: Response, vessels: Vessels, most: float) -> Moves:
    """Every departure of an item that, with its vessel's, loses at most ``most`` (Lagrangian probing)."""
    found = [
        each
        for mode, places in ((AFLOAT, given.afloat.place), (HAULED, np.arange(given.nothing)))
        for each in (
            _options(given, answer, vessels, mode, places, most),
            _nothing(given, answer, vessels, mode, most),
        )
    ]
    return Moves(*(np.concatenate(column) for column in zip(*found, strict=True)))


def _options(
    given: Candidates, answer: Response, vessels: Vessels, mode: int, places: Places, most: float
) -> Moves:
    item = given.item[places]
    loss = answer.score[mode][item] - (given.benefit[places] - answer.price * given.cost[places])
    kept = vessels.loss[mode][given.vessel[item]] + loss <= most
    return _moves(given, answer, mode, item[kept], places[kept], loss[kept])


def _nothing(given: Candidates, answer: Response, vessels: Vessels, mode: int, most: float) -> Moves:
    loss = answer.score[mode]
    item = np.flatnonzero(vessels.loss[mode][given.vessel] + loss <= most)
    return _moves(given, answer, mode, item, np.full(len(item), given.nothing), loss[item])


def _moves(
    given: Candidates, answer: Response, mode: int, item: Places, place: Places, loss: FloatArray
) -> Moves:
    extra = given.cost[place] - given.cost[answer.pick[mode][item]]
    modes = np.full(len(item), mode)
    # Less benefit for the same money is never worth a thought.
    return Moves(given.vessel[item], modes, item, place, np.maximum(loss, 0.0), extra).at(extra != 0)


def near_moves(moves: Moves, vessels: Vessels, count: int) -> Moves:
    """Of the moves that leave their vessel in the mode it prefers, the ``count`` that lose least a cent."""
    kept = moves.at(moves.mode == vessels.prefers[moves.vessel])
    if len(kept.item) <= count:
        return kept
    return kept.at(np.argpartition(kept.loss / np.abs(kept.extra), count)[:count])


def vessel_moves(vessels: Vessels, most: float) -> Moves:
    """The change of mode of every vessel that loses at most ``most`` by it."""
    vessel = np.flatnonzero(vessels.loss.max(axis=0) <= most)
    nothing = np.full(len(vessel), -1)
    loss = vessels.loss.max(axis=0)[vessel]
    return Moves(vessel, 1 - vessels.prefers[vessel], nothing, nothing, loss, vessels.extra[vessel])


def none_made() -> Moves:
    """No moves at all."""
    return Moves(*(np.zeros(0, dtype=kind) for kind in (int, int, int, int, float, int)))


def joined(first: Moves, second: Moves) -> Moves:
    """The moves of ``first`` and after them those of ``second``."""
    return Moves(*(np.concatenate(pair) for pair in zip(first, second, strict=True)))


def after(given: Candidates, answer: Response, vessels: Vessels, made: Moves) -> IntArray:
    """The option ids, rising, of the answer once the moves ``made``."""
    mode = vessels.prefers.copy()
    changed = made.item < 0
    mode[made.vessel[changed]] = made.mode[changed]
    place = answer.pick[mode[given.vessel], np.arange(len(given.vessel))]
    place[made.item[~changed]] = made.place[~changed]
    return np.sort(given.option[place[place != given.nothing]])
