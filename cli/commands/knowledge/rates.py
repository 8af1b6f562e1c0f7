"""`faulttree knowledge rates`: what the shop's closed cases say of the rates, as an overlay to be looked at first."""

from __future__ import annotations

import argparse
import json
import shlex
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from faulttree.clean import plain
from faulttree.errors import FaulttreeError

from ... import options, places, settings, writing

if TYPE_CHECKING:
    from faulttree.book.model import Book
    from faulttree.workshop.effect import Effect, Moved
    from faulttree.workshop.finds import ClosedCase
    from faulttree.workshop.proposal import Proposal, Stated
    from faulttree.workshop.rates import Exposure, Learned

    from ...desk import Desk

MOST_HOURS = 10_000_000


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "rates", "learn rates from closed cases, and show what that changes",
        "Counts the causes that were found in closed cases, not those guessed, and moves the book's rates and the "
        "accuracies of its checks towards them: a few cases little, many far. Shows the overlay that would say so, "
        "as a diff, and its effect on the advice. Nothing is written without a yes. Without gear hours only the "
        "shares of the causes within a symptom are learned, not how often the gear fails.",
        "faulttree knowledge rates",
        "faulttree knowledge rates --family power-pack --hours 5200 --out history.html",
        "faulttree knowledge rates --family electromechanical --write ours --yes",
    )  # fmt: skip
    told = "hours that gears of the one --family flew while the cases came in; else [hours] of the shop's settings"
    parser.add_argument("--hours", type=options.number, metavar="HOURS", help=told)
    parser.add_argument("--write", metavar="DIR", help="the overlay to write into, made if need be, after a yes")
    parser.add_argument("--yes", action="store_true", help="with --write: write without asking")
    options.add_by(parser)
    told = "write here instead of to the screen; here the history in pictures, as HTML, beside what is printed"
    parser.add_argument("--out", metavar="FILE", help=told)
    options.add_bench(parser, "; those that have closed cases without; may be repeated", action="append", default=[])
    parser.set_defaults(run=run)


@dataclass(frozen=True)
class Result:
    """One family: its cases, what they teach, the overlay proposed, what it would do. ``moved`` is None where nothing
    is proposed. ``unread`` are cases without a book to read them with; ``no_profile`` aircraft with hours in the
    settings of which nobody said how they are fitted."""

    family: str
    book: Book
    cases: Sequence[ClosedCase]
    unread: Sequence[str]
    learned: Learned
    stated: Stated
    proposal: Proposal
    path: Path
    difference: str
    effects: Sequence[Effect]
    moved: Moved | None
    no_profile: Sequence[str] = ()


def run(given: argparse.Namespace) -> int:
    """Tells each family as soon as it is through; writes at the end, all or nothing asked about each file."""
    from ...desk import Desk

    if given.yes and not given.write:
        raise FaulttreeError("--yes writes nothing without --write DIR")
    desk = Desk()
    chosen = list(dict.fromkeys(given.family)) or _with_closed_cases(desk)
    _hours_of_known_gear(given)
    if given.hours is not None and len(chosen) != 1:
        raise FaulttreeError("--hours are those of one kind of gear: name it with --family")
    if given.hours is not None and not 1 <= given.hours <= MOST_HOURS:
        raise FaulttreeError(f"--hours must be from 1 to {MOST_HOURS}; without it the settings' are taken")
    if given.out is not None:
        if Path(given.out).suffix.lower() not in (".html", ".htm"):
            raise FaulttreeError(f"{given.out}: the history is HTML; name it .html")
        writing.must_be_able(given.out)
    results = []
    for family in chosen:
        results.append(_result(desk, family, given))
        if not given.json:
            from .rates_told import told

            print(plain("\n".join(told(results[-1]))), flush=True)
    if not chosen and not given.json:
        print("No closed cases yet, so there is nothing to learn.")
    if given.out is not None:
        _put_history(given.out, results)
    written = _write(given, results)
    if given.json:
        print(json.dumps({"families": {r.family: _as_data(r) for r in results}, "written": written}, indent=2))
    return 0


def _hours_of_known_gear(given: argparse.Namespace) -> None:
    """Refuses hours of the settings that no gear has: a slip that would learn shares alone, without a word."""
    from faulttree.book import families
    from faulttree.book.nearest import did_you_mean

    shop = settings.read()
    known = families([places.shipped_book(), *map(Path, shop.overlays_and(given.knowledge))])
    for name in shop.hours:
        if name not in known:
            right = did_you_mean(name, known, "there are " + ", ".join(known))
            raise shop.bad("hours", name, f"no knowledge is there of gear {name!r}", right)


