"""Entries of all files put together: shared, then the family's, then overlay by overlay.

An overlay adds entries, amends them (``amends: true``: the fields it names are replaced whole, cautions
only grow) or retires them (``retires: true`` with a ``reason``). Beside either may stand why, by whom and on
which day. All of it happens on the data as written, before anything is validated, so that an amendment need
only name what it changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from faulttree.book.adding import Adding, grown
from faulttree.book.files import SourceFile
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Position, Problem
from faulttree.book.sections import CASES, DRILLS, SECTIONS, SINGLE, THINGS, WORDS_ALONE, a_noun, noun
from faulttree.book.spots import Spots
from faulttree.book.yamlbuild import Path
from faulttree.book.yamltext import YamlFile

GROWING = ("cautions", "standing_cautions", "words_of_energy", "words_of_danger")
"""Fields to which an overlay only adds."""

ADDS = "adds"
"""Of an amendment: what is put behind what lists of the entry hold, field by field."""

SIGNED = ("reason", "by", "date")
"""Why an overlay changed an entry, who did and on which day: no part of what the entry says."""

_LEVELS = ("NOTE", "CAUTION", "WARNING")


@dataclass(frozen=True, slots=True)
class Amendment:
    """What one overlay changed in an entry: the fields that it names and where, and the entry as it was before.

    ``said`` is why, by whom and when, in words; "" where nothing of it is stated.
    """

    layer: int
    where: Position
    fields: Mapping[str, Position]
    before: Mapping[str, Any]
    said: str


@dataclass(slots=True)
class Entry:
    """One entry as written, overlays in.

    One that is not ``complete`` lacks something that was refused on reading. ``reason`` says why an entry
    was retired, if it was, by whom and when, ``retired_at`` where. ``amendments`` are in the order of the overlays.
    """

    section: str
    id: str
    data: Any
    home: str
    layer: int
    spots: Spots
    complete: bool = True
    reason: str | None = None
    retired_at: Position | None = None
    amendments: list[Amendment] = field(default_factory=list)

    def first(self) -> Any:
        """The entry before any amendment."""
        return self.amendments[0].before if self.amendments else self.data

    def changes(self) -> list[tuple[Amendment, Any]]:
        """The amendments, each with the entry as it was after it."""
        afterwards = [*(one.before for one in self.amendments[1:]), self.data]
        return list(zip(self.amendments, afterwards, strict=False))


@dataclass(slots=True)
class Merged:
    """All entries by section and id, retired ones apart, and what is wrong with how they fit together."""

    sections: tuple[str, ...]
    entries: dict[str, dict[str, Entry]] = field(init=False)
    retired: dict[str, dict[str, Entry]] = field(init=False)
    problems: list[Problem] = field(default_factory=list)
    lost: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.entries = {name: {} for name in self.sections}
        self.retired = {name: {} for name in self.sections}

    def say(self, where: Position, what: str, right: str, rule: str) -> None:
        """Notes a problem."""
        self.problems.append(Problem(where, what, right, rule))


def merge(files: Iterable[tuple[SourceFile, YamlFile]], sections: tuple[str, ...] = SECTIONS) -> Merged:
    """Puts the files' entries together, in the order of the files (layer by layer)."""
    merged = Merged(sections)
    for source, read in files:
        merged.problems.extend(read.problems)
        merged.lost |= read.lost
        for section, entries in read.data.items():
            _merge_section(merged, source, read, section, entries)
    _one_name_space(merged)
    return merged


