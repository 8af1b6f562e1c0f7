"""Which outcome is the true one, for one check over all fault sets and for many over a few."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.belief import Answer, Believer, Did, Entry, Evidence, Found, Reported, plain, sets, unsure
from faulttree.belief import frame as frames
from faulttree.book.model import THE_SQUAWK, Book, Check, Outcome
from faulttree.errors import BadAnswer
from tests.jobs.run import shipped_book
from tests.support.books import check, fault, gate, make_book, symptom


@pytest.mark.parametrize("family", ["electromechanical", "power-pack"])
def test_many_checks_at_once_are_each_as_alone(family: str) -> None:
    """Checks of two to many outcomes, on every third of the sets that a symptom leaves."""
    book = shipped_book(family)
    frame = Believer(book, size_limit=2).believe(Evidence((Reported("stops-coming-down"),))).replay.frame
    numbers = np.arange(0, frame.space.n_subsets, 3)
    checks, squawk = list(book.checks.values()), ("stops-coming-down",)
    together = frame.true_at(checks, squawk, numbers)
    assert max(len(each.outcomes) for each in checks) > 3
    for each, true in zip(checks, together, strict=True):
        assert true.tolist() == frame.true_outcome(each, squawk)[numbers].tolist(), each.id


@pytest.mark.parametrize("wakes", [0.0, 0.4, 1.0])
def test_a_check_that_wakes_finds_a_sleeping_fault_oftener(wakes: float) -> None:
    """One that shows half of the time is awake at a check that wakes 0.4 of the rest in 0.5 + 0.4 x 0.5."""
    look = check("look", seen="f.a", wakes=wakes)
    made = make_book(
        [fault("f.a", probability=0.2, share=0.5, shows=0.5)], symptoms=[symptom("s", "f.a")], checks=[look]
    )
    frame = Believer(made, size_limit=1).believe(Evidence((Reported("s"),))).replay.frame
    shown = frame.shown(look, ("s",))[:, 0]
    asleep = [bool(frame.space.sleeps[modes[modes >= 0]].any()) for modes in frame.base.padded()]
    awake = 0.5 + wakes * 0.5
    assert sorted(shown[asleep]) == pytest.approx([awake * 0.95 + (1.0 - awake) * 0.02])
    assert sorted(shown[np.invert(asleep)]) == pytest.approx([0.95])


def test_what_was_let_go_of_is_worked_out_again() -> None:
    """The same weights, without asking for anything else first."""
    belief = Believer(shipped_book("electromechanical")).believe(Evidence((Reported("lights-dead"),)))
    before = belief.rows.copy()
    belief.let_go()
    assert belief.held == 0
    assert belief.rows.tolist() == before.tolist()
    assert belief.held == len(before)


@pytest.mark.parametrize("symptom_", ["stops-coming-down", "no-down-indication"])
def test_few_sets_and_many_are_shown_alike(symptom_: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One long row for few sets, a plan for each pattern of sleepers for many: what each check shows is the same."""
    book = shipped_book("power-pack")
    frame = Believer(book, size_limit=2).believe(Evidence((Reported(symptom_),))).replay.frame
    told = []
    for few in (10**9, 0):
        monkeypatch.setattr(sets, "FEW_SETS", few)
        each = list(book.checks.values())[::5]
        weights = [tuple(1.0 if o == 0 else 0.5 for o in range(len(check.outcomes))) for check in each]
        true = [frame.true_outcome(check, (symptom_,)) for check in each]
        shown = [
            frame.base.shown(frame.matrix(check), right, check.wakes, False)
            for check, right in zip(each, true, strict=True)
        ]
        seen = [
            frame.base.seen(np.array(w) @ frame.matrix(check), right, check.wakes, False)
            for check, right, w in zip(each, true, weights, strict=True)
        ]
        told.append((shown, seen))
    for few_told, many_told in zip(*told, strict=True):
        for one, other in zip(few_told, many_told, strict=True):
            assert np.allclose(one, other, rtol=1e-12, atol=0.0)


def test_any_of_two_events_is_the_one_or_the_other() -> None:
    """As a proof asks after two symptoms."""
    space = Believer(shipped_book("electromechanical")).believe(Evidence((Reported("lights-dead"),))).replay.frame.space
    one, other = space.faults[:2]
    both = space.truth_of_any([one, other])
    assert both.tolist() == (space.truth(one) | space.truth(other)).tolist()
    assert space.truth_of_any([one]).sum() < both.sum()