def _with_closed_cases(desk: Desk) -> list[str]:
    from faulttree.store import Wanted

    cards = [card for away in (False, True) for card in desk.cases.cards(Wanted("closed", archived=away))[0]]
    return sorted({card.family for card in cards})


def _result(desk: Desk, family: str, given: argparse.Namespace) -> Result:
    from faulttree.workshop.effect import as_proposed, effects, moved_cases
    from faulttree.workshop.proposal import FILE, difference, place, propose, stated
    from faulttree.workshop.rates import learn

    from ...desk import signed

    shop = settings.read()
    overlays = [Path(folder) for folder in given.knowledge or shop.overlays]
    target = Path(given.write) if given.write else _holding(overlays, family)
    folders = [places.shipped_book(), *overlays]
    if target is not None and target.is_dir() and target.absolute() not in [folder.absolute() for folder in folders]:
        folders.append(target)
    today = Today(folders, family)
    if sys.stderr.isatty():
        print(f"{family}: reading cases ...", file=sys.stderr)
    cases, squawks, unread = _cases(desk, family, today)
    exposures = _exposures(desk, family, today, cases, given.hours, shop)
    learned = learn(family, cases, exposures, squawks)
    known = stated(folders, family, target)
    path = place(target or Path("DIR"), family)
    proposal = propose(
        learned, known, path.read_text(encoding="utf-8") if target and path.is_file() else "", signed(given.by)
    )
    changed: list[Effect] = []
    moved: Moved | None = None
    if proposal.changes:
        if sys.stderr.isatty():
            print(f"{family}: working out what it would change ...", file=sys.stderr)
        with as_proposed(folders, family, target, proposal.text) as proposed:
            moved = moved_cases(folders, proposed, family)
            if moved.runs:
                changed = list(effects(_read(folders, family), _read(proposed, family)))
    shown = str(path) if target else f"{family}/{FILE}"
    diff = difference(proposal, shown)
    no_profile = [name for name in shop.hours.get(family, {}) if given.hours is None and not desk.profiles.find(name)]
    return Result(
        family, today.book(()), cases, unread, learned, known, proposal, path, diff, changed, moved,
        [name for name in no_profile if name],
    )  # fmt: skip


def _holding(overlays: Sequence[Path], family: str) -> Path | None:
    """The overlay that holds what was learned before, None where none does."""
    from faulttree.workshop.proposal import place

    return next((overlay for overlay in overlays if place(overlay, family).is_file()), None)


def _read(folders: Sequence[Path], family: str) -> Book:
    from faulttree.book import read_book

    reading = read_book(folders, family, cache=places.cache_folder())
    if reading.book is None:
        raise places.BadBook("\n".join(map(str, reading.problems)))
    return reading.book


class Today:
    """The book of now without what was learned before, at the options of any aircraft. Each is read once."""

    def __init__(self, folders: Sequence[Path], family: str) -> None:
        self._folders, self._family = folders, family
        self._books: dict[tuple[str, ...], Book] = {}
        self._taught: dict[str, str] | None = None

    def book(self, fitted: Sequence[str]) -> Book:
        """Raises BadBook with every problem on a line of its own."""
        from faulttree.book import read_book
        from faulttree.workshop.proposal import FILE

        key = tuple(sorted(fitted))
        if key not in self._books:
            reading = read_book(self._folders, self._family, key, places.cache_folder(), without=FILE)
            if reading.book is None:
                raise places.BadBook("\n".join(map(str, reading.problems)))
            self._books[key] = reading.book
        return self._books[key]

    def taught(self) -> Mapping[str, str]:
        """The causes of closed cases that were taught since, by the case's name: as cases of the knowledge say."""
        from faulttree.book import read_cases

        if self._taught is None:
            cases = read_cases(self._folders, self._family).cases
            self._taught = {case.from_case: case.expect.cause or "" for case in cases if case.from_case}
        return self._taught


