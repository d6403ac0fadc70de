"""Runs every bench of this folder three times and prints one table: `python tests/bench/run.py [NAME ...]`.

A bench is a file `bench_*.py` whose `main` prints ratios, one a line, as `what is compared = 12.3`; a line below it may
say what is `wanted`. Ratios of two times taken in one run mean the same on a slow machine as on a fast one.
"""

from __future__ import annotations

import os
import platform
import re
import subprocess
import sys
from pathlib import Path
from statistics import median

HERE = Path(__file__).resolve().parent
RUNS = 3
FIGURE = re.compile(r"(?P<what>\S.*?) = (?P<value>[0-9.]+)(?: times)?\s*(?:[(,;].*)?")
WANTED = re.compile(r"\s+wanted (?P<words>at (?:least|most) [0-9.]+).*")


def benches(names: list[str]) -> list[Path]:
    """Return the files of the benches named, of all of them when none is."""
    files = sorted(HERE.glob("bench_*.py"))
    return [file for file in files if not names or file.stem.removeprefix("bench_") in names]


def figures(printed: str) -> tuple[dict[str, float], dict[str, str]]:
    """Return the ratios one run printed, and what is wanted of them.

    Examples
    --------
    >>> figures("a: slow / fast = 12.5")
    ({'a: slow / fast': 12.5}, {})
    """
    found: dict[str, float] = {}
    wanted: dict[str, str] = {}
    last = ""
    for line in printed.splitlines():
        if figure := FIGURE.fullmatch(line):
            last = figure["what"]
            found[last] = float(figure["value"])
        elif (wish := WANTED.fullmatch(line)) and last:
            wanted[last] = wish["words"]
    return found, wanted


def main() -> int:
    """Run them and print the table; 1 when a bench could not run."""
    runs: dict[str, list[float]] = {}
    wishes: dict[str, str] = {}
    broken = 0
    for file in benches(sys.argv[1:]):
        for _ in range(RUNS):
            done = subprocess.run(
                [sys.executable, str(file)], capture_output=True, text=True, check=False, cwd=HERE
            )
            if done.returncode:
                print(f"{file.name} ended with {done.returncode}:\n{done.stderr.strip()}")
                broken = 1
                break
            found, wanted = figures(done.stdout)
            wishes |= wanted
            for what, value in found.items():
                runs.setdefault(what, []).append(value)
    rows = [("ratio", "median", "least", "most", "wanted")]
    for what, values in runs.items():
        spread = (f"{figure:.1f}" for figure in (median(values), min(values), max(values)))
        rows.append((what, *spread, wishes.get(what, "")))
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for what, middle, least, most, wish in rows:
        line = (
            f"{what:<{widths[0]}}  {middle:>{widths[1]}}  {least:>{widths[2]}}  {most:>{widths[3]}}  {wish}"
        )
        print(line.rstrip())
    cores = os.cpu_count()
    print(f"\n{RUNS} runs each; Python {platform.python_version()} on {platform.machine()}, {cores} cores.")
    return broken


if __name__ == "__main__":
    sys.exit(main())
