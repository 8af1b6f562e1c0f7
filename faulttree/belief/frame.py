"""What all replays of one case share: the reached faults and their sets, given the first symptoms.

The columns of likelihood that checks have over those sets are worked out once and kept here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.belief.evidence import Answer, Denied, Did, Entry, Evidence, Found, Reported
from faulttree.belief.likelihood import Floats, matrix
from faulttree.belief.priors import CERTAIN, ModePriors
from faulttree.belief.sets import ModeSets
from faulttree.belief.space import Bools, FaultSpace, Ints, Outcomes
from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.errors import UnknownName
from faulttree.graph.gates import Gates
from faulttree.kept import Latest

MOST_COLUMNS, COLUMNS_ROOM = 64, 4_000_000
"""Columns of likelihood that a frame keeps, and the numbers in them together (8 bytes each): on a large frame those of
the latest answers alone, and what is asked of older ones is worked out again."""


@dataclass(frozen=True, slots=True)
class FirstSymptoms:
    """Symptoms of the first epoch, sorted, each once."""

    reported: tuple[str, ...]
    denied: tuple[str, ...]


def first_symptoms(entries: Sequence[Entry]) -> FirstSymptoms:
    """What was said of symptoms before any action."""
    reported, denied = set(), set()
    for entry in entries:
        if isinstance(entry, Did):
            break
        if isinstance(entry, Reported):
            reported.add(entry.symptom)
        elif isinstance(entry, Denied):
            denied.add(entry.symptom)
    return FirstSymptoms(tuple(sorted(reported)), tuple(sorted(denied)))


def reported_so_far(entries: Sequence[Entry]) -> tuple[str, ...]:
    """Symptoms that ``the-squawk`` stands for after these entries: any reported before the last action.

    Before there is an action it stands for all symptoms of the first epoch, wherever they come in it.
    """
    last = max(i for i, entry in enumerate(entries) if isinstance(entry, Did))
    return tuple(sorted({e.symptom for e in entries[:last] if isinstance(e, Reported)}))


def looked_at(book: Book, entry: Entry) -> list[str]:
    """The faults and events that an entry looks at. Raises UnknownName for an id the book does not have."""
    if isinstance(entry, Reported | Denied):
        if entry.symptom not in book.symptoms:
            raise UnknownName(f"the {book.family} book has no symptom {entry.symptom!r}")
        return [book.symptoms[entry.symptom].when]
    if isinstance(entry, Answer):
        if entry.check not in book.checks:
            raise UnknownName(f"the {book.family} book has no check {entry.check!r}")
        return [o.when for o in book.checks[entry.check].outcomes if o.when and o.when != THE_SQUAWK]
    if isinstance(entry, Found):
        if entry.fault not in book.faults:
            raise UnknownName(f"the {book.family} book has no fault {entry.fault!r}")
        return [entry.fault]
    if entry.action not in book.actions:
        raise UnknownName(f"the {book.family} book has no action {entry.action!r}")
    return []


def reached(book: Book, gates: Gates, evidence: Evidence, also: Sequence[str] = ()) -> tuple[str, ...]:
    """Faults below anything that the entries look at (and below ``also``), in the book's order."""
    below: set[str] = set()
    for entry in evidence.entries:
        for name in looked_at(book, entry):
            below |= gates.below(name)
    for name in also:
        below |= gates.below(name)
    return tuple(fault for fault in book.faults if fault in below)


