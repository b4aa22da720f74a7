"""Holds the floors: who may import whom, which door each heavy library has, and no circles."""

import ast
import graphlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLOORS = {
    **dict.fromkeys(("errors", "units", "tables", "arrays", "frames", "words", "hypercube", "lognormal"), 0),
    **dict.fromkeys(("atomic_write", "files", "safe_text", "stopping", "work_folder"), 0),
    **{"fleet": 1, "trade": 1, "life": 2, "consequence": 2, "risk": 3, "plan": 4, "exposure": 4},
    **{"evaluate": 5, "report": 6, "cli": 7},
}
MODELLING = {"life", "evaluate", "report"}
DOORS = {
    "matplotlib": {"report"},
    "typer": {"cli"},
    "click": {"cli"},
    "lifelines": MODELLING,
    "sklearn": MODELLING,
}
SOURCES = {
    ".".join(("riskmodel", *path.relative_to(top).with_suffix("").parts)).removesuffix(".__init__"): path
    for top in (ROOT / "riskmodel", ROOT)
    for path in sorted((top if top.name == "riskmodel" else ROOT / "cli").rglob("*.py"))
}


def imported(source, module, package=False):
    """Dotted names a module imports anywhere in it, relative ones made absolute; names of a module included."""
    base = module.split(".") if package else module.split(".")[:-1]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            up = base[: len(base) - node.level + 1] if node.level else []
            start = ".".join([*up, *([node.module] if node.module else [])])
            yield from (f"{start}.{alias.name}" for alias in node.names)


def room(module):
    return module.split(".")[1] if module.startswith("riskmodel.") else ""


def faults(module, source, package=False):
    """What one module imports that it may not."""
    mine = room(module)
    for name in imported(source, module, package):
        outside, theirs = name.split(".")[0], room(name)
        if mine not in DOORS.get(outside, {mine}):
            yield f"{module} imports {outside}, whose door is {sorted(DOORS[outside])}"
        if outside in ("cli", "data"):
            yield f"{module} imports {name} by its bare name"
        known = theirs in FLOORS and mine in FLOORS and theirs != mine
        if known and FLOORS[theirs] >= max(FLOORS[mine], 1):
            yield f"{module} (floor {FLOORS[mine]}) imports {name} (floor {FLOORS[theirs]})"


def imports_of(sources):
    """Which modules each module imports, among ``sources`` (name to text)."""
    graph = {}
    for module, source in sources.items():
        names = set(imported(source, module, module in PACKAGES))
        graph[module] = {each for name in names if (each := _module(name, sources)) and each != module}
    return graph


def _module(name, sources):
    return name if name in sources else name.rpartition(".")[0] if name.rpartition(".")[0] in sources else ""


PACKAGES = {name for name, path in SOURCES.items() if path.name == "__init__.py"}
TEXTS = {name: path.read_text("utf-8") for name, path in SOURCES.items()}


@pytest.mark.parametrize("module", sorted(SOURCES))
def test_a_module_imports_only_from_floors_below_and_through_the_right_doors(module):
    assert list(faults(module, TEXTS[module], module in PACKAGES)) == []


def test_every_room_has_a_floor():
    assert {room(name) for name in SOURCES} - {""} <= set(FLOORS)


def test_no_two_modules_import_each_other_in_a_circle():
    tuple(graphlib.TopologicalSorter(imports_of(TEXTS)).static_order())


def test_the_library_never_imports_its_command_line():
    library = [name for name in SOURCES if room(name) != "cli"]
    assert [name for name in library for each in imported(TEXTS[name], name) if room(each) == "cli"] == []


def test_the_top_of_the_library_holds_a_docstring_the_version_and_where_its_folders_lie_only():
    docstring, _, version, folders = ast.parse(TEXTS["riskmodel"]).body
    assert isinstance(docstring.value.value, str)
    assert [target.id for target in version.targets] == ["__version__"]
    assert [ast.unparse(node.value.func) for node in folders.body] == ["__path__.append"]
    assert set(imported(TEXTS["riskmodel"], "riskmodel", True)) == {"pathlib.Path"}


@pytest.mark.parametrize("package", sorted(PACKAGES - {"riskmodel"}))
def test_a_package_names_its_public_face_and_nothing_else(package):
    body = ast.parse(TEXTS[package]).body
    assert all(isinstance(node, ast.Expr | ast.ImportFrom | ast.Assign) for node in body)
    named = [alias.name for node in body if isinstance(node, ast.ImportFrom) for alias in node.names]
    faces = [ast.literal_eval(node.value) for node in body if isinstance(node, ast.Assign)]
    assert [sorted(face) for face in faces] == ([sorted(named)] if named else [])


@pytest.mark.parametrize(
    ("module", "source", "says"),
    [
        ("riskmodel.fleet.x", "from riskmodel.trade import Trade", "floor 1.*floor 1"),
        ("riskmodel.trade.x", "import riskmodel.risk.assess", "floor 1.*floor 3"),
        ("riskmodel.life.x", "from riskmodel.consequence import stopping", "floor 2.*floor 2"),
        ("riskmodel.risk.x", "def f():\n    import matplotlib.pyplot", "whose door is"),
        ("riskmodel.report.x", "import typer", "whose door is"),
        ("riskmodel.trade.x", "from lifelines import WeibullFitter", "whose door is"),
        ("riskmodel.fleet.x", "from ..trade import load", "floor 1.*floor 1"),
        ("riskmodel.units", "from riskmodel.fleet import Fleet", "floor 0.*floor 1"),
        ("riskmodel.risk.x", "from riskmodel.cli.edge import edge", "floor 3.*floor 7"),
        ("riskmodel.risk.x", "import data.trade", "bare name"),
        (
            "riskmodel.risk.x",
            "from typing import X\nif X:\n    from riskmodel.report.text import y",
            "floor 6",
        ),
    ],
)
def test_the_check_itself_fails_on_a_bad_import(module, source, says):
    with pytest.raises(AssertionError, match=says):
        _nothing_wrong(module, source)


def test_the_check_itself_finds_a_circle():
    sources = {"riskmodel.a": "from riskmodel import b", "riskmodel.b": "from riskmodel.a import x"}
    with pytest.raises(graphlib.CycleError, match="cycle"):
        graphlib.TopologicalSorter(imports_of(sources)).prepare()


def _nothing_wrong(module, source):
    found = list(faults(module, source))
    assert not found, "; ".join(found)
