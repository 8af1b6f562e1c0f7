"""The Bayesian network of a case, for :mod:`tests.published.oracle`, which tells what is in it."""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field

from faulttree.belief import Reported
from faulttree.book.model import THE_SQUAWK, Book, Check, Fault
from tests.published.oracle_case import ABSENT, COMES_AND_GOES, HARD, ORDERS, Case, Order, Seen, Spoken, matrix, weights

with warnings.catch_warnings():
    # Its compiled types draw a warning from Python on loading; as an error that warning ends the interpreter.
    warnings.simplefilter("ignore")
    import pyagrum as gum


SMALL, LARGEST = 1e6, 2e7
"""Table entries: up to the first no other order is tried, beyond the second none is run (160 MB)."""


class ImpossibleError(Exception):
    """What was observed cannot be under any set of listed causes."""


class TooLargeError(Exception):
    """The library would need more memory for a case than it is given."""


Readings = dict[tuple[Check, int], list[str]]
"""The nodes of a check's readings after a number of actions."""


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
    order: Order = "book"
    whole: bool = False
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
            hard, sleeping = self.case.priors[fault]
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

    def hard(self, epoch: int, fault: str) -> str:
        """Whether the hard mode stands: it shows itself in every look."""
        state = self.state(fault, epoch)
        return self.rule(("hard", fault, state), 2, [state], lambda s: int(s == HARD))

    def awake(self, look: Look, fault: str) -> str:
        """Whether the mode that comes and goes stands and shows itself in a look."""
        chance = look.wakes(self.case.book.faults[fault])
        by_state = {ABSENT: 0.0, HARD: 0.0, COMES_AND_GOES: chance}
        state = self.state(fault, look.epoch)
        return self.node(("awake", look.key, fault), 2, [state], lambda s: [1.0 - by_state[s], by_state[s]])

    def shows(self, look: Look, fault: str) -> str:
        """Whether a fault shows itself in a look, in either mode."""
        chance = look.wakes(self.case.book.faults[fault])
        by_state = {ABSENT: 0.0, HARD: 1.0, COMES_AND_GOES: chance}
        state = self.state(fault, look.epoch)
        return self.node(("shows", look.key, fault), 2, [state], lambda s: [1.0 - by_state[s], by_state[s]])

    # gates

    def holds(self, look: Look, item: str) -> str:
        """Whether a fault, an event, a symptom or the squawk holds among what shows itself in a look."""
        book = self.case.book
        if item in book.faults:
            return self.any_of(look, [item])
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
        """An OR over faults and other gates, one inside another spread out.

        Unless faults are taken whole, hard modes come first: their part of the chain is the same for all looks
        after as many actions.
        """
        book, faults, gates = self.case.book, set[str](), set[str]()
        waiting = list(items)
        while waiting:
            item = waiting.pop()
            if item in book.events and book.events[item].gate == "any_of":
                waiting += book.events[item].of
            else:
                (faults if item in book.faults else gates).add(item)
        ranked = sorted(faults, key=self.case.ranks[self.order].__getitem__)
        others = [self.holds(look, gate) for gate in sorted(gates)]
        if self.whole:
            return self.chain("or", [self.shows(look, fault) for fault in ranked] + others, 2, 0, lambda a, b: a | b)
        hard = [self.hard(look.epoch, fault) for fault in ranked]
        awake = [self.awake(look, fault) for fault in ranked if self.case.priors[fault][1] > 0.0]
        return self.chain("or", hard + others + awake, 2, 0, lambda a, b: a | b)

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

    def tell(self, observations: Sequence[Seen]) -> Readings:
        """Observes all of these; the readings of each check by epoch."""
        readings: Readings = {}
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

    def inference(self, targets: Sequence[str]) -> tuple[gum.LazyPropagation, float]:
        """The library's inference, not yet run, and the entries of all tables that it would work with."""
        inference = gum.LazyPropagation(self.net)
        inference.setNumberOfThreads(1)
        inference.setEvidence(dict.fromkeys(self.said, 1))
        inference.setTargets(set(targets))
        tree = inference.junctionTree()
        cliques = ([self.net.variable(node).domainSize() for node in tree.clique(c)] for c in tree.nodes())
        return inference, float(sum(math.prod(sizes) for sizes in cliques))


@dataclass(frozen=True)
class Solved:
    """A network that was run: ``posteriors`` of the nodes asked for, in their order."""

    inference: gum.LazyPropagation
    posteriors: list[list[float]]

    @property
    def chance(self) -> float:
        """Probability of what the network observes."""
        return float(self.inference.evidenceProbability())


def solve_network(case: Case, build: Callable[[Network], Sequence[str]]) -> Solved:
    """Runs the network in which ``build`` puts what is observed and names the nodes that are asked for.

    Of several ways to build its chains the one with the smallest tables is run. Raises ImpossibleError,
    TooLargeError.
    """
    best = None
    for order, whole in itertools.product(ORDERS, (True, False)):
        network = Network(case, order, whole)
        targets = build(network)
        inference, size = network.inference(targets)
        if best is None or size < best[0]:
            best = (size, inference, targets)
        if size <= SMALL:
            break
    assert best is not None
    size, inference, targets = best
    if size > LARGEST:
        raise TooLargeError(f"{size:.0e} table entries")
    try:
        inference.makeInference()
        return Solved(inference, [inference.posterior(target).tolist() for target in targets])
    except gum.IncompatibleEvidence as problem:
        raise ImpossibleError from problem


def spoken(book: Book, entry: Spoken) -> tuple[float, float]:
    """Chance that a symptom is spoken of like this if its event does not hold, and if it does."""
    return (0.0, 1.0) if isinstance(entry, Reported) else (1.0, 1.0 - book.symptoms[entry.symptom].noticed)
