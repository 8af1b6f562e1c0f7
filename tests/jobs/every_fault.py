"""Every fault of a book that gives a symptom, alone, hard and coming and going: is it found, mended and proved?

    python tests/jobs/every_fault.py --tries 3 --processes 2

Jobs are played with the quick choice. Printed: the share, weighted by rate, that calls help; faults that were never
mended; mean minutes on the clock as a ratio to the floor, what each job would take if the fault were known from the
start; and the worst of them.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from tests.jobs.run import FAMILY, Player, shipped_book  # isort: skip - sets how many threads numpy takes

import numpy as np

from faulttree.advice import Figures, proofs_of
from faulttree.advice.floor import Floor
from faulttree.book.model import Book
from faulttree.conditions import Moves
from tests.jobs.gear import Gear, Job, Modes, event_holds

WORST = 20


@dataclass(frozen=True)
class Met:
    """How one fault fared under one symptom: over the tries, and what it would have taken had it been known."""

    fault: str
    sleeping: bool
    symptom: str
    rate: float
    helped: float
    mended: float
    minutes: float
    floor: float


def to_meet(book: Book, symptom: str) -> Iterator[tuple[str, bool, float]]:
    """Faults that alone give the symptom, by mode, with the mode's rate (a plain probability as a rate)."""
    for fault in book.faults.values():
        if event_holds(book, symptom, frozenset([fault.id])):
            rate = fault.rate if fault.rate is not None else (fault.probability or 0.0) * 1000 / book.defaults.hours
            if fault.share < 1.0:
                yield fault.id, False, rate * (1.0 - fault.share)
            if fault.share > 0.0:
                yield fault.id, True, rate * fault.share


def gear_with(book: Book, symptom: str, modes: Modes, rng: np.random.Generator) -> Gear:
    """A gear with just this wrong."""
    gear = Gear(book, symptom, [modes], rng)
    gear.unlisted, gear.was, gear.now = False, modes, modes
    return gear


def floor_of(book: Book, symptom: str, fault: str) -> float:
    """Minutes on the clock if the fault were known: the cheapest action that corrects it, proof, restoring."""
    plain = replace(Figures.from_defaults(book.defaults), care=0.0, wait_weight=0.0)
    floor = Floor(book, Moves(book.conditions), plain, proofs_of(book, [symptom]))
    able = [a.id for a in book.actions.values() if fault in a.corrects]
    return min(floor.of_plan(frozenset(), frozenset([action])) for action in able)


def meet(family: str, symptom: str, tries: int, seed: int) -> list[Met]:
    """Plays all faults of one symptom."""
    book = shipped_book(family)
    player = Player(book, sets=2)
    opening = {q.id: next(a.id for a in q.answers if not a.first) for q in book.opening}
    found = []
    for place, (fault, sleeping, rate) in enumerate(to_meet(book, symptom)):
        modes = Modes(sleeping=frozenset([fault])) if sleeping else Modes(hard=frozenset([fault]))
        played = []
        for turn in range(tries):
            rng = np.random.default_rng([seed, place, turn])
            job = Job(turn, symptom, gear_with(book, symptom, modes, rng), None, frozenset(), opening)
            one = player.play(job)
            played.append((one.ended == "help", one.ended == "proof" and not job.gear.faulty, one.minutes))
        helped, mended, minutes = (float(np.mean(values)) for values in zip(*played, strict=True))
        found.append(Met(fault, sleeping, symptom, rate, helped, mended, minutes, floor_of(book, symptom, fault)))
    return found


def lines(met: Sequence[Met]) -> Iterator[str]:
    """What is printed."""
    rate = np.array([m.rate for m in met])
    weigh = rate / rate.sum()
    ratio = float(weigh @ [m.minutes for m in met]) / float(weigh @ [m.floor for m in met])
    yield f"{len({m.fault for m in met})} faults, {len(met)} by mode and symptom"
    yield f"help is called in {float(weigh @ [m.helped for m in met]):.1%} (goal 5 %)"
    yield f"mended and proved {float(weigh @ [m.mended for m in met]):.1%}"
    yield f"minutes {ratio:.2f} times the floor (goal 1.7)"
    never = [m for m in met if m.mended == 0.0]
    yield f"never mended: {len(never)}"
    yield from (f"  {m.symptom}: {m.fault}{' (comes and goes)' if m.sleeping else ''}" for m in never)
    yield f"the {WORST} worst by minutes over the floor"
    for m in sorted(met, key=lambda m: -m.minutes / m.floor)[:WORST]:
        mode = " (comes and goes)" if m.sleeping else ""
        yield f"  {m.minutes / m.floor:5.1f}  help {m.helped:4.0%}  {m.symptom}: {m.fault}{mode}"


def main(words: Sequence[str] | None = None) -> int:
    """Plays and prints."""
    parser = argparse.ArgumentParser(description="Plays every fault of a book alone.")
    parser.add_argument("--family", default=FAMILY)
    parser.add_argument("--tries", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    asked = parser.parse_args(words)
    with ProcessPoolExecutor(asked.processes) as workers:
        running = [
            workers.submit(meet, asked.family, symptom, asked.tries, asked.seed)
            for symptom in shipped_book(asked.family).symptoms
        ]
        met: list[Met] = []
        for number, each in enumerate(running, 1):
            met += each.result()
            print(f"{number} of {len(running)} symptoms", file=sys.stderr, flush=True)
    print("\n".join(lines(met)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
