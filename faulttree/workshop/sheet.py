"""A plan of numbered steps in the book's words, as plain data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import chain
from typing import Any

from faulttree.advice import cautions, standing_for
from faulttree.advice.floor import Standing
from faulttree.advice.steps import HELP_NAME
from faulttree.book.model import Action, Book, Check, Condition
from faulttree.workshop import clock, oneway
from faulttree.workshop.graph import END, HELP
from faulttree.workshop.legs import Telling, any_leg_all, any_leg_id, any_leg_words, telling
from faulttree.workshop.plan import Plan
from faulttree.workshop.reached import Reached

NOT_DONE = "not-done"
"""The way on from looking back at a check of whoever never did it."""

NOT_GONE = {False: "Not gone", True: "Not gone after a second try"}
"""What a repair leads on by where it is done once, and where it is done twice."""


class Sheet:
    """A plan in the book's words."""

    def __init__(self, book: Book, symptom: str, plan: Plan, live: float) -> None:
        self.book, self.symptom, self.plan, self.live = book, symptom, plan, live
        self.moves = plan.round.advisor.moves
        order = [n for n in plan.order() if n != HELP]
        self.number = {n: i for i, n in enumerate([*order, HELP], 1)}
        self.reached = Reached(plan)
        self.behind, self.entered = self.reached.behind, self.reached.entered
        self._told_in = dict[Telling, int]()
        self._told_by = dict[Telling, str]()
        self._proofs = {name for proof in plan.job.floor.proofs for name in standing_for(book, proof)}

    # -- the whole -------------------------------------------------------------------------------------

    def data(self) -> dict[str, Any]:
        """The chart."""
        book, symptom = self.book, self.book.symptoms[self.symptom]
        steps = [self._step(n) for n in self.number]
        due = {d["id"]: d["check"] for step in reversed(steps) for d in reversed(step["due"])}
        often = Counter(c for step in steps for c in step["cautions"])
        shown = set(often)
        places = {c: place for place, c in enumerate(book.cautions)}
        opening = [self._opening(question) for question in book.opening]
        shown |= {c for question in opening for answer in question["answers"] for c in answer["cautions"]}
        minutes, called = clock.minutes(self.plan)
        set_ups = self._set_ups(
            steps, [name for question in book.opening for a in question.answers for name in a.first]
        )
        proving = [self._proving(name, check) for name, check in reversed(due.items())]
        _told_alone([outcome for each in (*steps, *proving) for outcome in each["outcomes"]], set_ups)
        return {
            "paper": "chart", "format": 1, "family": book.family, "gear": book.name,
            "fitted": [
                f"{group.replace('-', ' ')}: {book.options[o].name}" for group, o in book.fitted.items()
                if o in book.options
            ],
            "symptom": {"id": symptom.id, "name": symptom.name, "says": list(symptom.says[:2])},
            "knowledge": {"version": book.version, "digest": book.digest},
            "minutes": {"chart": minutes, "advisor": self.live, "ratio": minutes / self.live},
            "help": called,
            "standing_cautions": [_caution(book, c) for c in book.standing_cautions],
            "opening": opening,
            # Those that go before many steps come first, so that the boxes of these name a run of marks.
            "cautions": _marked(book, cautions.in_order(book, sorted(shown, key=lambda c: (-often[c], places[c])))),
            "steps": steps, "set_ups": set_ups, "proving": proving,
        }  # fmt: skip

    def _opening(self, question: Any) -> dict[str, Any]:
        conditions = self.book.conditions
        answers = [
            {
                "label": a.label, "says": a.says or "",
                "first": [{"id": c, "name": conditions[c].name} for c in a.first],
                "cautions": list(cautions.in_order(
                    self.book, (*a.cautions, *cautions.of_conditions(self.book, sorted(self.moves.closure(a.first))))
                )),
            }
            for a in question.answers
        ]  # fmt: skip
        return {"ask": question.ask, "answers": answers}

    # -- steps -----------------------------------------------------------------------------------------

    def _step(self, n: int) -> dict[str, Any]:
        node = self.plan.nodes[n]
        if node.step.kind == "help":
            return _help_step(self.number[n])
        begun = {} if self.reached.looks_back(n) else self.reached.begun(n)
        leg = min(self.entered[n])
        item, named = self.plan.item(self.reached.done(n, leg)), self._leg(n, leg)
        moved, shown, leaves = self._moved([(self.plan.item(self.reached.done(n, at)), s) for at, s in begun.items()])
        after = dict(zip(begun, leaves.values(), strict=True))
        step: dict[str, Any] = {
            "number": self.number[n], "kind": node.step.kind, "id": any_leg_id(item.id) if named else item.id,
            "name": any_leg_words(item.name, named), "how": any_leg_all(item.how, named), "by_leg": self._by_leg(n),
            "minutes": item.minutes, "waits": item.waits, "people": self._people(item),
            "equipment": [self.book.equipment[e] for e in item.equipment], "moves": moved,
            "needs": self._names(item.needs), "as_in": self._as_in(n, item),
            "again": self._again(n), "looks_back": self.reached.looks_back(n), "looked_up": self._looked_up(n),
            "lasting": isinstance(item, Check) and item.about == "squawk", "twice": node.step.twice,
        }  # fmt: skip
        if isinstance(item, Check):
            step |= self._check(n, item, leg)
        else:
            repair, shown_after = self._repair(n, item, after)
            step |= repair
            shown |= shown_after
        return step | {"cautions": list(cautions.in_order(self.book, [c for c in self.book.cautions if c in shown]))}

    def _as_in(self, n: int, item: Check | Action) -> int | None:
        """An earlier step that tells how this one is done and what it may show; None where this one tells it."""
        first = self._told_in.setdefault(telling(item), self.number[n])
        return None if first == self.number[n] else first

    def _leg(self, n: int, leg: int) -> str | None:
        """The name of a leg where a step is for the noted one; None where it is not."""
        return self.plan.facts.legs[leg - 1] if self.plan.nodes[n].step.legged else None

    def _by_leg(self, n: int) -> dict[str, dict[str, Any]]:
        """What is done and due at a step for the noted leg, by leg."""
        if not self.plan.nodes[n].step.legged:
            return {}
        found = {}
        for leg in sorted(self.entered[n]):
            item = self.plan.item(self.reached.done(n, leg))
            due = [] if isinstance(item, Check) else [name for names in self.reached.due(n, leg) for name in names]
            found[self.plan.facts.legs[leg - 1]] = {"id": item.id, "due": due}
        return found

    def _check(self, n: int, check: Check, leg: int) -> dict[str, Any]:
        node, limit, named = self.plan.nodes[n], None, self._leg(n, leg)
        if check.reading is not None:
            told = self.book.limits[check.reading.limit]
            limit = {
                "name": any_leg_words(told.name, named), "unit": check.reading.unit, "where": told.where,
                "typical": told.typical,
            }  # fmt: skip
        outcomes = [
            self._outcome(o.id, o.label, t, o.bars, self._notes(n, leg, place))
            for place, (o, t) in enumerate(zip(check.outcomes, node.to, strict=False))
        ]
        back = node.step.kind == "back"
        if back:
            outcomes = [o | {"stops": []} for o in outcomes]
            outcomes.append(self._outcome(NOT_DONE, "not done", node.to[-1], (), ""))
        return {
            "kind": "back" if back else "ask" if check.kind == "ask" else "check",
            "ask": any_leg_words(check.ask or "", named), "limit": limit, "outcomes": outcomes,
            "due": [], "parts": [], "who": "",
        }  # fmt: skip

    def _notes(self, n: int, leg: int, o: int) -> str:
        """The leg that is to be noted after an outcome, where any later step wants to know."""
        facts, to = self.plan.facts, self.plan.nodes[n].to[o]
        noted = facts.noted(self.reached.done(n, leg), o, 0)
        return facts.legs[noted - 1] if noted and to != END and self.plan.minds_leg(to) else ""

    def _repair(self, n: int, action: Action, after: dict[int, list[Standing]]) -> tuple[dict[str, Any], set[str]]:
        """What a repair takes besides its own work: what is due after it; with the cautions of all that."""
        by_leg = {leg: [name for names in self.reached.due(n, leg) for name in names] for leg in after}
        due, shown, first = [], set[str](), min(after)
        for place, name in enumerate(by_leg[first]):
            maybe = place < len(self.reached.due(n, first)[0])
            check, named = self.book.checks[name], None if maybe else self._leg(n, first)
            here = [(self.book.checks[by_leg[leg][place]], stands) for leg, stands in after.items()]
            moved, shown_here, leaves = self._moved(here)
            after = {
                leg: list(dict.fromkeys((*self.reached.found(by_leg[leg][place], then), *(stands if maybe else ()))))
                for (leg, stands), then in zip(after.items(), leaves.values(), strict=True)
            }
            shown |= shown_here
            due.append({
                "id": any_leg_id(name) if named and check.leg == named else name, "check": name,
                "name": any_leg_words(check.name, named), "moves": moved,
                "proof": name in self._proofs, "if_stopped": maybe,
            })  # fmt: skip
        outcomes = [
            self._outcome("proved", "Gone", END, (), ""),
            self._outcome("remains", NOT_GONE[self.plan.nodes[n].step.twice], self.plan.nodes[n].to[1], (), ""),
        ]
        told = {
            "ask": "", "limit": None, "outcomes": outcomes, "due": due,
            "parts": any_leg_all(action.parts, self._leg(n, first)), "who": action.who or "",
        }  # fmt: skip
        return told, shown

    def _outcome(self, name: str, label: str, to: int, bars: Iterable[str], notes: str) -> dict[str, Any]:
        go = "end" if to == END else "help" if to == HELP else self.number[to]
        return {"id": name, "label": label, "go": go, "stops": self._names(bars), "notes": notes}

    def _again(self, n: int) -> list[int]:
        """Earlier steps at which the same may have been done on the way here."""
        if self.plan.nodes[n].step.kind == "back":
            return [one["number"] for one in self._looked_up(n)]
        if not self.reached.may_be_met_again(n):
            return []
        here = {self.reached.done(n, leg) for leg in self.behind[n]}
        same = [
            m for m in self.plan.nodes
            if m not in (n, HELP) and self.plan.reach(m) & 1 << n
            and not {self.reached.done(m, leg) for leg in self.behind[m]}.isdisjoint(here)
        ]  # fmt: skip
        return sorted(self.number[m] for m in same)

    def _looked_up(self, n: int) -> list[dict[str, Any]]:
        """The steps of which the last one done tells what is looked up; with the leg where one is for the noted leg."""
        step, facts = self.plan.nodes[n].step, self.plan.facts
        if step.kind != "back":
            return []
        found: list[dict[str, Any]] = []
        for m in sorted(self.plan.nodes, key=lambda m: self.number.get(m, 0)):
            of_it = self.plan.nodes[m].step
            if of_it.kind == "check" and self.plan.reach(m) & 1 << n and not self.reached.looks_back(m):
                legs = [leg for leg in self.behind[m] if self.reached.done(m, leg).place == step.place]
                named = facts.legs[legs[0] - 1] if legs and of_it.legged else ""
                found += [{"number": self.number[m], "leg": named}] if legs else []
        return found

    def _proving(self, name: str, done: str) -> dict[str, Any]:
        check = self.book.checks[done]
        leg = None if name == done else check.leg
        return {
            "id": name, "name": any_leg_words(check.name, leg), "ask": any_leg_words(check.ask or "", leg),
            "how": any_leg_all(check.how, leg), "minutes": check.minutes,
            "proof": name in self._proofs, "people": self._people(check),
            "good": check.outcomes[-1].label, "as_in": self._told_where(check, name),
            "outcomes": [{"label": o.label, "stops": self._names(o.bars)} for o in check.outcomes[:-1]],
        }  # fmt: skip

    def _told_where(self, check: Check, name: str) -> int | str | None:
        """The step that tells how a check is done, or the check after a repair before it; None where this one does."""
        first = self._told_in.get(telling(check)) or self._told_by.setdefault(telling(check), name)
        return None if first == name else first

    def _set_ups(self, steps: list[dict[str, Any]], first: Iterable[str] = ()) -> list[dict[str, Any]]:
        """What is set up or put back anywhere in the chart, or ``first`` of all, with the words for both ways."""
        ways = [way for step in steps for part in (step, *step["due"]) for way in part["moves"]]
        used = {c["id"] for way in ways for c in (*way["put_back"], *way["set_up"])}
        used |= {name for way in ways for names in way["from"] for name in names}
        used |= {name for way in ways for c in way["put_back"] for name in c["since"]}
        used |= {asked["id"] for way in ways for asked in way["where"]}
        used |= self.moves.closure(tuple(first))
        return [
            {
                "id": c.id, "name": c.name, "set_up": c.set_up, "put_back": c.restore, "minutes": c.set_up_minutes,
                "equipment": [self.book.equipment[e] for e in c.equipment],
                "hazard": c.hazard, "kept_for": self._kept_for(c, used),
            }
            for c in self.book.conditions.values() if c.id in used
        ]  # fmt: skip

    def _kept_for(self, one: Condition, used: Iterable[str]) -> list[str]:
        """What something is put back for that is kept to the last, of what is set up; nothing for anything else."""
        if not one.kept_to_last:
            return []
        others = (other for name, other in self.book.conditions.items() if name in set(used))
        return [other.id for other in others if other.id in one.excludes or one.id in other.excludes]

    # -- moves, people, things -------------------------------------------------------------------------

    def _moved(
        self, at: list[tuple[Any, list[Standing]]]
    ) -> tuple[list[dict[str, Any]], set[str], dict[int, list[Standing]]]:
        """Moves to an item (that of each leg, with the same needs) from each standing, those alike together.

        With the cautions of it all, and what stands then, in the order of what was given.
        """
        found: oneway.Ways = {}
        shown, leaves = set[str](), dict[int, list[Standing]]()
        for place, (item, standings) in enumerate(at):
            after = dict[Standing, None]()
            for standing in standings:
                move = self.moves.move(standing, item.needs)
                stands = found.setdefault((move.off, move.on), [])
                if sorted(standing) not in stands:
                    stands.append(sorted(standing))
                after[move.after] = None
                conditions = [*move.off, *move.on, *sorted(self.moves.closure(item.needs))]
                if isinstance(item, Check):
                    gates = self.plan.round.steps.gates
                    shown.update(cautions.of_check(self.book, gates, item, conditions, [self.symptom]))
                else:
                    shown.update(cautions.of_action(self.book, item, conditions, [self.symptom]))
            leaves[place] = list(after)
        if not at:
            return [], shown, leaves
        few = oneway.as_few(self.moves, found, at[0][0].needs) if len(found) > 1 else []
        told = [
            self._way(one.off, one.on, list(chain(*oneway.where(found, asked).values())), one.since, asked)
            for asked, one in few
        ]
        return told or [self._way(off, on, stands, {}) for (off, on), stands in found.items()], shown, leaves

    def _way(
        self, off: Iterable[str], on: Iterable[str], stands: list[list[str]], since: Mapping[str, Iterable[str]],
        asked: oneway.Where = (),
    ) -> dict[str, Any]:  # fmt: skip
        on = list(on)
        back = [
            c | {"since": list(since.get(c["id"], ())), "before": self._kept_for(self.book.conditions[c["id"]], on)}
            for c in self._set(off, back=True)
        ]
        where = [{"id": c, "stands": stands} for c, stands in asked]
        return {"from": stands, "where": where, "put_back": back, "set_up": self._set(on, back=False)}

    def _set(self, names: Iterable[str], back: bool) -> list[dict[str, Any]]:
        conditions = [self.book.conditions[c] for c in names]
        return [{"id": c.id, "name": c.name, "hazard": c.hazard and not back} for c in conditions]

    def _names(self, names: Iterable[str]) -> list[str]:
        return [self.book.conditions[c].name for c in names]

    def _people(self, item: Check | Action) -> int:
        return max([item.people, *(self.book.conditions[c].people for c in self.moves.closure(item.needs))])


