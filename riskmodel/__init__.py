"""Failure risk of the wet systems of small craft: tables in, lives, item risk, then the order to spend in."""

from pathlib import Path

__version__ = "0.1.0"

# In the source tree `cli` and `data`, which are installed as riskmodel.cli and riskmodel.data, lie beside this folder:
# where Python finds this folder before the installed package, as it does at the root of a clone, they are found too.
if (Path(__file__).parents[1] / "pyproject.toml").is_file():
    __path__.append(str(Path(__file__).parents[1]))
