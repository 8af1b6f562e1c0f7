"""Typed answers to values, strictly: what could be meant in two ways is asked again.

Every function raises BadAnswer with what would be right.
"""

from __future__ import annotations

import re

from faulttree.clean import plain
from faulttree.errors import BadAnswer

LONGEST = 300
"""Signs of a text; what is longer is no name and no question."""

LONGEST_ID = 48

MOST_RATE, MOST_MINUTES = 10_000.0, 10_000.0

_NUMBER = r"\d{1,9}(?:\.\d{1,9})?|\.\d{1,9}"
_PLAIN = re.compile(_NUMBER)
_PERCENT = re.compile(rf"({_NUMBER})\s*(?:%|percent|per cent)")
_COUNTED = re.compile(rf"({_NUMBER})\s+in\s+({_NUMBER})\s*(?:h|hours|flight hours)?")
_SHARE = re.compile(rf"({_NUMBER})\s+(?:in|of|out of)\s+({_NUMBER})")
_MINUTES = re.compile(rf"({_NUMBER})\s*(?:min|mins|minutes?)?")
_HOURS = re.compile(r"(\d{1,3})\s*(?:h|hours?)(?:\s*(\d{1,2})\s*(?:min|minutes?)?)?")
_KEBAB = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_EMPTY = {"a", "an", "and", "at", "in", "is", "it", "its", "of", "on", "or", "the", "to", "with"}
_COMMA = "write a point, not a comma, in a number"


def text(typed: str) -> str:
    """Words on one line. Signs that act instead of being read are refused."""
    words = " ".join(typed.split())
    if not words:
        raise BadAnswer("some words are wanted here")
    if len(words) > LONGEST:
        raise BadAnswer(f"that is longer than {LONGEST} signs; put it shorter")
    if plain(words) != words:
        raise BadAnswer("there is a sign in it that cannot be read; type it anew")
    return words


def identifier(typed: str) -> str:
    """An id: small letters, digits, single hyphens."""
    name = typed.strip()
    if not _KEBAB.fullmatch(name) or len(name) > LONGEST_ID:
        near = slug(name)
        hint = f", such as {near}" if near else ", like-this"
        raise BadAnswer(f"{plain(name)!r} is no id; use small letters, digits and single hyphens{hint}")
    return name


def slug(words: str) -> str:
    """The id that words suggest, "" where they suggest none."""
    parts = [part for part in re.findall(r"[a-z0-9]+", words.lower().replace("'", "")) if part not in _EMPTY]
    found = ""
    for part in parts:
        if len(found) + len(part) + 1 > LONGEST_ID:
            break
        found = f"{found}-{part}" if found else part
    return found


def probability(typed: str, *, least: float = 0.0, below_one: bool = False) -> float:
    """A probability of ``least`` or more, written as 95 % or 0.95; 1 alone could be 1 % and is asked again."""
    words = typed.strip().lower()
    percent, counted = _PERCENT.fullmatch(words), _SHARE.fullmatch(words)
    if percent:
        value = float(percent[1]) / 100.0
    elif counted and float(counted[2]) > 0.0:
        value = float(counted[1]) / float(counted[2])
    elif _PLAIN.fullmatch(words):
        value = float(words)
        if value == 1.0 and "." not in words:
            raise BadAnswer("1 could be meant in two ways; write 100 % or 1 %")
        if 1.0 < value <= 100.0:
            raise BadAnswer(f"{words} is no probability; write {words} % or {value / 100:g}")
    else:
        raise BadAnswer(_no_number(typed, "write it as 95 % or 0.95"))
    value = round(value, 9)
    if not least <= value <= 1.0 or (below_one and value == 1.0):
        upper = "below 100 %" if below_one else "100 %"
        raise BadAnswer(f"{plain(typed.strip())} is out of range; write from {100 * least:g} % to {upper}")
    return value


def counted_as(typed: str) -> str:
    """A rate that is told as a number of failures in so many hours, as ``2 in 5000``; "" for any other."""
    found = _COUNTED.fullmatch(typed.strip().lower())
    return f"{found[1]} in {found[2]}" if found else ""


def count_in(note: str) -> float | None:
    """The rate that a note begins with as a count, such as ``2 in 5000 hours since 2021``; None where it does not."""
    found = _COUNTED.match(note.strip().lower())
    return 1000.0 * float(found[1]) / float(found[2]) if found and float(found[2]) > 0 else None


def rate(typed: str) -> float:
    """A rate per 1000 flight hours, also counted: ``2 in 5000`` (flight hours)."""
    words = typed.strip().lower()
    counted = _COUNTED.fullmatch(words)
    if counted and float(counted[2]) > 0:
        value = 1000.0 * float(counted[1]) / float(counted[2])
    elif _PLAIN.fullmatch(words):
        value = float(words)
    else:
        hint = "write a number per 1000 flight hours, such as 0.04, or a count, such as 2 in 5000"
        raise BadAnswer(_no_number(typed, hint))
    if not 0.0 < value <= MOST_RATE:
        raise BadAnswer(f"{plain(words)} is no rate; it lies above 0 and up to {MOST_RATE:g}")
    return float(f"{value:.6g}")


def in_percent(value: float) -> str:
    """A probability as it was understood."""
    return f"{100.0 * value:.4g} %"


def in_minutes(value: float) -> str:
    """A time as it was understood."""
    return f"{value:.4g} minutes"


def rate_in_words(value: float) -> str:
    """A rate as it was understood."""
    return f"{value:.3g} per 1000 flight hours, that is once in {float(f'{1000.0 / value:.2g}'):,.12g} flight hours"


def minutes(typed: str) -> float:
    """Minutes, also as ``1 h 20``."""
    words = typed.strip().lower()
    hours, found = _HOURS.fullmatch(words), _MINUTES.fullmatch(words)
    if hours:
        value = 60.0 * float(hours[1]) + float(hours[2] or 0)
    elif found:
        value = float(found[1])
    else:
        raise BadAnswer(_no_number(typed, "write minutes, such as 20 or 1 h 20"))
    if not 0.0 < value <= MOST_MINUTES:
        raise BadAnswer(f"{plain(words)} is no time for a step; it takes more than 0 and at most {MOST_MINUTES:g} min")
    return value


def count(typed: str, most: int) -> int:
    """A whole number from 1 to ``most``."""
    words = typed.strip()
    if not (words.isascii() and words.isdigit() and len(words) <= 6 and 1 <= int(words) <= most):
        raise BadAnswer(f"{plain(words)!r} is no whole number from 1 to {most}")
    return int(words)


def _no_number(typed: str, right: str) -> str:
    words = plain(typed.strip())
    return f"{words!r} is no such number; {_COMMA if ',' in words else right}"
