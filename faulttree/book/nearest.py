"""The nearest known name to one that is not known."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import islice

_SHOWN = 12
_LONGEST = 100
_NEAR = 0.6
_MOST = 200


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that looks most like ``name``, if any is near enough to be meant."""
    # only wanted when something is wrong
    import difflib

    from rapidfuzz.distance import Indel
    from rapidfuzz.process import extract

    if len(name) > _LONGEST:
        return None
    # The same measure by the longest common subsequence is never smaller, and far quicker: it takes out what cannot be
    # near enough, and a little less than that, since it rounds otherwise.
    likely = extract(name, list(known), scorer=Indel.normalized_similarity, score_cutoff=_NEAR - 0.01, limit=_MOST)
    found = difflib.get_close_matches(name, [other for other, *_ in likely], n=1, cutoff=_NEAR)
    return found[0] if found else None


def did_you_mean(name: str, known: Iterable[str], otherwise: str) -> str:
    """What would be right: the nearest known name, else the words ``otherwise``."""
    best = nearest(name, known)
    return f"did you mean `{best}`?" if best else otherwise


def listed(known: Collection[str]) -> str:
    """Some of the known names in words."""
    more = f" and {len(known) - _SHOWN} more" if len(known) > _SHOWN else ""
    return ", ".join(islice(known, _SHOWN)) + more if known else "none"
