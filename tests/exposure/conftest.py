"""Small invented books, and what they lose worked out the slow way."""

import csv
import itertools
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.book import Book
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.schedule.door import open_schedule
from riskmodel.exposure.schedule.exposed import exposure_of_schedule
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import one_after_another
from riskmodel.exposure.schedule.standing_for import standing_for
from riskmodel.exposure.severities import SIZES, Severities
from riskmodel.fleet import load_fleet
from riskmodel.risk import Horizon, assess

AS_OF = date(2026, 6, 1)
YEAR = Horizon(AS_OF, date(2027, 6, 1), "a year")
STERNDRIVE = {
    **{"propulsion": "sterndrive", "fuel": "gasoline", "built_year": 2000, "length_m": 8.0, "value": 40000.0},
    **{"kept": "afloat", "checked_every_days": 7.0, "climate": "temperate"},
}
# A book with every term at once.
BOATS = [
    {"vessel_id": "B1", "home_port": "Quay", "inception": "2026-12-01", "expiry": "2027-12-01"},
    {"vessel_id": "B2", "home_port": "Quay", "propulsion": "sail_shaft", "fuel": "diesel", "kept": "mooring"}
    | {"value": 60000, "lay_up_from": "11-01", "lay_up_to": "03-31"},
    {"vessel_id": "B3", "home_port": "Pool", "checked_every_days": "", "value_basis": "market"},
    {"vessel_id": "B4", "home_port": "Pool", "deductible_percent": 2, "value": 90000},
    {"vessel_id": "B5", "climate": "cold", "limit": 9000, "built_year": 1985},
]
# All but B4 list their parts.
PARTS = ("bellows_drive", "bilge_pump", "float_switch", "raw_water_hose", "fuel_feed_hose", "rode_chain")
CLAIMS = [
    ("B1", "2024-05-02", "machinery_damage", 2500),
    ("B2", "2023-08-02", "sinking", 21000),
    ("B2", "2025-07-09", "machinery_damage", 1900),
    ("B3", "2025-09-01", "partial_flooding", 2600),
    ("B5", "2024-03-01", "partial_flooding", 100),
]


@pytest.fixture(scope="session")
def book():
    """Makes chances (n,), whole losses (n, k) and weights (n, k)."""

    def make(seed, risks=40, outcomes=1, most=0.1, largest=30):
        random = np.random.default_rng(seed)
        loss = random.integers(0, largest, (risks, outcomes)).astype(float)
        return random.uniform(0, most, risks), loss, random.dirichlet(np.ones(outcomes), risks)

    return make


@pytest.fixture(scope="session")
def convolved():
    """Chances of totals 0, 1, … by adding one risk after the other."""

    def convolve(chance, loss, weight):
        total = np.ones(1)
        for p, losses, weights in zip(chance, loss, weight, strict=True):
            one = np.zeros(int(losses.max()) + 1)
            one[0] = 1 - p
            np.add.at(one, losses.astype(int), p * weights)
            total = np.convolve(total, one)
        return total

    return convolve


@pytest.fixture(scope="session")
def every_year():
    """Every year a very small book can have: its chance, and what each risk loses in it."""

    def years(chance, loss, weight):
        rows = np.arange(len(chance))
        for year in itertools.product(range(loss.shape[1] + 1), repeat=len(chance)):
            happened = np.array(year)
            place, lost = np.maximum(happened - 1, 0), happened > 0
            each = np.where(lost, chance * weight[rows, place], 1 - chance)
            yield float(each.prod()), np.where(lost, loss[rows, place], 0.0)

    return years


@pytest.fixture(scope="session")
def quantiles():
    """Quantiles of chances of 0, 1, … the plain way."""

    def find(pmf, probabilities):
        upto = np.cumsum(pmf)
        return np.array([np.searchsorted(upto, p - 1e-12) for p in probabilities], dtype=float)

    return find


@pytest.fixture(scope="session")
def padded():
    """Chances at some number of points, with noughts behind; what is cut off must be nought."""

    def pad(pmf, length):
        assert np.abs(pmf[length:]).sum() < 1e-14
        found = np.zeros(length)
        found[: len(pmf)] = pmf[:length]
        return found

    return pad


@pytest.fixture(scope="session")
def plain():
    """Makes a book of boats whose losses are sure amounts (n, K), with chances (n, K, D)."""

    def make(chance, loss, groups=None, log_sd=1e-9):
        chance, loss = np.asarray(chance, dtype=float), np.asarray(loss, dtype=float)
        boats, states, _ = chance.shape
        median = np.repeat(loss[:, :, None], SIZES, axis=2)
        value = 100.0 * loss.max(axis=1)
        vessels = pd.DataFrame(
            {
                "vessel_id": [f"V{n}" for n in range(boats)],
                "value": value,
                "deductible": np.nan,
                "limit": np.nan,
            }
        )
        severity = Severities(
            median,
            np.zeros_like(median),
            np.full(states, log_sd),
            value,
            np.zeros(chance.shape, np.int8),
            0.0 * chance,
        )
        names = tuple(f"state{n}" for n in range(states))
        return Book(vessels, names, groups or tuple((n,) for n in range(states)), chance, severity)

    return make


