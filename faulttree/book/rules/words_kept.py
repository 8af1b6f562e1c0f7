"""What people are asked and told for their safety keeps its words.

A question asked before anything is touched may carry cautions with its answers: turned round, "yes" would show none.
A condition that is a hazard, or a lock-out that is kept to the last, is set up and put back as the book says; a repair
is left to whom the book leaves it.
An overlay may add sentences behind the latter two; it puts no other words in the place of any, nor swaps the results
of a check that stops something. Whoever has another way
writes a question, a condition or a repair of their own.

Passes::

    conditions:
      on-jacks:
        amends: true
        set_up: {words: Jack it up. Ours stand in bay 2., minutes: 30}

Fails::

    conditions:
      on-jacks:
        amends: true
        set_up: {words: Lift it with what is there, minutes: 5}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.merge import Amendment
from faulttree.book.positions import Problem
from faulttree.book.sentences import begins, gone, listed, same

ID = "words-kept"


def check(written: Written) -> Iterator[Problem]:
    """Holds what overlays amended against what it was before."""
    for item, amendment in _amended(written, "opening"):
        if weighty(amendment.before.get("answers")):
            yield from _question(item, amendment)
    for item, amendment in _amended(written, "conditions"):
        if True in (amendment.before.get("hazard"), amendment.before.get("kept_to_last")):
            yield from _sentences(item, amendment, ("set_up", "restore"))
            yield from _name(item, amendment)
    for item, amendment in _amended(written, "actions"):
        yield from _sentences(item, amendment, ("who",))
    for item, amendment in _amended(written, "checks"):
        if "outcomes" in amendment.fields:
            yield from _labels(item, amendment)
        if "ask" in amendment.fields:
            yield from _asked_otherwise(item, amendment)


def weighty(answers: Any) -> bool:
    """Whether some answer as written shows cautions, wants something first or tells something."""
    told = answers.values() if isinstance(answers, dict) else ()
    return any(isinstance(one, dict) and any(one.get(field) for field in ("cautions", "first", "says")) for one in told)


def _amended(written: Written, section: str) -> Iterator[tuple[Item[Any], Amendment]]:
    for item in written.ids(section).values():
        for amendment in written.entries[section][item.id].amendments:
            yield item, amendment


def _question(item: Item[Any], amendment: Amendment) -> Iterator[Problem]:
    right = "leave its words as they are; a question of another kind is one of its own"
    if "ask" in amendment.fields and not same(amendment.before.get("ask"), item.form.ask):
        what = f"{item.noun} `{item.id}` would ask something else, and its answers carry cautions"
        yield Problem(amendment.fields["ask"], what, right, ID)
    for name, was in amendment.before["answers"].items() if "answers" in amendment.fields else ():
        now = item.form.answers.get(name)
        if now is not None and isinstance(was, dict) and not same(was.get("label"), now.label):
            what = f"answer `{name}` of {item.noun} `{item.id}` would say something else"
            yield Problem(amendment.fields["answers"], what, f"keep its label: {was.get('label')}", ID)


def _sentences(item: Item[Any], amendment: Amendment, fields: tuple[str, ...]) -> Iterator[Problem]:
    for field in (field for field in fields if field in amendment.fields):
        was, now = amendment.before.get(field), getattr(item.form, field)
        lost = gone(was, now)
        if lost:
            what = f"`{field}` of {item.noun} `{item.id}` no longer says: {listed(lost)}"
            yield Problem(amendment.fields[field], what, "keep its sentences and add yours behind them", ID)
        elif not begins(was, now):
            what = f"`{field}` of {item.noun} `{item.id}` says something before what stood there, or between"
            yield Problem(amendment.fields[field], what, "keep its sentences in their order and add yours behind", ID)


def _name(item: Item[Any], amendment: Amendment) -> Iterator[Problem]:
    restore = amendment.before.get("restore")
    titles = [("name", amendment.before.get("name"), item.form.name)]
    titles.append(("restore", restore.get("name") if isinstance(restore, dict) else None, item.form.restore.name))
    for field, was, now in titles:
        if field in amendment.fields and was and not same(was, now):
            what = f"{item.noun} `{item.id}` would be called something else than “{was}”"
            yield Problem(amendment.fields[field], what, "leave its name as it was", ID)


def _asked_otherwise(item: Item[Any], amendment: Amendment) -> Iterator[Problem]:
    """The question of a check that stops something or proves a repair: turned round, its results would mean another."""
    was, now = amendment.before.get("ask"), item.form.ask
    stops = item.form.proof or any(outcome.bars for outcome in item.form.outcomes.values())
    if was and stops and not begins(was, now):
        what = f"{item.noun} `{item.id}` would ask something else, and its results stop something or prove a repair"
        yield Problem(amendment.fields["ask"], what, "keep its question and add yours behind it", ID)


def _labels(item: Item[Any], amendment: Amendment) -> Iterator[Problem]:
    """Of a check that stops something with a result, and of a proof, each keeps its label: they could be swapped."""
    before = amendment.before.get("outcomes")
    said = before if isinstance(before, dict) else {}
    stops = any(isinstance(one, dict) and one.get("bars") for one in said.values())
    if not stops and not item.form.proof:
        return
    for name, was in said.items():
        now = item.form.outcomes.get(name)
        if now is not None and isinstance(was, dict) and not same(was.get("label"), now.label):
            what = (
                f"result `{name}` of {item.noun} `{item.id}`, which stops something or proves, would say another thing"
            )
            yield Problem(amendment.fields["outcomes"], what, f"keep its label: {was.get('label')}", ID)
