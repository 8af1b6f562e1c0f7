"""Cases from elsewhere: from the JSON of a record."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from faulttree.case import CaseEntry, misfit, verify
from faulttree.errors import BadCase
from faulttree.store.cards import Card
from faulttree.store.cases import Cases
from faulttree.store.database import NotThere

ODD = re.compile(r"[^0-9A-Za-z._-]+|\.{2,}")
LONGEST = 80


@dataclass(frozen=True, slots=True)
class Brought:
    """Under which name a case is now here, and how many entries were new."""

    name: str
    added: int


def bring_in(cases: Cases, name: str, entries: Sequence[CaseEntry]) -> Brought:
    """Take in a case. One that is here already is added to where it goes on from what is here.

    Raises BadCase where its chain of digests does not hold, or it differs from what is here; StoreError.
    """
    if not entries or entries[0].kind != "opened" or not isinstance(entries[0].data.get("uid"), str):
        raise BadCase(f"case {name}: does not begin with the opening of a case; it cannot be taken in")
    broken = verify(entries)
    if broken is not None:
        raise BadCase(f"case {name}: {broken.what}; it is not as it was written and was not taken in")
    wrong = misfit(entries)
    if wrong:
        raise BadCase(f"case {name}: {wrong}; it was not taken in")
    uid = entries[0].data["uid"]
    here = _with_uid(cases, uid)
    if here is None:
        return Brought(cases.bring(_harmless(name), uid, entries), len(entries))
    known = cases.read(here.name)
    shared = min(len(known), len(entries))
    if known[shared - 1].digest != entries[shared - 1].digest:
        place = next(i for i in range(shared) if known[i].digest != entries[i].digest)
        raise BadCase(
            f"case {name} is here as {here.name}, and from entry {place + 1} on the two differ: it was worked in both "
            "places. Nothing was taken in; go on with one of them"
        )
    new = entries[shared:]
    if new:
        cases.add_as_written(here.name, len(known), new)
    return Brought(here.name, len(new))


def _harmless(name: str) -> str:
    """A name that can stand in any list, file name or command line: it is shown, and proposed to be typed."""
    return ODD.sub("-", name)[:LONGEST].strip("-.") or "case"


def _with_uid(cases: Cases, uid: str) -> Card | None:
    try:
        return cases.card_with_uid(uid)
    except NotThere:
        return None
