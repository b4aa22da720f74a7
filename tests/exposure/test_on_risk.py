"""Chances of a book in the days on risk, beside those of all days."""

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.exposure.cover import Cover

SHARE = st.floats(0, 1)


@given(st.floats(0, 0.6), st.floats(0, 0.4), SHARE, SHARE)
def test_no_end_state_is_likelier_on_fewer_days(plain, first, second, share, other):
    book = plain([[[first], [second]]], [[100.0, 200.0]], groups=((0, 1),))
    cover = replace(Cover.of_all(book.severity.value, 2), on_risk=np.array([[share, other]]))
    assert (book.chances(cover) <= book.chance).all()


def test_what_is_off_risk_makes_nothing_else_likelier(plain):
    book = plain([[[0.5], [0.4]]], [[100.0, 200.0]], groups=((0, 1),))
    alone = replace(Cover.of_all(book.severity.value, 2), on_risk=np.array([[1.0, 0.0]]))
    np.testing.assert_allclose(book.chances(alone)[0, :, 0], [0.5, 0.0])
