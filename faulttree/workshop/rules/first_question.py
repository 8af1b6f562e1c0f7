"""The question that is asked first about a squawk does not rule out a cause that has nothing else to be known by.

A fault that is tied to a squawk and to one check of its own reads as a sound gear in every question. Where all other
causes of the squawk read otherwise in the one that the advice asks first, an honest answer takes the fault off the
list at once. Say by which result the fault shows there.

Passes::

    components: {latch: {name: Latch}}
    faults:
      bus.hums: {name: hums, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
      bus.sparks: {name: sparks, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
      latch.worn: {name: worn, rate: 0.1, basis: estimate, corrected_by: [straighten-doors]}
    symptoms:
      noise:
        name: Noise
        says: [a noise, it hums, it rattles, humming noise, clatter]
        when: {any_of: [bus.hums, bus.sparks, latch.worn]}
    checks:
      noise-when:
        name: When the noise is heard
        kind: ask
        ask: Is it heard all the way, or at the end?
        minutes: 1
        outcomes:
          all-the-way: {label: All the way, when: {any_of: [bus.hums, latch.worn]}}
          at-the-end: {label: At the end, when: bus.sparks}
          none: {label: No noise, otherwise: true}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate
      look-at-latch:
        name: Look at the latch
        kind: look
        minutes: 20
        outcomes: {worn: {label: Worn, when: latch.worn}, good: {label: Good, otherwise: true}}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate

Fails::

    components: {latch: {name: Latch}}
    faults:
      bus.hums: {name: hums, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
      bus.sparks: {name: sparks, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
      latch.worn: {name: worn, rate: 0.1, basis: estimate, corrected_by: [straighten-doors]}
    symptoms:
      noise:
        name: Noise
        says: [a noise, it hums, it rattles, humming noise, clatter]
        when: {any_of: [bus.hums, bus.sparks, latch.worn]}
    checks:
      noise-when:
        name: When the noise is heard
        kind: ask
        ask: Is it heard all the way, or at the end?
        minutes: 1
        outcomes:
          all-the-way: {label: All the way, when: bus.hums}
          at-the-end: {label: At the end, when: bus.sparks}
          none: {label: No noise, otherwise: true}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate
      look-at-latch:
        name: Look at the latch
        kind: look
        minutes: 20
        outcomes: {worn: {label: Worn, when: latch.worn}, good: {label: Good, otherwise: true}}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from faulttree.advice import Advisor, proofs_of, situation_after
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.book.positions import ADVICE, Problem
from faulttree.workshop.subject import Fitted, Subject

ID = "first-question"
SEVERITY = ADVICE

LEAST_OTHERS = 2
"""Other causes that a squawk has at least: of one alone a question asks nothing that the squawk does not say."""


def check(subject: Subject) -> Iterator[Problem]:
    """Looks for such faults at every option; the advice is asked once for each that there may be."""
    looked: set[str] = set()
    for fitted in subject.fitted:
        for symptom, fault, asked in _ruled_out(fitted):
            item = fitted.written("faults", fault)
            if item.id in looked:
                continue  # at other options it is mostly the same question, and the advice takes its time
            looked.add(item.id)
            first = _first(fitted.book, symptom)
            if first in asked:
                question = fitted.written("checks", first).id
                what = f"the first question about `{symptom}`, `{question}`, rules out fault `{item.id}`"
                right = f"name it in the outcome of `{question}` that it brings about"
                yield Problem(item.spots.key(), what, right, ID)


def _ruled_out(fitted: Fitted) -> Iterator[tuple[str, str, set[str]]]:
    """Symptoms, faults that bring about nothing else and are shown by one check, and the questions about the squawk in
    which such a fault alone of all the symptom's causes reads as a sound gear."""
    differs = fitted.shown[:-1] != fitted.shown[-1]
    questions = np.array([one.kind == "ask" and one.proposed and one.about == "squawk" for one in fitted.checks])
    known_by_one = (np.sum(list(fitted.brings.values()), axis=0) == 1) & (differs.sum(axis=1) == 1)
    names = [one.id for one, asks in zip(fitted.checks, questions, strict=True) if asks]
    for symptom, rows in fitted.brings.items():
        for row in np.flatnonzero(rows & known_by_one):
            item = fitted.written("faults", fitted.faults[row]).id
            others = [r for r in np.flatnonzero(rows) if fitted.written("faults", fitted.faults[r]).id != item]
            if len(others) >= LEAST_OTHERS:
                lone = differs[np.ix_(others, questions)].all(axis=0) & ~differs[row, questions]
                if lone.any():
                    yield symptom, fitted.faults[row], {names[i] for i in np.flatnonzero(lone)}


def _first(book: Book, symptom: str) -> str:
    """The id of what the quick advice would do first."""
    entries = [Reported(symptom)]
    belief = Believer(book, 2).believe(Evidence(tuple(entries)))
    situation = situation_after(book, entries, proofs_of(book, [symptom]))
    return Advisor(book).advise(belief, situation, ahead=False, words=False).suggestions[0].id
