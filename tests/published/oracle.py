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

import itertools
import math
import warnings
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from faulttree.belief import Answer, Denied, Did, Entry, Evidence, Found, Reported
from faulttree.book.model import THE_SQUAWK, Book, Check, Fault, Outcome

with warnings.catch_warnings():
    # Its compiled types draw a warning from Python on loading; as an error that warning ends the interpreter.
    warnings.simplefilter("ignore")
    import pyagrum as gum

ABSENT, HARD, COMES_AND_GOES = range(3)
Spoken = Reported | Denied
Told = Answer | Found


class ImpossibleError(Exception):
    """What was observed cannot be under any set of listed causes."""


# ------------------------------------------------------------------------------------------ numbers of the model


def mode_priors(book: Book, fault: Fault, evidence: Evidence) -> tuple[float, float]:
    """Prior of the hard mode and of the one that comes and goes."""
    hours = book.defaults.hours if evidence.hours is None else evidence.hours
    mean = -math.log1p(-fault.probability) if fault.rate is None else fault.rate * hours / 1000.0
    factors = [1.0, 1.0]
    for name in evidence.circumstances:
        around = book.circumstances[name]
        for mode in (0, 1):
            if name in fault.promoted_by:
                factors[mode] *= around.promotes[mode]
            if name in fault.demoted_by:
                factors[mode] *= around.demotes[mode]
            if 0.0 < fault.share < 1.0:
                factors[mode] *= around.intermittent[mode]
        if fault.share == 0.0:
            factors[0] *= around.steady
    low, high = book.defaults.factor_low, book.defaults.factor_high
    hard, sleeping = (min(max(factor, low), high) for factor in factors)
    return -math.expm1(-mean * (1.0 - fault.share) * hard), -math.expm1(-mean * fault.share * sleeping)


def matrix(check: Check) -> list[list[float]]:
    """Chance of each shown outcome (row) given the true one (column)."""
    if check.matrix is not None:
        return [list(row) for row in check.matrix]
    k = len(check.outcomes)
    sound = [check.false_alarm / (k - 1)] * (k - 1) + [1.0 - check.false_alarm]
    columns = []
    for true, outcome in enumerate(check.outcomes[:-1]):
        missed = (1.0 - outcome.detects) / (1.0 - sound[true])
        columns.append([outcome.detects if shown == true else missed * sound[shown] for shown in range(k)])
    columns.append(sound)
    return [[column[shown] for column in columns] for shown in range(k)]


def seeing(book: Book, fault: str) -> Check:
    """The find of a fault as a check of it."""
    d = book.defaults
    outcomes = (Outcome("found", "found", fault, d.found_detects), Outcome("not", "not", None, 1.0))
    return Check(f"found {fault}", "", "look", "found", outcomes, d.found_false_alarm, 0.0, fresh=d.fresh)


def urn(column: Sequence[float], fresh: float, answers: Sequence[Sequence[float]]) -> float:
    """Chance of answers to one check in one epoch, readings summed over, each reading drawn from ``column``."""
    total = 0.0
    for shown in itertools.product(range(len(column)), repeat=len(answers)):
        chance = 1.0
        for n, (reading, weights) in enumerate(zip(shown, answers, strict=True)):
            again = n * (1.0 - fresh) / (fresh + n * (1.0 - fresh))
            copied = shown[:n].count(reading) / n if n else 0.0
            chance *= weights[reading] * (again * copied + (1.0 - again) * column[reading])
        total += chance
    return total


# ------------------------------------------------------------------------------------------------- observations


@dataclass(frozen=True)
class Seen:
    """One observation: the entry, how many actions came before it, and its place in the log."""

    entry: Spoken | Told
    epoch: int
    place: int


