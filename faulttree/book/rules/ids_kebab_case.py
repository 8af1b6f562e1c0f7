"""Ids are in kebab-case: small letters, digits and single hyphens; a fault's is ``component.mode``.

They stand in records, on command lines and in other files for years, so they must be easy to type and to
search for, and a dot, an at sign or a slash in them must always mean the same.

Passes::

    cautions:
      hands-off: {level: NOTE, text: Keep your hands away}

Fails::

    cautions:
      Hands_off: {level: NOTE, text: Keep your hands away}
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Problem
from faulttree.book.sections import SINGLE, a_noun
from faulttree.book.yamlbuild import Path

ID = "ids-kebab-case"
_KEBAB = r"[a-z0-9]+(-[a-z0-9]+)*"
_ID = re.compile(_KEBAB)
_FAULT = re.compile(rf"{_KEBAB}\.{_KEBAB}")
_INNER = {"options": "choices", "checks": "outcomes", "opening": "answers"}


def check(written: Written) -> Iterator[Problem]:
    """Looks at the ids of all entries, broken ones too, and of what lies by id within them."""
    for section, entries in written.entries.items():
        if section in SINGLE or section == "defaults":
            continue
        for entry in entries.values():
            yield from of_entry(entry)


def of_entry(entry: Entry) -> Iterator[Problem]:
    """What is wrong with the id of one entry, and with those within it."""
    pattern, right = _ID, "use small letters, digits and single hyphens: `like-this`"
    if entry.section == "faults":
        pattern, right = _FAULT, "write `component.mode`, in small letters, digits and single hyphens"
    if not pattern.fullmatch(entry.id):
        yield Problem(entry.spots.key(), f"`{entry.id}` is not an id of {a_noun(entry.section)}", right, ID)
    for path, name in _inner(entry):
        if not _ID.fullmatch(name):
            right = "use small letters, digits and single hyphens: `like-this`"
            where = entry.spots.value(*path) if path[-1] == "tap" else entry.spots.key(*path)
            yield Problem(where, f"`{name}` is not an id", right, ID)


def _inner(entry: Entry) -> Iterator[tuple[Path, str]]:
    if not isinstance(entry.data, dict):
        return
    field = _INNER.get(entry.section)
    inner = entry.data.get(field) if field else None
    if field and isinstance(inner, dict):
        for name in inner:
            yield (field, name), name
    elements = entry.data.get("elements") if entry.section == "chains" else None
    for index, element in enumerate(elements if isinstance(elements, list) else ()):
        if isinstance(element, dict) and isinstance(element.get("tap"), str):
            yield ("elements", index, "tap"), element["tap"]