def _merge_section(merged: Merged, source: SourceFile, read: YamlFile, section: str, entries: Any) -> None:
    key = read.places.key((section,))
    if section not in merged.sections:
        right = did_you_mean(section, merged.sections, f"known sections here: {', '.join(merged.sections)}")
        if isinstance(entries, dict) and any(not isinstance(value, dict) for value in entries.values()):
            right = "indent it by two spaces if it is an entry of the section above; sections hold entries by id"
        if section == CASES:
            right = "move it to a file whose name ends in .cases.yaml"
        elif section in DRILLS:
            right = "move it to a file whose name ends in .drills.yaml"
        merged.say(key, f"`{section}` is not a section", right, "unknown-section")
        # What stands there is not missing, so nobody who names it is told so.
        merged.lost |= set(entries) if isinstance(entries, dict) else set()
        return
    if entries is None:
        return
    if not isinstance(entries, dict):
        what = f"`{section}` holds {'fields' if section in SINGLE else 'entries by id'}, not a list or a word"
        merged.say(key, what, f"write `{'field' if section in SINGLE else 'id'}: …` below it", "sections")
        return
    if section in SINGLE:
        entry = Entry(section, section, entries, source.home, source.layer, Spots(read.places, (section,)))
        entry.complete = not any(path[:1] == (section,) for path in read.incomplete)
        _merge_entry(merged, entry, read)
        return
    for name, data in entries.items():
        entry = Entry(section, name, data, source.home, source.layer, Spots(read.places, (section, name)))
        entry.complete = (section, name) not in read.incomplete
        _merge_entry(merged, entry, read)


def _merge_entry(merged: Merged, entry: Entry, read: YamlFile) -> None:
    data = entry.data if isinstance(entry.data, dict) else {}
    before = merged.entries[entry.section].get(entry.id)
    for word in ("amends", "retires"):
        if word in data and data[word] is not True:
            merged.say(entry.spots.value(word), f"`{word}` is either `true` or not there", "write `true`", "overlay")
            return
    if "amends" in data or "retires" in data:
        _change(merged, entry, before, read)
        return
    retired = merged.retired[entry.section].get(entry.id)
    known = before or retired
    if known is not None:
        what = f"there is {a_noun(entry.section)} `{entry.id}` already, at {known.spots.key()}"
        right = "give this one another id" if retired else "keep one of the two, or give this one another id"
        if before is not None and entry.layer > before.layer:
            right = "write `amends: true` if it is meant to change that one, `retires: true` if to take it out"
            meant = next((n for n in data if str(n).startswith(("amend", "retir"))), None)
            right = right if meant is None else f"write `{'amends' if meant[0] == 'a' else 'retires'}`, not `{meant}`"
        merged.say(entry.spots.key(), what, right, "duplicate-id")
        return
    other = next((those[entry.id] for those in merged.retired.values() if entry.id in those), None)
    if other is not None:
        what = f"`{entry.id}` was the id of {a_noun(other.section)}, retired at {other.retired_at}"
        merged.say(entry.spots.key(), what, "give this one another id: none is used again", "duplicate-id")
        return
    merged.entries[entry.section][entry.id] = entry


def _change(merged: Merged, entry: Entry, before: Entry | None, read: YamlFile) -> None:
    data = entry.data
    word = "amends" if "amends" in data else "retires"
    where = entry.spots.key(word)
    if entry.layer == 0:
        merged.say(where, f"`{word}` is for overlays", "change the entry itself", "overlay")
    elif "amends" in data and "retires" in data:
        merged.say(where, "an entry is either amended or retired", "keep one of the two", "overlay")
    elif before is None or before.layer == entry.layer:
        gone = merged.retired[entry.section].get(entry.id)
        if gone is not None:
            what = f"{noun(entry.section)} `{entry.id}` was retired at {gone.retired_at}: {gone.reason}"
            merged.say(
                entry.spots.key(), what, "leave this out; an entry that is wanted again gets a new id", "overlay"
            )
        elif entry.id not in merged.lost:
            known = [e.id for e in merged.entries[entry.section].values() if e.layer < entry.layer]
            right = did_you_mean(entry.id, known, f"known: {listed(known)}")
            what = f"no {noun(entry.section)} `{entry.id}` stands below this overlay"
            other = next((name for name in merged.sections if entry.id in merged.entries[name]), None)
            if before is not None:
                what = f"{noun(entry.section)} `{entry.id}` is written in this overlay itself, at {before.spots.key()}"
                right = f"{'change it' if word == 'amends' else 'take it out'} there"
            elif other is not None:
                what, right = f"`{entry.id}` is {a_noun(other)}", f"write this below `{other}:`"
            merged.say(entry.spots.key(), what, right, "overlay")
    elif word == "retires":
        _retire(merged, entry, before)
    else:
        _amend(merged, entry, before, read)


