"""Follows go-to charts on simulated jobs: no caution skipped, no dead end, and how many minutes against the advice.

    python tests/jobs/chart_followed.py --jobs 60 --seed 1 --processes 2
    python tests/jobs/chart_followed.py --walks 1000 --charts /tmp/charts --family power-pack --symptom gear-sags

How a chart is followed is in ``follower``. The same gears are worked by the advice, one step after another, for
comparison; ``--walks`` more gears are worked by the chart alone, which takes no time to speak of. As many ways are
walked by chance alone, each outcome as likely as another: what no gear shows must not be wrong either. With
``--charts`` the charts that lie in a folder are followed, and those that do not are put there.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from zlib import crc32

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

import numpy as np

from faulttree.book import families
from faulttree.book.model import Book
from faulttree.papers import as_json, page_count
from faulttree.workshop.chart import Limits, fitting
from tests.jobs.follower import HELP, Chance, Follower
from tests.jobs.gear import POOL, Gear, Job, Modes
from tests.jobs.run import ROOT, Player, draw_pools, shipped_book

PAGES = 4
MOST = 1.25
"""So many times the minutes of the advice a chart may take."""


@dataclass(frozen=True)
class Compared:
    """A chart against the advice on the same gears, means of minutes; ``pages`` of its PDF, chances of other ends.

    ``walked`` is the mean by the chart on all gears that it was followed on, ``walked_error`` its standard error.
    ``error`` is the standard error of the ratio (of a ratio of means, by its linear part: Cochran, "Sampling
    Techniques", 1977, section 6.4, from memory).
    """

    family: str
    symptom: str
    steps: int
    pages: int
    chart: float
    advice: float
    error: float
    foretold: float
    walked: float
    walked_error: float
    help: float
    help_advice: float
    hidden: float
    hidden_advice: float
    stopped: float
    wrong: tuple[str, ...]

    @property
    def ratio(self) -> float:
        """Minutes by the chart over minutes by the advice."""
        return self.chart / self.advice


class SameGear(Gear):
    """A gear on which the first, second … time that a check is done shows the same, whatever else was done.

    So the chart and the advice meet the same luck; each alone meets what any gear would show.
    """

    def __init__(self, book: Book, symptom: str, drawn: Sequence[Modes], seed: Sequence[int]) -> None:
        super().__init__(book, symptom, drawn, np.random.default_rng(seed))
        self._seed, self._times = seed, Counter[str]()

    def show(self, check: str) -> str:
        """What it shows this time."""
        self._begin(check)
        return super().show(check)

    def repair(self, action: str) -> None:
        """Whether it does what it should this time."""
        self._begin(action)
        super().repair(action)

    def _begin(self, name: str) -> None:
        self._times[name] += 1
        self._rng = np.random.default_rng([*self._seed, crc32(name.encode()), self._times[name]])


def gears(
    book: Book, symptom: str, drawn: Mapping[str, Sequence[Modes]], seed: int, jobs: int
) -> Iterator[tuple[Gear, Gear]]:
    """Each gear twice: once for the chart, once for the advice."""
    for number in range(jobs):
        ours, theirs = (SameGear(book, symptom, drawn[symptom], [seed, number]) for _ in range(2))
        yield ours, theirs


def compare(
    family: str, symptom: str, seed: int, jobs: int, limits: Limits | None = None, count: int = POOL,
    walks: int = 0, charts: Path | None = None,
) -> Compared:  # fmt: skip
    """Compiles a chart or takes a kept one, follows it on gears, and works the first ``jobs`` of them by the advice."""
    book = shipped_book(family)
    chart = kept_chart(book, symptom, limits, charts)
    follower, player = Follower(book, chart), Player(book, sets=2)
    harmless = {q.id: next(a for a in q.answers if not a.first).id for q in book.opening}
    pools, walked, played = draw_pools(book, seed, [symptom], count), [], []
    for number, (ours, theirs) in enumerate(gears(book, symptom, pools, seed, max(jobs, walks))):
        walked.append(follower.follow(ours))
        if number < jobs:
            played.append(player.play(Job(number, symptom, theirs, None, frozenset(), harmless)))
    minutes = np.array([w.minutes for w in walked])
    by_chance = (follower.follow(Chance(book, [seed, number])) for number in range(max(jobs, walks)))
    return Compared(
        family, symptom, len(chart["steps"]), page_count(chart), _mean(w.minutes for w in walked[:jobs]),
        _mean(p.minutes for p in played), _error(minutes[:jobs].tolist(), [p.minutes for p in played]),
        chart["minutes"]["chart"], float(minutes.mean()), float(minutes.std() / np.sqrt(len(minutes))),
        _mean(w.ended == HELP for w in walked), _mean(p.ended == HELP for p in played),
        _mean(w.hidden for w in walked), _mean(p.hidden for p in played), _mean(w.stopped for w in walked),
        tuple(dict.fromkeys(told for w in (*walked, *by_chance) for told in w.wrong)),
    )  # fmt: skip


def kept_chart(book: Book, symptom: str, limits: Limits | None, folder: Path | None) -> dict[str, Any]:
    """The chart of a symptom as it lies in a folder; where it does not it is compiled, and put there."""
    if folder is None:
        return fitting(book, symptom, PAGES, limits)
    at = folder / f"{book.family}--{symptom}.json"
    if not at.exists():
        folder.mkdir(parents=True, exist_ok=True)
        at.write_text(as_json(fitting(book, symptom, PAGES, limits)), encoding="utf-8")
    return dict(json.loads(at.read_text(encoding="utf-8")))


def _error(ours: Sequence[float], theirs: Sequence[float]) -> float:
    """Standard error of the ratio of the means of paired minutes."""
    a, b = np.array(ours), np.array(theirs)
    left = a - a.mean() / b.mean() * b
    return float(left.std(ddof=1) / np.sqrt(len(a)) / b.mean()) if len(a) > 1 else float("inf")


def _mean(values: Iterable[float]) -> float:
    listed = [float(value) for value in values]
    return sum(listed) / len(listed) if listed else 0.0


def main(words: Sequence[str] | None = None) -> int:
    """Compares the charts of all symptoms; 1 where one is wrong, too long or too dear."""
    parser = argparse.ArgumentParser(description="Follows go-to charts on simulated jobs.")
    parser.add_argument("--jobs", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    parser.add_argument("--pool", type=int, default=POOL, help="gears drawn for the jobs of a symptom to share")
    parser.add_argument("--walks", type=int, default=0, help="gears in all that the chart is followed on, if more")
    parser.add_argument("--charts", type=Path, help="folder that charts are kept in")
    parser.add_argument("--family", action="append", default=[])
    parser.add_argument("--symptom", action="append", default=[])
    asked = parser.parse_args(words)
    bad, found = 0, list[Compared]()
    with ProcessPoolExecutor(asked.processes) as workers:
        for family in asked.family or families([ROOT / "knowledge"]):
            wanted = asked.symptom or list(shipped_book(family).symptoms)
            compared = partial(
                compare, family, seed=asked.seed, jobs=asked.jobs, count=asked.pool, walks=asked.walks,
                charts=asked.charts,
            )  # fmt: skip
            for one in workers.map(compared, wanted):
                found.append(one)
                bad += bool(one.wrong) or one.pages > PAGES or one.ratio > MOST
                print(
                    f"{family} {one.symptom}: {one.steps} steps, {one.pages} pages, {one.chart:.0f} min (told "
                    f"{one.foretold:.0f}, on all gears {one.walked:.0f} +- {one.walked_error:.0f}) against "
                    f"{one.advice:.0f}: {one.ratio:.2f} +- {one.error:.2f}; "
                    f"help {one.help:.0%} against {one.help_advice:.0%}, "
                    f"come back {one.hidden:.0%} against {one.hidden_advice:.0%}, stopped {one.stopped:.0%}",
                    flush=True,
                )  # fmt: skip
                for told in one.wrong[:5]:
                    print(f"  {told}", flush=True)
            ours = [one for one in found if one.family == family]
            ratio = sum(one.chart for one in ours) / sum(one.advice for one in ours)
            print(f"{family}: {ratio:.3f} of the advice's minutes, worst {max(one.ratio for one in ours):.2f}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
