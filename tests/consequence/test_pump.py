"""What a pump throws by head and hindrance, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding import pump_flow
from riskmodel.consequence.flooding.pump import (
    BEND_LOSS,
    CHECK_VALVE_LOSS,
    HALF_FLOW_HEAD,
    SHUT_OFF_HEAD,
    PumpCurve,
    delivered_share,
    flow_at_head,
)
from riskmodel.errors import ParameterError
from riskmodel.trade import load_trade

RATED = 1e-3
HEADS = st.floats(0, 10)
SHUT_OFFS = st.floats(0.5, 10)
SHARES = st.floats(0.02, 0.98)


def test_the_rated_flow_comes_at_no_head_without_a_hose():
    assert pump_flow(RATED, 0.0) == RATED


def test_half_the_flow_comes_at_the_half_flow_head_and_none_from_shut_off_on():
    heads = np.array([HALF_FLOW_HEAD, SHUT_OFF_HEAD, 2 * SHUT_OFF_HEAD])
    np.testing.assert_allclose(pump_flow(RATED, heads), [RATED / 2, 0, 0])


def test_a_pump_that_loses_half_at_half_its_shut_off_head_has_a_straight_curve():
    heads = np.linspace(0, 4, 9)
    np.testing.assert_allclose(
        pump_flow(RATED, heads, shut_off_head=4, half_flow_head=2), RATED * (1 - heads / 4)
    )


@pytest.mark.parametrize(("half", "bulges"), [(0.5, -1), (3.0, 1)])
def test_a_curve_sags_or_bulges_with_its_half_flow_head(half, bulges):
    heads = np.linspace(0.1, 3.9, 20)
    flow = flow_at_head(PumpCurve(RATED, 4.0, half), heads)
    assert (bulges * (flow - RATED * (1 - heads / 4)) > 0).all()


@given(HEADS, HEADS, SHUT_OFFS, SHARES)
def test_more_head_never_gives_more_and_no_head_never_more_than_rated(head, more, shut_off, share):
    low, high = sorted((head, more))
    curve = PumpCurve(RATED, shut_off, shut_off * share)
    assert 0 <= flow_at_head(curve, high) <= flow_at_head(curve, low) <= RATED


@given(HEADS, st.integers(0, 6), st.integers(0, 6), st.integers(0, 2), st.integers(0, 2))
def test_more_bends_or_valves_never_give_more(head, bends, more_bends, valves, more_valves):
    few, many = sorted((bends, more_bends)), sorted((valves, more_valves))
    free = pump_flow(RATED, head, bends=few[0], check_valves=many[0])
    hindered = pump_flow(RATED, head, bends=few[1], check_valves=many[1])
    assert 0 <= hindered <= free <= RATED


@given(st.floats(0, 1), st.floats(0, 1), HEADS)
def test_a_larger_pump_never_throws_less(rated, larger, head):
    small, large = sorted((rated, larger))
    assert pump_flow(small, head) <= pump_flow(large, head)


def test_losses_follow_one_another():
    assert delivered_share() == 1
    assert delivered_share(2) == pytest.approx((1 - BEND_LOSS) ** 2)
    assert delivered_share(2, 1) == pytest.approx((1 - BEND_LOSS) ** 2 * (1 - CHECK_VALVE_LOSS))
    assert delivered_share(hose_length=3, hose_loss=0.05) == pytest.approx(0.95**3)
    assert delivered_share(30) > 0


def test_a_check_valve_may_be_a_count_or_yes_and_no():
    np.testing.assert_array_equal(delivered_share(0, [True, False]), delivered_share(0, [1, 0]))


def test_everything_broadcasts():
    flow = pump_flow(np.full((3, 1), RATED), np.array([0.5, 1.0]), bends=np.ones((4, 1, 1)))
    assert flow.shape == (4, 3, 2)


def test_the_losses_are_those_the_trade_tables_state():
    rows = {row.condition: row for row in load_trade().practice if row.measure == "flow_loss"}
    bend, valve = rows["each right-angle bend"], rows["each check valve"]
    assert pytest.approx(BEND_LOSS) == (bend.low + bend.high) / 2
    assert pytest.approx(CHECK_VALVE_LOSS) == (valve.low + valve.high) / 2


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: pump_flow(-RATED, 1), "rated_flow must be 0 or more and finite"),
        (lambda: pump_flow(np.nan, 1), "rated_flow must be 0 or more and finite, got nan"),
        (lambda: pump_flow(RATED, -1), "static_head must be 0 or more and finite, got -1.0"),
        (lambda: pump_flow(RATED, [1, np.nan]), "static_head must be .* got nan at position 1"),
        (lambda: pump_flow(RATED, 1, bends=-1), "bends must be 0 or more"),
        (lambda: pump_flow(RATED, 1, check_valves=-1), "check_valves must be 0 or more"),
        (lambda: delivered_share(hose_length=-1), "hose_length must be 0 or more"),
        (lambda: delivered_share(1, bend_loss=1.0), "bend_loss must be below 1, got 1.0"),
        (lambda: delivered_share(1, check_valve_loss=1.2), "check_valve_loss must be below 1"),
        (lambda: PumpCurve(RATED, 4, 4), "half_flow_head must lie above 0 and below shut_off_head, got 4 m"),
        (lambda: PumpCurve(RATED, 4, 0), "half_flow_head must lie above 0 and below shut_off_head, got 0 m"),
        (lambda: PumpCurve(RATED, -4, 1), "shut_off_head must be 0 or more"),
        (lambda: PumpCurve(RATED, [4, 5], [1, 6]), "half_flow_head .* got 6 m"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ParameterError, match=says):
        call()
