"""Moves from many standings told as one: put back what stands of these, set up what does not stand of those.

What is put back only since something else is moved, which it bars or implies, is told with what that is. Where one
telling does not come to the same from each standing there are two or a few, by whether something named stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from faulttree.conditions import Moves, Standing

Ways = dict[tuple[tuple[str, ...], tuple[str, ...]], list[list[str]]]
"""What is put back and then set up, in order, with the standings that it is meant for."""

MOST_REASONS = 3
"""What is put back for more reasons than this is told standing by standing."""

Where = tuple[tuple[str, bool], ...]
"""What has to stand, or not to stand, for a telling."""

MOST_ASKED = 3
"""So much at most is named that stands or does not; else it is told standing by standing."""


@dataclass(frozen=True)
class OneWay:
    """``since``: what of ``off`` is put back only where one of these is moved too; all else is wherever it stands."""

    off: tuple[str, ...]
    on: tuple[str, ...]
    since: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def followed(self, standing: Set[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What whoever follows puts back and sets up, in order."""
        off: set[str] = set()
        while True:
            moved = off | {c for c in self.on if c not in standing or c in off}
            more = {
                c for c in self.off if c in standing and (c not in self.since or not moved.isdisjoint(self.since[c]))
            }
            if more <= off:
                return tuple(c for c in self.off if c in off), tuple(c for c in self.on if c in moved)
            off |= more


def as_one(moves: Moves, ways: Ways, needs: Sequence[str]) -> OneWay | None:
    """All ways as one that comes to the same from each standing; None where there is none."""
    off = moves.restore_all(frozenset(c for way, _ in ways for c in way)).off
    on = tuple(c for c in moves.move(frozenset(), needs).on if any(c in way for _, way in ways))
    cases = [(frozenset(names), *way) for way, stands in ways.items() for names in stands]
    since = {}
    for c in off:
        reasons = _reasons(c, cases)
        if reasons is None:
            return None
        if reasons:
            since[c] = reasons
    found = OneWay(off, on, since)
    return found if all(found.followed(stands) == (back, up) for stands, back, up in cases) else None


def as_few(moves: Moves, ways: Ways, needs: Sequence[str], asked: int = MOST_ASKED) -> list[tuple[Where, OneWay]]:
    """All ways as one, or as the fewest that part by what stands; none where they do not part so."""
    one = as_one(moves, ways, needs)
    if one is not None:
        return [((), one)]
    best: list[tuple[Where, OneWay]] = []
    for c in sorted({c for standings in ways.values() for names in standings for c in names}) if asked else ():
        parts = [(stands, where(ways, ((c, stands),))) for stands in (True, False)]
        if not all(part for _, part in parts):
            continue
        told = [(stands, as_few(moves, part, needs, asked - 1)) for stands, part in parts]
        found = [(((c, stands), *more), one) for stands, few in told for more, one in few]
        if all(few for _, few in told) and (not best or len(found) < len(best)):
            best = found
        if len(best) == len(parts):
            break
    return best


def where(ways: Ways, asked: Where) -> Ways:
    """The ways of those standings alone in which all this stands, or does not."""
    found = {
        way: [names for names in standings if all((c in names) == stands for c, stands in asked)]
        for way, standings in ways.items()
    }
    return {way: standings for way, standings in found.items() if standings}


def _reasons(c: str, cases: Sequence[tuple[Standing, tuple[str, ...], tuple[str, ...]]]) -> tuple[str, ...] | None:
    """What is moved wherever this is put back, and never where it stays; nothing where it never stays."""
    goes = [{*off, *on} - {c} for stands, off, on in cases if c in off]
    stays = [{*off, *on} for stands, off, on in cases if c in stands and c not in off]
    if not stays:
        return ()
    able = set[str]().union(*goes) - set[str]().union(*stays)
    found: list[str] = []
    while goes:
        best = max(sorted(able), key=lambda x: sum(x in moved for moved in goes), default=None)
        if best is None or not any(best in moved for moved in goes) or len(found) == MOST_REASONS:
            return None
        found.append(best)
        goes = [moved for moved in goes if best not in moved]
    return tuple(found)
