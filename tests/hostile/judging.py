"""Runs commands on hostile fleets in this process and holds what they answer against what every answer promises."""

from __future__ import annotations

import io
import json
import re
import shutil
import sys
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
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
    ("sinking_low", "sinking_probability", "sinking_high"),
    ("kill_low", "kill_probability", "kill_high"),
    ("loss_low", "loss_high"),
    ("rank_low", "rank_high"),
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


@dataclass(frozen=True)
class Ended:
    """How a command ended: its exit code, what it wrote, and the exception that it let through."""

    exit_code: int
    stdout: str
    stderr: str
    error: Exception | None


class Judge:
    """Runs cases one by one, each in a folder of its own, and keeps the exit codes by command and what failed."""

    def __init__(self, app: typer.Typer, folder: Path) -> None:
        self._command, self._folder, self._count = typer.main.get_command(app), folder, 0
        self.codes: Counter[tuple[str, int]] = Counter()
        self.failed: dict[str, str] = {}

    def try_one(self, case: Case, ranked: bool, other: int | None) -> None:
        """Runs check on a case and, where it is cleared and they are asked for, rank and one of the other commands.

        What breaks a promise is kept in ``failed``, one case of each kind, and does not end the run.
        """
        self._count += 1
        folder = self._folder / f"case{self._count}"
        folder.mkdir()
        try:
            fleet = case.write(folder)
            form = ("csv", "table", "json")[self._count % 3]
            code, answer = self._run("check", fleet, "--format", form)
            assert code in (0, 3), f"check ends with {code}: {answer}"
            if code == 3 and form == "json":
                problems = json.loads(answer)
                assert problems, answer
                assert all(each["file"] and each["rule"] for each in problems), answer
            if code == 0 and ranked:
                self._rank(fleet, other)
        except AssertionError as error:
            kind = re.sub(r"[0-9]+", "", str(error)[:200].replace(str(self._folder), ""))
            self.failed.setdefault(kind, f"{error}\n{case!r}")
        shutil.rmtree(folder)

    def _rank(self, fleet: Path, other: int | None) -> None:
        code, answer = self._run("rank", fleet, "--format", "csv")
        assert code == 0, f"rank refuses with {code} what check cleared: {answer[:2000]}"
        read = io.StringIO(answer)
        frame = pd.read_csv(
            read, dtype={"item_id": str, "vessel_id": str}, keep_default_na=False, na_values=[""]
        )
        judge_frame(frame)
        if other is not None and len(frame):
            item, boat = (str(frame.loc[0, name]).removeprefix("'") for name in ("item_id", "vessel_id"))
            words = OTHERS[other % len(OTHERS)](fleet, item, boat)
            code, answer = self._run(*words)
            assert code != 3, f"{words[0]} refuses with {code} what check cleared: {answer[:2000]}"
            if "json" in words and code != 2:
                json.loads(answer, parse_constant=_refuse)

    def _run(self, *words: Any) -> tuple[int, str]:
        """The exit code and the answer (or the refusal) of a command that writes beside the fleet or to stdout."""
        out = self._folder / "out.txt"
        asked = (*words, "--out", out) if self._count % 2 and "--" not in words else words
        folder = self._folder / f"case{self._count}"
        before = _bytes_of(folder)
        result = self.ended(*asked)
        self.codes[words[0], result.exit_code] += 1
        written = out.exists()
        answer = out.read_text("utf-8") if written else result.stdout
        out.unlink(missing_ok=True)
        said = f"{' '.join(map(str, words))}\n{answer[:2000]}\n{result.stderr[:2000]}"
        if result.exit_code not in ALLOWED:
            raise AssertionError(f"{words[0]} ends with {result.exit_code}: {self._where(asked)}\n{said}")
        assert not (written and result.exit_code == 3 and words[0] != "check"), (
            f"written when refused: {said}"
        )
        assert _bytes_of(folder) == before, f"the fleet's folder changed: {said}"
        assert not (found := FORBIDDEN.search(answer + result.stderr)), f"{found} in {said!r}"
        return result.exit_code, answer or result.stderr

    def ended(self, *words: Any) -> Ended:
        """How a command of these words ends, in this process."""
        # typer's own invoke builds every command anew at each run, which takes longer than a check.
        error, code = None, 0
        with CliRunner().isolation() as (out, err, _):
            try:
                self._command.main([str(word) for word in words], "riskmodel")
            except SystemExit as left:
                code = left.code or 0
            except Exception as raised:
                error, code = raised, 1
            sys.stdout.flush()
            return Ended(code, out.getvalue().decode(), err.getvalue().decode(), error)

    def _where(self, words: tuple[Any, ...]) -> str:
        error = self.ended(words[0], "--debug", *words[1:]).error
        if error is None:
            return "not so a second time"
        frames = traceback.extract_tb(error.__traceback__)[-4:]
        return f"{error!r} at {', '.join(f'{Path(at.filename).name}:{at.lineno}' for at in frames)}"

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
        for low, high in pairwise(band):
            assert (frame[low] <= frame[high] * (1 + 1e-9) + 1e-12).all(), frame[list(band)].to_string()
    assert sorted(frame["rank"]) == list(range(1, len(frame) + 1))
    held = frame.select_dtypes("number").to_numpy(float)
    assert not (abs(held) == float("inf")).any(), frame.T.to_string()


def _bytes_of(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def _refuse(word: str) -> None:
    raise AssertionError(f"{word} in an answer")
