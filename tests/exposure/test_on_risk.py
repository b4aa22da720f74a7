"""Chances of a book in the days on risk, beside those of all days."""

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.exposure.cover import Cover
from riskmodel.exposure.groups import Part
from riskmodel.exposure.places import Spells
from riskmodel.exposure.together import sized_in_years

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


@given(st.floats(0, 0.6), st.floats(0, 0.4), SHARE, SHARE, st.floats(1, 20), st.floats(1, 20))
def test_no_year_of_a_place_is_past_certainty_on_risk(plain, first, second, share, other, one, two):
    book = plain([[[first], [second]]], [[100.0, 200.0]], groups=((0, 1),))
    rises = np.array([one, two])[None, None, :, None]
    places = Spells(("dark",), np.array([[0.2]]), (np.array([0]),), rises).places(book)
    cover = replace(Cover.of_all(book.severity.value, 2), on_risk=np.array([[share, other]]))
    part = Part(book, cover, places=places)
    if not places.touches((0, 1)):
        return
    in_years = sized_in_years(part, 0).sum(axis=2)
    assert in_years.sum(axis=1).max() <= 1 + 1e-9
    mean = np.einsum("y,yk->k", places.years[:, 0], in_years)
    np.testing.assert_allclose(mean, part.sized(0).sum(axis=2)[0], rtol=1e-9, atol=1e-15)
