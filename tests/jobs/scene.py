"""What the rules of :mod:`tests.jobs.rules` look at: facts of a book, and one advice with all that led to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import takewhile

from faulttree.advice import Advice, Situation, Suggestion
from faulttree.belief import Answer, Belief, Did, Evidence, Reported
from faulttree.book.model import THE_SQUAWK, Action, Book, Check

SURE_TO_FAIL = 0.8
"""Chance from which a proof may wait for the next repair."""


@dataclass
class Facts:
    """A book, and what follows from it: faults below an event, what a condition brings with it."""

    book: Book
    _below: dict[str, frozenset[str]] = field(default_factory=dict)
    _cautions: dict[tuple[str, str], frozenset[str]] = field(default_factory=dict)

    def below(self, name: str) -> frozenset[str]:
        """Faults that an event, symptom or fault looks at."""
        if name not in self._below:
            if name in self.book.faults:
                found = frozenset([name])
            elif name in self.book.symptoms:
                found = self.below(self.book.symptoms[name].when)
            else:
                found = frozenset[str]().union(*(self.below(part) for part in self.book.events[name].of))
            self._below[name] = found
        return self._below[name]

    def with_implied(self, conditions: Iterable[str]) -> frozenset[str]:
        """Conditions with all that must stand as long as they do."""
        found: set[str] = set()
        waiting = list(conditions)
        while waiting:
            one = waiting.pop()
            if one not in found:
                found.add(one)
                waiting += self.book.conditions[one].implies
        return frozenset(found)

    def own_cautions(self, kind: str, item: Check | Action) -> frozenset[str]:
        """Cautions of a step itself and, if hands come near, of the parts below its outcomes or corrected by it.

        A look that touches nothing may say which parts it comes near; those are its parts then.
        """
        key = (kind, item.id)
        if key not in self._cautions:
            faults: set[str] = set()
            if isinstance(item, Action):
                faults.update(item.corrects)
            elif kind != "ask":
                faults.update(*(self.below(o.when) for o in item.outcomes if o.when and o.when != THE_SQUAWK))
            parts = {self.book.faults[fault].component for fault in faults}
            if isinstance(item, Check) and item.kind == "look" and item.near:
                parts = set(item.near)
            found = set(item.cautions).union(*(self.book.components[part].cautions for part in parts))
            self._cautions[key] = frozenset(found)
        return self._cautions[key]


@dataclass(frozen=True)
class Scene:
    """One advice and what it was given for."""

    facts: Facts
    evidence: Evidence
    situation: Situation
    advice: Advice
    belief: Belief | None = None

    @property
    def book(self) -> Book:
        """The book."""
        return self.facts.book

    @cached_property
    def steps(self) -> list[tuple[Suggestion, Check | Action]]:
        """Suggestions that are steps of the book, help left out, with what the book says of them."""
        found: list[tuple[Suggestion, Check | Action]] = []
        for suggestion in self.advice.suggestions:
            items = self.book.actions if suggestion.kind == "act" else self.book.checks
            if suggestion.kind != "help" and suggestion.id in items:
                found.append((suggestion, items[suggestion.id]))
        return found

    @cached_property
    def symptoms(self) -> list[str]:
        """Symptoms reported."""
        return [entry.symptom for entry in self.evidence.entries if isinstance(entry, Reported)]

    @cached_property
    def proofs(self) -> list[str]:
        """Checks that end a job with these symptoms."""
        return list(dict.fromkeys(self.book.symptoms[symptom].proof for symptom in self.symptoms))

    @cached_property
    def proving(self) -> list[str]:
        """The proofs, and the checks that show all that these show."""
        return [name for name, check in self.book.checks.items() if {name, *check.covers} & {*self.proofs}]

    @cached_property
    def due(self) -> list[str]:
        """Follow-ups of what was done, then the proofs, then what an action names behind a proof.

        None are left once a proof has shown the squawk. A check that has to come before one of them, and never was
        done, comes right before it. Where one shows all that another does, the other is not due.
        """
        due: list[str] = []
        ever: set[str] = set()
        repairs: list[str] = []
        proved = True
        for entry in self.evidence.entries:
            if isinstance(entry, Did):
                # What was due for a repair before, and never proved, is due again: the gear was touched anew.
                repairs, proved = [*([] if proved else repairs), entry.action], False
                checks = [*self._listed(repairs, behind=False), *self.proofs, *self._listed(repairs, behind=True)]
                covered = [name for check in checks for name in self.book.checks[check].covers]
                checks = [check for check in checks if check not in covered]
                before = {check: [b for b in self.book.checks[check].after if b not in ever] for check in checks}
                due = list(dict.fromkeys(part for check in checks for part in (*before[check], check)))
            elif isinstance(entry, Answer):
                ever.add(entry.check)
                proved = proved or entry.check in self.proving
                failed = entry.check in self.proving and shown(entry) != len(entry.weights) - 1
                done = (entry.check, *self.book.checks[entry.check].covers)
                due = [] if failed else [check for check in due if check not in done]
        return due

    def _listed(self, repairs: Sequence[str], behind: bool) -> list[str]:
        """Follow-ups of these repairs that are no proofs, and stand behind one in their list or do not."""
        found = []
        for repair in repairs:
            past = False
            for check in self.book.actions[repair].follow_up:
                past = past or check in self.proofs
                if check not in self.proofs and past == behind:
                    found.append(check)
        return found

    @property
    def due_now(self) -> list[str]:
        """The same, but nothing where something found since the repair bars the next: that is repaired first.

        Nor where the proof would as good as surely fail, and there is another step than help.
        """
        barred = self.due and not set(self.since_action).isdisjoint(against(self, self.book.checks[self.due[0]]))
        if barred:
            return []
        before = list(takewhile(lambda check: check not in self.proving, self.due))
        due = [s.id for s in self.advice.suggestions if s.owed]
        return before if self.may_wait and set(due) <= set(before) else self.due

    @property
    def may_wait(self) -> bool:
        """Whether the proof may wait: the faults below the squawk, as likely as they stand now, and the unlisted
        cause add up to more than the chance from which it does (they are no less likely together than any of them)."""
        if self.belief is None:
            return False
        below = set().union(*(self.facts.below(self.book.symptoms[s].when) for s in self.symptoms))
        faults = self.belief.faults
        return self.belief.unlisted + sum(faults[f].probability for f in below if f in faults) >= SURE_TO_FAIL

    @cached_property
    def since_action(self) -> list[str]:
        """Checks done since the last action."""
        done: list[str] = []
        for entry in self.evidence.entries:
            if isinstance(entry, Did):
                done = []
            elif isinstance(entry, Answer):
                done.append(entry.check)
        return done

    def needs(self, suggestion: Suggestion, item: Check | Action) -> frozenset[str]:
        """All that has to stand for a step: its own needs, those set up early, those wanted before all else."""
        first = () if suggestion.kind == "ask" else self.situation.first
        return self.facts.with_implied([*item.needs, *first, *suggestion.also])


def shown(answer: Answer) -> int:
    """The place of the outcome that an answer speaks for most."""
    return answer.weights.index(max(answer.weights))


def against(scene: Scene, item: Check | Action) -> list[str]:
    """Checks that have to lift something that was found before a step can be done."""
    answers = [entry for entry in scene.evidence.entries if isinstance(entry, Answer)]
    last = {entry.check: shown(entry) for entry in answers}
    when = {entry.check: place for place, entry in enumerate(answers)}
    told = {name: scene.book.checks[name].outcomes[place] for name, place in last.items()}
    needs = scene.facts.with_implied(item.needs)
    found = []
    for name, outcome in sorted(told.items()):
        since = [told[check] for check in outcome.until if when.get(check, -1) > when[name]]
        lifted = any(needs.isdisjoint(other.bars) for other in since)
        if not needs.isdisjoint(outcome.bars) and not lifted:
            found.append(outcome.until[0] if outcome.until else name)
    return found