class Frame:
    """Sets of modes that give the first symptoms, their weights, and columns of likelihood over them.

    ``base`` the kept sets; ``log_given`` (n,) natural logs of prior weight times the denied symptoms;
    ``log_unlisted`` the unlisted cause's weight on the same scale. ``matrices`` of checks are kept for all frames of a
    book.
    """

    def __init__(
        self,
        book: Book,
        gates: Gates,
        faults: Sequence[str],
        priors: dict[str, ModePriors],
        symptoms: FirstSymptoms,
        size_limit: int | None,
        matrices: dict[str, Floats] | None = None,
    ) -> None:
        self.book = book
        self.symptoms = symptoms
        causes = _causes(book, gates, symptoms)
        if causes is None:
            self.space = FaultSpace(book, gates, faults, priors, size_limit)
            every = ModeSets(self.space, self.space.all_sets())
        else:
            # Causes first: a set without one of them gives no symptom and need not be listed at all.
            ordered = sorted(faults, key=lambda fault: fault not in causes)
            self.space = FaultSpace(book, gates, ordered, priors, size_limit)
            every = ModeSets(self.space, self.space.all_sets(sum(fault in causes for fault in faults)))
        gives = np.ones(self.space.n_subsets, dtype=np.bool_)
        for name in symptoms.reported:
            gives &= self.space.truth(book.symptoms[name].when)
        self.base = every.keep(gives[every.whole()])
        self.log_given = self.base.log_prior()
        with np.errstate(divide="ignore"):
            for name in symptoms.denied:
                symptom = book.symptoms[name]
                held = self.space.truth(symptom.when)[self.base.whole()]
                self.log_given += np.log(np.where(held, 1.0 - symptom.noticed, 1.0))
        share = max((book.symptoms[name].unlisted for name in symptoms.reported), default=0.0)
        self.log_total = log_sum(self.log_given)
        self.log_unlisted = -np.inf
        if share > 0:
            # With no listed set left the odds have no base: the unlisted cause then holds all the weight.
            anchor = self.log_total if np.isfinite(self.log_total) else 0.0
            share = min(share, CERTAIN)
            self.log_unlisted = anchor + float(np.log(share) - np.log1p(-share))
        self.given = np.exp(self.log_given - self.log_total) if np.isfinite(self.log_total) else None
        self._columns = Latest[tuple[object, ...], Floats](MOST_COLUMNS, lambda column: column.size, COLUMNS_ROOM)
        self._means: dict[str, Floats] = {}
        self._true: dict[tuple[str, tuple[str, ...]], Outcomes] = {}
        self._matrices: dict[str, Floats] = {} if matrices is None else matrices
        self.heavy: tuple[ModeSets, Floats] | None = None
        self.heavy_awake: dict[tuple[float, bool], Floats] = {}
        self.heavy_means: dict[str, Floats] = {}

    def matrix(self, check: Check) -> Floats:
        """The check's matrix [shown, true]."""
        if check.id not in self._matrices:
            self._matrices[check.id] = matrix(check)
        return self._matrices[check.id]

    def true_outcome(self, check: Check, squawk: tuple[str, ...]) -> Outcomes:
        """The first outcome whose event holds on each numbered fault set, shape (n_subsets,)."""
        key = (check.id, squawk if check.proof else ())
        if key not in self._true:
            k = len(check.outcomes)
            true = np.full(self.space.n_subsets, k - 1, dtype=np.int8)
            for place in range(k - 2, -1, -1):
                np.copyto(true, place, where=self.space.truth_of_any(self._names(check, place, squawk)))
            self._true[key] = true
        return self._true[key]

    def true_at(self, checks: Sequence[Check], squawk: tuple[str, ...], numbers: Ints) -> Ints:
        """The same for each of many checks, on the fault sets with these numbers alone, (n_checks, len(numbers))."""
        last = np.array([len(check.outcomes) - 1 for check in checks], dtype=np.int64)
        true = np.repeat(last[:, None], len(numbers), axis=1)
        for place in range(int(last.max(initial=0)) - 1, -1, -1):
            having = np.flatnonzero(last > place)
            names = [self._names(checks[c], place, squawk) for c in having.tolist()]
            true[having] = np.where(self.space.truth_at(names, numbers), place, true[having])
        return true

    def least_outcome(self, check: Check, squawk: tuple[str, ...]) -> Ints:
        """The latest outcome that can be the true one while a fault is there and awake, shape (n_faults,).

        Adding faults to a coherent event (no ``not`` below it) never undoes it, so where one fault alone brings an
        outcome's event about, no later outcome is the true one for any set that holds the fault.
        """
        latest = np.full(len(self.space.faults), len(check.outcomes) - 1, dtype=np.int64)
        for place in range(len(check.outcomes) - 2, -1, -1):
            for name in self._names(check, place, squawk):
                latest[self.brings_about(name)] = place
        return latest

    def brings_about(self, name: str) -> Bools:
        """Which faults alone, whatever else is there, make a fault or event hold, shape (n_faults,)."""
        if not _coherent(self.book, name):
            return np.zeros(len(self.space.faults), dtype=np.bool_)
        alone = self.space.rank(np.arange(len(self.space.faults)).reshape(-1, 1))
        return self.space.truth(name)[alone] if self.space.limit else np.zeros(0, dtype=np.bool_)

    def able(self, names: Sequence[str]) -> Bools | None:
        """Modes of which a set needs one at least for any of ``names`` to hold, shape (n_modes,).

        None where an event with ``not`` can hold with nothing below it present.
        """
        if not all(_coherent(self.book, name) for name in names):
            return None
        below = frozenset[str]().union(*(self.space.below(name) for name in names))
        return np.array([fault in below for fault in self.space.faults], dtype=np.bool_)[self.space.mode_fault]

    def needed(self) -> list[Bools]:
        """For each first symptom the modes of which a set must hold one to give it, each (n_modes,)."""
        marks = [self.able([self.book.symptoms[name].when]) for name in self.symptoms.reported]
        return [mark for mark in marks if mark is not None]

    def looked_at(self, check: Check, squawk: tuple[str, ...]) -> Bools | None:
        """Modes of which a set needs one at least for a check to find anything, shape (n_modes,), or None."""
        return self.able([name for place in range(len(check.outcomes)) for name in self._names(check, place, squawk)])

    def _names(self, check: Check, place: int, squawk: tuple[str, ...]) -> list[str]:
        when = check.outcomes[place].when
        if when == THE_SQUAWK:
            return [self.book.symptoms[name].when for name in squawk]
        return [] if when is None else [when]

    def shown(self, check: Check, squawk: tuple[str, ...], sets: ModeSets | None = None) -> Floats:
        """L[set, outcome] of a check over ``sets`` (the base if none are given), shape (n, n_outcomes)."""
        whole = check.about == "squawk"
        if sets is not None:
            return sets.shown(self.matrix(check), self.true_outcome(check, squawk), check.wakes, whole)
        key = ("check", check.id, squawk if check.proof else ())
        known = self._columns.get(key)
        if known is None:
            true = self.true_outcome(check, squawk)
            known = self._columns.put(key, self.base.shown(self.matrix(check), true, check.wakes, whole))
        return known

    def shown_at(self, checks: Sequence[Check], squawk: tuple[str, ...], sets: ModeSets) -> Iterator[Floats]:
        """The same for each of many checks, over few sets with numbers of their own."""
        assert sets.numbers is not None
        for check, true in zip(checks, self.true_at(checks, squawk, sets.numbers), strict=True):
            yield sets.shown(self.matrix(check), true, check.wakes, check.about == "squawk")

    def seen(
        self, check: Check, squawk: tuple[str, ...], weights: tuple[float, ...], sets: ModeSets | None = None
    ) -> Floats:
        """Likelihood of one answer over ``sets`` (the base if none are given), shape (n,): L times its weights."""
        key = ("seen", check.id, squawk if check.proof else (), weights)
        known = self._columns.get(key) if sets is None else None
        if known is not None:
            return known
        likelihood = np.array(weights) @ self.matrix(check)
        true, whole = self.true_outcome(check, squawk), check.about == "squawk"
        seen = (sets or self.base).seen(likelihood, true, check.wakes, whole)
        return self._columns.put(key, seen) if sets is None else seen

    def seen_unlisted(self, check: Check, squawk: tuple[str, ...], weights: tuple[float, ...]) -> float:
        """Likelihood of one answer under the unlisted cause."""
        if self.given is None or any(outcome.when == THE_SQUAWK for outcome in check.outcomes):
            return float(self.shown_unlisted(check, squawk)[0] @ np.array(weights))
        return float(self.given @ self.seen(check, squawk, weights))

    def shown_unlisted(self, check: Check, squawk: tuple[str, ...]) -> Floats:
        """L[outcome] under the unlisted cause, shape (1, n_outcomes).

        A proof shows the squawk as surely as it ever does. Any other check has its mean column: what it
        shows on average over the sets as they were, given the first symptoms, the same for the whole case.
        """
        for place, outcome in enumerate(check.outcomes):
            if outcome.when == THE_SQUAWK:
                return self.matrix(check)[:, [place]].T
        if self.given is None:
            return self.matrix(check)[:, [-1]].T
        if check.id not in self._means:
            self._means[check.id] = (self.given @ self.shown(check, squawk)).reshape(1, -1)
        return self._means[check.id]

    def holds_unlisted(self, name: str) -> float:
        """Chance that a fault or event held, on average over the sets as they were, given the symptoms."""
        if self.given is None:
            return 0.0
        return float(self.given @ self.space.truth(name)[self.base.whole()])


def _causes(book: Book, gates: Gates, symptoms: FirstSymptoms) -> frozenset[str] | None:
    """Faults of which one has to be there for the reported symptom that the fewest can give; None if none has to."""
    tops = [book.symptoms[name].when for name in symptoms.reported]
    below = [gates.below(top) for top in tops if _coherent(book, top)]
    return min(below, key=len, default=None)


def _coherent(book: Book, name: str) -> bool:
    """Whether no ``not`` lies below a fault or event."""
    open_ends, seen = [name], set()
    while open_ends:
        one = open_ends.pop()
        if one in seen or one in book.faults:
            continue
        seen.add(one)
        if book.events[one].gate == "not":
            return False
        open_ends += book.events[one].of
    return True


def log_sum(logs: Floats) -> float:
    """log(sum(exp(logs))), -inf for nothing."""
    if len(logs) == 0:
        return -np.inf
    top = float(np.max(logs))
    if not np.isfinite(top):
        return -np.inf
    return top + float(np.log(np.sum(np.exp(logs - top))))
