"""What was learned from closed cases as one file of an overlay: what it would say, and how that differs from now.

The file is made anew each time from all closed cases, over the book without it: so no case is ever counted twice.
"""

from __future__ import annotations

import difflib
import json
import math
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from faulttree.book.files import collect
from faulttree.book.legs import ANY, any_leg_name, leg_text
from faulttree.book.merge import Amendment, Entry
from faulttree.book.positions import Position
from faulttree.workshop.finds import SEEN
from faulttree.workshop.rates import CHECK_STRENGTH, STRENGTH, Figure, Learned, LearnedAccuracy, LearnedRate

FILE = "rates-from-cases.yaml"
"""The file in the family's folder of an overlay that holds what was learned, and nothing else."""

LEAST, LEAST_ACCURACY = 1.1, 1.25
"""A rate that moves by a smaller factor stays as it is, and so does an accuracy, by the part that is wrong: a figure
that nobody would notice is not worth a line."""

LEARNED = ("rate", "probability", "detects", "false_alarm")
"""Fields of faults and checks that are learned."""

DIGITS = 3


@dataclass(frozen=True, slots=True)
class Stated:
    """How the book without FILE states its figures. ``faults`` and ``checks`` are names for people by the ids of the
    files; ``as_one`` are the checks that state one ``detects`` for all outcomes; ``elsewhere`` is where a figure stands
    that FILE cannot change, by id and field: one of an entry of the same overlay, which cannot amend itself, or one
    that an amendment read after FILE states."""

    faults: Mapping[str, str]
    checks: Mapping[str, str]
    as_one: frozenset[str]
    elsewhere: Mapping[tuple[str, str], Position] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The ``text`` that FILE is to hold, "" where it is not to be, and the ``old`` one; what of the learned goes in;
    ``by_hand`` are accuracies that the book states outcome by outcome, ``elsewhere`` figures that FILE cannot change,
    with where they stand."""

    text: str
    old: str
    rates: tuple[LearnedRate, ...]
    accuracies: tuple[LearnedAccuracy, ...]
    by_hand: tuple[LearnedAccuracy, ...]
    elsewhere: tuple[tuple[LearnedRate | LearnedAccuracy, Position], ...] = ()

    @property
    def changes(self) -> bool:
        """Whether there is anything to be written; by whom and when alone would be nothing."""
        return _unsigned(self.text) != _unsigned(self.old)


def stated(folders: Sequence[Path], family: str, target: Path | None) -> Stated:
    """The names of faults and checks and how accuracies are stated. ``target``: the overlay that is to hold FILE."""
    from faulttree.book.reader import load

    files, problems = collect(folders, family)
    written = load([file for file in files if Path(file.name).name != FILE], family, problems).written
    faults, checks = {}, {}
    for item in written.faults.values():
        component = written.components[item.id.split(".", 1)[0]].form
        leg = ANY if component.legs else None
        name = any_leg_name(component.name) if component.legs else component.name
        faults[item.id] = f"{name}: {leg_text(item.form.name, leg)}"
    for check in written.checks.values():
        checks[check.id] = leg_text(check.form.name, None)
    as_one = {c.id for c in written.checks.values() if all(o.detects is None for o in c.form.outcomes.values())}
    layer = next((i for i, folder in enumerate(folders) if target is not None and _same(folder, target)), None)
    elsewhere: dict[tuple[str, str], Position] = {}
    if layer is not None:
        for section in ("faults", "checks"):
            for entry in written.entries[section].values():
                elsewhere |= _out_of_reach(entry, layer, family)
    return Stated(faults, checks, frozenset(as_one), elsewhere)


def _out_of_reach(entry: Entry, layer: int, family: str) -> Iterator[tuple[tuple[str, str], Position]]:
    """Where figures of an entry stand that FILE in this layer cannot change."""
    for what in LEARNED:
        if entry.layer == layer and what in entry.data:
            yield (entry.id, what), entry.spots.key(what)
        for amendment in entry.amendments:
            where = amendment.fields.get(what)
            if where is not None and (amendment.layer > layer or _read_after(amendment, layer, family)):
                yield (entry.id, what), where


def _read_after(amendment: Amendment, layer: int, family: str) -> bool:
    """Whether it stands in the same overlay in a file of the family's folder that is read after FILE."""
    file = Path(amendment.where.file)
    return amendment.layer == layer and file.parent.name == family and file.name > FILE


def _same(one: Path, other: Path) -> bool:
    return one.absolute() == other.absolute()


def place(target: Path, family: str) -> Path:
    """Where FILE of a family lies in an overlay."""
    return target / family / FILE


