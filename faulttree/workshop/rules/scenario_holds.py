"""The hidden faults of a fixed drill bring about what its pilot reports, and can be mended.

Else the learner looks for something that is not there: the squawk would not come of it, no repair would end it, the
earlier repair would have mended it, a check would show what it never shows on that gear, or the pilot's words assert
what the pilot, asked, would deny.

Passes::

    scenarios:
      dark-in-the-shed:
        name: Dark in the shed
        note: The bus is dead.
        symptoms: [no-up]
        words: stayed down
        hard: [bus.dead]

Fails::

    scenarios:
      dark-in-the-shed:
        name: Dark in the shed
        note: The lamp cannot keep the gear down.
        symptoms: [no-up]
        words: stayed down
        hard: [lamp.dead]
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np

from faulttree.book.drills import Practice, Scenario
from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.book.positions import Problem
from faulttree.graph.gates import Gates

ID = "scenario-holds"


def holding(practice: Practice, book_for: Callable[[tuple[str, ...]], Book]) -> Iterator[Problem]:
    """What is wrong with the scenarios; ``book_for`` gives the book for some options."""
    gates: dict[tuple[str, ...], Gates] = {}
    for scenario in practice.scenarios.values():
        book = book_for(scenario.fitted)
        found = gates.setdefault(scenario.fitted, Gates(book))
        for what, right in (*_wrong(book, found, scenario), *_untrue(book, found, scenario, practice)):
            yield Problem(scenario.position, f"scenario {scenario.id}: {what}", right, ID)


def _wrong(book: Book, gates: Gates, scenario: Scenario) -> Iterator[tuple[str, str]]:
    hidden = (*scenario.hard, *scenario.sleeping)
    for symptom in scenario.symptoms:
        if not _holds(gates, book.symptoms[symptom].when, hidden):
            yield f"its faults do not bring about `{symptom}`", "hide other faults, or report what they do"
    mended = {fault for action in book.actions.values() for fault in action.corrects}
    for fault in hidden:
        if fault not in mended:
            yield f"no repair mends `{fault}`", "hide another fault, or give that one a repair"
    if scenario.earlier is not None and not set(hidden).isdisjoint(book.actions[scenario.earlier].corrects):
        yield f"the earlier repair `{scenario.earlier}` would have mended it", "name a repair of something else"
    for name, outcome in scenario.answers.items():
        check = book.checks[name]
        # What comes and goes may sleep while somebody looks; the pilot tells of when it was awake.
        states = (hidden,) if check.kind == "ask" and check.about == "squawk" else (hidden, scenario.hard)
        true = list(dict.fromkeys(would_show(gates, check, awake) for awake in states))
        if outcome not in true:
            shown = " or ".join(f"`{one}`" for one in true)
            yield f"`{name}` shows {shown} with these faults, not `{outcome}`", "name that, or leave the answer out"


def _untrue(book: Book, gates: Gates, scenario: Scenario, practice: Practice) -> Iterator[tuple[str, str]]:
    """What the pilot's words assert and the pilot, asked, denies."""
    hidden = (*scenario.hard, *scenario.sleeping)
    right = "say it otherwise, or hide what goes with it"
    for heard in practice.asserted(scenario.words, scenario.symptoms):
        if heard.never:
            yield f"its words speak of another kind of gear: `{heard.id}`", right
        for question, those in heard.answers.items():
            if question in book.checks:
                said = scenario.answers.get(question) or would_show(gates, book.checks[question], hidden)
                if said not in those:
                    yield f"its words assert `{heard.id}`, and `{question}` is answered `{said}`", right
        for question, those in heard.opening.items():
            told = scenario.opening.get(question)
            if told is not None and told not in those:
                yield f"its words assert `{heard.id}`, and `{question}` is answered `{told}`", right


def would_show(gates: Gates, check: Check, awake: Iterable[str]) -> str:
    """The outcome that is true of a check while these faults are awake."""
    return check.outcomes[_true(gates, check, awake)].id


def _true(gates: Gates, check: Check, awake: Iterable[str]) -> int:
    for place, outcome in enumerate(check.outcomes[:-1]):
        if outcome.when and (outcome.when == THE_SQUAWK or _holds(gates, outcome.when, tuple(awake))):
            return place
    return len(check.outcomes) - 1


def _holds(gates: Gates, name: str, awake: Sequence[str]) -> bool:
    """Whether an event holds while these faults are awake: one fault set, in the first bit."""
    presence = np.packbits(np.ones((len(awake), 1), dtype=np.bool_), axis=1)
    if not len(awake):
        presence = np.zeros((0, 1), dtype=np.uint8)
    return bool(gates.truth([name], awake, presence)[name][0] & 0b1000_0000)
