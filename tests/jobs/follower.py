"""Whoever follows a go-to chart on a simulated gear: the printed steps, ticks for what was done, and nothing else.

What a step ought to show as cautions, which moves are allowed and what a finding bars is worked out from the book by
the rules of ``tests/jobs/rules``, not from the chart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np

from faulttree.book.model import Action, Book, Check
from tests.jobs.rules import Facts, wrong_move

END, HELP = "end", "help"


@dataclass
class Walk:
    """One job by the chart: minutes on the clock, how it ended (``end`` proved, ``help``), what was wrong with it.

    ``hidden``: proved while a cause still stood. ``stopped``: help was called since a finding of a check after a repair
    spoke against the next step.
    """

    minutes: float = 0.0
    ended: str = ""
    hidden: bool = False
    stopped: bool = False
    steps: list[int] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


class Shows(Protocol):
    """What a chart is followed on: a gear, or chance alone."""

    @property
    def faulty(self) -> bool:
        """Whether a cause of the squawk still stands."""

    def show(self, check: str) -> str:
        """Does a check: the outcome that it shows."""

    def repair(self, action: str) -> None:
        """Does an action."""


class Chance:
    """Shows any outcome of a check as likely as another, each time: so the ways that no gear takes are walked too."""

    faulty = True

    def __init__(self, book: Book, seed: Sequence[int]) -> None:
        self._book, self._rng = book, np.random.default_rng(seed)

    def show(self, check: str) -> str:
        """One of its outcomes."""
        outcomes = self._book.checks[check].outcomes
        return outcomes[int(self._rng.integers(len(outcomes)))].id

    def repair(self, action: str) -> None:
        """Nothing comes of it."""


class Follower:
    """Follows one chart on gears."""

    def __init__(self, book: Book, chart: Mapping[str, Any]) -> None:
        self.book, self.facts, self.symptom = book, Facts(book), chart["symptom"]["id"]
        self.steps = {step["number"]: step for step in chart["steps"]}

    def follow(self, gear: Shows) -> Walk:
        """From step 1 to an end."""
        on_the_way = _OnTheWay(self, gear)
        on_the_way.go()
        return on_the_way.walk


class _OnTheWay:
    def __init__(self, follower: Follower, gear: Shows) -> None:
        self.follower, self.book, self.gear, self.walk = follower, follower.book, gear, Walk()
        self.leg = ""
        self.standing: set[str] = set()
        self.shown: dict[str, str] = {}
        self.since: dict[str, str] = {}
        self.ticked: dict[int, tuple[str, str]] = {}
        self.acted: set[str] = set()
        self.after_repair: set[str] = set()

    def go(self) -> None:
        """Step after step; one that leads back, or nowhere, is wrong."""
        number = 1
        while not self.walk.ended:
            step = self.follower.steps.get(number)
            if step is None or (self.walk.steps and number <= self.walk.steps[-1]):
                self._wrong(f"step {number} is not there, or not a later one")
                return
            self.walk.steps.append(number)
            if step["kind"] == HELP:
                self._end(HELP)
                return
            go = self._do(step)
            if go in (END, HELP):
                self._end(go)
            else:
                number = int(go)

    def _end(self, how: str) -> None:
        self.walk.ended = how
        if how == HELP:
            self.walk.minutes += self.book.defaults.help
        else:
            self.walk.minutes += sum(self.book.conditions[c].restore_minutes for c in self.standing)
            self.walk.hidden = self.gear.faulty

    # -- steps -----------------------------------------------------------------------------------------

    def _do(self, step: Mapping[str, Any]) -> Any:
        if step["kind"] == "back":
            return self._look_back(step)
        return self._act(step) if step["kind"] == "act" else self._check(step)

    def _look_back(self, step: Mapping[str, Any]) -> Any:
        """What was ticked at the last of the named steps that was done; whoever did none of them has a way on too."""
        last = "not-done"
        for one in sorted(step["looked_up"], key=lambda one: one["number"]):
            check, shown = self.ticked.get(one["number"], ("", ""))
            last = shown if check == step["id"] else last
        return self._go(step, last)

    def _check(self, step: Mapping[str, Any]) -> Any:
        check = self.book.checks[self._of_leg(step)["id"]]
        if step["again"] and check.id in self.since:
            return self._go(step, self.since[check.id])
        if check.id in self._settled():
            self._wrong(f"step {step['number']} asks {check.id}, which an answer made needless")
        if not self._ready(step, check, step["moves"], step):
            return HELP
        self.since[check.id] = self._show(check)
        self.ticked[step["number"]] = check.id, self.since[check.id]
        self._put_down(step, check.id)
        return self._go(step, self.since[check.id])

    def _act(self, step: Mapping[str, Any]) -> Any:
        of_leg = self._of_leg(step)
        action = self.book.actions[of_leg["id"]]
        if step["again"] and action.id in self.acted:
            return self._go(step, "remains")
        if action.after_any and not self._barred_all(action) and self.shown.keys().isdisjoint(action.after_any):
            self._wrong(f"{action.id} comes before any of {', '.join(action.after_any)}")
        how = self._tried(step, of_leg, action)
        if how == "remains" and step["twice"] and not self._against(action):
            how = self._tried(step, of_leg, action)
        return how if how == HELP else self._go(step, how)

    def _tried(self, step: Mapping[str, Any], of_leg: Mapping[str, Any], action: Action) -> str:
        """Once, with all that is due: proved or not, or the call for help."""
        if not self._ready(step, action, step["moves"], step):
            return HELP
        self.walk.minutes += action.minutes
        self.gear.repair(action.id)
        self.acted.add(action.id)
        self.since = {c: o for c, o in self.since.items() if self.book.checks[c].about == "squawk"}
        well = True
        for place, (due, name) in enumerate(zip(step["due"], of_leg["due"], strict=True)):
            check = self.book.checks[name]
            if due["if_stopped"] and not any(self._against(self.book.checks[c]) for c in of_leg["due"][place + 1 :]):
                continue
            self.after_repair.update(self._against(check))
            if self._against(check):
                # What was found since the repair stops its proof: it is not proved, and the next step is to come.
                return "remains"
            if not self._ready(step, check, due["moves"], step):
                return HELP
            shown = self._show(check)
            if self._outcome(check.id, shown).bars:
                shown = self._show(check)  # what would stop the rest is looked at once more at once
                self._put_down(step, check.id)
            self.after_repair.add(check.id)
            if due["proof"] and shown != check.outcomes[-1].id:
                well = False
        return "proved" if well else "remains"

    def _go(self, step: Mapping[str, Any], outcome: str) -> Any:
        found = next((o for o in step["outcomes"] if o["id"] == outcome), None)
        if found is None:
            self._wrong(f"step {step['number']} has no way on from {outcome}")
            return HELP
        self.leg = found["notes"] or self.leg
        return found["go"]

    def _of_leg(self, step: Mapping[str, Any]) -> Mapping[str, Any]:
        """What is done and due, at a step for the noted leg by that leg."""
        if not step["by_leg"]:
            return {"id": step["id"], "due": [due["check"] for due in step["due"]]}
        if self.leg not in step["by_leg"]:
            self._wrong(f"step {step['number']} is for a noted leg, and {self.leg or 'none'} was noted")
            return next(iter(step["by_leg"].values()))
        return step["by_leg"][self.leg]

    def _show(self, check: Check) -> str:
        self.walk.minutes += check.minutes
        shown = self.gear.show(check.id)
        self.shown.pop(check.id, None)  # in the order in which they were last done
        self.shown[check.id] = shown
        return shown

    def _put_down(self, step: Mapping[str, Any], check: str) -> None:
        """What a STOP names and stands is put back at once, with what stands only by it."""
        barred = set(self._outcome(check, self.shown[check]).bars) & self.standing
        gone = [c for c in self.standing if not barred.isdisjoint(self.follower.facts.with_implied((c,)))]
        self._move(step, gone, "restored")

    # -- what holds before a step ----------------------------------------------------------------------

    def _ready(self, step: Mapping[str, Any], item: Check | Action, ways: Any, of: Mapping[str, Any]) -> bool:
        """Moves to what an item needs, cautions read; False where something found speaks against it."""
        against = self._against(item)
        if against:
            if against.isdisjoint(self.after_repair):
                self._wrong(f"step {step['number']} needs what {', '.join(sorted(against))} bars")
            self.walk.stopped = True
            return False
        way = next((way for way in ways if self._meant(way)), None)
        if way is None or sorted(self.standing) not in way["from"]:
            self._wrong(f"step {step['number']} knows no way from {sorted(self.standing)}")
            return False
        off = self._put_back(way)
        self._move(step, off, "restored")
        on = [c["id"] for c in way["set_up"] if c["id"] not in self.standing]
        self._move(step, on, "set up")
        needs = self.follower.facts.with_implied(item.needs)
        if not needs <= self.standing:
            self._wrong(f"step {step['number']}: {', '.join(sorted(needs - self.standing))} does not stand")
        missing = self._cautions(item, needs.union(off, on)) - set(of["cautions"])
        if missing:
            self._wrong(f"step {step['number']} lacks {', '.join(sorted(missing))} for {item.id}")
        return True

    def _meant(self, way: Mapping[str, Any]) -> bool:
        """Whether a way is for what stands: by what is named that stands or does not, else by all that stands."""
        if way["where"]:
            return all((one["id"] in self.standing) == one["stands"] for one in way["where"])
        return sorted(self.standing) in way["from"]

    def _put_back(self, way: Mapping[str, Any]) -> list[str]:
        """What stands of what is to be put back; some of it only where something else is moved."""
        off: set[str] = set()
        while True:
            moved = off | {c["id"] for c in way["set_up"] if c["id"] not in self.standing - off}
            here = {
                c["id"] for c in way["put_back"]
                if c["id"] in self.standing and (not c["since"] or not moved.isdisjoint(c["since"]))
            }  # fmt: skip
            if here <= off:
                return [c["id"] for c in way["put_back"] if c["id"] in off]
            off |= here

    def _move(self, step: Mapping[str, Any], names: Iterable[str], verb: str) -> None:
        for name in names:
            for told in wrong_move(self.book, f"step {step['number']}", name, self.standing, verb):
                self._wrong(told)
            condition = self.book.conditions[name]
            self.walk.minutes += condition.restore_minutes if verb == "restored" else condition.set_up_minutes
            (self.standing.discard if verb == "restored" else self.standing.add)(name)

    def _cautions(self, item: Check | Action, touched: Iterable[str]) -> set[str]:
        kind = "act" if isinstance(item, Action) else "ask" if item.kind == "ask" else "check"
        wanted = set(self.follower.facts.own_cautions(kind, item))
        wanted.update(*(self.book.conditions[c].cautions for c in touched))
        if kind != "ask":
            wanted.update(self.book.symptoms[self.follower.symptom].cautions)
        return wanted

    def _settled(self) -> set[str]:
        """Questions that an answer made needless."""
        return {name for check, shown in self.shown.items() for name in self._outcome(check, shown).needless}

    def _against(self, item: Check | Action) -> set[str]:
        """Checks whose finding speaks against what an item needs."""
        needs = self.follower.facts.with_implied(item.needs)
        found, when = set(), {name: place for place, name in enumerate(self.shown)}
        for name, shown in self.shown.items():
            told = self._outcome(name, shown)
            since = [c for c in told.until if when.get(c, -1) > when[name]]
            lifted = any(needs.isdisjoint(self._outcome(c, self.shown[c]).bars) for c in since)
            if not needs.isdisjoint(told.bars) and not lifted:
                found.add(name)
        return found

    def _barred_all(self, action: Action) -> bool:
        return all(self._against(self.book.checks[c]) or not self.book.checks[c].proposed for c in action.after_any)

    def _outcome(self, check: str, shown: str) -> Any:
        return next(o for o in self.book.checks[check].outcomes if o.id == shown)

    def _wrong(self, told: str) -> None:
        self.walk.wrong.append(told)
        if len(self.walk.wrong) > 20:
            self.walk.ended = HELP