def propose(learned: Learned, book: Stated, old: str = "", signed: Mapping[str, str] | None = None) -> Proposal:
    """What of the learned is worth writing, and the file with it. ``old`` is what the file holds now.

    ``signed`` is what is written beside each amendment: ``by`` whom, on which ``date``.
    """
    rates = [r for r in learned.rates if r.fault in book.faults and moves(r.figure, LEAST)]
    moved = [a for a in learned.accuracies if a.check in book.checks and moves(a.figure, LEAST_ACCURACY, accuracy)]
    stand = {(r.fault, "rate" if r.per_hours else "probability"): r for r in rates} | {
        (a.check, a.what): a for a in moved
    }
    elsewhere = [(one, book.elsewhere[key]) for key, one in stand.items() if key in book.elsewhere]
    held_back = [one for one, _ in elsewhere]
    rates, moved = [r for r in rates if r not in held_back], [a for a in moved if a not in held_back]
    by_hand = [a for a in moved if a.what == "detects" and a.check not in book.as_one]
    accuracies = [a for a in moved if a not in by_hand]
    text = "\n".join(_lines(learned, rates, accuracies, signed or {})) + "\n" if rates or accuracies else ""
    return Proposal(text, old, tuple(rates), tuple(accuracies), tuple(by_hand), tuple(elsewhere))


def difference(proposal: Proposal, path: str) -> str:
    """The unified diff from what FILE holds to what it is to hold; "" where they are the same."""
    old, new = proposal.old.splitlines(keepends=True), proposal.text.splitlines(keepends=True)
    before = path if proposal.old else "/dev/null"
    return "".join(difflib.unified_diff(old, new, before, path if proposal.text else "/dev/null", n=1))


def put(path: Path, text: str, private: bool = False) -> None:
    """The file with this text, written beside it first, so that nobody reads half of it; no file for "".

    One that is ``private``, and a folder made for it, is for its owner alone. Raises OSError.
    """
    if not text:
        path.unlink(missing_ok=True)
        return
    path.parent.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.unlink(missing_ok=True)  # one left behind may have other rights
    rights = 0o600 if private else 0o666
    with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, rights), "w", encoding="utf-8") as stream:
        stream.write(text)
    os.replace(part, path)


def moves(figure: Figure, least: float, said: Callable[[float], str] | None = None) -> bool:
    """Whether it moves enough, on the side where it is rarer; of what would read the same, nothing is written."""
    was, now = (f if figure.was <= 0.5 else 1.0 - f for f in (figure.was, figure.now))
    said = said or written
    if said(figure.was) == said(figure.now):
        return False
    return was <= 0.0 or abs(math.log(max(now, 1e-9) / was)) >= math.log(least)


def written(figure: float, digits: int = DIGITS) -> str:
    """A number as the book writes it: so many digits that count, no exponent."""
    if figure == 0.0:
        return "0"
    places = max(digits - 1 - math.floor(math.log10(abs(figure))), 0)
    text = f"{figure:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def accuracy(figure: float) -> str:
    """A probability as the book writes it, near 1 as finely as near 0."""
    return written(figure) if figure <= 0.5 else f"{figure:.4f}".rstrip("0").rstrip(".")


def _unsigned(text: str) -> list[str]:
    return [line for line in text.splitlines() if not line.startswith(("    by: ", "    date: "))]


def _lines(
    learned: Learned,
    rates: Sequence[LearnedRate],
    accuracies: Sequence[LearnedAccuracy],
    signed: Mapping[str, str],
) -> Iterator[str]:
    amending = ["    amends: true", f"    reason: learned from {len(learned.finds)} closed cases"]
    amending += [f"    {word}: {json.dumps(said, ensure_ascii=False)}" for word, said in signed.items()]
    seen = sum(find.by == SEEN for find in learned.finds)
    hours = f"{learned.hours:.0f} gear hours" if learned.hours else "no gear hours, so of shares within a symptom alone"
    yield f"# Made by `faulttree knowledge rates` of {len(learned.finds)} closed cases with a cause that was found"
    yield f"# ({seen} seen) and {hours}."
    yield f"# A rate of the book counts as {STRENGTH:g} failures, an accuracy as {CHECK_STRENGTH:g} answers."
    yield "# Made anew each time: what is written in here by hand is lost."
    if rates:
        yield "faults:"
    for one in sorted(rates, key=lambda one: one.fault):
        word = "rate" if one.per_hours else "probability"
        note = f"found {one.found}, expected {one.expected:.1f}; {_whence(one.figure, written)}"
        yield f"  {one.fault}:"
        yield from amending
        yield f"    {word}: {written(one.figure.now)}"
        yield f"    basis: {{kind: shop-history, note: {json.dumps(note)}}}"
    if accuracies:
        yield "checks:"
    by_check: dict[str, list[LearnedAccuracy]] = {}
    for each in accuracies:
        by_check.setdefault(each.check, []).append(each)
    for check, figures in sorted(by_check.items()):
        yield f"  {check}:"
        yield from amending
        yield from (f"    {each.what}: {accuracy(each.figure.now)}" for each in figures)
        note = "; ".join(_told(each) for each in figures) + "; all else as in the book, an estimate"
        yield f"    basis: {{kind: shop-history, note: {json.dumps(note)}}}"


def _told(one: LearnedAccuracy) -> str:
    word = "detects" if one.what == "detects" else "false alarms"
    return f"{word}: {one.wrong:.0f} of {one.right + one.wrong:.0f} answers wrong, {_whence(one.figure, accuracy)}"


def _whence(figure: Figure, said: Callable[[float], str]) -> str:
    held = f", held from {said(figure.by_count)}: so few cases move it no further" if figure.held else ""
    return f"book {said(figure.was)}, 90 % {said(figure.low)} to {said(figure.high)}{held}"
