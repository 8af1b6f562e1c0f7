"""Whether the logs are as they were written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from faulttree.case import holds, verify
from faulttree.errors import BadCase
from faulttree.store.cases import Cases
from faulttree.store.database import StoreError


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found of one case: empty ``wrong`` where all is as it was written."""

    name: str
    entries: int
    digest: str
    wrong: str = ""


def verify_cases(cases: Cases, names: Iterable[str], digest: str | None = None) -> list[Verdict]:
    """Check the chain of each case, and its card; ``digest`` is the one that a record shows. Raises BadCase."""
    found = []
    for name in names:
        card = cases.card(name)
        if card is None:
            raise BadCase(f"there is no case {name!r}; `faulttree cases` lists them")
        try:
            entries = cases.read(name)
        except (BadCase, StoreError) as problem:
            found.append(Verdict(name, card.entries, card.digest, str(problem)))
            continue
        broken = verify(entries)
        wrong = broken.what if broken else ""
        last = entries[-1]
        if not wrong and card.entries != last.number:
            wrong = f"{abs(card.entries - last.number)} entries are missing at its end, or were added by other means"
        if not wrong and card.digest != last.digest:
            wrong = "its last entry is not the one that was written last"
        if not wrong and digest is not None and not holds(entries, digest):
            wrong = "no entry has the digest given: the end was cut off, or the record is of another case"
        found.append(Verdict(name, last.number, last.digest, wrong))
    return found
