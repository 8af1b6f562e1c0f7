"""The sections of a knowledge file, by name, without the machinery that validates them."""

from __future__ import annotations

SINGLE = ("book", "family")
"""Sections that are one entry each, rather than entries by id."""

ENTRIES = {
    "defaults": "default",
    "sources": "source",
    "options": "group of options",
    "equipment": "piece of equipment",
    "words": "group of words",
    "cautions": "caution",
    "circumstances": "circumstance",
    "conditions": "condition",
    "limits": "limit",
    "opening": "opening question",
    "components": "component",
    "faults": "fault",
    "events": "event",
    "chains": "chain",
    "symptoms": "symptom",
    "sayings": "group of sayings",
    "checks": "check",
    "actions": "action",
}
"""Sections of entries by id, with the noun for one entry."""

WORDS_ALONE = {
    "equipment": "a piece of equipment is an id and its name; write `id: name`",
    "words": "a group of words is an id and the words that mean the same; write `id: word, two words, word`",
}
"""Sections whose entries are plain words, and how such an entry is written."""

SECTIONS = (*SINGLE, *ENTRIES)

CASES = "cases"
"""The one section of a file of regression cases."""

DRILLS = {
    "lessons": "lesson",
    "scenarios": "scenario",
    "temptations": "temptation",
    "pilots": "pilot's answer",
    "heard": "assertion of a pilot",
    "harmless": "harmless condition",
    "quizzed": "caution to be named",
    "subsystems": "subsystem",
}
"""Sections of a file of what is for practice, with the noun for one entry."""

THINGS = ("faults", "events", "chains", "symptoms")
"""Sections whose ids share one name space: what can hold."""


def a_noun(section: str) -> str:
    """The word for one entry of a section, with its article."""
    word = noun(section)
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def noun(section: str) -> str:
    """The word for one entry of a section."""
    return ENTRIES.get(section) or DRILLS.get(section, "case" if section == CASES else section)