@dataclass(frozen=True)
class Case:
    """A book and what was observed, sorted by kind."""

    book: Book
    evidence: Evidence

    @cached_property
    def actions(self) -> list[str]:
        return [entry.action for entry in self.evidence.entries if isinstance(entry, Did)]

    @cached_property
    def seen(self) -> list[Seen]:
        """All observations; a symptom said again in the same epoch is dropped."""
        out: list[Seen] = []
        epoch = 0
        for place, entry in enumerate(self.evidence.entries):
            if isinstance(entry, Did):
                epoch += 1
            elif not isinstance(entry, Spoken) or all((s.entry, s.epoch) != (entry, epoch) for s in out):
                out.append(Seen(entry, epoch, place))
        return out

    @cached_property
    def symptoms(self) -> list[Seen]:
        """Those that frame the case: said before any action."""
        return [s for s in self.seen if isinstance(s.entry, Spoken) and s.epoch == 0]

    @cached_property
    def answers(self) -> list[Seen]:
        return [s for s in self.seen if s not in self.symptoms]

    @cached_property
    def unlisted_prior(self) -> float:
        shares = [self.book.symptoms[s.entry.symptom].unlisted for s in self.symptoms if isinstance(s.entry, Reported)]
        return max(shares, default=0.0)

    def squawk(self, epoch: int) -> list[str]:
        """Symptoms reported before the last action; before there is any action, those reported."""
        before = max(epoch, 1)
        said = [s.entry.symptom for s in self.seen if isinstance(s.entry, Reported) and s.epoch < before]
        return list(dict.fromkeys(said))

    def check(self, entry: Told) -> Check:
        return seeing(self.book, entry.fault) if isinstance(entry, Found) else self.book.checks[entry.check]

    def readings(self, check: Check, epoch: int) -> list[Seen]:
        return [s for s in self.seen if isinstance(s.entry, Told) and s.epoch == epoch and self.check(s.entry) == check]


def weights(entry: Told) -> tuple[float, ...]:
    return (1.0, 0.0) if isinstance(entry, Found) else entry.weights


# ----------------------------------------------------------------------------------------------------- networks


@dataclass(frozen=True)
class Look:
    """One look at the gear: who it is, after how many actions, and how likely a sleeping mode shows in it."""

    key: Hashable
    epoch: int
    wakes: Callable[[Fault], float]


