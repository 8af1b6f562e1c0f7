"""What belief has to come out at, worked out as a Bayesian network by a general-purpose exact inference library.

The library is pyAgrum (https://pyagrum.org; aGrUM, Ducamp, Gonzales and Wuillemin, PGM 2020): lazy propagation
on a junction tree, exact up to rounding. Nothing of :mod:`faulttree.belief` is used here but the records of
what was observed.

The network of a case. Every fault is a node of three states (absent, hard, comes and goes). A corrective action
gives each fault that it corrects a further node: the state after it. A look gives each fault below it a node
"shows itself in this look", gates are deterministic nodes over those (long ones cut into chains), the true
outcome of a check is a node, and so is the reading, whose table is the check's matrix. A repeated reading is a
copy of an earlier one or a new reading of its own, chosen at random: Pólya's urn as Blackwell and MacQueen draw
it (Annals of Statistics 1, 1973, "Ferguson distributions via Pólya urn schemes"). An answer is a node with two
states, observed as "said", whose chance is the weight that the answer gives to the reading. Only what the
observations look at is put in; other faults keep their prior.

The unlisted cause is no node. Its chance of an answer is that of a gear drawn anew among the listed sets that
give the symptoms, which would tie every check to a second copy of the whole gear. So the network holds the
listed causes alone, and the unlisted one is joined to it afterwards:

    P(U, answers)      = u × product over checks and epochs of P(its readings | U)
    P(listed, answers) = (1 − u) × P(answers and symptoms in the network) / P(symptoms in the network)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from faulttree.belief import Did, Entry, Evidence
from faulttree.book.model import THE_SQUAWK, Book, Check
from tests.published.oracle_case import (
    COMES_AND_GOES,
    HARD,
    Case,
    Seen,
    Spoken,
    Told,
    matrix,
    urn,
    weights,
)
from tests.published.oracle_network import (
    ImpossibleError,
    Look,
    Network,
    Readings,
    TooLargeError,
    solve_network,
    spoken,
)

__all__ = ["Exact", "ImpossibleError", "TooLargeError", "any_stands", "conflict_bits", "log_odds", "solve", "split"]


@dataclass(frozen=True)
class Exact:
    """Posteriors of one case. ``stands``, ``comes_and_goes`` (a part of it) and ``was`` by fault."""

    stands: dict[str, float]
    comes_and_goes: dict[str, float]
    was: dict[str, float]
    unlisted: float
    log2_evidence: float
    outcomes: dict[str, list[float]]


def solve(book: Book, evidence: Evidence, next_checks: Sequence[str] = ()) -> Exact:
    """The exact posteriors, and what each of ``next_checks`` would show. Raises ImpossibleError, TooLargeError."""
    case = Case(book, evidence)
    framed = _chance(case, case.symptoms)
    joint, reached = _reached(case)
    columns = {seen.place: _column(case, seen.entry) for seen in case.answers}
    listed = (1.0 - case.unlisted_prior) * joint / framed
    unlisted = case.unlisted_prior * _under_unlisted(case, columns)
    share = listed / (listed + unlisted)
    was, stands, sleeping = _faults(case, reached, share)
    outcomes = {check: _mixed(case, book.checks[check], share) for check in next_checks}
    return Exact(stands, sleeping, was, 1.0 - share, math.log2(listed + unlisted), outcomes)


Reached = dict[str, tuple[list[float], list[float]]]
"""By fault that the observations reach: posterior of its states as it was, and now, among listed causes."""


def _reached(case: Case) -> tuple[float, Reached]:
    """Probability of everything observed under listed causes, and the posteriors of what it reaches."""
    last = len(case.actions)
    faults: list[str] = []

    def build(network: Network) -> list[str]:
        network.tell(case.seen)
        faults[:] = [fault for fault in case.book.faults if ("was", fault) in network.nodes]
        return [network.state(fault, epoch) for fault in faults for epoch in (0, last)]

    solved = solve_network(case, build)
    pairs = zip(faults, solved.posteriors[::2], solved.posteriors[1::2], strict=True)
    return solved.chance, {fault: (was, now) for fault, was, now in pairs}


def _chance(case: Case, observed: Sequence[Seen]) -> float:
    """Probability of some of what was observed, among listed causes."""

    def build(network: Network) -> list[str]:
        network.tell(observed)
        return []

    return solve_network(case, build).chance if observed else 1.0


def _given(case: Case, observed: Sequence[Seen], build: Callable[[Network, Readings], str]) -> list[float]:
    """Posterior of one node among listed causes given some of what was observed."""
    return solve_network(case, lambda network: [build(network, network.tell(observed))]).posteriors[0]


def _alone(case: Case, seen: Seen) -> float:
    """Chance of one answer given the symptoms and the actions before it, as if it were the first of its check."""
    if isinstance(seen.entry, Spoken):
        column = _given(case, case.symptoms, lambda network, _: network.tell_symptom(seen))
        chances = spoken(case.book, seen.entry)
    else:
        check = case.check(seen.entry)
        column = _given(case, case.symptoms, lambda network, _: network.fresh_reading(check, seen.epoch, "alone"))
        chances = weights(seen.entry)
    return sum(p * chance for p, chance in zip(column, chances, strict=True))


def _column(case: Case, entry: Spoken | Told) -> list[float]:
    """What the unlisted cause makes of a check or of a symptom met later: the mean over the gear as it was."""
    if isinstance(entry, Spoken):
        first = Seen(entry, 0, -1)
        return _given(case, case.symptoms, lambda network, _: network.tell_symptom(first))
    return _check_column(case, case.check(entry))


def _check_column(case: Case, check: Check) -> list[float]:
    for true, outcome in enumerate(check.outcomes):
        if outcome.when == THE_SQUAWK:
            return [row[true] for row in matrix(check)]
    return _given(case, case.symptoms, lambda network, _: network.fresh_reading(check, 0, "column"))


def _under_unlisted(case: Case, columns: dict[int, list[float]]) -> float:
    """Chance of all answers under the unlisted cause."""
    chance = 1.0
    done = set()
    for seen in case.answers:
        if isinstance(seen.entry, Spoken):
            chances = spoken(case.book, seen.entry)
            chance *= sum(p * c for p, c in zip(columns[seen.place], chances, strict=True))
            continue
        check = case.check(seen.entry)
        if (check, seen.epoch) in done:
            continue
        done.add((check, seen.epoch))
        told = [weights(s.entry) for s in case.readings(check, seen.epoch)]
        chance *= urn(columns[seen.place], check.fresh, told)
    return chance


def _mixed(case: Case, check: Check, share: float) -> list[float]:
    """What a check would show next, over listed causes and the unlisted one."""
    last = len(case.actions)

    def build(network: Network, readings: Readings) -> str:
        return network.reading(check, last, "next", readings.get((check, last), []))

    listed = _given(case, case.seen, build)
    if share == 1.0:
        return listed
    column = _check_column(case, check)
    told = [weights(s.entry) for s in case.readings(check, last)]
    before = urn(column, check.fresh, told)
    ones = [[float(o == shown) for o in range(len(column))] for shown in range(len(column))]
    unlisted = [urn(column, check.fresh, [*told, one]) / before for one in ones]
    return [share * a + (1.0 - share) * b for a, b in zip(listed, unlisted, strict=True)]


def _faults(case: Case, reached: Reached, share: float) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """As it was, stands now, stands now and comes and goes; ``share`` is the probability of listed causes."""
    was, stands, sleeping = {}, {}, {}
    for name in case.book.faults:
        if name in reached:
            before, now = reached[name]
        else:
            hard, asleep = case.priors[name]
            before = [1.0 - hard - asleep, hard, asleep]
            now = before
            for action in (case.book.actions[a] for a in case.actions):
                if name in action.corrects:
                    now = [0.0, *(p * (1.0 - action.effective) for p in now[1:])]
        was[name] = share * (before[HARD] + before[COMES_AND_GOES])
        stands[name] = share * (now[HARD] + now[COMES_AND_GOES])
        sleeping[name] = share * now[COMES_AND_GOES]
    return was, stands, sleeping


# ------------------------------------------------------------------------------------------ more about one case


def any_stands(book: Book, evidence: Evidence) -> dict[str, float]:
    """For each component, the probability that any of its faults stands now. Raises ImpossibleError."""
    case = Case(book, evidence)
    last = len(case.actions)
    parts: dict[str, list[str]] = {}
    for fault in book.faults.values():
        parts.setdefault(fault.component, []).append(fault.id)
    look = Look(("all", last), last, lambda fault: 1.0)
    listed = 1.0 - solve(book, evidence).unlisted
    return {
        part: listed * _given(case, case.seen, lambda network, _, faults=faults: network.any_of(look, faults))[1]
        for part, faults in parts.items()
    }


def conflict_bits(book: Book, evidence: Evidence) -> float:
    """log2 of the answers' chances one by one over their chance together, among listed causes."""
    case = Case(book, evidence)
    together = _chance(case, case.seen) / _chance(case, case.symptoms)
    return sum(math.log2(_alone(case, seen)) for seen in case.answers) - math.log2(together)


def split(evidence: Evidence) -> tuple[Evidence, tuple[Entry, ...]]:
    """The symptoms that frame the case, and everything else in its order."""
    entries = evidence.entries
    until = next((n for n, entry in enumerate(entries) if isinstance(entry, Did)), len(entries))
    framing = [entry for entry in entries[:until] if isinstance(entry, Spoken)]
    others = [entry for entry in entries[:until] if not isinstance(entry, Spoken)]
    return Evidence(tuple(framing), evidence.circumstances, evidence.hours), (*others, *entries[until:])


def log_odds(book: Book, evidence: Evidence) -> dict[str, float]:
    """Log odds of each fault as it was, in bits; infinite where it is sure or impossible."""
    was = solve(book, evidence).was
    return {f: math.log2(p / (1.0 - p)) if 0.0 < p < 1.0 else math.copysign(math.inf, p - 0.5) for f, p in was.items()}
