"""The riskmodel command: one short file a command."""

from __future__ import annotations

from .signals import end_quietly, quiet_interrupts

with quiet_interrupts():
    from typing import Annotated, Any

    import typer

    from riskmodel import __version__

    from .begin import begin
    from .budget import budget
    from .check import check
    from .explain import explain
    from .exposure import exposure
    from .hush import hush_libraries
    from .lives import lives
    from .rank import rank
    from .record import record
    from .season import season


class _Command(typer.Typer):
    """Quiet where a process calls it; tests and other programs, which do not call it, keep their warnings."""

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        end_quietly()
        hush_libraries()
        return super().__call__(*args, **kwargs)


app = _Command(
    name="riskmodel",
    help="Failure risk of the wet systems of small craft: what fails, what follows, where the money goes first.",
    epilog="Estimates, not a survey. Where the maker's recommendation or a local code is stricter, it comes first.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"riskmodel {__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Failure risk of the wet systems of small craft: what fails, what follows, where the money goes first."""


for command in (begin, check, rank, lives, explain, season, budget, exposure, record):
    app.command()(command)
