"""The fault tree of what was reported: what is ruled out in it, what stands, what the next step looks at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from faulttree.book.model import Book, Event
from faulttree.dialogue.chains import AT_TAP
from faulttree.dialogue.where import stands
from faulttree.graph.gates import Gates

GATES = {"any_of": "any of these", "all_of": "all of these together", "not": "none of these"}
QUIET = ("open",)
"""What stands so is told by the number alone: it is hardly suspect, and never was."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A node with what lies below it. ``gate`` in words, empty for a fault; ``share`` the probability that it stands;
    ``stands`` as in :class:`where.Stretch`; ``quiet`` the number of causes below it that are not shown one by one."""

    name: str
    gate: str
    share: float
    stands: str
    next: bool
    below: tuple[Branch, ...] = ()
    quiet: int = 0


class FaultTree:
    """Branches of one book, with the probabilities of its faults ``now`` and ``at_first``, by what was told alone."""

    def __init__(self, book: Book, gates: Gates, now: Mapping[str, float], at_first: Mapping[str, float]) -> None:
        self.book, self.gates, self.now, self.at_first = book, gates, now, at_first

    def of_symptom(self, symptom: str, step: str = "") -> Branch:
        """The tree of a symptom; ``step`` is the check that comes next."""
        looked_at = {o.when for o in self.book.checks[step].outcomes} if step in self.book.checks else set()
        names = {name for name in looked_at if name}
        top = self.branch(self.book.symptoms[symptom].when, names)
        return Branch(self.book.symptoms[symptom].name, top.gate, top.share, top.stands, top.next, top.below, top.quiet)

    def branch(self, name: str, looked_at: set[str]) -> Branch:
        """One fault, or an event with what is worth showing below it."""
        share, was = self._sum(self.now, name), self._sum(self.at_first, name)
        told, is_next = stands(share, was), name in looked_at
        if name in self.book.faults:
            return Branch(self.book.faults[name].name, "", share, told, is_next)
        event = self.book.events[name]
        of = self._flat(event)
        below = [self.branch(one, looked_at) for one in of]
        shown = sorted((b for b in below if not self._hidden(b)), key=lambda b: -b.share)
        quiet = sum(len(self.gates.below(one)) for one, b in zip(of, below, strict=True) if self._hidden(b))
        if len(shown) == 1 and not quiet and event.gate == "any_of":
            only = shown[0]
            return Branch(only.name, only.gate, share, told, is_next or only.next, only.below, only.quiet)
        return Branch(event.name, gate_in_words(event), share, told, is_next, tuple(shown), quiet)

    @staticmethod
    def _hidden(branch: Branch) -> bool:
        return branch.stands in QUIET and not branch.next and not any(b.next for b in branch.below)

    def _flat(self, event: Event) -> Sequence[str]:
        """What an event has below it; a chain's tap with all that lies before it on the same chain."""
        found: list[str] = []
        for name in event.of:
            inner = self.book.events.get(name)
            chained = AT_TAP in name and name.split(AT_TAP)[0] == event.id.split(AT_TAP)[0]
            plain = inner is not None and inner.gate == event.gate == "any_of" and (chained or inner.name == event.name)
            found += self._flat(inner) if inner is not None and plain else [name]
        return tuple(dict.fromkeys(found))

    def _sum(self, chances: Mapping[str, float], name: str) -> float:
        """About how likely a node holds: what must hold together is at most as likely as the least of it."""
        if name in self.book.faults:
            return chances.get(name, 0.0)
        event = self.book.events[name]
        if event.gate == "any_of":
            return min(sum(chances.get(fault, 0.0) for fault in self.gates.below(name)), 1.0)
        each = sorted((self._sum(chances, one) for one in event.of), reverse=True)
        if event.gate == "not":
            return 1.0 - each[0]
        return each[min(event.count or len(each), len(each)) - 1]


def gate_in_words(event: Event) -> str:
    """What must hold below an event for it to hold."""
    if event.gate == "at_least":
        return f"at least {event.count} of these"
    return GATES[event.gate]
