"""The look of every figure, the kinds of file it may become, and its writing, whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskmodel.atomic_write import atomic_file
from riskmodel.errors import ParameterError
from riskmodel.report.life_panels import GREY, INK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

KINDS = (".png", ".pdf", ".svg")
# No date and no version of the drawing program: the same answer makes the same bytes.
UNDATED: Mapping[str, dict[str, Any]] = {
    ".png": {"Software": None},
    ".pdf": {"CreationDate": None, "Producer": None, "Creator": None},
    ".svg": {"Date": None, "Creator": None},
}
LOOK: Mapping[Any, Any] = {
    **{"font.family": "DejaVu Sans", "font.size": 8.0, "svg.hashsalt": "riskmodel", "figure.dpi": 150.0},
    **{"axes.spines.top": False, "axes.spines.right": False, "axes.edgecolor": GREY, "axes.labelcolor": INK},
    **{"xtick.color": INK, "ytick.color": INK, "text.color": INK, "savefig.dpi": 150.0},
}


def figure_kind(path: Path) -> str:
    """The kind of figure ``path`` names: .png, .pdf or .svg; raises ParameterError for any other."""
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise ParameterError(f"{path}: a figure's name must end in {', '.join(KINDS)}")
    return kind


@contextmanager
def own_look() -> Iterator[None]:
    """Our own look, whatever the reader has set up for figures of their own."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(LOOK)
        yield


def save_figure(figure: Figure, path: Path) -> None:
    """Writes a figure to a file of the kind ``path`` names; the same figure makes the same bytes.

    Raises ParameterError for another kind, OSError if the file cannot be written.
    """
    kind = figure_kind(path)
    with own_look(), atomic_file(path) as file:
        figure.savefig(file, format=kind.removeprefix("."), metadata=UNDATED[kind])


def save_pages(figures: Iterator[Figure], path: Path) -> None:
    """Writes figures to a .pdf file, a page each.

    Raises OSError if the file cannot be written.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    with own_look(), atomic_file(path) as file, PdfPages(file, metadata=UNDATED[".pdf"]) as pages:
        for figure in figures:
            pages.savefig(figure)