@pytest.fixture(scope="session")
def everything(written):
    """Five boats of two places and one by herself, with every term, a boat that lists no parts, and claims."""
    day = date(2026, 6, 1)
    items = [
        {"item_class": name, "vessel_id": boat["vessel_id"], "item_id": f"{boat['vessel_id']}-{name}"}
        | {"installed_on": "2014-04-02"}
        for boat in BOATS
        if boat["vessel_id"] != "B4"
        for name in PARTS
    ]
    folder = written(items, boats=BOATS, settings="claims_from = 2021-06-01\nclaims_deductible = 400\n")
    with (folder / "claims.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("vessel_id", "loss_on", "cause", "gross"), *CLAIMS])
    return assess(load_fleet(folder, as_of=day, today=day), until=date(2027, 6, 1))


@pytest.fixture(scope="session")
def parquet_of(tmp_path_factory):
    """Writes kinds of boat, each ``(how many, what it adds to a sterndrive, its parts)``, as a folder of Parquet."""
    numbers = itertools.count()

    def write(kinds, settings=""):
        folder = tmp_path_factory.mktemp("schedule") / f"kinds{next(numbers)}"
        folder.mkdir()
        boats = pd.DataFrame([STERNDRIVE | boat for _, boat, _ in kinds])
        boats = boats.loc[np.repeat(np.arange(len(kinds)), [count for count, _, _ in kinds])]
        boats = boats.assign(vessel_id=[f"V{place:06d}" for place in range(len(boats))])
        boats.to_parquet(folder / "vessels.parquet", index=False)
        ids = iter(boats["vessel_id"])
        items = [
            {"item_id": f"{boat}-{place}", "vessel_id": boat, "quantity": 1, "installed_on": None} | part
            for count, _, parts in kinds
            for boat in itertools.islice(ids, count)
            for place, part in enumerate(parts)
        ]
        if items:
            pd.DataFrame(items).to_parquet(folder / "items.parquet", index=False)
        (folder / "settings.toml").write_text(settings)
        return folder

    return write


@pytest.fixture(scope="session")
def counted_kinds():
    """Reads a folder as a schedule: what is counted, and the kinds."""

    def read(folder):
        schedule = open_schedule(folder, as_of=AS_OF, today=AS_OF)
        counted = read_schedule(schedule, one_after_another, lambda *_: None)
        return counted, standing_for(schedule, counted)

    return read


@pytest.fixture(scope="session")
def by_kind(counted_kinds):
    """The year of the schedule in a folder, summed over kinds."""

    def run(folder, policy=None):
        return exposure_of_schedule(*counted_kinds(folder), YEAR, policy or Policy())

    return run


@pytest.fixture(scope="session")
def by_boat():
    """The year of the same boats, assessed one by one."""

    def run(folder, policy=None):
        return exposure_of(assess(load_fleet(folder, as_of=AS_OF, today=AS_OF), until=YEAR), policy)

    return run


@pytest.fixture(scope="session")
def equal_kinds():
    """Boats of four kinds, equal within each: with and without parts, visits told and not, terms of their own."""
    old = [("bellows_drive", "2020-06-01"), ("bilge_pump", "2016-06-01"), ("float_switch", "2016-06-01")]
    sailing = [("shaft_packing", "2018-06-01"), ("bilge_pump", "2021-06-01"), ("raw_water_impeller", None)]
    sail = {"propulsion": "sail_shaft", "fuel": "diesel", "length_m": 10.0, "kept": "mooring"}

    def parts(told):
        return [{"item_class": name, "installed_on": day} for name, day in told]

    return [
        (7, {}, parts([*old, ("fuel_feed_hose", None)])),
        (5, {"value": 60000.0}, []),
        (6, sail | {"checked_every_days": np.nan, "value": 55000.0}, parts(sailing)),
        (
            4,
            sail | {"length_m": 9.0, "deductible": 800.0, "limit": 20000.0, "checked_every_days": np.nan},
            [],
        ),
    ]


@pytest.fixture(scope="session")
def equal(parquet_of, by_kind, by_boat, equal_kinds):
    """Those boats, by kind and boat by boat, with a deductible of 500."""
    folder = parquet_of(equal_kinds)
    return by_kind(folder, Policy(500.0)), by_boat(folder, Policy(500.0))


@pytest.fixture(scope="session")
def large(parquet_of, by_kind):
    """A schedule of 40,000 boats of a few kinds, so large that no single loss shows."""
    sail = {
        "propulsion": "sail_shaft",
        "fuel": "diesel",
        "length_m": 10.0,
        "kept": "mooring",
        "value": 55000.0,
    }
    kinds = [
        (12000, {"home_port": "north"}, []),
        (14000, sail | {"home_port": "south", "checked_every_days": np.nan}, []),
        (13000, {"length_m": 6.0, "propulsion": "outboard", "value": 22000.0, "home_port": "north"}, []),
        (1000, sail | {"home_port": None, "built_year": 1975, "value": 18000.0, "deductible": 1000.0}, []),
    ]
    return by_kind(parquet_of(kinds), Policy(500.0))
