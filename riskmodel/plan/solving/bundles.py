"""Moves gathered into what is decided together: an item alone, or a vessel that may change its mode."""

from __future__ import annotations

import numpy as np

from riskmodel.plan.solving.candidates import Places
from riskmodel.plan.solving.exact import Bundle, Layer
from riskmodel.plan.solving.moves import Moves, Vessels


def bundles_of(moves: Moves, vessels: Vessels) -> list[Bundle]:
    """The bundles of ``moves``; a bundle's move numbers are places in them.

    A vessel whose change of mode is among the moves is one bundle; of any other every item is one.
    """
    change = np.flatnonzero(moves.item < 0)
    opened = np.zeros(len(vessels.prefers), dtype=bool)
    opened[moves.vessel[change]] = True
    usual = moves.mode == vessels.prefers[moves.vessel]
    alone = np.flatnonzero(~opened[moves.vessel] & usual & (moves.item >= 0))
    bundles = [Bundle([layer], None, []) for layer in _layers(moves, alone)]
    together = np.flatnonzero(opened[moves.vessel] & (moves.item >= 0))
    together = together[np.argsort(moves.vessel[together], kind="stable")]
    ends = np.searchsorted(moves.vessel[together], moves.vessel[change], side="right")
    starts = np.searchsorted(moves.vessel[together], moves.vessel[change], side="left")
    for number, start, end in zip(change, starts, ends, strict=True):
        mine = together[start:end]
        layers = _layers(moves, mine[usual[mine]])
        bundles.append(Bundle(layers, _layer(moves, np.array([number])), _layers(moves, mine[~usual[mine]])))
    return bundles


def _layers(moves: Moves, which: Places) -> list[Layer]:
    """One layer an item, those that lose least a cent first."""
    if not len(which):
        return []
    order = which[np.argsort(moves.item[which], kind="stable")]
    item = moves.item[order]
    layers = [_layer(moves, each) for each in np.split(order, np.flatnonzero(item[1:] != item[:-1]) + 1)]
    return sorted(layers, key=lambda layer: float(np.min(layer.loss / np.abs(layer.extra))))


def _layer(moves: Moves, which: Places) -> Layer:
    return Layer(which, moves.loss[which], moves.extra[which])
