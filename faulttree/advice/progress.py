"""Where a job stands after a list of answers and actions: what is done, what is owed, what was found."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from faulttree.advice.barring import wanted_again
from faulttree.advice.situation import Situation
from faulttree.belief import Answer, Did, Entry, Found
from faulttree.book.model import Book


def follow_ups(
    book: Book, actions: Iterable[str], proofs: Sequence[str], ever: Collection[str] = frozenset()
) -> list[str]:
    """Checks due after these actions, each once: their own follow-ups first, the proofs of the squawk last.

    What an action names behind a proof comes after it (an engine is run after work on its pump once the retraction test
    was passed). What has to come before a check, and was not among the checks ``ever`` done, comes right before it.
    What one of them covers is not due beside it.
    """
    before: list[str] = []
    behind: list[str] = []
    for action in actions:
        due = book.actions[action].follow_up
        place = next((i for i, check in enumerate(due) if check in proofs), len(due))
        before += due[:place]
        behind += due[place:]
    checks = [*before, *proofs, *behind]
    covered = {name for check in checks for name in book.checks[check].covers}
    checks = [check for check in checks if check not in covered]
    return list(dict.fromkeys(part for check in checks for part in (*_before(book, check, ever), check)))


def _before(book: Book, check: str, ever: Collection[str]) -> list[str]:
    missing = [name for name in book.checks[check].after if name not in ever]
    return [part for name in missing for part in (*_before(book, name, ever), name)]


def situation_after(
    book: Book,
    entries: Sequence[Entry],
    proofs: Sequence[str],
    *,
    standing: frozenset[str] = frozenset(),
    people: int | None = None,
    lacking: frozenset[str] = frozenset(),
) -> Situation:
    """The situation after entries in the order given; ``proofs`` are those of the symptoms reported.

    Raises KeyError for an action that the book does not have (belief refuses it before).
    """
    done: list[str] = []
    ever: list[str] = []
    owed: list[str] = []
    shown: dict[str, str] = {}
    acted = False
    for entry in entries:
        if isinstance(entry, Did):
            done, owed, acted = [], follow_ups(book, [entry.action], proofs, ever), True
        elif isinstance(entry, Answer):
            done.append(entry.check)
            ever.append(entry.check)
            shown.pop(entry.check, None)
            shown[entry.check] = book.checks[entry.check].outcomes[entry.weights.index(max(entry.weights))].id
            done = [name for name in done if name not in wanted_again(book, entry.check, shown[entry.check])]
            settled = (entry.check, *book.checks[entry.check].covers)
            owed = [check for check in owed if check not in settled]
    found = found_and_open(book, entries)
    return Situation(
        standing, frozenset(done), people, lacking, owed=() if found else tuple(owed), acted=acted,
        ever=frozenset(ever), shown=tuple(shown.items()), found=found,
    )  # fmt: skip


def standing_for(book: Book, check: str) -> tuple[str, ...]:
    """A check and those that cover it: one of them done is enough."""
    return (check, *(other.id for other in book.checks.values() if check in other.covers))


def found_and_open(book: Book, entries: Iterable[Entry]) -> frozenset[str]:
    """Faults that were seen, and that no action after it corrects."""
    found: set[str] = set()
    for entry in entries:
        if isinstance(entry, Found):
            found.add(entry.fault)
        elif isinstance(entry, Did):
            found -= set(book.actions[entry.action].corrects)
    return frozenset(found)


def proofs_of(book: Book, symptoms: Iterable[str]) -> tuple[str, ...]:
    """The proofs that end a job with these symptoms."""
    return tuple(dict.fromkeys(book.symptoms[name].proof for name in symptoms))
