"""What `faulttree knowledge rates` prints of one family, in lines of eighty columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from faulttree.chances import minutes_in_words
from faulttree.workshop.finds import MENDED_ALONE, SEEN, SHOWN_ALONE
from faulttree.workshop.proposal import accuracy, written
from faulttree.workshop.rates import CHECK_STRENGTH, LOT, STRENGTH, LearnedRate

if TYPE_CHECKING:
    from faulttree.workshop.effect import Effect, Moved
    from faulttree.workshop.rates import LearnedAccuracy

    from .rates import Result

WIDTH = 79
NAME = 36
ROWS = 20
CASES_NAMED = 4
MISSES = 10

BY = {
    SEEN: "seen",
    MENDED_ALONE: "of all that could be it, the repair mends it alone",
    SHOWN_ALONE: "a check showed what it alone brings about",
}


def told(result: Result) -> Iterator[str]:
    """All of it: what was counted, what moves, the diff, what that does."""
    yield from _counted(result)
    rates, accuracies = result.proposal.rates, result.proposal.accuracies
    if rates:
        yield from _rates(result, rates)
    if accuracies:
        yield from _accuracies(result, "Accuracies of checks", accuracies)
    if result.proposal.by_hand:
        title = "Not in the overlay: the book states these outcome by outcome, so change them by hand"
        yield from _accuracies(result, title, result.proposal.by_hand)
    if result.proposal.elsewhere:
        yield from _elsewhere(result)
    yield ""
    if not result.proposal.changes:
        yield (
            f"{result.path} says all of this already."
            if result.proposal.text
            else "Nothing else moves so far that it would be noticed, so nothing is proposed."
            if result.proposal.by_hand or result.proposal.elsewhere
            else "Nothing moves so far that it would be noticed, so nothing is proposed."
        )
        return
    yield "The overlay, as a diff:"
    yield result.difference.rstrip("\n")
    yield ""
    yield from _effect(result, result.effects)
    if result.moved is not None:
        yield from _moved(result.moved)


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def _counted(result: Result) -> Iterator[str]:
    learned = result.learned
    closed = _cases(len(result.cases) + len(result.unread))
    yield f"{result.family}: {closed} closed, in {len(learned.finds)} the cause was found"
    for by, words in BY.items():
        number = sum(find.by == by for find in learned.finds)
        if number:
            yield f"  {number:4} {words}"
    left_out = {**learned.left_out, **({"their book is not here": result.unread} if result.unread else {})}
    for why, names in left_out.items():
        some = ", ".join(names[:CASES_NAMED]) + (", ..." if len(names) > CASES_NAMED else "")
        yield from _wrapped(f"not counted, {len(names)}: {why} ({some})")
    if learned.hours:
        yield from _wrapped(
            f"{learned.hours:.0f} gear hours: rates are learned. Where of part of the squawks no cause was found, the "
            "hours count for as much less."
        )
        if result.no_profile:
            yield from _wrapped(f"no profile of {', '.join(result.no_profile)}: taken as fitted as usual")
    else:
        yield from _wrapped(
            "No gear hours: only the shares of the causes within each symptom are learned, not how often the gear "
            "fails. --hours, or [hours] in the settings, gives them."
        )
    yield from _wrapped(
        f"A rate of the book counts as {STRENGTH:g} failures, an accuracy as {CHECK_STRENGTH:g} answers. For every "
        f"{LOT} cases no figure moves by more than a fifth (* where it would)."
    )


def _cases(number: int) -> str:
    return f"{number} case" + "s" * (number != 1)


def _rates(result: Result, rates: Sequence[LearnedRate]) -> Iterator[str]:
    yield ""
    yield f"{'Rates, per 1000 flight hours':{NAME}} FOUND  EXPECT    BOOK     NOW  90 % BETWEEN"
    for one in rates[:ROWS]:
        name = _cut(result.stated.faults.get(one.fault, one.fault))
        figure = one.figure
        now = written(figure.now) + ("*" if figure.held else " ")
        yield (
            f"{name:{NAME}} {one.found:5}  {one.expected:6.1f}  {written(figure.was):>6}  {now:>7} "
            f"{written(figure.low, 2)}-{written(figure.high, 2)}"
        )
    if len(rates) > ROWS:
        yield f"  and {len(rates) - ROWS} more, in the diff"
    if not all(one.per_hours for one in rates):
        yield "  Some are plain probabilities, as the book states them."


def _accuracies(result: Result, title: str, accuracies: Sequence[LearnedAccuracy]) -> Iterator[str]:
    yield ""
    yield from _wrapped(title, "")
    yield f"{'':{NAME}} WRONG      OF    BOOK     NOW  90 % BETWEEN"
    for one in accuracies[:ROWS]:
        what = "finds it" if one.what == "detects" else "false alarm"
        name = _cut(f"{what}: {result.stated.checks.get(one.check, one.check)}")
        figure = one.figure
        now = accuracy(figure.now) + ("*" if figure.held else " ")
        yield (
            f"{name:{NAME}} {one.wrong:5.0f}  {one.right + one.wrong:6.0f}  {accuracy(figure.was):>6}  {now:>7} "
            f"{figure.low:.3f}-{figure.high:.3f}"
        )
    if len(accuracies) > ROWS:
        yield f"  and {len(accuracies) - ROWS} more"


def _cut(name: str) -> str:
    return name if len(name) <= NAME else name[: NAME - 3] + "..."


def _elsewhere(result: Result) -> Iterator[str]:
    yield ""
    yield "Not in the overlay: these figures stand where it cannot change them, so write them there"
    for one, where in result.proposal.elsewhere:
        figure = one.figure
        if isinstance(one, LearnedRate):
            name = result.stated.faults.get(one.fault, one.fault)
            moved = (
                f"{'rate' if one.per_hours else 'probability'} {written(figure.was)}, as learned {written(figure.now)}"
            )
        else:
            name = result.stated.checks.get(one.check, one.check)
            moved = f"{one.what} {accuracy(figure.was)}, as learned {accuracy(figure.now)}"
        yield from _wrapped(f"{name}: {moved}; {where}")


def _effect(result: Result, effects: Sequence[Effect]) -> Iterator[str]:
    moves = [effect for effect in effects if effect.moves]
    if not effects:
        return
    yield f"Effect on the advice, each symptom by itself: {len(moves)} of {len(effects)} change so that it shows"
    for effect in moves:
        yield ""
        yield f"  {result.book.symptoms[effect.symptom].name}"
        yield from _two("causes", _order(result, effect.before), _order(result, effect.after))
        if effect.other_step:
            yield from _two("next", effect.step_before, effect.step_after + _saves(effect))
    yield ""


def _saves(effect: Effect) -> str:
    if effect.saves is None:
        return " (the step of now is no longer offered)"
    return f" ({minutes_in_words(effect.saves)} less to the end of the job than by the step of now)"


def _order(result: Result, causes: Sequence[tuple[str, float]]) -> str:
    return "; ".join(f"{result.stated.faults.get(name, name)} {chance:.0%}" for name, chance in causes)


def _two(what: str, now: str, then: str) -> Iterator[str]:
    """What it is now and what it would be; once where that is the same."""
    for label, words in ((f"{what} now", now), ("then", then)) if now != then else ((what, now),):
        yield from textwrap.wrap(
            words, WIDTH, initial_indent=f"    {label + ':':12}", subsequent_indent=" " * 16, break_on_hyphens=False
        )


MENDED = (
    "Once written, `knowledge check` calls each of these an error. Where the rates are right for your aircraft, take "
    "the case out in the overlay, under `cases:` in a file named *.cases.yaml: `ITS-ID: {retires: true, reason: …}`."
)
"""What becomes of cases that move; an overlay that is written and refused next would help nobody."""


def _moved(moved: Moved) -> Iterator[str]:
    if not moved.runs:
        yield "The book would not load with it, so it is not written:"
    elif not (moved.worse or moved.better):
        yield "All regression cases bring out what they did before."
        return
    else:
        yield f"Regression cases: {len(moved.worse)} no longer bring out what they want, {len(moved.better)} do now"
    for title, misses in (("  ", moved.worse), ("  no more: ", moved.better)):
        for miss in misses[:MISSES]:
            yield from textwrap.wrap(title + miss, WIDTH, subsequent_indent="    ", break_on_hyphens=False)
        if len(misses) > MISSES:
            yield f"  and {len(misses) - MISSES} more"
    if moved.runs and moved.worse:
        yield from textwrap.wrap(MENDED, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
