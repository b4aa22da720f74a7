"""How a part's chance of letting go builds up over the time ahead, as it stands and as a new one would."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.frames import places_by
from riskmodel.risk.chances import chance_of_any, chance_of_one, drawn_parameters, middle_parameters
from riskmodel.risk.draws import Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import Learned, installed_on
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.parts import as_new


@dataclass(frozen=True)
class Ahead:
    """Chance (items, times) that a part lets go for the first time by each time: ``standing``, and ``fresh`` were it
    new today; both at the middle of what is believed of its class."""

    standing: FloatArray
    fresh: FloatArray


def chances_ahead(learned: Learned, times: FloatArray, *, seed: int = 1) -> Ahead:
    """How each part's chance builds up over ``times`` (items, k) [years from the day, 0 or more].

    At one middle life of each class: a share of what the assessment says of a part, not its chance. Known defects
    and what later looks would find are left aside.
    """
    fleet, lives, trade = learned.fleet, learned.lives, learned.trade
    draws = Draws(seed)
    looks = clean_looks(fleet, installed_on(lives))
    class_of = looks["item_id"].map(fleet.items.set_index("item_id")["item_class"])
    looked = places_by(class_of)
    found = Ahead(np.zeros_like(times), np.zeros_like(times))
    for name, place in places_by(fleet.items["item_class"]).items():
        rows = learned.where.iloc[place].reset_index(drop=True)
        mine = looks.iloc[looked.get(name, slice(0))]
        parts, _, _ = gather_parts(trade.classes[name], rows, lives, mine, (trade, draws))
        hours = lives.clocks[name].by_hours if name in lives.clocks else None
        middle = middle_parameters(drawn_parameters(name, lives.posterior[name], hours, draws))
        new = as_new(parts)
        for column in range(times.shape[1]):
            horizon = times[place, column]
            for into, some in ((found.standing, parts), (found.fresh, new)):
                one = chance_of_one(some, middle, horizon)
                into[place, column] = chance_of_any(one, some.quantity)[:, 0]
    return found
