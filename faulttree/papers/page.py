"""The templates that lie beside the code, and the small words in which figures and moments appear on paper."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

TEMPLATES = Path(__file__).parent / "templates"

_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?(Z|[+-]\d{2}:\d{2})?")


@cache
def environment() -> Environment:
    """The Jinja2 environment of every page: all values escaped, a name that is missing is an error."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["css"] = css_text
    return made


def percent(probability: float) -> str:
    """``probability`` (0 … 1) in whole per cent, with the ends kept apart from certainty."""
    if probability < 0.01:
        return "under 1 %"
    if 0.99 < probability < 1 - 1e-12:
        return "over 99 %"
    return f"{probability:.0%}".replace("%", " %")


def moment(iso: str) -> str:
    """Day and minute of an ISO 8601 moment; any other text as it is."""
    found = _MOMENT.fullmatch(iso)
    return f"{found[1]} {found[2]}" if found else iso


def clock(iso: str) -> str:
    """The offset from UTC of an ISO 8601 moment, as in ``UTC+01:00``; "" where it has none."""
    found = _MOMENT.fullmatch(iso)
    if found is None or found[3] is None:
        return ""
    return "UTC" if found[3] in ("Z", "+00:00") else f"UTC{found[3]}"


def cut(text: str, most: int) -> str:
    """``text`` in at most ``most`` signs, an ellipsis where something is left out."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def one_line(text: str, most: int) -> str:
    """``text`` on one line, cut."""
    return cut(" ".join(text.split()), most)


def knowledge_on_a_line(knowledge: Mapping[str, Any]) -> str:
    """Version and first signs of the digest, and the same of each overlay."""
    book = f"knowledge {one_line(knowledge['version'], 20)} {one_line(knowledge['digest'], 19)}"
    over = [f"{one_line(o['name'], 20)} {one_line(o['digest'], 19)}" for o in knowledge.get("overlays", [])]
    return " + ".join([book, *over])


def css_text(text: str) -> str:
    """``text`` for between the quotes of a CSS string: all but ASCII letters and digits as code points (CSS 2, 4.3.7),
    so that nothing in it ends the string or the style sheet."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text)