@dataclass
class Network:
    """A Bayesian network that grows as nodes are asked for. ``nodes`` keeps what was made under its key."""

    case: Case
    net: gum.BayesNet = field(default_factory=gum.BayesNet)
    nodes: dict[Hashable, str] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)

    def node(self, key: Hashable, states: int, parents: Sequence[str], column: Callable[..., Sequence[float]]) -> str:
        """The node under ``key``; made with the table ``column(states of the parents)`` if it is new."""
        if key in self.nodes:
            return self.nodes[key]
        name = f"n{len(self.nodes)}"
        self.net.add(gum.LabelizedVariable(name, "", states))
        for parent in parents:
            self.net.addArc(parent, name)
        sizes = [self.net.variable(parent).domainSize() for parent in parents]
        table: list[float] = []
        for at in itertools.product(*(range(size) for size in reversed(sizes))):
            table += column(*reversed(at))
        self.net.cpt(name).fillWith(table)
        self.nodes[key] = name
        return name

    def rule(self, key: Hashable, states: int, parents: Sequence[str], value: Callable[..., int]) -> str:
        """A node that follows from its parents."""
        return self.node(key, states, parents, lambda *at: [float(value(*at) == state) for state in range(states)])

    # faults

    def state(self, fault: str, epoch: int) -> str:
        """The state of a fault after ``epoch`` actions."""
        if epoch == 0:
            hard, sleeping = mode_priors(self.case.book, self.case.book.faults[fault], self.case.evidence)
            return self.node(("was", fault), 3, [], lambda: [1.0 - hard - sleeping, hard, sleeping])
        before = self.state(fault, epoch - 1)
        action = self.case.book.actions[self.case.actions[epoch - 1]]
        if fault not in action.corrects:
            return before

        def corrected(state: int) -> list[float]:
            column = [0.0, 0.0, 0.0]
            column[state] += 1.0 - action.effective
            column[ABSENT] += action.effective
            return column

        return self.node(("stands", fault, epoch), 3, [before], corrected)

    def shows(self, look: Look, fault: str) -> str:
        chance = look.wakes(self.case.book.faults[fault])
        by_state = {ABSENT: 0.0, HARD: 1.0, COMES_AND_GOES: chance}
        state = self.state(fault, look.epoch)
        return self.node(("shows", look.key, fault), 2, [state], lambda s: [1.0 - by_state[s], by_state[s]])

    # gates

    def holds(self, look: Look, item: str) -> str:
        """Whether a fault, an event, a symptom or the squawk holds among what shows itself in a look."""
        book = self.case.book
        if item in book.faults:
            return self.shows(look, item)
        if item == THE_SQUAWK:
            return self.any_of(look, [book.symptoms[s].when for s in self.case.squawk(look.epoch)])
        if item in book.symptoms:
            return self.holds(look, book.symptoms[item].when)
        event = book.events[item]
        if event.gate == "any_of":
            return self.any_of(look, event.of)
        if event.gate == "not":
            some = self.any_of(look, event.of)
            return self.rule(("not", some), 2, [some], lambda a: 1 - a)
        parts = [self.holds(look, part) for part in event.of]
        if event.gate == "all_of":
            return self.chain("and", parts, 2, 1, lambda a, b: a & b)
        count = self.chain("count", parts, event.count + 1, 0, lambda a, b: min(a + b, event.count), event.count)
        return self.rule(("enough", count, event.count), 2, [count], lambda a: int(a == event.count))

    def any_of(self, look: Look, items: Sequence[str]) -> str:
        """An OR over faults and other gates, one inside another spread out, in the order of the book."""
        book, parts = self.case.book, dict[str, None]()
        waiting = list(items)
        while waiting:
            item = waiting.pop()
            if item in book.events and book.events[item].gate == "any_of":
                waiting += book.events[item].of
            else:
                parts[item] = None
        order = {fault: place for place, fault in enumerate(book.faults)}
        ranked = sorted(parts, key=lambda item: (order.get(item, len(order)), item))
        return self.chain("or", [self.holds(look, item) for item in ranked], 2, 0, lambda a, b: a | b)

    def chain(
        self,
        gate: str,
        parts: Sequence[str],
        states: int,
        first: int,
        join: Callable[[int, int], int],
        *more: Hashable,
    ) -> str:
        """Parts taken in one by one, so that no table grows with their number."""
        at = self.rule((gate, more, ()), states, [], lambda: first)
        for n, part in enumerate(parts, 1):
            if n == 1 and states == 2:
                at = part
                continue
            at = self.rule((gate, more, tuple(parts[:n])), states, [at, part], join)
        return at

    # checks

    def truth(self, look: Look, check: Check) -> str:
        """The first outcome whose event holds, else the last."""
        last = len(check.outcomes) - 1
        at = self.rule(("otherwise", last), last + 1, [], lambda: last)
        for n, outcome in enumerate(check.outcomes[:-1]):
            event = self.holds(look, outcome.when or "")

            def take(found: int, now: int, n: int = n) -> int:
                return n if found == last and now else found

            at = self.rule(("truth", look.key, check.id, n), last + 1, [at, event], take)
        return at

    def look(self, check: Check, epoch: int, key: Hashable) -> Look:
        if check.about == "squawk":
            return Look(("all", 0), 0, lambda fault: 1.0)
        if check.about == "found":
            return Look(("all", epoch), epoch, lambda fault: 1.0)
        return Look(key, epoch, lambda fault: fault.shows + check.wakes * (1.0 - fault.shows))

    def fresh_reading(self, check: Check, epoch: int, key: Hashable) -> str:
        """A reading as if it were the first."""
        table = matrix(check)
        truth = self.truth(self.look(check, epoch, key), check)
        return self.node(("fresh", check.id, key), len(table), [truth], lambda t: [row[t] for row in table])

    def reading(self, check: Check, epoch: int, key: Hashable, earlier: Sequence[str]) -> str:
        """A reading after ``earlier`` ones of the same check in the same epoch."""
        new = self.fresh_reading(check, epoch, key)
        n = len(earlier)
        if n == 0:
            return new
        own = check.fresh / (check.fresh + n * (1.0 - check.fresh))
        source = self.node(("source", check.id, key), n + 1, [], lambda: [(1.0 - own) / n] * n + [own])
        states = len(check.outcomes)
        at = new
        for i, other in enumerate(earlier):

            def pick(which: int, kept: int, copied: int, i: int = i) -> int:
                return copied if which == i else kept

            at = self.rule(("shown", check.id, key, i), states, [source, at, other], pick)
        return at

    def hear(self, key: Hashable, node: str, chances: Sequence[float]) -> None:
        """Observes an answer that has these chances of being given in the states of ``node``."""
        self.said.append(self.node(("said", key), 2, [node], lambda state: [1.0 - chances[state], chances[state]]))

    def tell_symptom(self, seen: Seen) -> str:
        """The event of a symptom, every mode awake."""
        return self.holds(Look(("all", seen.epoch), seen.epoch, lambda fault: 1.0), seen.entry.symptom)

    def tell(self, observations: Sequence[Seen]) -> dict[tuple[Check, int], list[str]]:
        """Observes all of these; the readings of each check by epoch."""
        readings: dict[tuple[Check, int], list[str]] = {}
        for seen in observations:
            if isinstance(seen.entry, Spoken):
                self.hear(seen.place, self.tell_symptom(seen), spoken(self.case.book, seen.entry))
                continue
            check = self.case.check(seen.entry)
            earlier = readings.setdefault((check, seen.epoch), [])
            node = self.reading(check, seen.epoch, ("reading", seen.place), earlier)
            earlier.append(node)
            self.hear(seen.place, node, weights(seen.entry))
        return readings

    def solve(self, targets: Sequence[str]) -> tuple[float, list[list[float]]]:
        """Probability of what was observed, and the posteriors of some nodes. Raises ImpossibleError."""
        inference = gum.LazyPropagation(self.net)
        inference.setNumberOfThreads(1)
        inference.setEvidence(dict.fromkeys(self.said, 1))
        inference.setTargets(set(targets))
        try:
            inference.makeInference()
            posteriors = [inference.posterior(target).tolist() for target in targets]
            return float(inference.evidenceProbability()), posteriors
        except gum.IncompatibleEvidence as problem:
            raise ImpossibleError from problem