def _retire(merged: Merged, entry: Entry, before: Entry) -> None:
    for name in entry.data:
        if name not in ("retires", *SIGNED):
            merged.say(entry.spots.key(name), f"`{name}` has no part in retiring", "leave it out", "overlay")
    said = _signed(merged, entry)
    if "reason" not in entry.data:
        merged.say(entry.spots.key(), "it is retired without a reason", "add `reason: …` in words", "overlay")
    elif entry.section in ("cautions", *SINGLE) or _shows_cautions(entry, before):
        merged.say(entry.spots.key(), f"{a_noun(entry.section)} cannot be retired", "leave it in", "overlay")
    else:
        before.reason, before.retired_at = said, entry.spots.key()
        merged.retired[entry.section][entry.id] = merged.entries[entry.section].pop(entry.id)


def _shows_cautions(entry: Entry, before: Entry) -> bool:
    """Whether it is an opening question with an answer that shows cautions, which nothing else would show."""
    answers = before.data.get("answers") if entry.section == "opening" and isinstance(before.data, dict) else None
    return isinstance(answers, dict) and any(_has_cautions(answer) for answer in answers.values())


def _amend(merged: Merged, entry: Entry, before: Entry, read: YamlFile) -> None:
    prefix: Path = (entry.section,) if entry.section in SINGLE else (entry.section, entry.id)
    if not isinstance(before.data, dict):
        name = entry.data.get("name")
        fields = entry.data.keys() - {"amends", *SIGNED}
        if entry.section in WORDS_ALONE and isinstance(name, str) and fields == {"name"}:
            where = {"name": entry.spots.key("name")}
            said = _signed(merged, entry)
            before.amendments.append(Amendment(entry.layer, entry.spots.key(), where, {"name": before.data}, said))
            before.data = name
            before.spots.replace((), read.places, (*prefix, "name"))
        else:
            what = "this cannot be amended" if fields != {"name"} else "the name is not said in words"
            right = "write `{amends: true, name: …}`" + (", the name in quotes" if fields == {"name"} else "")
            merged.say(entry.spots.key(), what, right, "overlay")
        return
    changes = {name: value for name, value in entry.data.items() if name not in ("amends", ADDS, *SIGNED)}
    added = _added_fields(merged, entry, changes)
    if not changes and not added and isinstance(entry.data.get(ADDS, {}), dict):
        merged.say(entry.spots.key(), "it amends nothing", "name the fields to replace", "overlay")
    if entry.section == "cautions":
        _keeps_its_force(merged, entry, before)
    if before.data.get("hazard") is True and changes.get("hazard", True) is not True:
        merged.say(entry.spots.value("hazard"), "an overlay may not call a hazard harmless", "leave it out", "overlay")
    if "near" in changes or "near" in added:
        what = "an overlay may not say anew which parts a look comes near: their cautions hang on it"
        at = ("near",) if "near" in changes else (ADDS, "near")
        merged.say(entry.spots.key(*at), what, "leave it out", "overlay")
    where = {name: entry.spots.key(name) for name in changes}
    where |= {name: entry.spots.key(ADDS, name) for name in added}
    said = _signed(merged, entry)
    before.amendments.append(Amendment(entry.layer, entry.spots.key(), where, before.data, said))
    data = dict(before.data)
    for name, value in changes.items():
        if name in GROWING:
            data[name] = grown(data.get(name), value, before.spots, (name,), read, (*prefix, name))
        elif entry.section == "opening" and name == "answers":
            data[name] = _answers(merged, entry, before, read, (*prefix, name))
        else:
            data[name] = value
            before.spots.replace((name,), read.places, (*prefix, name))
    adding = Adding(
        before.spots, read, (*prefix, ADDS), f"{noun(entry.section)} `{entry.id}`",
        lambda path, what, right: merged.say(entry.spots.key(ADDS, *path), what, right, "overlay"),
    )  # fmt: skip
    for name, more in added.items():
        data[name] = adding.to(data.get(name), more, (name,))
    before.data = data
    before.complete = before.complete and entry.complete


