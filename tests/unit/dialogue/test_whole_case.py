"""A case worked from squawk to close through the dialogue alone, with nothing but entries in between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, NewEntry, Prompt, closing, steps
from tests.support.small_family import small_book


class Hand:
    """Answers prompts as one mechanic would whose gear has a chafed lead, and keeps what was asked."""

    def __init__(self, book: Book) -> None:
        self.book, self.dialogue = book, Dialogue(book)
        self.entries: list[CaseEntry] = []
        self.asked: list[tuple[Prompt, CaseState]] = []
        self.add(NewEntry("opened", {"family": book.family, "fitted": [], "job": "QQ-ELM"}))

    def add(self, *entries: NewEntry) -> None:
        for entry in entries:
            self.entries.append(CaseEntry(len(self.entries) + 1, "", "mechanic", entry.kind, entry.data))

    def state(self) -> CaseState:
        return add_up(self.book, self.entries)

    def steps(self, most: int = 80) -> Iterator[Prompt]:
        for _ in range(most):
            state = self.state()
            prompt = self.dialogue.prompt(state)
            if prompt is None:
                return
            self.asked.append((prompt, state))
            yield prompt
            reply = self.dialogue.accept(state, prompt, self.answer(prompt))
            self.add(*reply.entries)
        raise AssertionError("the case does not come to an end")

    def answer(self, prompt: Prompt) -> str:
        fixed = {
            "squawk": "wheels wont come up after takeoff", "symptom": "yes", "more-symptoms": "", "circumstances": "",
            "hours": "25", "cautions": "done", "restore": "done", "set-up": "done", "action": "done",
            "next": "accept", "question": "silent", "close": "close", "cause": "guard-switch.lead-chafed",
        }  # fmt: skip
        if prompt.topic == "opening":
            return {"lowered-by-emergency-means": "no", "legs-known-locked": "yes"}[prompt.about]
        if prompt.topic == "outcome":
            return {"switch-continuity": "jumps", "cycle-test": "gone"}[prompt.about]
        return fixed[prompt.topic]


@pytest.fixture(scope="module")
def worked() -> Hand:
    hand = Hand(small_book())
    for _ in hand.steps():
        pass
    return hand


def kinds(entries: Sequence[CaseEntry]) -> list[str]:
    return [entry.kind for entry in entries]


def test_the_case_ends_closed_with_the_cause_named(worked: Hand) -> None:
    """The dialogue reaches the end, the repair is the one for the lead, and the case closes."""
    state = worked.state()
    assert (state.closed, state.actions, state.cause) == (True, ["mend-lead"], "guard-switch.lead-chafed")


def test_no_step_begins_before_its_cautions_are_acknowledged(worked: Hand) -> None:
    """Whatever is set up, put back, looked at or repaired: all cautions of it were acknowledged before, none left."""
    advisor = worked.dialogue.advisor
    for prompt, state in worked.asked:
        if prompt.topic in ("outcome", "action"):
            item = steps.item_of(worked.book, state)
            assert state.read.issuperset(steps.cautions_of(advisor, state, item))
        elif prompt.topic in ("set-up", "restore") and state.step is not None:
            assert state.read.issuperset(worked.book.conditions[prompt.about].cautions)


def test_nothing_is_set_up_before_the_cautions_of_the_step_that_wants_it(worked: Hand) -> None:
    """Who jacks an aircraft for a check has read what that check warns of."""
    for prompt, state in worked.asked:
        if prompt.topic == "set-up":
            assert state.read.issuperset(steps.item_of(worked.book, state).cautions)


def test_every_condition_is_set_up_before_the_check_that_needs_it(worked: Hand) -> None:
    """When an outcome is asked for, all that the check needs stands."""
    for prompt, state in worked.asked:
        if prompt.topic == "outcome":
            needs = worked.dialogue.advisor.moves.closure(worked.book.checks[prompt.about].needs)
            assert needs <= state.standing


def test_the_proof_follows_the_repair(worked: Hand) -> None:
    """After the repair nothing is suggested before its proof."""
    after = worked.entries[kinds(worked.entries).index("did") + 1 :]
    started = next(entry for entry in after if entry.kind == "started")
    assert started.data["id"] == "cycle-test"


def test_nothing_stands_at_the_end(worked: Hand) -> None:
    """A closed case has everything put back."""
    assert worked.state().standing == frozenset()


def test_a_cut_off_case_goes_on_where_it_stopped(worked: Hand) -> None:
    """From any prefix of the log the same prompt comes up as came up then."""
    for length in range(2, len(worked.entries)):
        state = add_up(worked.book, worked.entries[:length])
        prompt = worked.dialogue.prompt(state)
        again = Dialogue(worked.book).prompt(add_up(worked.book, worked.entries[:length]))
        assert prompt == again


def test_undo_restores_the_ranking_exactly() -> None:
    """After undoing an answer the belief is the same, to the last bit, as before it."""
    hand = Hand(small_book())
    for prompt in hand.steps():
        if prompt.topic == "question":
            break
    before = hand.dialogue.believe(hand.state()).faults
    state = hand.state()
    hand.add(*hand.dialogue.accept(state, prompt, "hummed").entries)
    assert hand.dialogue.believe(hand.state()).faults != before
    now = hand.state()
    main = hand.dialogue.prompt(now)
    assert main is not None
    hand.add(*hand.dialogue.accept(now, main, "undo").entries)
    assert hand.dialogue.believe(hand.state()).faults == before


def test_a_failed_proof_goes_back_to_the_causes() -> None:
    """A proof that shows the squawk again leads on, with the squawk still to be explained."""
    hand = Hand(small_book())
    for prompt in hand.steps():
        if prompt.topic == "outcome" and prompt.about == "cycle-test":
            break
    hand.add(*hand.dialogue.accept(hand.state(), prompt, "remains").entries)
    state = hand.state()
    following = hand.dialogue.prompt(state)
    assert following is not None
    assert following.topic in ("next", "question")
    assert not state.proved(hand.book)


def test_an_emergency_extension_has_the_aircraft_jacked_first() -> None:
    """Last lowered by the emergency means: the first thing set up, before any look, leads to the jacks."""
    hand = Hand(small_book())
    hand.add(
        NewEntry("squawk", {"text": "x"}), NewEntry("symptom", {"symptom": "stays-down", "present": True}),
        NewEntry("symptoms-settled"), NewEntry("opening", {"question": "lowered-by-emergency-means", "answer": "yes"}),
    )  # fmt: skip
    assert hand.state().first(hand.book) == ("on-jacks",)


def test_a_case_with_something_standing_is_not_closed(worked: Hand) -> None:
    """Even if close is pressed, a log in which the jacks still stand does not close, and the reason is said."""
    place = next(i for i, e in enumerate(worked.entries) if e.kind == "restored" and e.data["condition"] == "on-jacks")
    state = add_up(worked.book, worked.entries[:place])
    reply = worked.dialogue.accept(state, Prompt("close", ""), "close")
    assert reply.entries == ()
    assert "still stands" in reply.say


@pytest.mark.parametrize(("minutes", "kinds"), [(0.0, ["restored"]), (5.0, ["cautions", "restored"])])
def test_no_caution_counts_as_read_that_was_not_shown(minutes: float, kinds: list[str]) -> None:
    """What needs no hand is put back without a screen, so nobody has read anything there."""
    book = small_book()
    jacks = replace(book.conditions["on-jacks"], restore_minutes=minutes)
    book = replace(book, conditions={**book.conditions, "on-jacks": jacks})
    asked = Prompt("restore", jacks.name, about="on-jacks", cautions=jacks.cautions)
    reply = closing.accept(book, CaseState(), asked, "done")
    assert [entry.kind for entry in reply.entries] == kinds


@pytest.mark.parametrize(("typed", "assumed"), [("", True), ("25", None)])
def test_hours_that_nobody_said_are_told_as_assumed(typed: str, assumed: bool | None) -> None:
    """Enter alone is no answer of anybody's."""
    book = small_book()
    entry = Dialogue(book).accept(CaseState(), Prompt("hours", "", text=True), typed).entries[0]
    assert (entry.data["hours"], entry.data.get("assumed")) == (25.0, assumed)
