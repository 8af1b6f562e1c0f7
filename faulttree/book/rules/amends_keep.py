"""What an overlay puts in the place of a list that keeps people safe leaves nothing of it out.

Cautions grow; any other list that is amended is replaced. Who writes ``needs: [wells-open]`` and means "that too"
would take the jacks away with all that is said of them, and the step would still tell of a leg that hangs. So what
stands in the place of ``needs`` or ``implies`` has to bring about all that stood, and show the same cautions; an
outcome keeps what it ``bars``, with nothing more that lifts it, and so does a new one for the same faults; a condition
what it ``excludes``, may not be set up beside and wants at hand, on every aircraft; a repair what has to be looked at
before and after it, a look or test what has to be done before it; a symptom what the pilot is told of it; an opening
answer what it says and what comes first by it, and a new one beside it shows as much. No step is left to fewer people,
waited for less or done oftener, no look or test becomes a question, which shows no cautions of parts; nothing that is
only recorded is proposed, and no lock-out comes off sooner. A condition, and a check that stops something or comes
before or after another step, stands on every aircraft on which it stood. A step that wants less is one of its own:
retired and written anew. A check that an overlay retired is not missed here; what a condition that it retired showed
is.

Passes::

    checks:
      look-at-lock: {amends: true, needs: [on-jacks, master-on]}

Fails::

    checks:
      look-at-lock: {amends: true, needs: []}
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Amendment
from faulttree.book.positions import Position, Problem
from faulttree.book.rules.cautions_kept import of_conditions
from faulttree.book.rules.covers_as_much import less_done
from faulttree.book.sentences import begins
from faulttree.book.standing import with_implied
from faulttree.book.standins import finds, names_in

ID = "amends-keep"
_TOLD = {
    "excludes": "cannot stand with", "not_while": "is not set up or put back beside",
    "follow_up": "wants looked at after it", "pilot_advice": "tells the pilot", "equipment": "wants at hand",
    "after": "wants done before it",
}  # fmt: skip
"""Lists of which nothing may be left out, in words; ``needs``, ``implies`` and ``outcomes`` are looked at closer."""

_WEAKER: Mapping[str, tuple[str, Callable[[Any, Any], bool]]] = {
    "people": ("would be left to fewer people", lambda was, now: now < (was or 1)),
    "kept_to_last": ("would come off sooner than it does", lambda was, now: bool(was) and not now),
    "proposed": ("is recorded only, and would be proposed", lambda was, now: was is False and now),
    "kind": ("is done on the gear, and would become a question", lambda was, now: was != "ask" and now == "ask"),
    "once": ("is done once, and would be proposed again", lambda was, now: was is True and not now),
    "waits": ("would be waited for less", lambda was, now: now < (was or 0.0)),
}
"""Fields of one value that may not become weaker: in which words, and when they do."""


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that overlays amended against what it was before."""
    for item in written.checks.values():
        yield from _silenced(written, item)
    for section in ("checks", "actions", "conditions", "symptoms", "opening", "family"):
        for item in written.ids(section).values():
            for amendment in written.entries[section][item.id].amendments:
                for field in amendment.fields:
                    yield from _lost(written, item, amendment, field)
                if "fitted" in amendment.fields and (section == "conditions" or _is_relied_on(written, item)):
                    yield from _narrowed(written, item, amendment)
                if section == "checks" and "proposed" in amendment.fields and _is_hidden(written, item, amendment):
                    what = f"{item.noun} `{item.id}` would be proposed no more, and others come before or after it"
                    yield Problem(amendment.fields["proposed"], what, "leave `proposed` as it was, or retire it", ID)


