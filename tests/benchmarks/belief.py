"""How long belief takes, as a ratio to general-purpose exact inference libraries in the same minute; how right it is.

    python tests/benchmarks/belief.py
    python tests/benchmarks/belief.py --few 4 --book electromechanical

On every shipped family and on made-up ones. A row is a symptom after three answers:

one answer      the third answer, and the posteriors of all faults, the model (theirs: the network) being there already;
                how many times longer pyAgrum takes, and pgmpy
as it grows     the same where what the answer reaches first has to be added to our model; the libraries are not timed
                with that, since their network is made beforehand
all checks      what each check would show next, and the ranking of all faults after each outcome of it, as the advice
                works them out: on the heaviest rows and the faults that bear on the squawk. ``rough`` is the largest
                difference that makes
in full         the same from the whole belief. Here and in pyAgrum some checks are timed and multiplied by outcomes
error           the largest difference to exact inference of any probability of any fault and of what some checks would
                show, allowed up to 1e-5 or ``left out``

Seconds are the process's own work, medians of runs in turn, so that a busy machine hardly matters. A library that takes
more than ``--limit`` such seconds for a part or three gigabytes is ended, and the row says so.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # before numpy is loaded, here and in the processes begun from here

import numpy as np

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.advice.job import Job
from faulttree.belief import Answer, Belief, Believer, Evidence
from faulttree.belief.likelihood import Floats
from faulttree.book.model import THE_SQUAWK, Book, Check
from tests.benchmarks.apart import Ended, in_turn
from tests.benchmarks.peers import PyAgrum, missing, pgmpy_query
from tests.benchmarks.subjects import Subject, all_subjects, answered

ROUNDS, LONG = 5, 1.0
"""Runs of each way in turn; three where one takes longer than so many seconds."""

TRIED_CHECKS = 4
TRUNCATION = 1e-5
LIMIT = 180.0


def medians(ways: Sequence[tuple[Callable[[], object], Callable[[], object]]]) -> list[float]:
    """Seconds of each way's work, run in turn, each after its preparation, which is not timed.

    The thread's, which is all there is: the libraries are given one. The clock of the process ticks in steps of
    milliseconds while it is being watched for taking too long.
    """
    taken: list[list[float]] = [[] for _ in ways]
    for rounds in range(ROUNDS):
        for (prepare, work), times in zip(ways, taken, strict=True):
            prepare()
            start = time.thread_time()
            work()
            times.append(time.thread_time() - start)
        if rounds == ROUNDS // 2 and max(map(median, taken)) > LONG:
            break
    return [max(median(times), 1e-6) for times in taken]


def nothing() -> None:
    """No preparation."""


# ------------------------------------------------------------------------------------------------------- ours


class Ours:
    """One case as belief and advice work it out."""

    def __init__(self, book: Book, evidence: Evidence) -> None:
        self.book, self.evidence = book, evidence
        self.before = Evidence(evidence.entries[:-1])
        self.advisor, self.believer = Advisor(book), Believer(book)
        self.reach = self.believer.reach(evidence)
        self.belief = self.believer.believe(evidence)

    def model_there(self) -> None:
        """A model of all that the last answer reaches, and the answers before it taken.

        Which modes of each set may be asleep belongs to it, as the nodes that say so belong to the libraries' network.
        """
        self.believer = Believer(self.book)
        belief = self.believer.believe(self.before, also=self.reach)
        belief.replay.frame.base.plans()
        _ = belief.faults

    def model_of_before(self) -> None:
        """A model of what the answers before the last one reach."""
        self.believer = Believer(self.book)
        _ = self.believer.believe(self.before).faults

    def one_more(self) -> None:
        """The last answer, and all faults after it."""
        self.belief = self.believer.believe(self.evidence)
        _ = self.belief.faults

    def job(self) -> Job:
        """What the advice plays on, compiled anew."""
        return Round(self.advisor, self.belief, Situation()).job

    def all_checks(self) -> None:
        """Each check's outcomes, and all faults after each, as the advice sees them."""
        after_each(self.job())

    def able_to_tell(self, checks: Sequence[Check]) -> None:
        """A model of all that some checks look at too, and all answers taken."""
        self.believer = Believer(self.book)
        names = [o.when for check in checks for o in check.outcomes if o.when and o.when != THE_SQUAWK]
        self.belief = self.believer.believe(self.evidence, also=[*self.reach, *names])

    def then(self, check: Check, place: int) -> Belief:
        """The whole belief after an outcome of a check."""
        said = Answer(check.id, tuple(float(place == other) for other in range(len(check.outcomes))))
        after = Evidence((*self.evidence.entries, said))
        return Belief(self.believer, after, self.belief.replay.fork().run((said,)))

    def in_full(self, checks: Sequence[Check]) -> None:
        """All faults after each outcome of some checks."""
        for check in checks:
            for place in range(len(check.outcomes)):
                _ = self.then(check, place).faults


