"""Words in which no sign of Markdown acts."""

from __future__ import annotations

import re

_ACTS = re.compile(r"[\\`*_\[\]<>&|~#!$@{}]|(?<=\w)://|^(\s*)([-+=>]|\d+[.)](?=\s|$))")


def inert(words: object) -> str:
    """Words on one line in which no sign acts."""
    line = " ".join(str(words).split())
    return _ACTS.sub(lambda found: _escaped(found[0]), line)


def _escaped(found: str) -> str:
    if found == "://":
        return "\\://"
    blank = len(found) - len(found.lstrip())
    sign = found[blank:]
    # A number with a point at the beginning is a list: the point is what acts.
    return found[:blank] + (f"{sign[:-1]}\\{sign[-1]}" if sign[0].isdigit() else f"\\{sign}")