def _told_alone(outcomes: Iterable[dict[str, Any]], set_ups: Iterable[Mapping[str, Any]]) -> None:
    """Leaves to a STOP what the chart sets up anywhere: of anything else there is nothing to be stopped."""
    here = {c["name"] for c in set_ups}
    for outcome in outcomes:
        outcome["stops"] = [name for name in outcome["stops"] if name in here]


def _help_step(number: int) -> dict[str, Any]:
    return {
        "number": number, "kind": "help", "id": "help", "name": HELP_NAME, "how": [], "minutes": 0.0, "waits": 0.0,
        "people": 1, "equipment": [], "moves": [], "needs": [], "again": [], "looks_back": False, "looked_up": [],
        "lasting": False, "twice": False, "as_in": None, "by_leg": {}, "ask": "", "limit": None, "outcomes": [],
        "due": [], "parts": [], "who": "", "cautions": [],
    }  # fmt: skip


def _caution(book: Book, name: str) -> dict[str, str]:
    return {"id": name, "level": book.cautions[name].level, "text": book.cautions[name].text}


def _marked(book: Book, names: Iterable[str]) -> list[dict[str, str]]:
    """Cautions with a mark each: W1, W2 … C1 … N1 …"""
    counts: dict[str, int] = {}
    found = []
    for name in names:
        told = _caution(book, name)
        letter = told["level"][0]
        counts[letter] = counts.get(letter, 0) + 1
        found.append(told | {"mark": f"{letter}{counts[letter]}"})
    return found
