"""What may follow once a part lets go, by the state of the barriers, in every scenario of the physics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.hypercube import Hypercube

# The physics is worked out this many times over, each time with all that is uncertain drawn anew.
SCENARIOS = 16
# The scenarios are the nodes of a quadrature: they do not change with the seed a user gives.
SCENARIO_SEED = 4
# None of the barriers of an end state works, the first does, the second does, both do.
BARRIER_STATES = 4


@dataclass(frozen=True)
class Follow:
    """One end state for n kinds of part.

    ``chance`` (n, S, BARRIER_STATES): P(end state | the part lets go) by barrier state; 0 throughout where a kind has
    no such path. ``loss_factor`` (n, S): the loss against the end state's reference loss.
    """

    chance: FloatArray
    loss_factor: FloatArray


def scenarios() -> Hypercube:
    """The hypercube of the scenarios."""
    return Hypercube(SCENARIO_SEED, SCENARIOS)


def whatever_works(chance: FloatArray) -> Follow:
    """A Follow of chances (n, S) that no barrier changes, at the reference loss."""
    every = np.repeat(chance[:, :, None], BARRIER_STATES, axis=2)
    return Follow(every, np.ones_like(chance))
