"""Loads the trade tables, an organisation's own rows laid over them, into one checked ``Trade``."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.files import is_folder, readable
from riskmodel.trade import evidence, materials, physics, places, severity
from riskmodel.trade import records as kinds
from riskmodel.trade.crosscheck import ANY, HAUL_OUT, cross_problems
from riskmodel.trade.ranges import Range, Spread
from riskmodel.trade.rows import ParsedRow, read_rows
from riskmodel.trade.rules import ALL_TABLES

Record = TypeVar("Record")


def load_trade(overlay: Path | None = None) -> kinds.Trade:
    """Load the knowledge base; rows of a folder's own tables replace shipped rows of the same key.

    Parameters
    ----------
    overlay
        A folder with any of the tables of ``data/trade/``, same file names and columns.

    Raises
    ------
    ParameterError
        If ``overlay`` is not a folder.
    TableError
        With every broken rule of every table.
    """
    return _shipped() if overlay is None else _load(overlay)


@lru_cache(maxsize=1)
def _shipped() -> kinds.Trade:
    return _load(None)


def _load(overlay: Path | None) -> kinds.Trade:
    problems = _strange_files(overlay)
    tables: dict[str, list[ParsedRow]] = {}
    for rules in ALL_TABLES:
        tables[rules.name], found = read_rows(rules, overlay)
        problems += found
    # A table that could not be read at all would make every name in the others look unknown.
    if all(tables.values()):
        problems += cross_problems(tables)
    if problems:
        raise TableError(problems)
    return _assemble({name: [row.values for row in rows] for name, rows in tables.items()})


def _strange_files(overlay: Path | None) -> list[Problem]:
    if overlay is None:
        return []
    if not is_folder(overlay):
        raise ParameterError(f"overlay must be a folder of trade tables, got {overlay}")
    known = sorted(f"{rules.name}.csv" for rules in ALL_TABLES)
    with readable(str(overlay), "must be a folder that can be read"):
        entries = sorted(overlay.iterdir())
    strange = [path for path in entries if path.name not in known and not _is_aside(path.name.lower())]
    return [Problem(str(path), 0, "", _wanted(path.name, known), path.name) for path in strange]


def _is_aside(name: str) -> bool:
    """Whether a file is nobody's table: hidden, left by a program that has a table open, or a page to read."""
    return name.startswith((".", "~$")) or name.endswith(".md") or name.startswith("readme")


def _wanted(name: str, known: list[str]) -> str:
    from difflib import get_close_matches  # only a refusal needs it, so a start does not pay for it

    near = get_close_matches(f"{Path(name).stem.lower()}.csv", known, n=1)
    nearest = f" (nearest: {near[0]})" if near else ""
    return f"must be named as a trade table: {', '.join(known)}{nearest}"


def _assemble(tables: Mapping[str, list[dict[str, Any]]]) -> kinds.Trade:
    care = _keyed(kinds.Care, tables["care"], "quantity")
    return kinds.Trade(
        classes=_classes(tables),
        mechanisms=_keyed(kinds.Mechanism, tables["mechanisms"], "mechanism"),
        haul_out=next(kinds.Task(**row) for row in tables["tasks"] if row["item_class"] == HAUL_OUT),
        end_states=_keyed(severity.EndState, tables["end_states"], "end_state"),
        circumstances=_listed(kinds.Circumstance, tables["circumstances"]),
        barriers=_listed(kinds.Barrier, tables["barriers"]),
        outfits=_listed(kinds.OutfitRow, tables["outfits"]),
        propulsions=_keyed(kinds.Propulsion, tables["propulsion"], "propulsion"),
        defaults=_listed(kinds.Default, tables["defaults"]),
        care=MappingProxyType({k: Spread(v.low, v.typical, v.high) for k, v in care.items()}),
        care_sources=care,
        limits=_keyed(kinds.Limit, tables["limits"], "limit"),
        regulations=_listed(kinds.Regulation, tables["regulations"]),
        practice=_listed(kinds.Practice, tables["practice"]),
        detections=_listed(evidence.Detection, tables["detection"]),
        surroundings=_listed(evidence.Surrounding, tables["surroundings"]),
        readings=_listed(evidence.Reading, tables["readings"]),
        cautions=_listed(kinds.Caution, tables["cautions"]),
        physics=_keyed(kinds.Care, tables["physics"], "quantity"),
        openings=_listed(physics.Opening, tables["openings"]),
        background=_listed(physics.BackgroundCause, tables["background"]),
        slow_damage=_listed(physics.SlowDamage, tables["slow_damage"]),
        severities=_keyed(severity.SeverityCategory, tables["severity"], "word"),
        probability_levels=_keyed(severity.ProbabilityLevel, tables["probability_levels"], "level"),
        fuel_leaks=_listed(physics.FuelLeak, tables["fuel_leaks"]),
        exhaust_leaks=_listed(physics.ExhaustLeak, tables["exhaust_leaks"]),
        materials=_listed(materials.Material, tables["materials"]),
        place_years=_keyed(places.PlaceYear, tables["place_years"], "spell"),
    )


def _classes(tables: Mapping[str, list[dict[str, Any]]]) -> Mapping[str, kinds.ItemClass]:
    mechanisms = _keyed(kinds.Mechanism, tables["mechanisms"], "mechanism")
    every_kind = tuple(row["propulsion"] for row in tables["propulsion"])
    intervals, tasks = _by_class(tables["intervals"]), _by_class(tables["tasks"])
    paths, looks = _by_class(tables["paths"]), _by_class(tables["detection"])
    classes = {}
    for row in tables["classes"]:
        name = row["item_class"]
        linked = {
            "mechanism": mechanisms[row["mechanism"]],
            "propulsion": every_kind if ANY in row["propulsion"] else row["propulsion"],
            "intervals": _listed(kinds.Interval, intervals[name]),
            "tasks": _listed(kinds.Task, tasks[name]),
            "paths": _listed(kinds.HarmPath, paths[name]),
            "detection": MappingProxyType(
                {look["thoroughness"]: Range(look["low"], look["high"]) for look in looks[name]}
            ),
        }
        classes[name] = kinds.ItemClass(**(row | linked))
    return MappingProxyType(classes)


def _by_class(rows: list[dict[str, Any]]) -> Mapping[str, list[dict[str, Any]]]:
    grouped: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        grouped.setdefault(row["item_class"], []).append(row)
    return grouped


def _listed(kind: type[Record], rows: list[dict[str, Any]]) -> tuple[Record, ...]:
    return tuple(kind(**row) for row in rows)


def _keyed(kind: type[Record], rows: list[dict[str, Any]], key: str) -> Mapping[str, Record]:
    return MappingProxyType({row[key]: kind(**row) for row in rows})
