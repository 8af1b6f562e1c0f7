"""The nearest known name to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable

_SHOWN = 12
_LONGEST = 100


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that looks most like ``name``, if any is near enough to be meant."""
    import difflib  # only wanted when something is wrong

    if len(name) > _LONGEST:
        return None
    found = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(name: str, known: Iterable[str], otherwise: str) -> str:
    """What would be right: the nearest known name, else the words ``otherwise``."""
    best = nearest(name, known)
    return f"did you mean `{best}`?" if best else otherwise


def listed(known: Iterable[str]) -> str:
    """Some of the known names in words."""
    names = list(known)
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more if names else "none"
