"""What a learner may choose from, as plain data: what belongs to the squawk, with what is wrong among it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from faulttree.book.model import THE_SQUAWK, Check
from faulttree.drill.acts import Act
from faulttree.drill.chance import Stream
from faulttree.drill.play import Play

BESIDE = 3
"""Repairs, and follow-up checks, that do not belong there and are listed all the same."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line to choose: what it does, its words, a word more; its ``number`` stays the same all drill long."""

    act: Act
    label: str
    note: str = ""
    number: int = 0


def first_questions(play: Play) -> list[Item]:
    """What has to be known before anything is touched, and was not asked yet."""
    asked = _numbered(Item(Act("opening", q.id), q.ask) for q in play.book.opening)
    return [item for item in asked if item.act.id not in play.state.opening]


def questions(play: Play) -> list[Item]:
    """Questions to the pilot."""
    first = len(play.book.opening)
    asked = [check for check in play.book.checks.values() if check.proposed and check.kind == "ask"]
    mine, others = _apart(asked, lambda check: _belongs(play, check))
    listed = _numbered(map(_check, (*mine, *others)), first)
    return [*first_questions(play), *(item for item in listed if _offered(play, item))]


def looks(play: Play) -> list[Item]:
    """Looks and tests, proofs once something was repaired, and what tempts."""
    return [item for item in _every_look(play) if _offered(play, item)]


def every_look(play: Play) -> list[Item]:
    """All looks and tests of the book, for whoever searches by words."""
    return [item for item in _every_look(play) if item.act.kind == "check"]


def conditions(play: Play) -> list[Item]:
    """What can be set up, and what stands and can be put back; nothing that only other gears have."""
    standing, wanted, found = play.state.standing, play.bench.wanted_conditions, list[Item]()
    for condition in play.book.conditions.values():
        if condition.id in standing:
            found.append(Item(Act("restore", condition.id), condition.put_back, "it stands"))
        elif condition.proposed and condition.id in wanted:
            found.append(Item(Act("set-up", condition.id), condition.name))
    return _numbered(found)


def parts(play: Play) -> list[Item]:
    """Parts that may bring the squawk about, to be marked as cleared, or back."""
    found = []
    for name in _parts(play):
        cleared = name in play.cleared
        act = Act("rule-in" if cleared else "rule-out", name)
        found.append(Item(act, play.book.components[name].name, "cleared" if cleared else ""))
    return _numbered(found)


def blamed(play: Play) -> list[Item]:
    """Parts that can be named as the cause; those that were cleared come last."""
    listed = _numbered(Item(Act("repair", cause=name), play.book.components[name].name) for name in _parts(play))
    return sorted(listed, key=lambda item: item.act.cause in play.cleared)


def causes(play: Play, part: str) -> list[Item]:
    """What can be wrong with a part."""
    book = play.book
    faults = [fault for fault in book.faults.values() if fault.component == part and fault.corrected_by]
    below = _below(play)
    named = f"{book.components[part].name}: "
    ordered = sorted(faults, key=lambda f: f.id not in below)
    return _numbered(Item(Act("repair", cause=f.id), f.name.removeprefix(named)) for f in ordered)


def repairs(play: Play, cause: str) -> list[Item]:
    """Repairs of the part that a cause lies in, some of others, and what tempts."""
    book, part = play.book, play.book.faults[cause].component
    own = [a for a in book.actions.values() if any(book.faults[f].component == part for f in a.corrects)]
    below = _below(play)
    others = [a.id for a in book.actions.values() if a not in own and below.intersection(a.corrects)]
    chosen = Stream(play.setting.seed, "repairs", part).some(BESIDE, others)
    listed = [*own, *(book.actions[name] for name in chosen)]
    items = [Item(Act("repair", a.id, cause=cause), a.name, f"{a.minutes:g} min") for a in listed]
    return _numbered(_mixed([*items, *_temptations(play, "repair", [a.minutes for a in listed])]))


def follow_ups(play: Play, action: str) -> list[Item]:
    """Checks due after a repair, and some that are not."""
    book, due = play.book, play.due_after(action)
    others = sorted({c for a in book.actions.values() for c in a.follow_up} - set(due))
    wrong = Stream(play.setting.seed, "follow-ups", action).some(BESIDE, others)
    return _numbered(_mixed([_check(book.checks[name]) for name in (*due, *wrong)]))


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


def _every_look(play: Play) -> list[Item]:
    """All looks and tests, numbered: first what belongs to the squawk, with what tempts; then proofs and the rest, so
    that what a repair makes due moves no number."""
    looks = [check for check in play.book.checks.values() if check.proposed and check.kind != "ask"]
    mine, others = _apart(looks, lambda check: not check.proof and _belongs(play, check))
    first = _mixed([*map(_check, mine), *_temptations(play, "check", [check.minutes for check in mine])])
    return _numbered([*first, *_mixed(map(_check, others))])


def _offered(play: Play, item: Item) -> bool:
    """Whether a check stands in the list now: not done since the last repair, and of the squawk, due or a proof."""
    if item.act.kind != "check":
        return True
    check = play.book.checks[item.act.id]
    if check.id in play.state.done or (check.proof and not play.repairs):
        return False
    return check.proof or check.id in play.situation.owed or _belongs(play, check)


def _belongs(play: Play, check: Check) -> bool:
    """Whether a check looks at anything that may bring the squawk about."""
    return bool(_below(play).intersection(_looked_at(play, check)))


def _apart(checks: Iterable[Check], wanted: Callable[[Check], bool]) -> tuple[list[Check], list[Check]]:
    found: tuple[list[Check], list[Check]] = ([], [])
    for check in checks:
        found[not wanted(check)].append(check)
    return found


def _numbered(items: Iterable[Item], after: int = 0) -> list[Item]:
    return [replace(item, number=number) for number, item in enumerate(items, after + 1)]


def _looked_at(play: Play, check: Check) -> Iterator[str]:
    for outcome in check.outcomes:
        if outcome.when and outcome.when != THE_SQUAWK:
            yield from play.bench.advisor.gates.below(outcome.when)


def _check(check: Check) -> Item:
    return Item(Act("check", check.id), check.name, f"{check.minutes:g} min")


def _temptations(play: Play, kind: str, minutes: Sequence[float]) -> Iterator[Item]:
    """What tempts, each with the minutes of some step of the list, so that nothing sets it apart."""
    for trap in play.bench.practice.temptations.values():
        if trap.kind == kind and (not trap.symptoms or set(trap.symptoms).intersection(play.setting.symptoms)):
            place = Stream(play.setting.seed, "tempted", trap.id).place([1.0] * len(minutes)) if minutes else None
            note = "" if place is None else f"{minutes[place]:g} min"
            yield Item(Act("tempted", trap.id), trap.name, note)


def _mixed(items: Iterable[Item]) -> list[Item]:
    """By their words, so that the order tells nothing."""
    return sorted(items, key=lambda item: (item.label, item.act.id))
