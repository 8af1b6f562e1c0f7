"""Text that people typed, made harmless for paper: signs that act instead of being read become visible."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_CONTROL = r"\x00-\x08\x0b-\x1f\x7f-\x9f"
_LINES = r"\u2028\u2029"
_DIRECTION = r"\u061c\u200e\u200f\u202a-\u202e\u2066-\u206f"
_MARKS = r"\ufeff\ufff9-\ufffb\U000e0000-\U000e007f"
_SURROGATES = r"\ud800-\udfff"
_NONCHARACTERS = r"\ufdd0-\ufdef" + "".join(
    rf"\U{plane:04x}fffe\U{plane:04x}ffff" for plane in range(17)
)  # the last two code points of every plane

_ACTS = re.compile(f"[{_CONTROL}{_LINES}{_DIRECTION}{_MARKS}{_SURROGATES}{_NONCHARACTERS}]")
"""Controls (Unicode C0 but newline and tab, DEL, C1), separators of lines and paragraphs, marks and overrides of
writing direction (Unicode Standard Annex 9), byte order mark, annotations, invisible tags, lone surrogates and
noncharacters."""


def plain(text: str) -> str:
    """``text`` with every sign that acts (see ``_ACTS``) written out, as in ``\\x1b`` or ``\\u202e``; all else kept.

    Doing it twice changes nothing more, and the outcome can always be encoded as UTF-8.
    """
    return _ACTS.sub(_visible, text)


def cleaned(paper: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of ``paper`` (JSON-able data) with ``plain`` done to every string in it, keys included."""
    return {plain(str(key)): _clean(value) for key, value in paper.items()}


def _clean(value: Any) -> Any:
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, Mapping):
        return cleaned(value)
    if isinstance(value, list | tuple):
        return [_clean(item) for item in value]
    return value


def _visible(match: re.Match[str]) -> str:
    code = ord(match.group())
    if code <= 0xFF:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"
