"""A row of a book may stand for many equal boats: every answer is that of as many rows."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.exposure.book import BOATS, Book, book_of
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.exposed import side_of
from riskmodel.exposure.groups import Part
from riskmodel.exposure.years import lattice_for, years_of

UNTIL = date(2027, 6, 1)
TIMES = 3


@pytest.fixture(scope="module")
def one(assessed, two_boats):
    return book_of(assessed(**two_boats, until=UNTIL))


@pytest.fixture(scope="module")
def counted(one):
    return replace(one, vessels=one.vessels.assign(**{BOATS: TIMES}))


@pytest.fixture(scope="module")
def repeated(one):
    """The same boats written out TIMES times."""
    rows = np.tile(np.arange(one.rows), TIMES)
    severity = one.severity
    many = replace(
        severity,
        **{name: getattr(severity, name)[rows] for name in ("median", "cleared", "value", "below", "share")},
    )
    return Book(one.vessels.iloc[rows].reset_index(drop=True), one.states, one.groups, one.chance[rows], many)


def cover(book: Book):
    everything = Cover.of_all(book.severity.value, len(book.states))
    return replace(everything, deductible=np.full(book.rows, 300.0))


def test_there_are_as_many_boats_and_as_much_value(counted, repeated):
    assert counted.boats == repeated.boats == repeated.rows
    assert counted.value.sum() == pytest.approx(repeated.value.sum(), rel=1e-14)


def test_the_year_is_the_same(counted, repeated):
    lattice = lattice_for([Part(repeated, cover(repeated))])
    ours, theirs = (years_of([Part(book, cover(book))], lattice) for book in (counted, repeated))
    np.testing.assert_allclose(ours.pmf, theirs.pmf, atol=1e-13)


def test_means_tails_and_largest_losses_are_the_same(counted, repeated):
    ours, theirs = (side_of(book, cover(book)) for book in (counted, repeated))
    assert ours.total.mean == pytest.approx(theirs.total.mean, rel=1e-12)
    assert ours.total.sd == pytest.approx(theirs.total.sd, rel=1e-9)
    assert ours.mean.sum() == pytest.approx(ours.total.mean, rel=1e-12)
    np.testing.assert_allclose(ours.table["largest"], theirs.table["largest"], rtol=1e-9)
    whole = theirs.tail.reshape(TIMES, -1, theirs.tail.shape[1]).sum(axis=0)
    np.testing.assert_allclose(ours.tail, whole, rtol=1e-5)
    assert ours.tail.sum() == pytest.approx(float(ours.total.tail_mean(0.99)), rel=1e-6)
