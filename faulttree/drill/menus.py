"""What a learner may choose from, as plain data: what belongs to the squawk, with what is wrong among it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from faulttree.book.model import THE_SQUAWK, Check
from faulttree.drill.acts import Act
from faulttree.drill.chance import Stream
from faulttree.drill.play import Play

BESIDE = 3
"""Repairs, and follow-up checks, that do not belong there and are listed all the same."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line to choose: what it does, its words, a word more."""

    act: Act
    label: str
    note: str = ""


def first_questions(play: Play) -> list[Item]:
    """What has to be known before anything is touched, and was not asked yet."""
    return [Item(Act("opening", q.id), q.ask) for q in play.book.opening if q.id not in play.state.opening]


def questions(play: Play) -> list[Item]:
    """Questions to the pilot."""
    return [*first_questions(play), *_checks(play, lambda check: check.kind == "ask")]


def looks(play: Play) -> list[Item]:
    """Looks and tests, proofs once something was repaired, and what tempts."""
    found = _checks(play, lambda check: check.kind != "ask" and (not check.proof or bool(play.repairs)))
    return _mixed([*found, *_temptations(play, "check")])


def every_look(play: Play) -> list[Item]:
    """All looks and tests of the book, for whoever searches by words."""
    return [_check(check) for check in play.book.checks.values() if check.proposed and check.kind != "ask"]


def conditions(play: Play) -> list[Item]:
    """What can be set up, and what stands and can be put back."""
    found = []
    for condition in play.book.conditions.values():
        if condition.id in play.state.standing:
            found.append(Item(Act("restore", condition.id), condition.put_back, "it stands"))
        elif condition.proposed:
            found.append(Item(Act("set-up", condition.id), condition.name))
    return found


def parts(play: Play) -> list[Item]:
    """Parts that may bring the squawk about, to be marked as cleared, or back."""
    found = []
    for name in _parts(play):
        cleared = name in play.cleared
        act = Act("rule-in" if cleared else "rule-out", name)
        found.append(Item(act, play.book.components[name].name, "cleared" if cleared else ""))
    return found


def blamed(play: Play) -> list[Item]:
    """Parts that can be named as the cause; those that were cleared come last."""
    listed = sorted(_parts(play), key=lambda name: name in play.cleared)
    return [Item(Act("repair", "", cause=name), play.book.components[name].name) for name in listed]


def causes(play: Play, part: str) -> list[Item]:
    """What can be wrong with a part."""
    book = play.book
    faults = [fault for fault in book.faults.values() if fault.component == part and fault.corrected_by]
    below = _below(play)
    named = f"{book.components[part].name}: "
    ordered = sorted(faults, key=lambda f: f.id not in below)
    return [Item(Act("repair", cause=f.id), f.name.removeprefix(named)) for f in ordered]


def repairs(play: Play, cause: str) -> list[Item]:
    """Repairs of the part that a cause lies in, some of others, and what tempts."""
    book, part = play.book, play.book.faults[cause].component
    own = [a for a in book.actions.values() if any(book.faults[f].component == part for f in a.corrects)]
    below = _below(play)
    others = [a.id for a in book.actions.values() if a not in own and below.intersection(a.corrects)]
    chosen = Stream(play.setting.seed, "repairs", part).some(BESIDE, others)
    listed = [*own, *(book.actions[name] for name in chosen)]
    items = [Item(Act("repair", a.id, cause=cause), a.name, f"{a.minutes:g} min") for a in listed]
    return _mixed([*items, *_temptations(play, "repair")])


def follow_ups(play: Play, action: str) -> list[Item]:
    """Checks due after a repair, and some that are not."""
    book, due = play.book, play.due_after(action)
    others = sorted({c for a in book.actions.values() for c in a.follow_up} - set(due))
    wrong = Stream(play.setting.seed, "follow-ups", action).some(BESIDE, others)
    return _mixed([_check(book.checks[name]) for name in (*due, *wrong)])


def of_act(play: Play, act: Act) -> tuple[str, ...]:
    """How a step is done, in the book's words."""
    book = play.book
    if act.kind == "set-up":
        return (book.conditions[act.id].set_up,)
    if act.kind == "restore":
        return (book.conditions[act.id].restore,)
    if act.kind == "check":
        return book.checks[act.id].how
    return book.actions[act.id].how if act.kind == "repair" else ()


def _below(play: Play) -> frozenset[str]:
    gates, symptoms = play.bench.advisor.gates, play.setting.symptoms
    return frozenset().union(*(gates.below(play.book.symptoms[s].when) for s in symptoms))


def _parts(play: Play) -> list[str]:
    return list(dict.fromkeys(f.component for f in play.book.faults.values() if f.id in _below(play)))


def _checks(play: Play, wanted: Callable[[Check], bool]) -> list[Item]:
    below, owed = _below(play), play.situation.owed
    return [
        _check(check)
        for check in play.book.checks.values()
        if check.proposed and wanted(check) and check.id not in play.state.done
        and (check.proof or check.id in owed or below.intersection(_looked_at(play, check)))
    ]  # fmt: skip


def _looked_at(play: Play, check: Check) -> Iterator[str]:
    for outcome in check.outcomes:
        if outcome.when and outcome.when != THE_SQUAWK:
            yield from play.bench.advisor.gates.below(outcome.when)


def _check(check: Check) -> Item:
    return Item(Act("check", check.id), check.name, f"{check.minutes:g} min")


def _temptations(play: Play, kind: str) -> Iterator[Item]:
    for trap in play.bench.practice.temptations.values():
        if trap.kind == kind and (not trap.symptoms or set(trap.symptoms).intersection(play.setting.symptoms)):
            yield Item(Act("tempted", trap.id), trap.name)


def _mixed(items: Iterable[Item]) -> list[Item]:
    """By their words, so that the order tells nothing."""
    return sorted(items, key=lambda item: (item.label, item.act.id))
