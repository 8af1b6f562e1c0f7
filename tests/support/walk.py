"""A case worked in any order: every key a prompt has, any words, left and taken up again, another writer in between.

The dialogue is driven as the loop of `faulttree work` drives it, on a real database; after each step ``faults`` tells
what does not hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from pathlib import Path

from faulttree.advice import Advice, Situation
from faulttree.belief import Belief, Believer, Evidence
from faulttree.book import read_texts
from faulttree.book.model import Action, Book, Check
from faulttree.case import CaseEntry, CaseState, add_up, misfit, verify
from faulttree.case.course import history
from faulttree.dialogue import Dialogue, NewEntry, Prompt, Reply
from faulttree.store import Cases, Database, Overtaken, verify_cases
from tests.jobs.rules import breaches
from tests.jobs.scene import Facts
from tests.support.small_family import FAMILY, shared_texts

LINES = {"squawk": "wheels wont come up", "stands-now": "-", "measure": "11.9 V", "limit": "12 V; manual 24-30",
         "instrument": "meter 4; 2027"}  # fmt: skip
"""What is typed where words are asked for and a case is to go on."""

CLOSE = 1e-9
LOOKS = 60
"""How often the play of the steps ahead may look whether it has to stop, before it does."""

LARGE = 40
"""Checks from which on a book is a large one. There a check that says something of parts that nothing else has touched
takes a quarter of a second (28 measured), since belief over these is worked out too; all of them would take half a
minute."""

ANEW = 5
"""Of a large book one in so many moments is worked out anew, and the results of one more check are added up then, the
next one in its turn; at the others those of the check that is proposed."""

MEASURED = """
limits:
  lead-volts: {name: Voltage at the lead, unit: V, where: the wiring chapter, typical: 12, basis: estimate}
checks:
  volts-at-lead:
    name: Voltage at the lead
    kind: test
    needs: [master-on]
    minutes: 5
    equipment: [multimeter]
    outcomes:
      low: {label: Below the limit, when: guard-switch.lead-chafed}
      holds: {label: Holds up, otherwise: true}
    detects: 0.9
    false_alarm: 0.05
    reading: {quantity: voltage, unit: V, error: 0.1, limit: lead-volts, below: low, above: holds}
    basis: estimate