def _lost(written: Written, item: Item[Any], amendment: Amendment, field: str) -> Iterator[Problem]:
    where, before = amendment.fields[field], amendment.before
    if field in ("needs", "implies"):
        now = set(item.form.cautions) | of_conditions(written, getattr(item.form, field))
        gone = sorted(of_conditions(written, names_in(before, field)) - now)
        falls = _standing(written, names_in(before, field)) - _standing(written, getattr(item.form, field))
        if falls:
            what = (
                f"`{field}` replaces the list before it, and {item.noun} `{item.id}` no longer brings about what stood"
            )
            kept = ", ".join(names_in(before, field))
            right = f"keep what stood there beside yours ({kept}); a step that wants less is retired and written anew"
            yield Problem(where, what, right, ID)
        elif gone:
            what = f"`{field}` replaces the list before it, and {item.noun} `{item.id}` loses cautions by that"
            kept = ", ".join(names_in(before, field))
            right = f"keep what stood there beside yours ({kept}), or add to its `cautions`: {', '.join(gone)}"
            yield Problem(where, what, right, ID)
    elif field == "outcomes" and isinstance(before.get(field), dict):
        yield from _outcomes(written, item, where, before[field])
    elif field == "proof" and item.section in ("symptoms", "family"):
        usual = next((family.form.proof for family in written.family.values()), "")
        old, new = (written.checks.get(name or usual) for name in (before.get(field), item.form.proof))
        for words, right in less_done(written, new, old) if old is not None and new is not None else ():
            what = (
                f"the proof of {item.noun} `{item.id}` would be `{item.form.proof}`, in place of another, and {words}"
            )
            yield Problem(where, what, right, ID)
    elif field == "answers" and isinstance(before.get(field), dict):
        yield from _answers(item, where, before[field])
    elif field == "reading" and isinstance(before.get(field), dict):
        judged = (one for one in before[field].items() if one[0] != "error")
        turned = sorted(key for key, was in judged if getattr(item.form.reading, key, None) != was)
        error = before[field].get("error")
        blunt = isinstance(error, int | float) and getattr(item.form.reading, "error", error) > error
        turned += ["error"] if blunt else []
        if turned:
            what = f"{item.noun} `{item.id}` would judge by another reading: {', '.join(turned)}"
            yield Problem(where, what, "leave these as they were; another way to measure is a check of its own", ID)
    elif field == "only_with" and item.form.kind == "ask" and _is_relied_on(written, item):
        was, now = set(names_in(before, field)), set(item.form.only_with)
        if now and (not was or was - now):
            what = f"question `{item.id}` stops something, and would be asked with fewer squawks"
            yield Problem(where, what, "leave `only_with` as it was, or add to it", ID)
    elif field == "after_any":
        yield from _unseen(written, item, where, names_in(before, field))
    elif field in _WEAKER:
        words, weaker = _WEAKER[field]
        if weaker(before.get(field), getattr(item.form, field)):
            yield Problem(where, f"{item.noun} `{item.id}` {words}", f"leave `{field}` as it was", ID)
    elif field in _TOLD and _counts(item, field):
        retired = {*written.retired["checks"], *written.retired["conditions"]}  # named nowhere any more
        lost = sorted(set(names_in(before, field)) - set(getattr(item.form, field)) - retired)
        if lost:
            what = f"`{field}` replaces the list before it, and leaves out what {item.noun} `{item.id}` {_TOLD[field]}"
            yield Problem(where, what, f"add to it: {'; '.join(lost)}", ID)


def _counts(item: Item[Any], field: str) -> bool:
    """Whether a list keeps people safe here: what a set-up takes, not a meter; what comes before a look, not a word."""
    return item.section == "conditions" if field == "equipment" else field != "after" or item.form.kind != "ask"


def _silenced(written: Written, item: Item[Any]) -> Iterator[Problem]:
    """Questions that stop something, or show cautions, which an overlay lets a result of some check leave out."""
    entry = written.entries["checks"][item.id]
    first = {} if entry.layer else entry.first().get("outcomes", {})
    for name, outcome in item.form.outcomes.items():
        was = names_in(first.get(name), "needless") if isinstance(first, dict) else []
        guards = [other for other in outcome.needless if other not in was and _guards(written, other)]
        if guards and (entry.layer or entry.amendments):
            what = f"outcome `{name}` of {item.noun} `{item.id}` would leave out questions that stop something"
            where = item.spots.value("outcomes", name)
            yield Problem(where, what, f"leave out of its `needless`: {', '.join(guards)}", ID)


