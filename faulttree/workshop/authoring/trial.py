"""A draft tried out before it is written: what the checker says, what it does to the ranking, what tells it apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from faulttree.belief import Believer, Evidence, Reported, plain
from faulttree.belief import Entry as BeliefEntry
from faulttree.book import read_book
from faulttree.book.legs import with_leg, without_leg
from faulttree.book.model import LEGS, Book, Check, Symptom
from faulttree.book.positions import ERROR, Problem
from faulttree.graph.gates import Gates
from faulttree.workshop.authoring.draft import Draft
from faulttree.workshop.authoring.ground import Ground
from faulttree.workshop.authoring.walk import Walker
from faulttree.workshop.checking import check_families, read
from faulttree.workshop.effect import as_written
from faulttree.workshop.rules import case_moved
from faulttree.workshop.testability import holding_alone, outcomes_alone, telling, weights

FIRST, SETS = 3, 2
"""Components that are told of each ranking; faults taken to be there at once, as where regression cases are run."""

READ, OFF, LIKELY = 4, 4.0, 0.5
"""So many checks that the advice comes to first are told of; an answer that makes the new cause so many times less
likely takes it off the list; chance below which a sound gear's answer is not the one to be expected."""

Ranking = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Apart:
    """The check that best tells a new fault from the other causes of a symptom by a result that is not a sound gear's:
    that result, and how many of ``others`` it then leaves out. ``alike`` are the names of causes that no check tells
    from it."""

    check: str
    shown: str
    leaves_out: int
    others: int
    alike: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Off:
    """An answer that takes the new cause off the list, because as it stands it reads as a sound gear there; the share
    of the cause before it and after it."""

    check: str
    shown: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Touched:
    """A symptom that the draft touches, reported alone: names of the components that lead with their shares before and
    after. ``place`` is that of the new fault's component, with ``share``, 0 where there is none. ``results`` are
    rankings after each result of a new check, by its label. ``apart`` is None where no check shows the fault by a
    result of its own. ``shows`` are what the checks that the advice comes to first show with the new fault alone, as
    the book would have it; ``off`` the answers to these that take it off the list."""

    symptom: str
    name: str
    before: Ranking
    after: Ranking
    component: str = ""
    place: int = 0
    share: float = 0.0
    results: tuple[tuple[str, Ranking], ...] = ()
    apart: Apart | None = None
    shows: tuple[tuple[str, str], ...] = ()
    off: tuple[Off, ...] = ()


@dataclass(frozen=True, slots=True)
class Trial:
    """What would come of the files. ``problems`` are those that were not there before, as the checker tells them, with
    the files where they would lie; where there are some that keep the book from loading nothing is ``touched``. The
    book is that at the usual options, or at those of the case."""

    problems: tuple[Problem, ...]
    advice: tuple[Problem, ...]
    cases: int
    touched: tuple[Touched, ...]
    target: str

    @property
    def moved(self) -> tuple[str, ...]:
        """The ids of cases outside the overlay that come out otherwise: it may take these out, with a reason."""
        found = (p for p in self.problems if p.rule == case_moved.ID and not p.position.file.startswith(self.target))
        return tuple(dict.fromkeys(p.what.partition(": ")[0].removeprefix("case ") for p in found))

    @property
    def only_moved(self) -> bool:
        """Whether these are all that is wrong."""
        return bool(self.moved) and all(
            p.rule == case_moved.ID and not p.position.file.startswith(self.target) for p in self.problems
        )


def try_out(draft: Draft, texts: Mapping[str, str], ground: Ground, remembered: Path | None = None) -> Trial:
    """Checks the family as it would be, cases and all, and works out the effect: some seconds on all cores.

    What is wrong elsewhere is held against how it was before. ``remembered`` is a folder for the results of cases that
    were run already.
    """
    with as_written(ground.folders, ground.target, texts) as folders:
        copy = next(folder for folder in folders if folder not in ground.folders)
        (checked,) = check_families(folders, [draft.family], remembered=remembered)
        found = [_moved(p, copy, ground.target) for p in (*checked.problems, *checked.misses, *checked.advice)]
        own = {str(ground.target / name) for name in texts}
        had = _had([p for p in found if p.position.file not in own], ground, remembered)
        new = [problem for problem in found if _same(problem) not in had]
        fitted = tuple(draft.case_data.get("fitted", ()))
        was, now = (read_book(where, draft.family, fitted).book for where in (ground.folders, folders))
        touched = tuple(_touched(draft, was, now)) if was is not None and now is not None else ()
    problems = tuple(problem for problem in new if problem.severity == ERROR)
    advice = tuple(problem for problem in new if problem.severity != ERROR)
    return Trial(problems, advice, checked.cases, touched, str(ground.target))


def _had(outside: Sequence[Problem], ground: Ground, remembered: Path | None) -> set[tuple[str, str, str]]:
    """What was wrong before already; cases are run anew only where one outside the new files came out otherwise."""
    found: list[Problem] = []
    if any(problem.rule != case_moved.ID for problem in outside):
        found += read(ground.folders, ground.family)[0]
    if any(problem.rule == case_moved.ID for problem in outside):
        (before,) = check_families(ground.folders, [ground.family], remembered=remembered)
        found += before.misses
    return {_same(problem) for problem in found}


