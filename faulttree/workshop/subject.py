"""What the rules of substance look at: the entries as written, and the books that they make at each option."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from faulttree.book.expand import Draft
from faulttree.book.items import Item, Written
from faulttree.book.model import Book, Check
from faulttree.workshop.testability import holding_alone, outcomes_alone, telling


@dataclass(frozen=True)
class Fitted:
    """A sound book at some options, and what single faults do in it.

    ``shown`` holds places of the true outcomes, (n_faults + 1, n_checks), the sound gear last; ``brings`` for each
    symptom whether a fault alone brings it about, (n_faults,).
    """

    draft: Draft

    @property
    def book(self) -> Book:
        """The book itself."""
        return self.draft.book

    @cached_property
    def faults(self) -> list[str]:
        """All faults, in the order of rows."""
        return list(self.book.faults)

    @cached_property
    def checks(self) -> list[Check]:
        """The checks that tell faults apart, in the order of columns."""
        return telling(self.book)

    @cached_property
    def shown(self) -> np.ndarray:
        """See the class."""
        return outcomes_alone(self.book, self.faults)

    @cached_property
    def brings(self) -> dict[str, np.ndarray]:
        """See the class."""
        holds = holding_alone(self.book, self.faults, [s.when for s in self.book.symptoms.values()])
        return {symptom.id: holds[symptom.when][:-1] for symptom in self.book.symptoms.values()}

    def written(self, section: str, expanded: str) -> Item[Any]:
        """The entry as written that an id of the book comes from."""
        return self.draft.origin[section, expanded]


@dataclass(frozen=True)
class Subject:
    """One family: entries as written, and the sound book at the defaults and at other options, ``whole`` if at all."""

    written: Written
    fitted: Sequence[Fitted]
    whole: bool = True

    def everywhere(self, section: str) -> Iterator[tuple[Fitted, str]]:
        """Each id of a section once, with the first book that has it: the one at the defaults where it is there."""
        seen: set[str] = set()
        for fitted in self.fitted:
            for name in getattr(fitted.book, section):
                if name not in seen:
                    seen.add(name)
                    yield fitted, name


def subject(drafts: Sequence[Draft], whole: bool = True) -> Subject:
    """What the rules look at, of books that were found sound."""
    return Subject(drafts[0].written, tuple(Fitted(draft) for draft in drafts), whole)