def after_each(job: Job) -> tuple[Floats, Floats]:
    """Chance of each outcome, all checks side by side, and of each fault after each of them, (n_faults, n_columns)."""
    joint = job.weights[:, None] * job.shown
    chances = joint.sum(axis=0)
    with np.errstate(invalid="ignore"):
        return chances, (job.holds @ joint[:-1]) / chances


def rough(ours: Ours, job: Job, tried: Sequence[Check]) -> float:
    """The largest difference of what the advice plays on to the whole belief, over some checks."""
    chances, after = after_each(job)
    bearing = np.flatnonzero(job.holds.any(axis=1))
    names = [job.rows.frame.space.faults[i] for i in bearing]
    worst, place_of = 0.0, {check.id: c for c, check in enumerate(job.checks)}
    for check in tried:
        for place, full in enumerate(ours.belief.outcomes(check.id)):
            column = int(job.first[place_of[check.id]]) + place
            worst = max(worst, abs(float(chances[column]) - full))
            if full > TRUNCATION:
                faults = ours.then(check, place).faults
                exact = np.array([faults[name].probability for name in names])
                worst = max(worst, float(np.abs(after[bearing, column] - exact).max(initial=0.0)))
    return worst


def error(book: Book, belief: Belief, evidence: Evidence, tried: Sequence[Check]) -> float:
    """The largest difference to exact inference of any probability."""
    from tests.published import oracle

    exact = oracle.solve(book, evidence, [check.id for check in tried])
    pairs = [(belief.unlisted, exact.unlisted)]
    for fault in book.faults:
        pairs.append((belief.as_it_was[fault], exact.was[fault]))
        pairs.append((belief.faults[fault].probability, exact.stands[fault]))
        pairs.append((belief.faults[fault].comes_and_goes, exact.comes_and_goes[fault]))
    for check in tried:
        pairs += zip(belief.outcomes(check.id), exact.outcomes[check.id], strict=True)
    return max(abs(one - other) for one, other in pairs)


# ------------------------------------------------------------------------------------------------- one symptom