@pytest.mark.parametrize("weights", [(1.0,), (1.0, 1.0, 1.0), (2.0, -1.0), (0.0, 0.0), (float("inf"), 1.0)])
def test_an_answer_has_a_weight_for_each_outcome(weights: tuple[float, ...]) -> None:
    """None below nothing, not all nothing, none without end."""
    made = make_book(
        [fault("f.a", probability=0.2)], symptoms=[symptom("s", "f.a")], checks=[check("look", seen="f.a")]
    )
    with pytest.raises(BadAnswer):
        Believer(made).believe(Evidence((Reported("s"), Answer("look", weights))))


def seldom_awake() -> Book:
    """A fault that comes and goes and shows half of the time; a proof; a symptom that no fault gives by itself."""
    squawk = (Outcome("squawk", "squawk", THE_SQUAWK, 0.9), Outcome("gone", "gone", None, 1.0))
    return make_book(
        [fault("f.a", probability=0.2, share=1.0, shows=0.5), fault("f.b", probability=0.1)],
        events=[gate("both", "all_of", "f.a", "f.b")],
        symptoms=[symptom("s", "f.a", unlisted=0.1), symptom("never", "both", unlisted=0.1)],
        checks=[check("look", seen="f.a"), Check("proof", "proof", "test", "now", squawk, 0.05, 15.0, proof=True)],
    )


def test_an_unlisted_cause_shows_at_a_proof_as_surely_as_it_ever_does() -> None:
    """Nine times of ten, though the listed causes sleep half of the time; any other check reads as on average."""
    book = seldom_awake()
    frame = Believer(book, size_limit=1).believe(Evidence((Reported("s"),))).replay.frame
    assert frame.shown_unlisted(book.checks["proof"], ("s",))[0] == pytest.approx([0.9, 0.1])
    seen = 0.5 * 0.95 + 0.5 * 0.02
    assert frame.shown_unlisted(book.checks["look"], ("s",))[0] == pytest.approx([seen, 1.0 - seen])


def test_with_no_listed_cause_an_unlisted_one_reads_as_a_sound_gear() -> None:
    """Both faults at once are beyond the size of sets that are looked at."""
    book = seldom_awake()
    frame = Believer(book, size_limit=1).believe(Evidence((Reported("never"),))).replay.frame
    assert frame.given is None
    assert frame.shown_unlisted(book.checks["look"], ("never",))[0] == pytest.approx([0.02, 0.98])


def test_rows_are_told_apart_whatever_modes_they_hold() -> None:
    """Every row of two places among three modes and none, each twice."""
    every = np.array([[one, other] for one in range(-1, 3) for other in range(-1, 3)] * 2)
    distinct, place = sets._distinct_rows(every, 3)
    assert len(distinct) == 16
    assert distinct[place].tolist() == every.tolist()


def test_only_what_answers_look_at_is_reached() -> None:
    """A look at one fault says nothing of the other; what was asked of besides is reached too."""
    book = make_book([fault("f.a"), fault("f.b"), fault("f.c")], checks=[check("look", seen="f.b")])
    believer, seen = Believer(book), Evidence((plain(book, "look", "seen"),))
    assert believer.reach(seen) == ("f.b",)
    assert set(believer.frame(seen, also=["f.c"]).space.faults) == {"f.b", "f.c"}


def test_what_a_large_frame_does_not_keep_is_worked_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Checks seen twice, found twice, asked unsurely and taken again after a repair: the same to the last digit."""
    book = shipped_book("electromechanical")
    looks = [check for check in book.checks.values() if check.kind != "ask" and not check.proof][:4]
    entries: list[Entry] = [Reported("stops-coming-down")]
    for each in (*looks, *looks[:2]):
        entries.append(plain(book, each.id, each.outcomes[-1].id))
        entries.append(unsure(book, each.id, each.outcomes[0].id))
    found = next(iter(book.faults))
    again = plain(book, looks[0].id, looks[0].outcomes[-1].id)
    entries += [Found(found), Found(found), Did(next(iter(book.actions))), again]
    rows = []
    for room in (10**9, 0):
        monkeypatch.setattr(frames, "COLUMNS_ROOM", room)
        belief = Believer(book, size_limit=2).believe(Evidence(tuple(entries)))
        rows.append([belief.rows.tolist(), belief.outcomes(looks[0].id), belief.outcomes(looks[-1].id)])
        kept = list(belief.replay.frame._columns)
        assert room or len(kept) <= 2
    assert rows[0] == rows[1]
