"""How wide words are on paper, and where they break, without knowing which font the reader has."""

from __future__ import annotations

import unicodedata
from functools import cache

_NARROW, _WIDE = frozenset("ijltfrI.,:;'|!()[]-/ "), frozenset("mwMW—%@")
_SHARES = {"narrow": 0.33, "wide": 0.88, "capital": 0.70, "usual": 0.53}
"""Widths in parts of the size of the letters: the names of the book are a seventh narrower than this in the fonts of
the Times kind that `tree.svg.j2` asks for first, and as wide in the one that it asks for last."""


def width(text: str, size: float) -> float:
    """About how wide ``text`` is in letters of ``size`` (the same unit): rather too wide than too narrow."""
    return size * sum(_share(sign) for sign in text)


@cache
def _share(sign: str) -> float:
    if unicodedata.east_asian_width(sign) in "WF":
        return 1.05
    if sign in _NARROW:
        return _SHARES["narrow"]
    if sign in _WIDE:
        return _SHARES["wide"]
    return _SHARES["capital"] if sign.isupper() else _SHARES["usual"]


def wrapped(text: str, most: float, size: float) -> tuple[str, ...]:
    """``text`` in lines no wider than ``most``; a word that is wider is broken."""
    lines = [""]
    for word in text.split():
        for piece in _pieces(word, most, size):
            longer = f"{lines[-1]} {piece}" if lines[-1] else piece
            if width(longer, size) <= most:
                lines[-1] = longer
            else:
                lines.append(piece)
    return tuple(line for line in lines if line) or ("",)


def _pieces(word: str, most: float, size: float) -> list[str]:
    pieces = [""]
    for sign in word:
        if pieces[-1] and width(pieces[-1] + sign, size) > most:
            pieces.append("")
        pieces[-1] += sign
    return pieces