def spoken(book: Book, entry: Spoken) -> tuple[float, float]:
    """Chance that a symptom is spoken of like this if its event does not hold, and if it does."""
    return (0.0, 1.0) if isinstance(entry, Reported) else (1.0, 1.0 - book.symptoms[entry.symptom].noticed)


# ----------------------------------------------------------------------------------------------------- the answer


@dataclass(frozen=True)
class Exact:
    """Posteriors of one case. ``stands``, ``comes_and_goes`` (a part of it) and ``was`` by fault."""

    stands: dict[str, float]
    comes_and_goes: dict[str, float]
    was: dict[str, float]
    unlisted: float
    log2_evidence: float
    outcomes: dict[str, list[float]]
    conflict_bits: float


@dataclass(frozen=True)
class _Alone:
    """One answer taken alone: its chance given the symptoms and the actions before it; its column under U."""

    chance: float
    column: list[float]


def solve(book: Book, evidence: Evidence, next_checks: Sequence[str] = ()) -> Exact:
    """The exact posteriors, and what each of ``next_checks`` would show. Raises ImpossibleError."""
    case = Case(book, evidence)
    framed = _symptoms_alone(case)
    last = len(case.actions)
    network = Network(case)
    readings = network.tell(case.seen)
    coming = {
        check: network.reading(c, last, ("next", check), readings.get((c, last), []))
        for check in next_checks
        for c in [book.checks[check]]
    }
    reached = [key[1] for key in network.nodes if isinstance(key, tuple) and key[0] == "was"]
    nodes = [network.state(fault, epoch) for fault in reached for epoch in (0, last)] + list(coming.values())
    joint, posteriors = network.solve(nodes)

    columns = {seen.place: _column(case, seen.entry) for seen in case.answers}
    listed = (1.0 - case.unlisted_prior) * joint / framed
    unlisted = case.unlisted_prior * _under_unlisted(case, columns)
    share = listed / (listed + unlisted)
    was, stands, sleeping = _faults(case, reached, posteriors, share)
    shown = posteriors[2 * len(reached) :]
    outcomes = {
        check: _mixed(case, book.checks[check], column, share) for check, column in zip(coming, shown, strict=True)
    }
    apart = sum(math.log2(_alone(case, seen)) for seen in case.answers)
    return Exact(
        stands, sleeping, was, 1.0 - share, math.log2(listed + unlisted), outcomes, apart - math.log2(joint / framed)
    )