def _is_less(written: Written, name: str, was: list[str], item: Item[Any]) -> bool:
    """Whether a check that is to lift a stop does less than one that lifts it now: the check itself where none did."""
    new = written.checks.get(name)
    lifting = [written.checks[one] for one in was if one in written.checks] or [item]
    # One that is wrong itself is told as that.
    return new is not None and any(True for one in lifting for _ in less_done(written, new, one))


def _guards(written: Written, name: str) -> bool:
    """Whether a question stops something or shows cautions."""
    item = written.checks.get(name)
    return item is not None and bool(item.form.cautions or any(one.bars for one in item.form.outcomes.values()))


def _is_hidden(written: Written, item: Item[Any], amendment: Amendment) -> bool:
    return amendment.before.get("proposed") is not False and not item.form.proposed and _is_relied_on(written, item)


def _is_relied_on(written: Written, item: Item[Any]) -> bool:
    """Whether a look or test stops something, or comes before or after another step."""
    if item.section != "checks":
        return False
    if any(outcome.bars for outcome in item.form.outcomes.values()):
        return True
    if item.form.kind == "ask":
        return bool(item.form.cautions)
    users = [one.form for section in ("checks", "actions") for one in written.ids(section).values()]
    lifting = [o for form in users for o in getattr(form, "outcomes", {}).values()]
    named = [getattr(form, field, ()) for form in users for field in ("follow_up", "after", "after_any")]
    return any(item.id in names for names in (*named, *(outcome.until for outcome in lifting)))


def _by_group(written: Written, names: Iterable[str]) -> dict[str, set[str]]:
    """Options by their group: of each group an aircraft has to have one that is named."""
    group_of = {choice: group.id for group in written.options.values() for choice in group.form.choices}
    found: dict[str, set[str]] = {}
    for name in names:
        found.setdefault(group_of.get(name, ""), set()).add(name)
    return found


def _narrowed(written: Written, item: Item[Any], amendment: Amendment) -> Iterator[Problem]:
    """What would stand on fewer aircraft: a condition left out of every step that needs it on the others.

    A check, where others are done before it or after it.
    """
    was, now = (_by_group(written, names) for names in (names_in(amendment.before, "fitted"), item.form.fitted))
    if any(group not in was or was[group] - options for group, options in now.items()):
        what = f"{item.noun} `{item.id}` would be left out where it stood"
        right = "leave `fitted` as it was; what is so on some aircraft only is written anew, with `fitted` itself"
        yield Problem(amendment.fields["fitted"], what, right, ID)


def _outcomes(written: Written, item: Item[Any], where: Position, before: Mapping[str, Any]) -> Iterator[Problem]:
    """What an outcome stops until which check; one that is new and says the same as another stops that too."""
    said = written.entries["checks"][item.id].data["outcomes"]
    stopping = any(names_in(one, "bars") for one in before.values())
    for name in (name for name in before if stopping and name not in item.form.outcomes):
        what = f"outcome `{name}` is left out of {item.noun} `{item.id}`, which stops something"
        yield Problem(where, what, "keep it, with its label; write yours beside it", ID)
    for name, outcome in before.items():
        barred = names_in(outcome, "bars")
        mine = item.form.outcomes.get(name)
        lost = sorted(set(barred) - set(mine.bars if mine else ()))
        was = names_in(outcome, "until")
        faults = Below(written).of(outcome.get("when")) if isinstance(outcome, dict) else frozenset()
        sooner = sorted(
            name for name in (mine.until if mine and barred else ())
            if name not in was and (not _shows(written, name, faults, True) or _is_less(written, name, was, item))
        )  # fmt: skip
        if sooner:
            what = f"what outcome `{name}` of {item.noun} `{item.id}` stops would be lifted sooner than it was"
            yield Problem(where, what, f"leave out of its `until`: {', '.join(sooner)}", ID)
        if lost:
            what = f"outcome `{name}` of {item.noun} `{item.id}` no longer stops what it stopped"
            yield Problem(where, what, f"add to outcome `{name}`: `bars: [{', '.join(lost)}]`", ID)
    told = set[str]()
    for name, outcome in before.items():
        barred = names_in(outcome, "bars")
        for twin in (
            other
            for other in said
            if barred
            and other != name
            and _meet(written, said[other], outcome)
            and (other not in before or not _meet(written, before[other], outcome))
        ):
            lost = sorted(set(barred) - set(item.form.outcomes[twin].bars))
            told |= {twin} if lost else set()
            if lost:
                what = f"outcome `{twin}` of {item.noun} `{item.id}` stands for what `{name}` stands for and stops less"
                yield Problem(where, what, f"add to outcome `{twin}`: `bars: [{', '.join(lost)}]`", ID)

    all_bar = [set(names_in(was, "bars")) for was in before.values() if isinstance(was, dict) and was.get("when")]
    for new in (
        name for name in item.form.outcomes if name not in {*before, *told} and not item.form.outcomes[name].otherwise
    ):
        lost = sorted(set.intersection(*all_bar) - set(item.form.outcomes[new].bars)) if all_bar else []
        if lost:
            what = f"outcome `{new}` is new to {item.noun} `{item.id}`, of which every other one stops more"
            yield Problem(where, what, f"add to outcome `{new}`: `bars: [{', '.join(lost)}]`", ID)


