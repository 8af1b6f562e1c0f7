"""Where an overlay puts other words in the place of those that tell how work is done, what is gone is looked at again.

A sentence such as "pins in before anybody reaches in" keeps people safe though it is no caution, and no program can
tell it from one that may go. So what the book said and the overlay does not is told, for the author to weigh.

Passes::

    conditions:
      on-jacks: {amends: true, set_up: {words: "Read placard 4. Jack it up.", minutes: 30}}

Fails::

    conditions:
      on-jacks: {amends: true, set_up: {words: Lift it, minutes: 30}}
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from faulttree.book.positions import ADVICE, Problem
from faulttree.book.sections import noun
from faulttree.workshop.subject import Subject

ID = "words-dropped"
SEVERITY = ADVICE

FIELDS = ("how", "set_up", "restore")

MOST = 3
"""Sentences that are told; more are counted."""

_ENDS = re.compile(r"(?<=[.!?;])\s+")


def check(subject: Subject) -> Iterator[Problem]:
    """Holds the words of every entry that overlays amended against what they were before."""
    for section in ("checks", "actions", "conditions"):
        for name, item in subject.written.ids(section).items():
            for amendment in subject.written.entries[section][name].amendments:
                for field in (field for field in FIELDS if field in amendment.fields):
                    gone = _gone(amendment.before.get(field), getattr(item.form, field))
                    if gone:
                        more = f" and {len(gone) - MOST} more" if len(gone) > MOST else ""
                        told = "; ".join(f"“{sentence}”" for sentence in gone[:MOST])
                        what = f"`{field}` of {noun(section)} `{name}` no longer says: {told}{more}"
                        right = "say it again if any of it keeps people safe or the reading right"
                        yield Problem(amendment.fields[field], what, right, ID)


def _gone(before: Any, now: Any) -> list[str]:
    said = {_alike(sentence) for sentence in _sentences(now)}
    return [sentence for sentence in _sentences(before) if _alike(sentence) not in said]


def _sentences(words: Any) -> list[str]:
    """Of ``how`` (texts) or of what is set up or put back: as it was written, or as it was read."""
    told = words.get("words") if isinstance(words, dict) else getattr(words, "words", words)
    texts = told if isinstance(told, list | tuple) else [told or ""]
    return [sentence for text in texts for sentence in _ENDS.split(str(text).strip()) if sentence]


def _alike(sentence: str) -> str:
    return " ".join(re.findall(r"\w+", sentence.casefold()))