def _cases(desk: Desk, family: str, today: Today) -> tuple[list[ClosedCase], list[tuple[str, ...]], list[str]]:
    """Closed cases, the oldest first; the symptoms of all cases; names of those without a book to read them with."""
    from faulttree.case import opening_of
    from faulttree.store import Wanted
    from faulttree.workshop.finds import ClosedCase

    today.book(())  # where the book itself does not load, that is what is wrong, and not the cases
    cards = [card for away in (False, True) for card in desk.cases.cards(Wanted(archived=away))[0]]
    ours = sorted((card for card in cards if card.family == family), key=lambda card: (card.opened_at, card.name))
    found, unread = [], []
    worked: dict[tuple[str, tuple[str, ...]], Book] = {}
    for card in ours:
        if card.state == "closed":
            entries = desk.cases.read(card.name)
            opened = opening_of(card.name, entries)
            key = (opened["digest"], tuple(sorted(opened["fitted"])))
            try:
                if key not in worked:
                    worked[key] = desk.book_of(card.name, entries)
                taught = today.taught().get(card.name, "")
                found.append(ClosedCase(card.name, entries, worked[key], today.book(opened["fitted"]), taught))
            except places.BadBook:
                unread.append(card.name)
    return found, [card.symptoms for card in ours if card.symptoms], unread


def _exposures(
    desk: Desk, family: str, today: Today, cases: Sequence[ClosedCase], hours: float | None, shop: settings.Settings
) -> list[Exposure]:
    """Hours by options: by aircraft as the settings have them, or a total as if all that had cases flew alike."""
    from faulttree.workshop.rates import Exposure

    by_aircraft = {"": hours} if hours is not None else dict(shop.hours.get(family, {}))
    total = by_aircraft.pop("", None)
    if total is not None:
        flew = {str(case.entries[0].data.get("job", "")): case.today for case in cases}
        books = list(flew.values()) or [today.book(())]
        return [Exposure(total / len(books), book) for book in books]
    exposures = []
    for name, flown in by_aircraft.items():
        profile = desk.profiles.find(name)
        fitted = [f"{group}={option}" for group, option in profile.fitted.items()] if profile else []
        exposures.append(Exposure(flown, today.book(fitted)))
    return [exposure for exposure in exposures if exposure.hours > 0.0]


def _put_history(out: str, results: Sequence[Result]) -> None:
    from faulttree.workshop.history import look_back
    from faulttree.workshop.pictures import Family, as_html

    pages = [
        Family(r.book, r.stated.faults, len(r.cases), len(r.learned.finds), look_back(r.cases, r.learned.finds))
        for r in results
    ]
    try:
        Path(out).write_text(as_html(pages), encoding="utf-8")
    except OSError as problem:
        raise FaulttreeError(f"{out}: cannot be written ({problem.strerror})") from problem
    print(f"Written: {out}", file=sys.stderr)


def _write(given: argparse.Namespace, results: Sequence[Result]) -> list[str]:
    """Writes what was agreed to. Returns the files. A book that would not load is never written."""
    from faulttree.workshop.proposal import put

    written = []
    for result in results:
        if not result.proposal.changes or (result.moved is not None and not result.moved.runs):
            continue
        if not given.write:
            if not given.json:
                print(f"{result.family}: nothing was written; --write DIR does, after a yes.")
        elif _agreed(given, result):
            try:
                put(result.path, result.proposal.text)
            except OSError as problem:
                raise FaulttreeError(f"{result.path}: cannot be written ({problem.strerror})") from problem
            written.append(str(result.path))
            print(f"Written: {result.path}. It holds with --knowledge {shlex.quote(given.write)}.", file=sys.stderr)
        elif not given.json:
            print(f"{result.family}: nothing was written.")
    return written


def _agreed(given: argparse.Namespace, result: Result) -> bool:
    from ...terminal import Terminal

    if given.yes or given.json or not (given.plain or Terminal.is_there()):
        return bool(given.yes)
    from ...plain_terminal import open_terminal

    return open_terminal(given.plain).key(f"Write {result.path}? y or n: ", ("y", "n")) == "y"


def _as_data(result: Result) -> Mapping[str, Any]:
    learned = result.learned
    return {
        "closed": len(result.cases),
        "found": [{"case": f.case, "fault": f.fault, "by": f.by, "symptoms": f.symptoms} for f in learned.finds],
        "left_out": [{"why": why, "cases": names} for why, names in learned.left_out.items()],
        "unread": list(result.unread),
        "hours": learned.hours,
        "rates": [{**asdict(rate), "held": rate.figure.held} for rate in learned.rates],
        "accuracies": [{**asdict(one), "held": one.figure.held} for one in learned.accuracies],
        "file": str(result.path),
        "proposed": result.proposal.text,
        "diff": result.difference,
        "effect": [asdict(effect) for effect in result.effects if effect.moves],
        "cases_moved": None if result.moved is None else asdict(result.moved),
    }