def _signed(merged: Merged, entry: Entry) -> str:
    """Why, by whom and when an entry is changed, as far as it is stated, in words."""
    found = dict.fromkeys(SIGNED, "")
    for name in (name for name in SIGNED if name in entry.data):
        value = entry.data[name]
        if not isinstance(value, str) or not value.strip():
            right = (
                f'put quotes around it: `{name}: "{value}"`' if isinstance(value, int | float) else f"write `{name}: …`"
            )
            merged.say(entry.spots.value(name), f"`{name}` is not said in words", right, "overlay")
        elif name == "date" and not _is_day(value):
            merged.say(entry.spots.value(name), f"`{value}` is no day", "write year-month-day: 2026-03-14", "overlay")
        else:
            found[name] = value
    who = ", ".join(words for words in (found["by"], found["date"]) if words)
    return "; ".join(words for words in (found["reason"], who) if words)


def _is_day(words: str) -> bool:
    try:
        return date.fromisoformat(words).isoformat() == words
    except ValueError:
        return False


def _added_fields(merged: Merged, entry: Entry, changes: Mapping[str, Any]) -> dict[str, Any]:
    """The fields below ``adds``; none of them may be replaced by the same amendment."""
    added = entry.data.get(ADDS, {})
    if not isinstance(added, dict):
        right = f"write `{ADDS}: {{says: […]}}`: the lists, and what comes to them"
        merged.say(entry.spots.key(ADDS), f"`{ADDS}` names lists of the entry", right, "overlay")
        return {}
    for name in (name for name in added if name in changes):
        what = f"`{name}` is replaced and added to in one amendment"
        merged.say(entry.spots.key(ADDS, name), what, "write out the whole list, or only what is added", "overlay")
    return {name: more for name, more in added.items() if name not in changes}


def _answers(merged: Merged, entry: Entry, before: Entry, read: YamlFile, where: Path) -> Any:
    """Answers of an opening question: the overlay's, none of them with fewer cautions than before."""
    old, new = before.data.get("answers"), entry.data["answers"]
    old_cautions = {}
    if isinstance(old, dict):
        old_cautions = {name: answer["cautions"] for name, answer in old.items() if _has_cautions(answer)}
    before.spots.replace(("answers",), read.places, where)
    if not isinstance(new, dict):
        return new
    answers = {name: dict(answer) if isinstance(answer, dict) else answer for name, answer in new.items()}
    for name, cautions in old_cautions.items():
        answer = answers.get(name)
        if not isinstance(answer, dict):
            what = f"the answer `{name}` carries cautions and is missing here"
            merged.say(entry.spots.key("answers"), what, "write it out too", "overlay")
            continue
        added = answer.get("cautions") or []
        if isinstance(added, list):
            answer["cautions"] = [*added, *(c for c in cautions if c not in added)]
    return answers


def _has_cautions(answer: Any) -> bool:
    return isinstance(answer, dict) and isinstance(answer.get("cautions"), list) and bool(answer["cautions"])


def _keeps_its_force(merged: Merged, entry: Entry, before: Entry) -> None:
    """A caution is neither lowered nor put in other words: words around its own could take back what it says."""
    old, new = before.data.get("level"), entry.data.get("level")
    if old in _LEVELS and new in _LEVELS and _LEVELS.index(new) < _LEVELS.index(old):
        what = f"an overlay may not lower a {old} to a {new}"
        merged.say(entry.spots.value("level"), what, "leave the level out", "overlay")
    text, instead = before.data.get("text"), entry.data.get("text")
    if isinstance(text, str) and isinstance(instead, str) and text.split() != instead.split():
        what = "an overlay may not put a caution in other words"
        right = "leave its `text` out, and add a caution of your own for what is to be said beside it"
        merged.say(entry.spots.value("text"), what, right, "overlay")


def _one_name_space(merged: Merged) -> None:
    """Ids of what can hold are unique over faults, events, chains and symptoms together."""
    seen: dict[str, Entry] = {}
    for section in [name for name in THINGS if name in merged.sections]:
        for entry in (*merged.entries[section].values(), *merged.retired[section].values()):
            other = seen.setdefault(entry.id, entry)
            if other is not entry:
                what = f"`{entry.id}` is also {a_noun(other.section)}, at {other.spots.key()}"
                merged.say(entry.spots.key(), what, "give one of them another id", "duplicate-id")
