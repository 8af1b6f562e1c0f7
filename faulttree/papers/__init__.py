"""The papers of a case, and the go-to chart of a symptom. Each is plain data first, then HTML, PDF, Markdown or JSON.

``course`` the log in words, ``moves`` how the ranking moved, ``record``, ``handover`` and ``entry`` the papers as data,
``chart`` the words of a go-to chart (compiled in ``workshop``), ``retell`` a record back to entries; ``markdown``,
``chartlines`` and ``render`` (HTML, PDF) for people.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from faulttree.papers.entry import entry, rules_known
from faulttree.papers.handover import handover
from faulttree.papers.markdown import as_markdown
from faulttree.papers.record import record
from faulttree.papers.retell import entries_of

__all__ = [
    "as_html", "as_json", "as_markdown", "as_pdf", "entries_of", "entry", "handover", "page_count", "record",
    "rules_known",
]  # fmt: skip

_LONE_SURROGATE = re.compile("[\ud800-\udfff]")


def as_json(paper: Mapping[str, Any]) -> str:
    """A paper as JSON, letters as they are; what UTF-8 does not know is escaped."""
    text = json.dumps(paper, indent=2, ensure_ascii=False)
    return _LONE_SURROGATE.sub(lambda found: f"\\u{ord(found[0]):04x}", text) + "\n"


def as_html(paper: Mapping[str, Any]) -> str:
    """A paper as one HTML page that needs no other file. Raises FaulttreeError."""
    from faulttree.papers import render  # brings Jinja2 and Typst

    return render.as_html(paper)


def page_count(paper: Mapping[str, Any]) -> int:
    """How many pages the PDF of a paper has. Raises FaulttreeError."""
    from faulttree.papers import render

    return render.page_count(paper)


def as_pdf(paper: Mapping[str, Any]) -> bytes:
    """A paper as PDF. Raises FaulttreeError."""
    from faulttree.papers import render

    return render.as_pdf(paper)
