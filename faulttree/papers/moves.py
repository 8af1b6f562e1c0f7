"""How the ranking moved over the answers of a case: what a picture is drawn from, and what was ruled out by what."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.belief import Belief, Believer, Denied, Evidence, Reported
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up, standing_entries
from faulttree.case.course import said, shown_by

MOST_CAUSES = 6
MOST_STEPS = 60
LABEL = 28
ONCE_LIKELY, NOW_UNLIKELY, FELL_TO = 0.03, 0.01, 0.1
"""Ruled out: a cause that once had so much, now has less than so much, and less than this share of what it had."""

MOVES_BELIEF = ("symptom", "answer", "reading", "found", "did")
"""Kinds of entries that are evidence, one piece each and in this order in the state."""


@dataclass(frozen=True)
class Replayed:
    """What was believed along the way: the first of ``entries`` is the squawk, each other one a piece of evidence.

    ``steps`` are the places in ``entries`` that are looked at, the first and the last among them; ``entries`` up to
    ``steps[i]`` led to ``beliefs[i]``. In a long case they are spread over it, because a belief takes its time.
    """

    state: CaseState
    entries: list[CaseEntry]
    steps: list[int]
    beliefs: list[Belief]

    @property
    def last(self) -> Belief:
        """The belief as the case stands."""
        return self.beliefs[-1]


def replayed(book: Book, entries: Sequence[CaseEntry]) -> Replayed:
    """The case played once more, evidence by evidence, with the circumstances that are known now."""
    state = add_up(book, entries)
    told = [e for e in standing_entries(entries) if e.kind in MOVES_BELIEF]
    assert len(told) == len(state.evidence)
    first = 0
    while first < len(told) and isinstance(state.evidence[first], Reported | Denied):
        first += 1
    believer, circumstances = Believer(book), tuple(state.circumstances)
    steps = _thinned(len(told) + 1 - first)
    told_by = [Evidence(tuple(state.evidence[: first + step]), circumstances, state.hours) for step in steps]
    # What the whole case reaches is looked at from the start: each step then goes on from the one before.
    reach = believer.reach(told_by[-1])
    beliefs = [believer.believe(evidence, also=reach) for evidence in told_by]
    # What the pilot said is one step; each further piece is one.
    led = [told[max(first - 1, 0)]] if told else []
    return Replayed(state, led + told[first:], steps, beliefs)


def moves(book: Book, played: Replayed) -> dict[str, Any]:
    """Probabilities of the causes that mattered over the steps; empty where there is no squawk yet."""
    if not played.entries:
        return {"causes": [], "unlisted": [], "steps": []}
    shares = [belief.as_it_was for belief in played.beliefs]
    ranked = sorted(shares[-1], key=lambda fault: (-shares[-1][fault], fault))
    leaders = dict.fromkeys(max(share.items(), key=lambda item: item[1])[0] for share in shares)
    # Those that lead now first, then those that once led.
    kept = list(dict.fromkeys([*ranked[: MOST_CAUSES // 2], *leaders, *ranked[:MOST_CAUSES]]))[:MOST_CAUSES]
    return {
        "causes": [
            {"fault": fault, "name": book.faults[fault].name, "values": [share[fault] for share in shares]}
            for fault in sorted(kept, key=ranked.index)
        ],
        "unlisted": [belief.unlisted for belief in played.beliefs],
        "steps": [
            {"entry": played.entries[i].number, "label": _label(book, played.entries[i], i)} for i in played.steps
        ],
    }


def _thinned(count: int) -> list[int]:
    if count <= MOST_STEPS:
        return list(range(count))
    return [round(i * (count - 1) / (MOST_STEPS - 1)) for i in range(MOST_STEPS)]


def _label(book: Book, entry: CaseEntry, place: int) -> str:
    if place == 0:
        return "squawk"
    try:
        words = shown_by(book, entry.data) if entry.kind in ("answer", "reading") else said(book, entry)
    except (KeyError, StopIteration):
        words = said(book, entry)
    return words if len(words) <= LABEL else words[: LABEL - 3] + "..."


def ruled_out(book: Book, played: Replayed) -> list[dict[str, Any]]:
    """Causes that were likely once and are not any more, with the one or two answers that spoke most against them.

    ``was`` is the most that a cause ever was.
    """
    if not played.entries:
        return []
    shares = [belief.as_it_was for belief in played.beliefs]
    found = []
    for fault, now in shares[-1].items():
        most = max(share[fault] for share in shares)
        if most >= ONCE_LIKELY and now < NOW_UNLIKELY and now < FELL_TO * most:
            found.append(
                {
                    "fault": fault, "name": book.faults[fault].name, "was": most, "now": now,
                    "by": _against(book, played, fault),
                }
            )  # fmt: skip
    return sorted(found, key=lambda one: (-one["was"], one["fault"]))


def _against(book: Book, played: Replayed, fault: str) -> list[dict[str, Any]]:
    """The answers with the most negative weight of evidence."""
    pairs = _told_by(played, fault)
    spoke = sorted((bits, entry.number, entry) for entry, bits in pairs if bits < 0)[:2]
    return [
        {"entry": entry.number, "bits": bits, **dict(zip(("name", "shown"), _what_spoke(book, entry), strict=True))}
        for bits, _, entry in spoke
    ]


def _told_by(played: Replayed, fault: str) -> Iterator[tuple[CaseEntry, float]]:
    """The entries that have a weight of evidence, with it: repairs have none, nor have the symptoms of the squawk."""
    evidence = played.last.evidence.entries
    told = iter(zip(played.entries[1:], evidence[len(evidence) - len(played.entries) + 1 :], strict=True))
    for piece, bits in played.last.weights(fault):
        yield next(entry for entry, one in told if one == piece), bits


def _what_spoke(book: Book, entry: CaseEntry) -> tuple[str, str]:
    """A check by its name with what it showed; else what was said, with what of."""
    check = book.checks.get(entry.data.get("check", ""))
    if check is not None:
        return check.name, _label(book, entry, 1)
    kind, _, what = said(book, entry).partition(": ")
    return kind, what