def _moved(problem: Problem, copy: Path, target: Path) -> Problem:
    """A problem with the place where its file would lie, also where its words name another place."""
    at = problem.position
    here, there = str(copy.absolute()), str(target)
    position = replace(at, file=at.file.replace(here, there))
    return replace(problem, position=position, what=problem.what.replace(here, there))


def _same(problem: Problem) -> tuple[str, str, str]:
    """What makes two problems one, though the lines above have moved and figures in the words with them."""
    what = problem.what.partition(" comes in place ")[0]
    return Path(problem.position.file).name, problem.rule, what


def _touched(draft: Draft, before: Book, after: Book) -> Iterator[Touched]:
    old, new = Believer(before, SETS), Believer(after, SETS)
    members = [fault.id for fault in after.faults.values() if fault.id not in before.faults]
    walker = Walker(after, members[0]) if members else None
    for symptom in _symptoms(draft, after, members):
        was = _ranking(old, before, [Reported(symptom.id)]) if symptom.id in before.symptoms else ()
        now = _ranking(new, after, [Reported(symptom.id)])
        found = Touched(symptom.id, symptom.name, was[:FIRST], now[:FIRST])
        if walker is not None:
            component = after.components[after.faults[members[0]].component].name
            names = [name for name, _ in now]
            place = names.index(component) + 1 if component in names else 0
            met = walker.met(symptom.id)
            shows = tuple((one.check.name, one.check.outcomes[one.shown].label) for one in met[:READ])
            yield replace(
                found, component=component, place=place, share=dict(now).get(component, 0.0),
                apart=_apart(after, symptom, members[0]), shows=shows, off=tuple(_off(walker, symptom.id, members)),
            )  # fmt: skip
        elif draft.kind == "check":
            yield replace(found, results=tuple(_results(draft, new, after, symptom.id)))
        else:
            yield found


def _symptoms(draft: Draft, book: Book, faults: Sequence[str]) -> list[Symptom]:
    """Those that the new fault reaches; of a check those that its case reports; the new one."""
    if draft.kind == "cause":
        gates = Gates(book)
        return [s for s in book.symptoms.values() if not gates.below(s.when).isdisjoint(faults)]
    wanted = [draft.about] if draft.kind == "symptom" else draft.case_data["symptoms"]
    return [book.symptoms[name] for name in wanted if name in book.symptoms]


def _ranking(believer: Believer, book: Book, entries: Sequence[BeliefEntry]) -> Ranking:
    share = believer.believe(Evidence(tuple(entries))).components
    ordered = sorted(share.items(), key=lambda item: (-item[1], item[0]))
    return tuple((_name(book, component), value) for component, value in ordered if value > 0.0)


def _name(book: Book, component: str) -> str:
    found = book.components.get(component)
    return found.name if found is not None else component


def _results(draft: Draft, believer: Believer, book: Book, symptom: str) -> Iterator[tuple[str, Ranking]]:
    check = book.checks.get(draft.about)
    for outcome in check.outcomes if check is not None else ():
        entries: list[BeliefEntry] = [Reported(symptom), plain(book, draft.about, outcome.id)]
        yield outcome.label, _ranking(believer, book, entries)[:FIRST]


def _off(walker: Walker, symptom: str, members: Sequence[str]) -> Iterator[Off]:
    """Answers to what is asked first that take the fault off the list, where more likely than not one of them is given:
    what most causes read as a sound gear is no riddle."""

    def share(*answers: BeliefEntry) -> float:
        belief = walker.believer.believe(Evidence((Reported(symptom), *answers)))
        return sum(belief.as_it_was.get(fault, 0.0) for fault in members)

    before = share()
    for met in walker.met(symptom)[:READ]:
        if met.against and met.chance < LIKELY:
            likely = met.check.outcomes[met.likely]
            after = share(plain(walker.book, met.check.id, likely.id))
            if after < before / OFF:
                yield Off(met.check.name, likely.label, before, after)


def _apart(book: Book, symptom: Symptom, fault: str) -> Apart | None:
    """What tells a fault from the other causes of a symptom, by a result of its own.

    Each fault is taken alone and awake, as the testability figures do. A result as of a sound gear is left out: with a
    squawk that the pilot did report it may well be one that cannot be.
    """
    faults = list(book.faults)
    rows = holding_alone(book, faults, [symptom.when])[symptom.when][:-1]
    own = faults.index(fault)
    same = {with_leg(without_leg(fault)[0], leg) for leg in LEGS} | {fault}
    others = [row for row in range(len(faults)) if rows[row] and faults[row] not in same]
    checks: list[Check] = [check for check in telling(book) if check.proposed]
    shown = outcomes_alone(book, faults, checks)
    differs = shown[others] != shown[own]
    rate = weights(book)
    heavy = [sum(rate[faults[row]] for row, out in zip(others, column, strict=True) if out) for column in differs.T]
    of_its_own = [i for i in range(len(checks)) if heavy[i] and shown[own, i] != shown[-1, i]]
    if not of_its_own:
        return None
    best = min(of_its_own, key=lambda i: (-heavy[i], checks[i].minutes))
    alike = [book.faults[faults[row]].name for row, one in zip(others, differs, strict=True) if not one.any()]
    label = checks[best].outcomes[int(shown[own, best])].label
    return Apart(checks[best].name, label, int(differs[:, best].sum()), len(others), tuple(alike))
