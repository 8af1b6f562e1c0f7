"""What is due after repairs, and when it is settled."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice import Advisor, Situation, Suggestion, follow_ups, situation_after
from faulttree.belief import Believer, Did, Evidence, Reported, plain
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up, keeps_open
from tests.support.small_family import small_book


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_follow_ups_bring_what_has_to_come_first(book: Book) -> None:
    """A follow-up whose forerunner was never done has it before it; one whose forerunner was done has not."""
    proof = replace(book.checks["cycle-test"], after=("motor-sound",))
    book = replace(book, checks={**book.checks, "cycle-test": proof})
    assert follow_ups(book, ["mend-lead"], ["cycle-test"]) == ["motor-sound", "cycle-test"]
    assert follow_ups(book, ["mend-lead"], ["cycle-test"], {"motor-sound"}) == ["cycle-test"]


def test_what_a_repair_names_behind_the_proof_comes_after_it(book: Book) -> None:
    """An engine run after work stands behind the retraction test; what stands before the proof comes before it."""
    listed = ("motor-sound", "cycle-test", "switch-continuity")
    mended = replace(book.actions["mend-lead"], follow_up=listed)
    book = replace(book, actions={**book.actions, "mend-lead": mended})
    assert follow_ups(book, ["mend-lead"], ["cycle-test"]) == list(listed)
    both = follow_ups(book, ["mend-lead", "replace-guard-switch"], ["cycle-test"])
    assert both.index("cycle-test") < both.index("switch-continuity")


@pytest.fixture(scope="module")
def covered() -> Book:
    """The book with a small test of which the proof shows all, and which the repair asks for."""
    book = small_book()
    small = replace(book.checks["cycle-test"], id="one-cycle", name="Cycle once", minutes=10.0)
    large = replace(book.checks["cycle-test"], covers=("one-cycle",))
    repair = replace(book.actions["mend-lead"], follow_up=("one-cycle",))
    return replace(
        book, checks={**book.checks, "one-cycle": small, "cycle-test": large},
        actions={**book.actions, "mend-lead": repair},
    )  # fmt: skip


def _state(book: Book, *new: tuple[str, dict[str, object]]) -> CaseState:
    opened = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "d"}
    told = [("opened", opened), ("symptom", {"symptom": "stays-down", "present": True}), *new]
    return add_up(book, [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate(told, 1)])


REPAIR = ("did", {"action": "mend-lead"})
PASSED = ("answer", {"check": "cycle-test", "outcome": "gone", "sure": True})
UNSURE = ("answer", {"check": "cycle-test", "outcome": "gone", "sure": False})


def test_what_a_longer_test_shows_is_not_due_beside_it(covered: Book) -> None:
    """Lights and horn are part of the retraction test (common practice, no source)."""
    assert follow_ups(covered, ["mend-lead"], ["cycle-test"]) == ["cycle-test"]


def test_a_proof_is_covered_too(covered: Book) -> None:
    """Where the squawk wants the small test and the repair the large one, the large one is enough."""
    large = replace(covered.actions["mend-lead"], follow_up=("cycle-test",))
    book = replace(covered, actions={**covered.actions, "mend-lead": large})
    assert follow_ups(book, ["mend-lead"], ["one-cycle"]) == ["cycle-test"]


def test_the_longer_test_done_unasked_settles_the_shorter(covered: Book) -> None:
    """Owed is the small one alone, and whoever did the large one owes nothing."""
    entries = [Reported("stays-down"), Did("mend-lead")]
    assert situation_after(covered, entries, ["one-cycle"]).owed == ("one-cycle",)
    done = [*entries, plain(covered, "cycle-test", "gone")]
    assert situation_after(covered, done, ["one-cycle"]).owed == ()


def _small_proof(book: Book) -> Book:
    squawk = replace(book.symptoms["stays-down"], proof="one-cycle")
    return replace(book, symptoms={**book.symptoms, "stays-down": squawk})


def test_a_case_is_proved_by_what_covers_its_proof(covered: Book) -> None:
    """Nothing but the cause is then missing."""
    book = _small_proof(covered)
    assert keeps_open(book, _state(book, REPAIR, PASSED)) == ["no cause is named"]


def test_a_doubtful_answer_covers_nothing(covered: Book) -> None:
    """The small test stays due."""
    book = _small_proof(covered)
    assert _state(book, REPAIR, UNSURE).owed(book) == ("one-cycle",)


def _after_brushes(book: Book, outcome: str) -> list[Suggestion]:
    """What is suggested after new brushes, with a guard switch that showed this before."""
    entries = (
        Reported("stays-down"), plain(book, "motor-sound", "silent"), plain(book, "switch-continuity", outcome),
        Did("replace-brushes"),
    )  # fmt: skip
    belief = Believer(book).believe(Evidence(entries))
    return list(Advisor(book).advise(belief, situation_after(book, entries, ["cycle-test"])).suggestions)


def test_a_proof_that_would_surely_fail_is_put_off(book: Book) -> None:
    """With a switch measured open and new brushes alone, the gear is not swung before the switch is replaced."""
    suggested = _after_brushes(book, "open")
    assert [s.id for s in suggested][:1] == ["replace-guard-switch"]
    assert "put off" in suggested[0].why


def test_what_was_put_off_can_be_done_all_the_same(book: Book) -> None:
    """It stands among the other ways, and nothing is called due."""
    suggested = _after_brushes(book, "open")
    assert ("cycle-test", False) in [(s.id, s.owed) for s in suggested]


def test_what_comes_behind_a_proof_is_put_off_with_it(book: Book) -> None:
    """The proof is what is told as put off and offered all the same; what follows it waits for it."""
    late = replace(book.checks["cycle-test"], id="late", name="Count the pins", proposed=False)
    brushes = replace(book.actions["replace-brushes"], follow_up=("cycle-test", "late"))
    book = replace(book, checks={**book.checks, "late": late}, actions={**book.actions, "replace-brushes": brushes})
    suggested = _after_brushes(book, "open")
    assert f"{book.checks['cycle-test'].name}: put off" in suggested[0].why
    offered = [s.id for s in suggested]
    assert "cycle-test" in offered
    assert "late" not in offered


def test_a_proof_that_may_pass_comes_first(book: Book) -> None:
    """As ever after a repair."""
    assert _after_brushes(book, "steady")[0].id == "cycle-test"


def test_a_question_that_an_answer_made_needless_is_not_asked(book: Book) -> None:
    """Here a guard switch metered steady makes the motor needless to ask for; as the book is, it is asked for."""
    check = book.checks["switch-continuity"]
    outcomes = tuple(replace(o, needless=("motor-sound",)) if o.id == "steady" else o for o in check.outcomes)
    silenced = replace(book, checks={**book.checks, check.id: replace(check, outcomes=outcomes)})
    entries = (Reported("stays-down"), plain(book, "switch-continuity", "steady"))
    asked = []
    for each in (book, silenced):
        advice = Advisor(each).advise(
            Believer(each).believe(Evidence(entries)), situation_after(each, entries, ["cycle-test"])
        )
        asked.append("motor-sound" in [s.id for s in advice.suggestions])
    assert asked == [True, False]


@pytest.mark.parametrize(("symptom", "asked"), [("stays-down", True), ("runs-on", False)])
def test_a_question_is_asked_only_with_its_symptoms(book: Book, symptom: str, asked: bool) -> None:
    """Where the gear stays down, nobody asks what belongs to a motor that runs on."""
    check = replace(book.checks["motor-sound"], only_with=(symptom,))
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    told = Advisor(replace(book, checks={**book.checks, check.id: check})).advise(belief, situation_after(book, [], []))
    assert ("motor-sound" in [s.id for s in told.suggestions]) is asked


def test_no_proof_is_put_off_behind_a_repair_in_own_words(book: Book) -> None:
    """What the mechanic did in his own words may have cured it, and the book cannot tell."""
    entries = (Reported("stays-down"), plain(book, "switch-continuity", "open"))
    belief = Believer(book).believe(Evidence(entries))
    told = {
        own: Advisor(book).advise(belief, Situation(owed=("cycle-test",), acted=True, own_words=own)).suggestions[0].id
        for own in (False, True)
    }
    assert told == {False: "replace-guard-switch", True: "cycle-test"}


def test_what_is_due_is_asked_or_done_as_it_is(book: Book) -> None:
    """A question among what is due is told as a question, a test as a check."""
    belief = Believer(book).believe(Evidence((Reported("stays-down"), Did("mend-lead"))))
    now = Situation(owed=("motor-sound", "cycle-test"), acted=True, own_words=True)
    due = [s for s in Advisor(book).advise(belief, now).suggestions if s.owed]
    assert [(s.id, s.kind) for s in due] == [("motor-sound", "ask"), ("cycle-test", "check")]
