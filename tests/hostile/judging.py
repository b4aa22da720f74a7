"""Runs commands on hostile fleets in this process and holds what they answer against what every answer promises."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import typer
from typer.testing import CliRunner

from .cases import Case

ALLOWED = {0, 2, 3, 4, 5}
# Controls but the end of a line, bidirectional and unseen marks.
FORBIDDEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")
BANDS = (
    ("failure_low", "failure_probability", "failure_high"),
    ("sinking_low", "sinking_high"),
    ("kill_low", "kill_high"),
    ("loss_low", "loss_high"),
)
CHANCES = (
    *("needs_work_probability", "failure_probability", "failure_low", "failure_high", "sinking_probability"),
    *("fire_probability", "sinking_low", "sinking_high", "kill_low", "kill_high", "kill_probability"),
    *("injury_probability", "top_probability"),
)
FINITE = (*CHANCES, "expected_loss", "loss_low", "loss_high", "rank", "rank_low", "rank_high")
OTHERS: tuple[Callable[[Path, str, str], list[Any]], ...] = (
    lambda fleet, *_: ["budget", fleet, "--amount", "500", "--format", "json"],
    lambda fleet, *_: ["budget", fleet, "--amount", "1e15"],
    lambda fleet, *_: ["exposure", fleet, "--format", "json"],
    lambda fleet, _, boat: ["season", "--format", "json", "--", fleet, boat],
    lambda fleet, _, boat: ["season", "--", fleet, boat],
    lambda fleet, item, _: ["explain", "--format", "json", "--", fleet, item],
    lambda fleet, item, _: ["explain", "--", fleet, item],
    lambda fleet, *_: ["lives", fleet, "--format", "json"],
    lambda fleet, *_: ["rank", fleet, "--levels", "--format", "json"],
    lambda fleet, *_: ["rank", fleet],
    lambda fleet, *_: ["rank", fleet, "--format", "json", "--months", "1200"],
    lambda fleet, *_: ["rank", fleet, "--format", "csv", "--months", "1"],
)


class Judge:
    """Runs cases one by one in folders of its own and counts the exit codes by command."""

    def __init__(self, app: typer.Typer, folder: Path) -> None:
        self._command, self._folder, self._count = typer.main.get_command(app), folder, 0
        self.codes: Counter[tuple[str, int]] = Counter()

    def check(self, case: Case) -> Path | None:
        """Runs check on a case; the path of the fleet if it was cleared. The folder of a failing case stays."""
        self._count += 1
        folder = self._folder / f"case{self._count}"
        folder.mkdir()
        fleet = case.write(folder)
        code, _ = self.run("check", fleet, "--format", ("csv", "table", "json")[self._count % 3])
        if code == 3:
            shutil.rmtree(folder)
        return fleet if code == 0 else None

    def rank(self, fleet: Path, other: int | None) -> None:
        """Runs rank on a cleared fleet, and perhaps one of the other commands."""
        code, answer = self.run("rank", fleet, "--format", "csv")
        assert code == 0, f"rank refuses with {code} what check cleared"
        frame = pd.read_csv(
            io.StringIO(answer),
            dtype={"item_id": str, "vessel_id": str},
            keep_default_na=False,
            na_values=[""],
        )
        judge_frame(frame)
        if other is not None and len(frame):
            item, boat = (str(frame.loc[0, name]).removeprefix("'") for name in ("item_id", "vessel_id"))
            words = OTHERS[other % len(OTHERS)](fleet, item, boat)
            code, answer = self.run(*words)
            assert code not in (1, 3), f"{words[0]} refuses with {code} what check cleared"
            if "json" in words and code != 2:
                json.loads(answer, parse_constant=_refuse)

    def done_with(self, fleet: Path) -> None:
        """Clears away what a case left that passed."""
        shutil.rmtree(next(each for each in (fleet, *fleet.parents) if each.parent == self._folder))

    def run(self, *words: Any) -> tuple[int, str]:
        """The exit code and the answer of a command that is to write to a file beside the fleet or to stdout."""
        out = self._folder / f"out{len(self.codes)}.txt"
        words = (*words, "--out", out) if self._count % 2 and "--" not in words else words
        before = _bytes_of(self._folder)
        result = super(CliRunner, CliRunner()).invoke(self._command, [str(word) for word in words])
        self.codes[words[0], result.exit_code] += 1
        answer = out.read_text("utf-8") if out.exists() else result.stdout
        said = f"{' '.join(map(str, words))}\n{answer[:2000]}\n{result.stderr[:2000]}"
        written = out.exists()
        out.unlink(missing_ok=True)
        assert result.exit_code in ALLOWED, f"exit code {result.exit_code}: {said}"
        assert not (written and result.exit_code == 3 and words[0] != "check"), (
            f"written although refused: {said}"
        )
        assert _bytes_of(self._folder) == before, f"the fleet's folder changed: {said}"
        assert not (found := FORBIDDEN.search(answer + result.stderr)), f"{found} in {said!r}"
        return result.exit_code, answer

    def summary(self) -> str:
        """How many runs of each command ended with which exit code."""
        commands = sorted({command for command, _ in self.codes})
        return "\n".join(
            f"{each:9} "
            + ", ".join(f"{n} x {code}" for (of, code), n in sorted(self.codes.items()) if of == each)
            for each in commands
        )


def judge_frame(frame: pd.DataFrame) -> None:
    """Asserts what every item risk frame promises."""
    numbers = frame[list(FINITE)].to_numpy(float)
    assert abs(numbers).max(initial=0) < float("inf"), frame[list(FINITE)].T.to_string()
    for column in CHANCES:
        assert frame[column].between(0, 1).all(), frame[column].tolist()
    for band in BANDS:
        for low, high in zip(band, band[1:], strict=False):
            assert (frame[low] <= frame[high] * (1 + 1e-9) + 1e-12).all(), frame[list(band)].to_string()
    assert sorted(frame["rank"]) == list(range(1, len(frame) + 1))
    held = frame.select_dtypes("number").to_numpy(float)
    assert not (abs(held) == float("inf")).any(), frame.T.to_string()


def _bytes_of(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def _refuse(word: str) -> None:
    raise AssertionError(f"{word} in an answer")
