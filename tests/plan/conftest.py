"""Made-up budget problems for the tests of plans, and slow solvers that owe nothing to ours."""

import itertools

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, vstack

from riskmodel.plan.solving.problem import Options

PER_ITEM, PER_VESSEL = 3, 30


@pytest.fixture(scope="session")
def made_fleet():
    """Makes options like a fleet's, and a budget: a share of what one option of every item would cost.

    Thirty items a vessel, three options an item, two in five out of the water; log-normal benefits and costs that go
    together; a haul-out costs 300 to 1,500 of money.
    """

    def make(count, share=0.15, seed=1, cents=1):
        random = np.random.default_rng(seed)
        item = np.arange(count) // PER_ITEM
        vessel = item // PER_VESSEL
        risk, size = random.normal(size=item[-1] + 1)[item], random.normal(size=count)
        cost = (np.exp(np.log(15_000) + 0.9 * size) // cents + 1).astype(np.int64) * cents
        benefit = np.exp(np.log(60) + 0.8 * risk + 0.6 * size + 0.6 * random.normal(size=count))
        hauling = random.integers(30_000, 150_001, vessel[-1] + 1) // cents * cents
        options = Options(item, vessel, benefit, cost, random.random(count) < 0.4, hauling)
        return options, int(share * cost.sum() / PER_ITEM)

    return make


@pytest.fixture(scope="session")
def in_proportion(made_fleet):
    """Makes a fleet whose benefits are a fixed sum and a share of the cost: many plans are nearly as good."""

    def make(count, share=0.3, seed=1, cents=1):
        options, budget = made_fleet(count, share, seed, cents)
        benefit = 30.0 + 0.02 * options.cost
        return Options(
            options.item, options.vessel, benefit, options.cost, options.haul_out, options.haul_out_cost
        ), budget

    return make


@pytest.fixture(scope="session")
def all_tried():
    """The most that can be averted, by trying everything; None where the fixed options cost too much."""

    def tried(options, budget, fixed=()):
        best = None
        settled = {int(options.item[each]): [int(each)] for each in fixed}
        rows = [
            settled.get(int(item), [None, *np.flatnonzero(options.item == item).tolist()])
            for item in np.unique(options.item)
        ]
        for pick in itertools.product(*rows):
            ids = [each for each in pick if each is not None]
            out = {int(options.vessel[each]) for each in ids if options.haul_out[each]}
            cost = sum(int(options.cost[each]) for each in ids)
            if cost + sum(int(options.haul_out_cost[vessel]) for vessel in out) <= budget:
                best = max(best or 0.0, sum(float(options.benefit[each]) for each in ids))
        return best

    return tried


@pytest.fixture(scope="session")
def other_solver():
    """The answer of scipy.optimize.milp (HiGHS) to the whole problem, asked for no gap: the most averted."""

    def solved(options, budget):
        count, vessels = len(options), len(options.haul_out_cost)
        _, item = np.unique(options.item, return_inverse=True)
        items, wide, dry = item.max() + 1, count + vessels, np.flatnonzero(options.haul_out)
        money = coo_array(np.concatenate([options.cost, options.haul_out_cost]).astype(float)[None, :])
        one = coo_array((np.ones(count), (item, np.arange(count))), shape=(items, wide))
        places = np.concatenate([dry, count + options.vessel[dry]])
        signs = np.repeat([1.0, -1.0], len(dry))
        link = coo_array((signs, (np.tile(np.arange(len(dry)), 2), places)), shape=(len(dry), wide))
        most = np.concatenate([[budget], np.ones(items), np.zeros(len(dry))])
        answer = milp(
            -np.concatenate([options.benefit, np.zeros(vessels)]),
            constraints=LinearConstraint(vstack([money, one, link]).tocsr(), -np.inf, most),
            integrality=np.ones(wide),
            bounds=Bounds(0, 1),
            options={"mip_rel_gap": 0},
        )
        assert answer.mip_gap == 0
        return -answer.fun

    return solved
