"""Whether a value of a vessel meets a row of circumstances or surroundings."""

from __future__ import annotations

from riskmodel.errors import ParameterError
from riskmodel.trade.evidence import Surrounding
from riskmodel.trade.records import Circumstance

_BLANK = {"", "none", "nan", "nat", "<na>"}
_BOOLEAN = {"true": "yes", "false": "no"}


def condition_met(row: Circumstance | Surrounding, value: object) -> bool:
    """Whether a value is the row's level, or lies in its band [at_least, below); a blank meets nothing.

    Raises ParameterError for a word where the row has a band.
    """
    if is_blank(value):
        return False
    if row.level:
        word = plain_word(value)
        return _BOOLEAN.get(word, word) == row.level
    number = plain_number(row.column, value)
    return (row.at_least is None or number >= row.at_least) and (row.below is None or number < row.below)


def is_blank(value: object) -> bool:
    """Whether a cell holds nothing, however a frame says so."""
    return plain_word(value) in _BLANK


def plain_word(value: object) -> str:
    """A cell as a word in small letters."""
    return str(value).strip().lower()


def plain_number(column: str, value: object) -> float:
    """A cell as a number.

    Raises ParameterError, naming the column, for a word.
    """
    word = plain_word(value)
    try:
        return float(word)
    except ValueError:
        raise ParameterError(f"{column} must be a number, got {word!r}") from None
