"""What may be proposed at all: repairs of what may stand, and checks that can tell something and make sense now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence, Set
from dataclasses import replace

from faulttree.advice.situation import Situation
from faulttree.advice.steps import Steps
from faulttree.belief import Did, Entry, Found
from faulttree.book.model import THE_SQUAWK, Action, Book, Check
from faulttree.graph.gates import Gates

TRIES = 2
"""So often one repair is proposed in a case: what did not help twice will not help the third time."""


class Eligible:
    """Checks and actions for one situation. Whether they can be done here and now is for ``steps`` to say.

    ``looks_at`` gives the faults below any outcome of a check: where none of them is in play it tells nothing.
    """

    def __init__(
        self, book: Book, gates: Gates, looks_at: Callable[[Check], frozenset[str]], steps: Steps, situation: Situation
    ) -> None:
        self.book, self.gates, self.looks_at, self.steps, self.situation = book, gates, looks_at, steps, situation

    def actions(self, in_play: frozenset[str], entries: Iterable[Entry]) -> list[Action]:
        """Repairs of faults that may stand, each with the checks of which one has still to come before it."""
        told = list(entries)
        did = Counter(entry.action for entry in told if isinstance(entry, Did))
        found = {entry.fault for entry in told if isinstance(entry, Found)}
        return [
            a if (shown_by := self._shown_by(a, found)) == a.after_any else replace(a, after_any=shown_by)
            for a in self.book.actions.values()
            if not in_play.isdisjoint(a.corrects)
            and did[a.id] < (1 if a.once else TRIES)
            and self.steps.ever_possible(a)
        ]

    def checks(self, in_play: frozenset[str], actions: Iterable[Action], symptoms: frozenset[str]) -> list[Check]:
        """Checks that look at a fault in play, those that have to show what ``actions`` want, and what comes before."""
        show = {name for action in actions for name in action.after_any}
        needless = self._needless(symptoms)
        looked = [
            c for c in self.book.checks.values()
            if c.id in show
            or (c.proposed and not c.proof and c.id not in needless and not in_play.isdisjoint(self.looks_at(c)))
        ]  # fmt: skip
        return self._with_what_comes_first([c for c in looked if c.id in show or self.steps.ever_possible(c)])

    def _needless(self, symptoms: frozenset[str]) -> Set[str]:
        """Questions that make no sense with what was reported, or any more after what was answered."""
        checks = self.book.checks
        beside = {c.id for c in checks.values() if c.only_with and symptoms.isdisjoint(c.only_with)}
        return beside | {
            name for check, shown in self.situation.shown if check in checks
            for outcome in checks[check].outcomes if outcome.id == shown for name in outcome.needless
        }  # fmt: skip

    def _shown_by(self, action: Action, found: Set[str]) -> tuple[str, ...]:
        """The checks of which one has to come before an action: none once one was done, or the fault was seen.

        Nor where what was found bars them all, or all told nothing: then there is nothing to wait for. A look that
        showed nothing of what the action corrects is no measurement of it, and stands for none.
        """
        if not found.isdisjoint(action.corrects) or any(self._bears_on(name, action) for name in action.after_any):
            return ()
        checks = [self.book.checks[name] for name in action.after_any if name not in self.situation.done]
        return tuple(check.id for check in checks if check.proposed and not self.steps.barred(check))

    def _bears_on(self, name: str, action: Action) -> bool:
        """Whether a check was done so that it speaks for or against an action."""
        if name not in self.situation.ever:
            return False
        check, shown = self.book.checks[name], dict(self.situation.shown)
        if check.kind != "look" or name not in shown:
            return True
        event = next(outcome.when for outcome in check.outcomes if outcome.id == shown[name])
        if event is None or event == THE_SQUAWK:
            return False
        return not self.gates.below(event).isdisjoint(action.corrects)

    def _with_what_comes_first(self, checks: Sequence[Check]) -> list[Check]:
        """Checks that can be done, with those that have to come before them, though these may tell nothing."""
        able: dict[str, Check] = {}
        for check in checks:
            before = self._before(check)
            if all(b.proposed and not b.proof and self.steps.ever_possible(b) for b in before):
                able.update({b.id: b for b in (*before, check)})
        return [check for name, check in self.book.checks.items() if name in able]

    def _before(self, check: Check) -> list[Check]:
        found: list[Check] = []
        for name in check.after:
            if name not in self.situation.ever | self.situation.done:
                found += [*self._before(self.book.checks[name]), self.book.checks[name]]
        return found
