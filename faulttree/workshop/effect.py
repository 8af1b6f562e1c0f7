"""What a proposed overlay would do to the advice: the order of the causes, the next step, the regression cases."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from faulttree.advice import Advice, Advisor, proofs_of, situation_after
from faulttree.belief import Belief, Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.book.positions import Problem
from faulttree.workshop.checking import check_families
from faulttree.workshop.finds import written_fault
from faulttree.workshop.proposal import place, put

CAUSES, SETS = 3, 2
"""Causes that are told of each symptom; faults taken to be there at once, as where regression cases are run."""

MINUTE, POINTS = 1.0, 0.05
"""Minutes and chances that are told of; by less nobody would work otherwise."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What changes for one symptom known by itself.

    Causes are those that lead before or after, the likeliest first, by the ids of the files with their probabilities.
    ``saves`` are expected minutes, by the rates as learned: the rest of the job with the step that is next now, less
    that with the one next then; 0 where the step stays, None where the old one is no longer offered.
    """

    symptom: str
    before: tuple[tuple[str, float], ...]
    after: tuple[tuple[str, float], ...]
    step_before: str
    step_after: str
    minutes: float
    saves: float | None

    @property
    def other_step(self) -> bool:
        """Whether another step is next, and not one that is as good."""
        return self.step_before != self.step_after and (self.saves is None or self.saves >= MINUTE)

    @property
    def moves(self) -> bool:
        """Whether another step is next, or a cause that leads is likelier or less likely by so much that it shows."""
        was, now = dict(self.before), dict(self.after)
        most = max((abs(was.get(fault, 0.0) - now.get(fault, 0.0)) for fault in {**was, **now}), default=0.0)
        return self.other_step or most >= POINTS


@dataclass(frozen=True, slots=True)
class Moved:
    """Regression cases that bring out something else: sentences with their place. ``runs`` is False where the book
    with the proposal does not load; then ``worse`` are its problems."""

    worse: tuple[str, ...]
    better: tuple[str, ...]
    runs: bool = True


def effects(before: Book, after: Book) -> Iterator[Effect]:
    """What changes for each symptom that both books have."""
    old, new = _Seen(before), _Seen(after)
    for symptom in before.symptoms:
        if symptom in after.symptoms:
            yield _effect(symptom, old, new)


class _Seen:
    """A book with those who judge by it."""

    def __init__(self, book: Book) -> None:
        self.book, self.believer, self.advisor = book, Believer(book, SETS), Advisor(book)

    def see(self, symptom: str) -> tuple[Belief, Advice]:
        evidence = Evidence((Reported(symptom),))
        belief = self.believer.believe(evidence)
        situation = situation_after(self.book, evidence.entries, proofs_of(self.book, [symptom]))
        return belief, self.advisor.advise(belief, situation, ahead=False)

    def shares(self, belief: Belief) -> dict[str, float]:
        """The causes with their probabilities, legs together, the likeliest first."""
        shares: dict[str, float] = {}
        for fault, probability in belief.as_it_was.items():
            name = written_fault(self.book.faults[fault])
            shares[name] = shares.get(name, 0.0) + probability
        return dict(sorted(shares.items(), key=lambda item: (-item[1], item[0])))


def _effect(symptom: str, old: _Seen, new: _Seen) -> Effect:
    (belief_before, advice_before), (belief_after, advice_after) = old.see(symptom), new.see(symptom)
    step_before, step_after = (a.suggestions[0] for a in (advice_before, advice_after))
    stays = next((s.expected_minutes for s in advice_after.suggestions if s.id == step_before.id), None)
    saves = None if stays is None else max(stays - step_after.expected_minutes, 0.0)
    was, now = old.shares(belief_before), new.shares(belief_after)
    leading = {*list(was)[:CAUSES], *list(now)[:CAUSES]}
    before, after = (tuple((c, p) for c, p in one.items() if c in leading) for one in (was, now))
    return Effect(
        symptom, before, after, step_before.name, step_after.name,
        step_after.expected_minutes, saves,
    )  # fmt: skip


@contextmanager
def as_written(folders: Sequence[Path], target: Path | None, texts: Mapping[str, str]) -> Iterator[list[Path]]:
    """The folders as they would be with texts written in ``target``, by their path in it ("" for no such file): a copy
    of it, gone at the end. Where the target is none of the folders yet, or there is none, its copy comes last."""
    with TemporaryDirectory() as room:
        shown, copy = [], None
        for number, folder in enumerate(folders):
            shown.append(folder)
            if target is not None and number and folder.absolute() == target.absolute():
                shown[-1] = copy = Path(shutil.copytree(folder, Path(room) / str(number)))
        if copy is None:
            copy = Path(room) / "new"
            if target is not None and target.is_dir():
                shutil.copytree(target, copy)
            copy.mkdir(exist_ok=True)
            shown.append(copy)
        for name, text in texts.items():
            put(copy / name, text)
        yield shown


@contextmanager
def as_proposed(folders: Sequence[Path], family: str, target: Path | None, text: str) -> Iterator[list[Path]]:
    """The same with FILE of what was learned from cases."""
    with as_written(folders, target, {str(place(Path(), family)): text}) as shown:
        yield shown


def moved_cases(folders: Sequence[Path], proposed: Sequence[Path], family: str) -> Moved:
    """Runs the regression cases of a family on both, on all cores: some ten seconds."""
    (before,), (after,) = (list(check_families(these, [family])) for these in (folders, proposed))
    if after.problems:
        return Moved(tuple(map(str, after.problems)), (), False)
    # Cases of the overlay itself lie in its copy; where they stand is where they stand.
    was = {_told(miss): _line(miss) for miss in before.misses}
    then = {_told(miss): _line(miss) for miss in after.misses}
    named_before, named_then = ({name for name, _ in found} for found in (was, then))
    return Moved(
        tuple(miss for (name, _), miss in then.items() if name not in named_before),
        tuple(miss for (name, _), miss in was.items() if name not in named_then),
    )


def _line(miss: Problem) -> str:
    return f"{miss.position}: {miss.what}"


def _told(miss: Problem) -> tuple[str, str]:
    """The case and what it missed, out of ``case id: what``."""
    name, _, what = miss.what.removeprefix("case ").partition(": ")
    return name, what
