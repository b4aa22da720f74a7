"""Writes one hostile fleet to a folder, and holds what the commands make of it against what they promise."""

import contextlib
import csv
import io
import json
import math
import traceback

DONE = {0, 2, 3, 4, 5}
BANDS = [
    ("failure_low", "failure_probability", "failure_high"),
    ("sinking_low", "sinking_probability", "sinking_high"),
    ("kill_low", "kill_probability", "kill_high"),
    ("rank_low", "rank_expected", "rank_high"),
]
ASKED = [
    ["rank", "--format", "csv"],
    ["rank", "--format", "csv"],
    ["rank", "--format", "json"],
    ["rank"],
    ["lives", "--format", "csv"],
    ["budget", "--amount", "3000", "--format", "csv"],
    ["exposure", "--format", "csv"],
    ["exposure", "--deductible", "1%", "--by", "water"],
    ["season", "B1"],
    ["explain", "I1"],
]


class Builder:
    """Builds hostile fleets: ``fleets`` and ``mutators`` are the modules beside this one."""

    def __init__(self, fleets, mutators):
        self.fleets, self.mutators = fleets, mutators

    def write(self, folder, kind, random):
        """A hostile fleet of this kind in an empty folder; the path to hand to a command."""
        tables = self.fleets.grids(random, 4 if kind == "overlay" else 5)
        lines = list(self.fleets.SETTINGS[: random.randrange(3)])
        if kind in ("csv", "book", "parquet"):
            self._mutate(tables, random)
        elif kind == "settings":
            own = self.mutators.settings_lines(random)
            taken = {line.split(" = ")[0] for line in own}
            lines = [*own, *(line for line in lines if line.split(" = ")[0] not in taken)]
        elif kind == "overlay":
            lines.append('trade = "ours"')
        if kind == "overlay":
            (folder / "ours").mkdir()
            for _ in range(random.randrange(1, 3)):
                name, content = self.mutators.overlay(random)
                (folder / "ours" / name).write_bytes(content)
        settings = "\n".join(lines).encode()
        if kind == "settings" and random.random() < 0.15:
            settings = self.mutators.damaged(settings, random)
        (folder / "settings.toml").write_bytes(settings)
        self._tables(folder, kind, tables, random)
        return folder / "boats.xlsx" if kind == "book" and random.random() < 0.5 else folder

    def _mutate(self, tables, random):
        for _ in range(random.randrange(1, 4)):
            name = random.choice(list(tables))
            random.choice(self.mutators.GRIDS)(name, tables[name], random)
            tables[name] = tables[name] or [[]]

    def _tables(self, folder, kind, tables, random):
        if kind == "book":
            content = self.fleets.book_bytes(tables, random)
            if random.random() < 0.4:
                content = self.mutators.damaged_book(content, random)
            (folder / "boats.xlsx").write_bytes(content)
            return
        for name, grid in tables.items():
            if kind == "parquet" and random.random() < 0.7 and grid[0]:
                content, suffix = self._parquet(grid, random), "parquet"
            else:
                content, suffix = self._csv(grid, random if kind == "csv" else None), "csv"
            if kind in ("csv", "parquet") and random.random() < 0.1:
                content = self.mutators.damaged(content, random)
            (folder / f"{name}.{suffix}").write_bytes(content)

    def _parquet(self, grid, random):
        whole = [[*row, *[""] * len(grid[0])][: len(grid[0])] for row in grid]
        if random.random() < 0.1:
            whole = whole[:1]
        return self.fleets.parquet_bytes(whole, random)

    def _csv(self, grid, random):
        if random is None or random.random() < 0.7:
            return self.fleets.csv_bytes(grid)
        quoting = random.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
        return self.fleets.csv_bytes(
            grid, random.choice(",,;\t"), random.choice(["\n", "\r\n", "\r"]), quoting
        )


class Judge:
    """Runs commands on a hostile fleet and holds them to their promises; ``run`` takes the words of a command."""

    def __init__(self, run):
        self.run = run

    def check(self, path):
        """Exit code of check; every problem it finds has a file and a rule."""
        result = self._kept("check", path, ["--format", "csv"])
        if result.exit_code == 3:
            problems = list(csv.DictReader(io.StringIO(result.stdout)))
            assert problems, result.output
            assert all(each["file"] and each["rule"] for each in problems), problems
        return result.exit_code

    def asked(self, path, words):
        """Exit code of another command on a fleet that check has cleared: nothing is wrong with its tables any more."""
        result = self._kept(words[0], path, words[1:])
        usage = result.exit_code == 2 and words[0] in ("season", "explain")
        assert result.exit_code in (0, 4, 5) or usage, _told(result, words)
        if result.exit_code == 0 and "json" in words:
            json.loads(result.stdout, parse_constant=_refuse_constant)
        if result.exit_code == 0 and words[:3] == ["rank", "--format", "csv"]:
            hold_rank(list(csv.DictReader(io.StringIO(result.stdout))))
        return result.exit_code

    def _kept(self, command, path, options):
        folder = path if path.is_dir() else path.parent
        before = _seen(folder)
        words = [options[0], *options[1:]] if options and not options[0].startswith("-") else options
        # season and explain name the boat or part after the fleet.
        result = self.run(command, path, *words, "--quiet", *_day(folder))
        assert result.exit_code in DONE, _told(result, [command, *options])
        assert _seen(folder) == before, f"{command} wrote to the fleet"
        return result


def _day(folder):
    text = (folder / "settings.toml").read_bytes()
    return [] if b"as_of" in text else ["--as-of", "2026-06-01"]


def _seen(folder):
    return {each: each.stat().st_mtime_ns for each in sorted(folder.rglob("*"))}


def _told(result, words):
    lines = [f"{words} ended with {result.exit_code}", result.output[-1500:]]
    with contextlib.suppress(Exception):
        error = result.exception
        while error is not None:
            lines += traceback.format_exception(error)[-6:]
            error = error.__context__
    return "\n".join(lines)


def _refuse_constant(word):
    raise AssertionError(f"{word} in an answer")


def hold_rank(rows):
    """Finite numbers, chances in [0, 1], bands in order, ranks a permutation."""
    assert sorted(int(row["rank"]) for row in rows) == list(range(1, len(rows) + 1))
    for row in rows:
        for name, cell in row.items():
            if (
                name.endswith(("_probability", "_loss", "_cost", "_low", "_high", "_averted", "_value"))
                and cell
            ):
                assert math.isfinite(float(cell)), (name, cell)
            if name.endswith("_probability") or name in (
                "failure_low",
                "failure_high",
                "sinking_low",
                "kill_high",
            ):
                assert -1e-12 <= float(cell) <= 1 + 1e-9, (name, cell)
        for low, middle, high in BANDS:
            found = [float(row[name]) for name in (low, middle, high)]
            assert found[0] <= found[2] + 1e-12, (low, found)
            slack = 1e-9 + (0.0 if low != "rank_low" else math.inf)
            assert found[0] - slack <= found[1] <= found[2] + slack, (middle, found)
