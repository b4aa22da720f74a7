"""Folds words as people write them and suggests the nearest known one."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def folded(word: str) -> str:
    """A word in lower case, underscores for spaces and hyphens: ``Shaft packing`` gives ``shaft_packing``."""
    return "_".join(word.lower().replace("-", " ").replace("_", " ").split())


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like this one, or "" where none is like it."""
    found = get_close_matches(folded(word), list(known), n=1, cutoff=0.65)
    return found[0] if found else ""


def suggestion(word: str, known: Iterable[str]) -> str:
    """``" (nearest: hauled)"``, or "" where no known word is like this one."""
    found = nearest(word, known)
    return f" (nearest: {found})" if found else ""