"""
"""What the small family lacks: a check that is read off an instrument."""


def measured_book() -> Book:
    """The made-up family with a reading."""
    texts = {**shared_texts(), "made-up/all.yaml": FAMILY, "made-up/measured.yaml": MEASURED}
    reading = read_texts(texts, "made-up")
    assert reading.book is not None, "\n".join(map(str, reading.problems))
    return reading.book


class Walk:
    """One case in a database of its own."""

    def __init__(self, book: Book, folder: Path) -> None:
        self.book, self.facts = book, Facts(book)
        self.database = Database(folder / "cases.sqlite")
        self.cases = Cases(self.database)
        self.dialogue = Dialogue(book)
        self.moments = 0
        self._looked_at: tuple[Evidence, Situation, Advice] | None = None
        self._state: CaseState | None = None
        self._asked: tuple[str, Prompt | None] | None = None
        self.begin()

    def begin(self) -> None:
        """A new case, behind those that came to their end."""
        book = self.book
        fitted = [f"{group}={option}" for group, option in book.fitted.items()]
        opened = {"family": book.family, "fitted": fitted, "job": "QQ-ELM", "digest": book.digest, "overlays": []}
        self.name, first = self.cases.open("mechanic", opened)
        self.entries = [first]
        self.view, self.said = "", ""
        self.acknowledged = [first.digest]
        self._moved()

    def open_up(self, locked: bool) -> None:
        """What is asked before the work, as far as it was not answered: a squawk, its symptom, legs known or not."""
        if self.entries[1:]:
            return
        legs = ("2", "1") if locked else ("1", "3")  # lowered by the emergency means? all legs known to be locked?
        for typed in ("wheels wont come up", "yes", "", *legs, "", ""):
            asked = self.asked()
            if asked is None or asked.topic in ("next", "question"):
                return
            keys = {choice.key: choice.value for choice in asked.choices}
            self.type(typed if asked.text else keys.get(typed, typed))

    def measure(self) -> None:
        """Go to the check that is read off an instrument, from the main screen."""
        asked = self.asked()
        if asked is not None and asked.board is not None:
            self.view = "jump voltage"
            self.type("1")

    def close(self) -> None:
        """Give the connections back."""
        self.database.close()

    # -- doing -----------------------------------------------------------------------------------------

    def _moved(self) -> None:
        """What stands on the screen and what the entries add up to is no longer what it was."""
        self._state = self._asked = None

    def state(self) -> CaseState:
        """What the entries add up to, worked out once as long as they are the same."""
        if self._state is None:
            self._state = add_up(self.book, self.entries)
        return self._state

    def asked(self) -> Prompt | None:
        """What is on the screen, None at the end. Made once, as the program does, until something is done."""
        if self.view == "so-far":
            history(self.book, self.entries, short=True)
            self.view = ""
        if self._asked is None or self._asked[0] != self.view:
            self._asked = self.view, self.dialogue.prompt(self.state(), self.view)
        return self._asked[1]

    def is_over(self) -> bool:
        """Whether the case was at its end; then the next one is begun, or one left open is taken up again."""
        if self.asked() is not None:
            return False
        if self.state().closed:
            self.begin()
        else:
            self.resume()
        return True

    def type(self, typed: str) -> None:
        """A line of words, or the value of a key."""
        asked = self.asked()
        if asked is None:
            return
        words = (typed or asked.default or "") if asked.text else typed
        self._take(self.dialogue.accept(self.state(), asked, words))

    def press(self, number: int, aside: bool = False) -> None:
        """One of the keys, ``aside`` of those below the answers; one of the listed numbers where words are wanted."""
        asked = self.asked()
        if asked is None:
            return
        keys = [*(() if aside and asked.commands else asked.choices), *asked.commands]
        if not keys:
            self.type("")
        elif asked.text:
            self.type(keys[number % len(keys)].key)
        else:
            self.type(keys[number % len(keys)].value)

    def go_on(self, last: bool = False) -> None:
        """What is proposed, or the first (``last``: the last) of what may be answered."""
        asked = self.asked()
        if asked is not None and asked.text:
            self.type(LINES.get(asked.topic, ""))
        elif asked is not None and not asked.choices:
            self.press(0)
        elif asked is not None:
            self.type(asked.choices[-1 if last and asked.topic in ("question", "outcome") else 0].value)

    def _take(self, reply: Reply) -> None:
        self._moved()
        self.view, self.said = reply.view, reply.say
        if reply.view == "leave":
            self.view = ""
        if reply.entries:
            self._append(reply.entries)

    def _append(self, new: tuple[NewEntry, ...]) -> None:
        try:
            added = self.cases.append(self.name, len(self.entries), "mechanic", [(e.kind, e.data) for e in new])
        except Overtaken as news:
            added, self.view = news.added, ""
        self.entries += added
        self.acknowledged += [entry.digest for entry in added]

    def refine(self) -> None:
        """Beside the prompt: the steps are played ahead, the next screens prepared."""
        asked, looks = self.asked(), iter(range(LOOKS))
        if asked is not None and asked.topic in ("next", "question", "why", "outcome"):
            self.dialogue.beside(self.state(), asked, lambda: next(looks, None) is None)
            self._moved()

    def resume(self) -> None:
        """The program ends, and somebody takes the case up again from the database."""
        self.database.close()
        self.dialogue = Dialogue(self.book)
        self.entries = self.cases.read(self.name)
        self._moved()
        self.acknowledged = [entry.digest for entry in self.entries]
        state = self.state()
        self.view = "" if state.closed else "taken-up" if state.left_open is not None else "as-it-stands"

    def elsewhere(self, text: str) -> None:
        """Somebody else adds a note; this writer has not seen it yet."""
        with_note = [("note", {"text": text})]
        self.cases.append(self.name, len(self.cases.read(self.name)), "night shift", with_note)

    # -- looking ---------------------------------------------------------------------------------------

    def faults(self) -> Iterator[str]:
        """All that does not hold now, in words."""
        kept = self.cases.read(self.name)
        digests = [entry.digest for entry in kept]
        if digests[: len(self.acknowledged)] != self.acknowledged:
            yield f"an acknowledged entry is lost or changed: {len(digests)} of {len(self.acknowledged)}"
        broken = verify(kept)
        if broken is not None:
            yield f"the log does not hold: {broken.what}"
        if misfit(kept):
            yield f"an entry of its own would not be taken in: {misfit(kept)}"
        yield from (verdict.wrong for verdict in verify_cases(self.cases, [self.name]) if verdict.wrong)
        live, again = self.state(), add_up(self.book, kept[: len(self.entries)])
        if live != again:
            yield "the log replayed gives another state than the one at work"
        if live.reported and live.symptoms_settled:
            yield from self._thoughts(live)
        yield from unread(self.facts, kept)

    def _thoughts(self, state: CaseState) -> Iterator[str]:
        """What is wrong with belief and advice, where one of them is new; of a large book with a part of belief."""
        belief, situation, advice = (
            self.dialogue.believe(state),
            state.situation(self.book),
            self.dialogue.advise(state),
        )
        known, self._looked_at = self._looked_at, (belief.evidence, situation, advice)
        if known is None or known[0] != belief.evidence:
            self.moments += 1
            yield from self._belief(state, belief, advice.suggestions[0].id if advice.suggestions else "")
        if known is None or known[:2] != self._looked_at[:2] or known[2] is not advice:
            yield from self._advice(state, belief, situation, advice)

    def _belief(self, state: CaseState, belief: Belief, proposed: str) -> Iterator[str]:
        checks, large = list(self.book.checks), len(self.book.checks) > LARGE
        looked_at = [name for name in checks if not large or name == proposed]
        if not large or self.moments % ANEW == 0:
            fresh = Believer(self.book).believe(state.beliefs())
            if any(not same(b.probability, fresh.faults[f].probability) for f, b in belief.faults.items()):
                yield "belief kept beside the work differs from belief worked out anew"
        if large and self.moments % ANEW == 0:
            looked_at.append(checks[self.moments // ANEW % len(checks)])
        yield from impossible(belief, looked_at)

    def _advice(self, state: CaseState, belief: Belief, situation: Situation, advice: Advice) -> Iterator[str]:
        if not state.other_repairs:  # what is due after these cannot be told from the evidence
            told = breaches(self.facts, belief.evidence, situation, advice, belief)
            # What was left out with a reason counts as seen to; the rules go by answers alone.
            left_out = situation.done - situation.ever
            yield from (one for one in told if not (left_out and one.startswith("prerequisites_are_done")))
        for step in advice.suggestions:
            pair = self.dialogue.advisor.moves.conflict(self.facts.with_implied((*step.needs, *step.also)))
            if pair is not None:
                yield f"{step.id}: what it needs cannot stand together: {pair}"


def same(one: float, other: float) -> bool:
    """Alike but for rounding."""
    return math.isclose(one, other, rel_tol=1e-6, abs_tol=CLOSE)


def impossible(belief: Belief, checks: Iterable[str]) -> Iterator[str]:
    """Figures of a belief that cannot be, and of the results of these checks."""
    told = {f: (b.probability, b.comes_and_goes) for f, b in belief.faults.items()}
    parts = [belief.unlisted, *belief.components.values(), *(p for both in told.values() for p in both)]
    if not all(-CLOSE <= p <= 1 + CLOSE for p in parts):
        yield f"a probability outside 0 to 1: {[p for p in parts if not -CLOSE <= p <= 1 + CLOSE]}"
    if not same(belief.unlisted + belief.listed, 1.0):
        yield f"listed and unlisted causes make {belief.unlisted + belief.listed}"
    for check in checks:
        total = math.fsum(belief.outcomes(check))
        if not same(total, 1.0):
            yield f"the results of {check} make {total}"


def unread(facts: Facts, entries: list[CaseEntry]) -> Iterator[str]:
    """Steps of a log whose cautions were not read in the sitting, by the book and the log alone."""
    read: set[str] = set()
    book = facts.book
    for entry in entries:
        if entry.kind == "cautions":
            read |= set(entry.data["cautions"])
        elif entry.kind in ("stands", "found-standing"):
            read.clear()
        elif entry.kind in ("set-up", "restored"):
            yield from _missing(entry, set(book.conditions[entry.data["condition"]].cautions), read)
        elif entry.kind in ("answer", "reading", "did"):
            acts = entry.kind == "did"
            item = book.actions[entry.data["action"]] if acts else book.checks[entry.data["check"]]
            yield from _missing(entry, _wanted(facts, item), read)


def _wanted(facts: Facts, item: Check | Action) -> set[str]:
    kind = item.kind if isinstance(item, Check) else "act"
    conditions = facts.with_implied(item.needs)
    return set(facts.own_cautions(kind, item)).union(*(facts.book.conditions[c].cautions for c in conditions))


def _missing(entry: CaseEntry, wanted: set[str], read: set[str]) -> Iterator[str]:
    if not wanted <= read:
        yield f"entry {entry.number}, {entry.kind} {dict(entry.data)}: not read before it: {sorted(wanted - read)}"