def figures(subject: Subject, symptom: str) -> Iterator[tuple[str, dict[str, float]]]:
    """What is measured of one symptom, part by part; in a process of its own, which may be ended at any time."""
    book = subject.book()
    ours = Ours(book, answered(book, symptom))
    alone = medians(
        [(ours.model_there, ours.one_more), (ours.model_of_before, ours.one_more), (nothing, ours.all_checks)]
    )
    job = ours.job()
    tried = job.checks[:: max(len(job.checks) // TRIED_CHECKS, 1)][:TRIED_CHECKS]
    outcomes = sum(len(check.outcomes) for check in job.checks)
    share = outcomes / max(sum(len(check.outcomes) for check in tried), 1)
    ours.able_to_tell(tried)
    yield "ours", dict(
        zip(("answer", "grown", "checks"), alone, strict=True), count=len(job.checks), reached=len(ours.reach),
        left_out=ours.belief.left_out, rough=rough(ours, job, tried),
    )  # fmt: skip
    ours.one_more()
    if missing("pyagrum"):
        return
    yield "pyagrum answer", pyagrum_answer(ours)
    if tried:
        yield "pyagrum checks", pyagrum_checks(ours, tried, share)
    ours.able_to_tell(tried)
    yield "error", {"error": error(book, ours.belief, ours.evidence, tried)}
    if missing("pgmpy"):
        return
    one_fault, count = pgmpy_query(book, ours.evidence)
    ours_one, one = medians([(ours.model_there, ours.one_more), (nothing, one_fault)])
    yield "pgmpy answer", {"ours": ours_one, "theirs": one * count}


def pyagrum_answer(ours: Ours) -> dict[str, float]:
    """One more answer, by the quicker of two ways to hand it over."""
    peer = PyAgrum(ours.book, ours.evidence)
    taken = medians(
        [
            (ours.model_there, ours.one_more),
            (lambda: peer.before(False), lambda: peer.one_more(False)),
            (lambda: peer.before(True), lambda: peer.one_more(True)),
        ]
    )
    return {"ours": taken[0], "theirs": min(taken[1:])}


def pyagrum_checks(ours: Ours, tried: Sequence[Check], share: float) -> dict[str, float]:
    """All checks, of which some are tried; ``share`` is how many times their outcomes all checks have."""
    # A network for each: several readings in one would make its tables larger than any of them needs.
    peers, there = [PyAgrum(ours.book, ours.evidence, [check]) for check in tried], ours.belief
    rough_seconds, full, some = medians(
        [
            (lambda: setattr(ours, "belief", there), ours.all_checks),
            (lambda: ours.able_to_tell(tried), lambda: ours.in_full(tried)),
            (lambda: [peer.told_all() for peer in peers], lambda: [peer.each_outcome() for peer in peers]),
        ]
    )
    return {"ours": rough_seconds, "full": full * share, "theirs": some * share}


PARTS = ("ours", "pyagrum answer", "pyagrum checks", "error", "pgmpy answer")
Part = dict[str, float] | Ended


@dataclass(frozen=True)
class Row:
    """What was measured of one symptom; of a part that was not finished, how it was ended."""

    subject: Subject
    symptom: str
    parts: dict[str, Part]

    def ratio(self, part: str, to: str = "ours") -> float | None:
        """How many times longer the library takes; at least that where it was ended for its time. None: not known."""
        got, ours = self.parts.get(part), self.parts.get("ours")
        if isinstance(got, dict):
            return got["theirs"] / got[to]
        if to != "ours":
            return None
        if isinstance(got, Ended) and got.seconds and isinstance(ours, dict):
            return got.seconds / ours["checks" if "checks" in part else "answer"]
        return None

    def named(self) -> str:
        """Book and symptom."""
        return f"{self.subject.name}, {self.symptom}"

    def error_and_left_out(self) -> tuple[float, float] | None:
        """How far belief is from exact inference, and what it says it leaves out; None where it was not worked out."""
        got, ours = self.parts.get("error"), self.parts.get("ours")
        return (got["error"], ours["left_out"]) if isinstance(got, dict) and isinstance(ours, dict) else None

    def told(self) -> str:
        """The row."""
        ours = self.parts.get("ours")
        if not isinstance(ours, dict):
            return f"{self.symptom:28} {ours or 'not measured'}"
        got = self.parts.get("error")
        off = f"{got['error']:.0e}" if isinstance(got, dict) else str(got or "-")
        return (
            f"{self.symptom:28}{ours['reached']:5.0f} faults {ours['count']:3.0f} checks"
            f"  one answer {ours['answer'] * 1e3:7.2f} ms, as it grows {ours['grown'] * 1e3:7.1f}"
            f"  pyAgrum x {self._times('pyagrum answer')}  pgmpy x {self._times('pgmpy answer')}"
            f"  all checks {ours['checks'] * 1e3:7.1f} ms  pyAgrum x {self._times('pyagrum checks')}"
            f"  in full x {self._full()}"
            f"  rough {ours['rough']:.0e}  error {off}  left out {ours['left_out']:.0e}"
        )

    def _full(self) -> str:
        ratio = self.ratio("pyagrum checks", "full")
        return "-" if ratio is None else f"{ratio:.1f}"

    def _times(self, part: str) -> str:
        got, ratio = self.parts.get(part), self.ratio(part)
        if isinstance(got, Ended):
            return f"({got})" if ratio is None else f">{ratio:.0f} ({got})"
        return "-" if ratio is None else f"{ratio:.1f}"


def rows(subjects: Sequence[Subject], few: int | None, limit: float) -> Iterator[Row]:
    """All rows of these books."""
    for subject in subjects:
        book = subject.book()
        for symptom in subject.symptoms(book, few):
            yield Row(subject, symptom, in_turn(figures, (subject, symptom), PARTS, limit))


def add_options(parser: argparse.ArgumentParser) -> None:
    """Words on what to measure."""
    names = [subject.name for subject in all_subjects()]
    parser.add_argument("--book", choices=names, action="append", help="one book alone; may be repeated")
    parser.add_argument("--few", type=int, help="so many symptoms of each shipped family, spread out; else all")
    parser.add_argument("--limit", type=float, default=LIMIT, help="seconds that a library gets for one figure")


def wanted(given: argparse.Namespace) -> list[Subject]:
    """The books to measure on."""
    return [subject for subject in all_subjects() if given.book is None or subject.name in given.book]


def main() -> None:
    """Prints a line for each symptom."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    add_options(parser)
    given = parser.parse_args()
    for library in ("pyagrum", "pgmpy"):
        if missing(library):
            print(f"{library} is not installed: not measured against it")
    told = ""
    for row in rows(wanted(given), given.few, given.limit):
        if row.subject.name != told:
            told = row.subject.name
            print(told, flush=True)
        print(f"  {row.told()}", flush=True)


if __name__ == "__main__":
    main()
