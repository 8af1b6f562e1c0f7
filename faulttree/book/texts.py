"""What a rule says of itself: what it wants, why, an example that passes and one that fails.

A rule's text is the docstring of its module, so that nobody changes the one and forgets the other; those of
the reader itself, which have no module each, stand in :mod:`faulttree.book.grammar`.
"""

from __future__ import annotations

import inspect
import textwrap
from dataclasses import dataclass

from faulttree.book.positions import ERROR

_PASSES, _FAILS = "Passes::", "Fails::"


@dataclass(frozen=True, slots=True)
class RuleText:
    """``passes`` and ``fails`` are pieces of a knowledge file; empty where a file's text cannot show it."""

    id: str
    wants: str
    why: str
    passes: str
    fails: str
    severity: str = ERROR


def rule_text(rule_id: str, docstring: str | None, severity: str = ERROR) -> RuleText:
    """The text in a docstring: a sentence, a paragraph or more with the reason, and the two examples."""
    words = inspect.cleandoc(docstring or "")
    told = words.partition(_PASSES)[0].strip()
    wants, _, why = told.partition("\n\n")
    return RuleText(
        rule_id, _flowing(wants), _flowing(why), _example(words, _PASSES), _example(words, _FAILS), severity
    )


def _flowing(text: str) -> str:
    """Paragraphs on one line each, for whoever shows them to break as there is room."""
    paragraphs = (" ".join(paragraph.split()) for paragraph in text.split("\n\n"))
    return "\n\n".join(paragraphs).replace("``", "`").strip()


def _example(docstring: str, heading: str) -> str:
    """The indented block under a heading."""
    _, _, rest = docstring.partition(f"{heading}\n\n")
    block = []
    for line in rest.splitlines():
        if line.strip() and not line.startswith("    "):
            break
        block.append(line)
    return textwrap.dedent("\n".join(block)).strip("\n")
