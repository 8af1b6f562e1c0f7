"""All that touches an entry: what it names, what names it, and what reaches it through the fault tree."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.advice.cautions import in_order, of_action, of_check
from faulttree.book.cases import RegressionCase
from faulttree.book.model import THE_SQUAWK, Action, Book, Check
from faulttree.conditions import Moves
from faulttree.dialogue.tree import gate_in_words
from faulttree.graph.gates import Gates
from faulttree.workshop.shows import shown_by


@dataclass(frozen=True, slots=True)
class Touched:
    """An entry that touches another: its id, its name, and in ``note`` how it does."""

    id: str
    name: str
    note: str = ""


Titles = Iterator[tuple[str, list[Touched]]]


class Touching:
    """What touches the entries of one book; ``with_option`` are the entries for each option."""

    def __init__(self, book: Book, cases: Sequence[RegressionCase], with_option: Mapping[str, list[Touched]]) -> None:
        self.book, self._cases, self._with_option = book, cases, with_option
        self._gates, self._moves = Gates(book), Moves(book.conditions)

    def of(self, section: str, members: Sequence[str]) -> Titles:
        """Titles with what belongs below each, for an entry with these ids; empty ones too."""
        told: dict[str, Callable[[Sequence[str]], Titles]] = {
            "components": self._component, "faults": self._fault, "events": self._event, "symptoms": self._symptom,
            "checks": self._check, "actions": self._action, "conditions": self._condition,
            "cautions": self._caution, "circumstances": self._circumstance, "options": self._option,
            "limits": self._limit, "equipment": self._equipment, "sources": self._source,
        }  # fmt: skip
        yield from told[section](members)
        yield "Regression cases", self._cases_with(section, members)

    # -- parts and faults ------------------------------------------------------------------------------

    def _component(self, members: Sequence[str]) -> Titles:
        faults = [fault.id for fault in self.book.faults.values() if fault.component in members]
        yield "Faults", self._names("faults", faults, self._rate)
        yield from self._of_faults(faults)
        yield "Cautions of the part", self._cautions(self.book.components[name].cautions for name in members)

    def _fault(self, members: Sequence[str]) -> Titles:
        faults = [self.book.faults[name] for name in members]
        yield "Component", self._names("components", [f.component for f in faults])
        yield from self._of_faults(members)
        direct = [e.id for e in self.book.events.values() if set(e.of) & set(members)]
        yield "Events that name it", self._names("events", direct)
        yield "Promoted by", self._names("circumstances", [c for f in faults for c in f.promoted_by])
        yield "Demoted by", self._names("circumstances", [c for f in faults for c in f.demoted_by])

    def _of_faults(self, faults: Sequence[str]) -> Titles:
        """What finds and mends them: symptoms, checks, actions, and what these need and show."""
        yield "Symptoms that it reaches", self._reached(faults)
        alone, together, checks = self._shown(faults)
        yield "Checks that show it", alone
        yield "Checks that look at it, and show it only together with others", together
        actions = [action for action in self.book.actions.values() if set(action.corrects) & set(faults)]
        yield "Actions that correct it", self._names("actions", [a.id for a in actions], self._follow_ups)
        works: list[Check | Action] = [*(self.book.checks[name] for name in checks), *actions]
        needs = self._moves.closure(tuple(dict.fromkeys(need for work in works for need in work.needs)))
        yield "Conditions that these need", self._names("conditions", [c for c in self.book.conditions if c in needs])
        yield "Cautions shown with these", self._shown_with(works)

    def _shown(self, faults: Sequence[str]) -> tuple[list[Touched], list[Touched], list[str]]:
        """Checks that show one of the faults alone, those that never do, and the ids of the first."""
        notes: dict[str, dict[str, None]] = {}
        other: dict[str, None] = {}
        for shown in shown_by(self.book, self._gates, faults).values():
            for one in shown:
                if one.outcome:
                    words = f"{one.outcome}, {100 * one.detects:.3g} %"
                    notes.setdefault(one.check, {})[words] = None
                else:
                    other[one.check] = None
        alone = [Touched(name, self.book.checks[name].name, "; ".join(told)) for name, told in notes.items()]
        return alone, self._names("checks", [name for name in other if name not in notes]), list(notes)

    def _shown_with(self, works: Iterable[Check | Action]) -> list[Touched]:
        found: list[str] = []
        for work in works:
            conditions = sorted(self._moves.closure(work.needs))
            if isinstance(work, Check):
                found += of_check(self.book, self._gates, work, conditions, ())
            else:
                found += of_action(self.book, work, conditions, ())
        return self._cautions([in_order(self.book, found)])

    def _reached(self, faults: Iterable[str]) -> list[Touched]:
        below = [s.id for s in self.book.symptoms.values() if self._gates.below(s.when) & set(faults)]
        return self._names("symptoms", below)

    # -- what can hold ---------------------------------------------------------------------------------

    def _event(self, members: Sequence[str]) -> Titles:
        parts = [part for name in members for part in self.book.events[name].of]
        yield "Rests on", self._things(parts)
        users = [e.id for e in self.book.events.values() if set(e.of) & set(members)]
        yield "Events that rest on it", self._names("events", users)
        above = self._above(members)
        yield (
            "Symptoms that it reaches",
            self._names("symptoms", [s.id for s in self.book.symptoms.values() if s.when in above]),
        )
        yield (
            "Checks that look at it",
            self._names(
                "checks", [c.id for c in self.book.checks.values() if any(o.when in above for o in c.outcomes)]
            ),
        )
        yield "Faults below it", self._names("faults", self._below(members), self._rate)

    def _symptom(self, members: Sequence[str]) -> Titles:
        symptoms = [self.book.symptoms[name] for name in members]
        for one in symptoms:
            event = self.book.events.get(one.when)
            if event is not None and event.id.startswith(f"{one.id}/"):  # a gate written in place has no name to copy
                yield f"Holds where {gate_in_words(event)}", self._things(event.of)
            else:
                yield "Holds where", self._things([one.when])
        yield "Faults below it", self._names("faults", self._below([s.when for s in symptoms]), self._rate)
        yield "Proved gone by", self._names("checks", [s.proof for s in symptoms])
        yield "Cautions", self._cautions(s.cautions for s in symptoms)

    def _above(self, members: Sequence[str]) -> set[str]:
        """These events and all that rest on them."""
        found = set(members)
        for event in self.book.events.values():
            if found & set(event.of):
                found.add(event.id)
        return found

    def _below(self, names: Iterable[str]) -> list[str]:
        below = frozenset[str]().union(*(self._gates.below(name) for name in names))
        return [fault for fault in self.book.faults if fault in below]

    # -- steps -----------------------------------------------------------------------------------------

    def _check(self, members: Sequence[str]) -> Titles:
        checks = [self.book.checks[name] for name in members]
        whens = [(o.when, o.id) for c in checks for o in c.outcomes if o.when and o.when != THE_SQUAWK]
        for outcome in dict.fromkeys(outcome for _, outcome in whens):
            faults = self._below([when for when, shown in whens if shown == outcome])
            yield f"Faults that {outcome} may mean", self._names("faults", faults, self._rate)
        yield from self._step(checks)
        yield "Done before it", self._names("checks", [name for c in checks for name in c.after])
        yield "Limit", self._names("limits", [c.reading.limit for c in checks if c.reading])
        every = self.book.actions.values()
        yield "Done after", self._names("actions", [a.id for a in every if set(a.follow_up) & set(members)])
        yield (
            "Wanted before",
            [
                *self._names("actions", [a.id for a in every if set(a.after_any) & set(members)]),
                *self._names("checks", [c.id for c in self.book.checks.values() if set(c.after) & set(members)]),
            ],
        )
        proved = [s.id for s in self.book.symptoms.values() if s.proof in members]
        yield "Proves gone", self._names("symptoms", proved)

    def _action(self, members: Sequence[str]) -> Titles:
        actions = [self.book.actions[name] for name in members]
        corrects = [fault for a in actions for fault in a.corrects]
        yield "Corrects", self._names("faults", corrects, self._rate)
        yield "Symptoms that these reach", self._reached(corrects)
        yield "Done after it", self._names("checks", [name for a in actions for name in a.follow_up])
        yield "One of these before it", self._names("checks", [name for a in actions for name in a.after_any])
        yield from self._step(actions)

    def _step(self, works: Sequence[Check | Action]) -> Titles:
        yield "Needs", self._names("conditions", [need for work in works for need in work.needs])
        yield "Equipment", [Touched(e, self.book.equipment[e]) for e in _once(e for w in works for e in w.equipment)]
        yield "Cautions shown with it", self._shown_with(works)

    # -- the rest --------------------------------------------------------------------------------------

    def _condition(self, members: Sequence[str]) -> Titles:
        name = members[0]
        item, every = self.book.conditions[name], self.book.conditions.values()
        yield "Implies", self._names("conditions", item.implies)
        yield "Implied by", self._names("conditions", [c.id for c in every if name in c.implies])
        yield "Excludes", self._names("conditions", [*item.excludes, *(c.id for c in every if name in c.excludes)])
        yield "Not set up or restored while", self._names("conditions", item.not_while)
        yield "Bars setting up or restoring", self._names("conditions", [c.id for c in every if name in c.not_while])
        yield from self._naming("need it", lambda one: name in one.needs)
        yield (
            "Barred by",
            [Touched(c.id, c.name, o.label) for c in self.book.checks.values() for o in c.outcomes if name in o.bars],
        )
        yield "Equipment", [Touched(e, self.book.equipment[e]) for e in item.equipment]
        yield "Cautions", self._cautions([item.cautions])

    def _caution(self, members: Sequence[str]) -> Titles:
        name = members[0]
        if name in self.book.standing_cautions:
            yield "Shown", [Touched(name, "on every paper and at the beginning of every case")]
        for section in ("conditions", "components", "symptoms", "checks", "actions"):
            items = getattr(self.book, section).values()
            yield f"Hangs on {section}", self._names(section, [one.id for one in items if name in one.cautions])
        yield (
            "Hangs on answers at the opening",
            [Touched(q.id, q.ask, a.label) for q in self.book.opening for a in q.answers if name in a.cautions],
        )

    def _circumstance(self, members: Sequence[str]) -> Titles:
        faults = self.book.faults.values()
        yield "Promotes", self._names("faults", [f.id for f in faults if members[0] in f.promoted_by], self._rate)
        yield "Demotes", self._names("faults", [f.id for f in faults if members[0] in f.demoted_by], self._rate)

    def _option(self, members: Sequence[str]) -> Titles:
        yield "Entries for aircraft with it", self._with_option.get(members[0], [])

    def _limit(self, members: Sequence[str]) -> Titles:
        checks = [c.id for c in self.book.checks.values() if c.reading and c.reading.limit in members]
        yield "Judges the reading of", self._names("checks", checks)

    def _equipment(self, members: Sequence[str]) -> Titles:
        yield from self._naming("want it", lambda one: members[0] in one.equipment)
        wanted = [c.id for c in self.book.conditions.values() if members[0] in c.equipment]
        yield "Conditions that want it", self._names("conditions", wanted)

    def _source(self, members: Sequence[str]) -> Titles:
        for section in ("faults", "checks", "actions", "conditions", "circumstances", "limits"):
            items = getattr(self.book, section).values()
            cited = [one.id for one in items if one.basis is not None and one.basis.source == members[0]]
            yield f"Cited by {section}", self._names(section, cited)

    def _naming(self, how: str, names: Callable[[Any], bool]) -> Titles:
        for section in ("checks", "actions"):
            found = [one.id for one in getattr(self.book, section).values() if names(one)]
            yield f"{section.capitalize()} that {how}", self._names(section, found)

    # -- in words --------------------------------------------------------------------------------------

    def _names(self, section: str, names: Iterable[str], note: Callable[[str], str] = lambda _: "") -> list[Touched]:
        items = getattr(self.book, section)
        return [Touched(name, items[name].name, note(name)) for name in _once(names) if name in items]

    def _things(self, names: Iterable[str]) -> list[Touched]:
        every = {name: fault.name for name, fault in self.book.faults.items()}
        every.update((name, event.name) for name, event in self.book.events.items())
        return [Touched(name, every[name]) for name in _once(names)]

    def _cautions(self, lists: Iterable[Iterable[str]]) -> list[Touched]:
        cautions = self.book.cautions
        return [Touched(n, cautions[n].text, cautions[n].level) for n in _once(n for names in lists for n in names)]

    def _rate(self, fault: str) -> str:
        rate = self.book.faults[fault].rate
        return (
            f"{rate:.3g} per 1000 h" if rate is not None else f"probability {self.book.faults[fault].probability:.3g}"
        )

    def _follow_ups(self, action: str) -> str:
        due = self.book.actions[action].follow_up
        return f"then {', '.join(due)}" if due else ""

    def _cases_with(self, section: str, members: Sequence[str]) -> list[Touched]:
        wanted = set(members)
        return [
            Touched(case.id, case.description, str(case.position))
            for case in self._cases
            if wanted & set(_named_in(case, section))
        ]


def _named_in(case: RegressionCase, section: str) -> Iterator[str]:
    """The entries of a section that a case names."""
    expect, steps = case.expect, case.steps
    by_section: dict[str, Iterable[str | None]] = {
        "symptoms": (*case.symptoms, *case.absent),
        "circumstances": case.circumstances,
        "conditions": case.standing,
        "options": [word.rpartition("=")[2] for word in case.fitted],
        "components": (expect.cause, *expect.order),
        "faults": (expect.cause, *(step.name for step in steps)),
        "checks": (*(step.name for step in steps), *expect.next, *expect.hands_on, *expect.not_offered),
        "actions": (*(step.name for step in steps), *expect.next, *expect.hands_on, *expect.not_offered),
        "cautions": expect.cautions,
        "limits": [step.limit for step in steps],
    }
    yield from (name for name in by_section.get(section, ()) if name)


def _once(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(names))
