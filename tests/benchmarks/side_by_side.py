"""Speed side by side: every target with what was measured, in one run. Status 1 where one is missed.

    python tests/benchmarks/side_by_side.py
    python tests/benchmarks/side_by_side.py --few 4

Runs what `belief.py` and `rank.py` measure, and holds the worst of all rows against each target; the middle row stands
beside it. A target whose library is not installed (`pip install -e '.[benchmark]'` has both) is told as skipped, and
counts as neither met nor missed. Ratios alone are judged, each between runs in turn, by the processes' own work.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from tests.benchmarks import belief, rank
from tests.benchmarks.belief import Row
from tests.benchmarks.peers import missing
from tests.benchmarks.rank import Started

ANSWER_PYAGRUM, ANSWER_PGMPY, CHECKS_PYAGRUM = 3.0, 300.0, 100.0
QUICK_NUMPY, WHOLE_NUMPY, PEAK = 3.0, 6.0, 150.0


@dataclass(frozen=True)
class Target:
    """One line of the table. ``met`` None: not measured, ``got`` says why."""

    name: str
    goal: str
    got: str
    met: bool | None

    def told(self) -> str:
        """The line."""
        verdict = {True: "met", False: "MISSED", None: "skipped"}[self.met]
        return f"{self.name:52} {self.goal:16} {verdict:8} {self.got}"


def at_least(name: str, goal: float, found: Sequence[tuple[str, float]], why_not: str, open_ends: int = 0) -> Target:
    """A target that the smallest of what was found has to reach. ``open_ends``: rows that could not be measured."""
    return _target(name, goal, found, why_not, open_ends, ">=", min)


def at_most(name: str, goal: float, found: Sequence[tuple[str, float]], why_not: str = "", unit: str = "x") -> Target:
    """A target that the largest of what was found has to keep."""
    return _target(name, goal, found, why_not, 0, "<=", max, unit)


def _target(
    name: str, goal: float, found: Sequence[tuple[str, float]], why_not: str, open_ends: int, sign: str,
    worst_of: Callable[..., tuple[str, float]], unit: str = "x",
) -> Target:  # fmt: skip
    told = f"{sign} {goal:g} {unit}"
    if not found:
        return Target(name, told, why_not or "nothing was measured", None)
    where, worst = worst_of(found, key=lambda pair: pair[1])
    kept = sum(value >= goal if sign == ">=" else value <= goal for _, value in found)
    got = f"{worst:.1f} at worst ({where}), {median(value for _, value in found):.1f} in the middle"
    got += f", {kept} of {len(found)} keep it" + (f", {open_ends} more could not be measured" if open_ends else "")
    return Target(name, told, got, kept == len(found))


def of_belief(rows: Sequence[Row]) -> Iterator[Target]:
    """The targets of belief against the libraries."""
    for name, goal, part, to, library in (
        ("one more answer, pyAgrum", ANSWER_PYAGRUM, "pyagrum answer", "ours", "pyagrum"),
        ("one more answer, pgmpy", ANSWER_PGMPY, "pgmpy answer", "ours", "pgmpy"),
        ("all checks and rankings as advised, pyAgrum", CHECKS_PYAGRUM, "pyagrum checks", "ours", "pyagrum"),
        ("all checks and rankings in full, pyAgrum", CHECKS_PYAGRUM, "pyagrum checks", "full", "pyagrum"),
    ):
        got = [(row.named(), row.ratio(part, to)) for row in rows]
        found = [(where, ratio) for where, ratio in got if ratio is not None]
        why_not = f"{library} is not installed" if missing(library) else "no row came to an end"
        yield at_least(name, goal, found, why_not, len(got) - len(found))
    yield of_error(rows)


def of_error(rows: Sequence[Row]) -> Target:
    """Whether belief is as near to exact inference as it says."""
    goal = f"<= {belief.TRUNCATION:.0e}, left out"
    found = [(row.named(), *pair) for row in rows if (pair := row.error_and_left_out()) is not None]
    if not found:
        return Target("error against exact", goal, "pyagrum is not installed" if missing("pyagrum") else "none", None)
    over = [(where, off) for where, off, left in found if off > max(belief.TRUNCATION, left)]
    where, worst, left = max(found, key=lambda one: one[1])
    got = f"{worst:.0e} at most ({where}, {left:.0e} left out), {len(found) - len(over)} of {len(found)} keep it"
    if len(found) < len(rows):
        got += f", {len(rows) - len(found)} more could not be measured"
    return Target("error against exact", goal, got, not over)


def of_starts(runs: Mapping[str, Sequence[Started]]) -> Iterator[Target]:
    """The targets of starts and memory."""
    for way, goal in ((rank.QUICK, QUICK_NUMPY), (rank.WHOLE, WHOLE_NUMPY)):
        found = [(name, rank.ratios(runs, name)[0]) for name in runs if name.startswith(f"{way},")]
        yield at_most(f"{way} from process start, import numpy", goal, found)
    peaks = [(name, max(one.peak for one in taken)) for name, taken in runs.items() if name.startswith(rank.WHOLE)]
    yield at_most("peak memory", PEAK, peaks, unit="MB")


def main() -> int:
    """Measures, prints the rows and the table; 1 where a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    belief.add_options(parser)
    parser.add_argument("--rounds", type=int, default=rank.ROUNDS, help="starts of each command")
    given = parser.parse_args()
    runs = rank.measured(rounds=given.rounds)
    print("\n".join(rank.lines(runs)), flush=True)
    rows = []
    for row in belief.rows(belief.wanted(given), given.few, given.limit):
        rows.append(row)
        print(f"{row.subject.name}: {row.told()}", flush=True)
    targets = [*of_belief(rows), *of_starts(runs)]
    print("", *(target.told() for target in targets), sep="\n")
    return 1 if any(target.met is False for target in targets) else 0


if __name__ == "__main__":
    sys.exit(main())