def _meet(written: Written, one: Any, other: Any) -> bool:
    """Whether two outcomes as written come down to a fault that both have."""
    below = Below(written)
    return isinstance(one, dict) and not below.of(one.get("when")).isdisjoint(below.of(other.get("when")))


def _answers(item: Item[Any], where: Position, before: Mapping[str, Any]) -> Iterator[Problem]:
    """What an opening answer says and wants first; one that is left out is refused where it is read."""
    for name, was in before.items():
        now = item.form.answers.get(name)
        if now is None or not isinstance(was, dict):
            continue
        lost = sorted(set(names_in(was, "first")) - set(now.first))  # its cautions grow
        lost += ["what it says"] if was.get("says") and not begins(was["says"], now.says or "") else []
        if lost:
            what = f"answer `{name}` of {item.noun} `{item.id}` loses what it asks for before anything is touched"
            yield Problem(where, what, f"keep in it, beside yours: {', '.join(lost)}", ID)
    told = [was for was in before.values() if isinstance(was, dict)]
    shown = {field: {one for was in told for one in names_in(was, field)} for field in ("cautions", "first")}
    for name in (name for name in item.form.answers if name not in before):
        missing = {
            field: sorted(all_of - set(getattr(item.form.answers[name], field))) for field, all_of in shown.items()
        }
        if any(missing.values()):
            what = f"answer `{name}` is new to {item.noun} `{item.id}` and asks for less care than the others"
            right = ", ".join(f"`{field}: [{', '.join(names)}]`" for field, names in missing.items() if names)
            yield Problem(where, what, f"add to it {right}", ID)


def _shows(written: Written, name: str, faults: frozenset[str], all_of: bool) -> bool:
    """Whether a look or test that an overlay adds finds some, or all, of these faults: it may stand beside another."""
    entry = written.entries["checks"].get(name)
    if entry is None or not entry.layer or not isinstance(entry.data, dict) or entry.data.get("kind") == "ask":
        return False
    found = finds(entry.data, Below(written))
    return bool(faults) and (faults <= found if all_of else not faults.isdisjoint(found))


def _unseen(written: Written, item: Item[Any], where: Position, before: list[str]) -> Iterator[Problem]:
    """A repair that would be proposed before one of these has been looked at, or after something else instead."""
    gone = [name for name in before if name in written.retired["checks"]]
    mends = frozenset(f.id for f in written.faults.values() if item.id in f.form.corrected_by)
    more = [name for name in item.form.after_any if name not in before and not _shows(written, name, mends, False)]
    if before and (not item.form.after_any or more):
        what = f"{item.noun} `{item.id}` would be proposed with less seen before it"
        left = [name for name in before if name not in gone]
        right = (
            f"one of these is enough, so name none but them: {', '.join(left)}"
            if left
            else "name a look or test of its own that finds it"
        )
        yield Problem(where, what, right, ID)


def _standing(written: Written, names: Iterable[str]) -> set[str]:
    """Conditions with all that they imply, but for what an overlay retired."""
    conditions: dict[str, Any] = {name: item.form for name, item in written.conditions.items()}
    return set(with_implied([name for name in names if name in conditions], conditions))
