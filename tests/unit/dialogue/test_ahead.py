"""Why, what if, and what is at hand: side views that record nothing, or only what was said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.dialogue import Dialogue, NewEntry
from faulttree.dialogue.hand import prompt
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import OPENED, state, view


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_why_offers_every_outcome(book: Book) -> None:
    """Each outcome of the next step stands there with its chance in words, the cause it points to, the step after."""
    why = view(Dialogue(book), state(book), "why")
    assert [choice.value for choice in why.choices] == ["what-if motor-sound=hummed", "what-if motor-sound=silent"]
    assert " in 10; then likeliest: " in why.choices[0].label
    assert "; next: " in why.choices[0].label


def test_what_if_shows_the_ranking_after_an_outcome(book: Book) -> None:
    """Had the motor hummed, its brushes would lead, as they do once it is recorded."""
    dialogue = Dialogue(book)
    asked = view(dialogue, state(book), "why")
    reply = dialogue.accept(state(book), asked, "what-if motor-sound=hummed")
    assert reply.entries == ()
    shown = {one.name: one.now for one in view(dialogue, state(book), reply.view).moved}
    answered = state(book, NewEntry("answer", {"check": "motor-sound", "outcome": "hummed", "sure": True}))
    then = view(dialogue, answered, "why").board
    assert then is not None
    assert {cause.name: cause.probability for cause in then.causes}.items() <= shown.items()
    assert max(shown, key=lambda name: shown[name]) == book.faults["motor.brushes-worn"].name


def test_people_at_hand_are_kept_and_bar_steps(book: Book) -> None:
    """Told that one person is at hand, the case says so; then equipment is asked."""
    dialogue = Dialogue(book)
    reply = dialogue.accept(state(book), view(dialogue, state(book), "people"), "1")
    assert reply.view == "lacking"
    assert state(book, *reply.entries).situation(book).people == 1


def test_only_what_this_gear_wants_is_asked_about(book: Book) -> None:
    """Equipment that another family uses is in the book too; what was said to be lacking is shown in any case."""
    named = replace(book, equipment={**book.equipment, "crank-wrench": "torque wrench of another gear"})
    said = NewEntry("at-hand", {"lacking": ["crank-wrench"]})
    asked = [prompt(named, state(named, *entries), "lacking") for entries in ((), (said,))]
    listed = [[choice.value for choice in one.choices] for one in asked]
    assert ("crank-wrench" in listed[0], "crank-wrench" in listed[1], "multimeter" in listed[0]) == (False, True, True)


def test_lacking_equipment_is_kept(book: Book) -> None:
    """Its number names what is not at hand; a dash takes it back."""
    dialogue = Dialogue(book)
    asked = view(dialogue, state(book), "lacking")
    number = next(choice.key for choice in asked.choices if choice.value == "multimeter")
    said = dialogue.accept(state(book), asked, number).entries
    assert state(book, *said).situation(book).lacking == {"multimeter"}
    back = dialogue.accept(state(book, *said), asked, "-").entries
    assert state(book, *said, *back).situation(book).lacking == frozenset()


@pytest.mark.parametrize(("name", "typed"), [("people", "none"), ("people", "0"), ("lacking", "99"), ("lacking", "x")])
def test_nonsense_is_told_and_not_taken(book: Book, name: str, typed: str) -> None:
    """What is no number shown leaves no entry and asks again."""
    dialogue = Dialogue(book)
    reply = dialogue.accept(state(book), view(dialogue, state(book), name), typed)
    assert reply.entries == ()
    assert typed in reply.say
    assert reply.view == name


def test_refining_is_news_once(book: Book) -> None:
    """The first time the advice becomes a refined one; after that there is nothing new."""
    dialogue, now = Dialogue(book), state(book)
    assert dialogue.refine(now, lambda: False)
    assert dialogue.advise(now).refined
    assert not dialogue.refine(now, lambda: False)


def test_refining_that_was_stopped_changes_nothing(book: Book) -> None:
    """Told to stop, the quick advice stands."""
    dialogue, now = Dialogue(book), state(book)
    before = dialogue.advise(now)
    assert not dialogue.refine(now, lambda: True)
    assert dialogue.advise(now) is before


def test_conditions_set_up_early_are_part_of_the_step(book: Book) -> None:
    """A step begun with a further condition asks for that one to be set up too."""
    begun = state(
        book,
        NewEntry("started", {"kind": "check", "id": "switch-continuity", "also": ["floor-panel-out"]}),
        NewEntry("cautions", {"step": "switch-continuity", "cautions": []}),
    )
    dialogue, wanted = Dialogue(book), set[str]()
    entries: list[NewEntry] = []
    while True:
        prompt = dialogue.prompt(state(book, *begun_entries(begun), *entries))
        assert prompt is not None
        if prompt.topic == "cautions":
            entries.append(NewEntry("cautions", {"step": prompt.about, "cautions": list(prompt.cautions)}))
            continue
        if prompt.topic != "set-up":
            break
        wanted.add(prompt.about)
        entries.append(NewEntry("set-up", {"condition": prompt.about}))
    assert "floor-panel-out" in wanted


def begun_entries(now: CaseState) -> list[NewEntry]:
    return [NewEntry(e.kind, e.data) for e in now.entries[len(OPENED) :]]