def _symptoms_alone(case: Case) -> float:
    network = Network(case)
    network.tell(case.symptoms)
    return network.solve([])[0] if network.said else 1.0


def _given_symptoms(case: Case, build: Callable[[Network], str]) -> list[float]:
    """Posterior of one node given the symptoms that frame the case and nothing else."""
    network = Network(case)
    network.tell(case.symptoms)
    return network.solve([build(network)])[1][0]


def _alone(case: Case, seen: Seen) -> float:
    """Chance of one answer given the symptoms and the actions before it, as if it were the first of its check."""
    if isinstance(seen.entry, Spoken):
        column = _given_symptoms(case, lambda network: network.tell_symptom(seen))
        chances = spoken(case.book, seen.entry)
    else:
        check = case.check(seen.entry)
        column = _given_symptoms(case, lambda network: network.fresh_reading(check, seen.epoch, "alone"))
        chances = weights(seen.entry)
    return sum(p * chance for p, chance in zip(column, chances, strict=True))


def _column(case: Case, entry: Spoken | Told) -> list[float]:
    """What the unlisted cause makes of a check or of a symptom met later: the mean over the gear as it was."""
    if isinstance(entry, Spoken):
        first = Seen(entry, 0, -1)
        return _given_symptoms(case, lambda network: network.tell_symptom(first))
    return _check_column(case, case.check(entry))


def _check_column(case: Case, check: Check) -> list[float]:
    for true, outcome in enumerate(check.outcomes):
        if outcome.when == THE_SQUAWK:
            return [row[true] for row in matrix(check)]
    return _given_symptoms(case, lambda network: network.fresh_reading(check, 0, "column"))


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


def _mixed(case: Case, check: Check, listed: list[float], share: float) -> list[float]:
    """What a check would show next, over listed causes and the unlisted one."""
    if share == 1.0:
        return listed
    column = _check_column(case, check)
    told = [weights(s.entry) for s in case.readings(check, len(case.actions))]
    before = urn(column, check.fresh, told)
    ones = [[float(o == shown) for o in range(len(column))] for shown in range(len(column))]
    unlisted = [urn(column, check.fresh, [*told, one]) / before for one in ones]
    return [share * a + (1.0 - share) * b for a, b in zip(listed, unlisted, strict=True)]


def _faults(
    case: Case, reached: Sequence[str], posteriors: Sequence[Sequence[float]], share: float
) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """As it was, stands now, stands now and comes and goes; ``share`` is the probability of listed causes."""
    was, stands, sleeping = {}, {}, {}
    known = {fault: posteriors[2 * n : 2 * n + 2] for n, fault in enumerate(reached)}
    for name, fault in case.book.faults.items():
        if name in known:
            before, now = known[name]
        else:
            hard, asleep = mode_priors(case.book, fault, case.evidence)
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
    network = Network(case)
    network.tell(case.seen)
    look = Look(("all", last), last, lambda fault: 1.0)
    parts: dict[str, list[str]] = {}
    for fault in book.faults.values():
        parts.setdefault(fault.component, []).append(fault.id)
    nodes = [network.any_of(look, faults) for faults in parts.values()]
    posteriors = network.solve(nodes)[1]
    listed = 1.0 - solve(book, evidence).unlisted
    return {part: listed * posterior[1] for part, posterior in zip(parts, posteriors, strict=True)}


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
