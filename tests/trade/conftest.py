"""The shipped knowledge base, and a way to lay an organisation's own rows over it."""

from __future__ import annotations

import csv
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from riskmodel.trade import Trade, load_trade

Overlay = Callable[..., Path]


@pytest.fixture(scope="session")
def trade() -> Trade:
    return load_trade()


@pytest.fixture
def overlay(tmp_path: Path) -> Overlay:
    """Write ``rows`` as an overlay's table; cells not given are those of the shipped row ``like``."""

    def write(table: str, *rows: dict[str, object], like: int = 0) -> Path:
        shipped = files("riskmodel.data.trade").joinpath(f"{table}.csv").read_text("utf-8").splitlines()
        model = list(csv.DictReader(shipped))[like]
        with (tmp_path / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(model))
            writer.writeheader()
            writer.writerows({**model, **row} for row in rows)
        return tmp_path

    return write
