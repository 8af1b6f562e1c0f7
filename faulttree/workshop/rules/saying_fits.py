"""Words that a pilot's saying is heard by are in some saying, and go with some cause of its squawk.

A drill lets its pilot say only what the pilot would also answer when asked (`heard`). Words that no saying holds watch
over nothing; a saying that goes with no single cause of its squawk is never said, so what is heard in it is wrong.

Passes::

    heard:
      stayed:
        words: [stayed down]
        answers: {lamp-lit: ["no"]}

Fails::

    heard:
      stayed:
        words: [stayed downn]
        answers: {lamp-lit: ["no"]}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.drills import Heard, Practice, sayings
from faulttree.book.model import Book
from faulttree.book.positions import Problem
from faulttree.graph.gates import Gates
from faulttree.workshop.rules.scenario_holds import would_show

ID = "saying-fits"


def fitting(practice: Practice, book: Book) -> Iterator[Problem]:
    """What is wrong with what is heard in the sayings of a book."""
    gates = Gates(book)
    unheard = dict(practice.heard)
    for symptom in book.symptoms.values():
        causes = sorted(gates.below(symptom.when))
        goes: dict[tuple[str, ...], bool] = {}  # many sayings assert the same
        for text in sayings(symptom):
            asserted = list(practice.asserted(text, (symptom.id,)))
            for heard in asserted:
                unheard.pop(heard.id, None)
            if any(heard.never for heard in asserted):
                continue
            key = tuple(heard.id for heard in asserted)
            if key not in goes:
                goes[key] = not asserted or any(_goes(book, gates, cause, asserted) for cause in causes)
            if not goes[key]:
                what = f'"{text}" of `{symptom.id}` goes with none of its causes as {_named(asserted)} hears it'
                yield Problem(asserted[0].position, what, "name more answers, or `symptoms` that it is about", ID)
    for heard in unheard.values():
        if not any(heard.said(one.words, one.symptoms) for one in practice.scenarios.values()):
            yield Problem(
                heard.position, f"`{heard.id}`: no pilot says any of its words", "copy them from a saying", ID
            )


def _goes(book: Book, gates: Gates, cause: str, asserted: list[Heard]) -> bool:
    return all(
        would_show(gates, book.checks[question], (cause,)) in those
        for heard in asserted
        for question, those in heard.answers.items()
    )


def _named(asserted: list[Heard]) -> str:
    return " and ".join(f"`{heard.id}`" for heard in asserted)
