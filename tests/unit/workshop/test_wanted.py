"""Which checks would help: what is tried, and that what is cheap to tell already is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.model import THE_SQUAWK, Action, Book, Check, Outcome
from faulttree.workshop.wanted import Wanted, candidates, most_valuable, squawks, wanted, wanted_for, with_check
from tests.support.books import check, fault, gate, make_book, symptom


def proof() -> Check:
    outcomes = (Outcome("squawk", "Squawk", THE_SQUAWK, 1.0), Outcome("fine", "Fine", None, 1.0))
    return Check("proof", "Proof", "test", "now", outcomes, 0.0, 10.0, proof=True)


def repair(name: str, *faults: str) -> Action:
    return Action(name, name, faults, 1.0, 120.0)


def book(*checks: Check, actions: tuple[Action, ...] = ()) -> Book:
    """Two faults alike in rate, two hours of repair each; nothing tells them apart but these checks."""
    actions = actions or (repair("mend-a", "a.x"), repair("mend-b", "b.x"))
    corrected = {f: tuple(a.id for a in actions if f in a.corrects) for f in ("a.x", "b.x")}
    return make_book(
        faults=[fault(f, rate=1.0, corrected_by=corrected[f]) for f in ("a.x", "b.x")],
        events=[gate("top", "any_of", "a.x", "b.x")],
        symptoms=[symptom("dead", "top")],
        checks=[proof(), *checks],
        actions=actions,
    )


def test_a_perfect_check_saves_half_a_wrong_repair() -> None:
    """Without it every other job does the wrong repair and its proof first: (120 + 10) / 2, less its own minute."""
    (one,) = wanted_for(book(), "dead")
    assert one.kinds == ("a.x", "b.x")
    assert one.saves == pytest.approx(130 / 2 - 1, abs=0.01)


def test_what_a_cheap_sure_check_tells_apart_is_not_tried() -> None:
    """A look of a minute with nothing to set up is there already."""
    assert candidates(book(check("look", bad="a.x", minutes=1.0, detects=1.0)), "dead") == []


def test_what_a_dear_check_tells_apart_is_tried() -> None:
    """The same look, an hour long."""
    assert candidates(book(check("look", bad="a.x", minutes=60.0, detects=1.0)), "dead") == [("a.x", "b.x")]


def test_what_one_action_corrects_need_not_be_told_apart() -> None:
    """Whichever it is, the same is done."""
    assert candidates(book(actions=(repair("mend", "a.x", "b.x"),)), "dead") == []


def test_the_check_tells_nothing_of_other_faults() -> None:
    """Under anything else it says either, alike often: columns sum to one, the last is even."""
    made = with_check(book(), ["a.x", "b.x"]).checks["wanted-check"]
    assert made.matrix == ((1.0, 0.0, 0.5), (0.0, 1.0, 0.5), (0.0, 0.0, 0.0))


def test_faults_of_all_legs_are_one_kind() -> None:
    """A check of a mode is for whichever leg has it."""
    legs = make_book(
        faults=[replace(fault(f"strut-{leg}.low", rate=1.0), leg=leg) for leg in ("left", "right")],
        events=[gate("top", "any_of", "strut-left.low", "strut-right.low")],
        symptoms=[symptom("dead", "top")],
    )
    made = with_check(legs, ["strut.low"])
    assert made.events["wanted-check/strut.low"].of == ("strut-left.low", "strut-right.low")


def test_squawks_come_at_the_rate_of_their_faults() -> None:
    """Two faults of one in a thousand hours bring two squawks, together hardly ever (own arithmetic)."""
    assert squawks(book(), "dead") == pytest.approx(2.0)


def test_the_same_kinds_add_up_over_symptoms() -> None:
    """Ten minutes at one squawk and twenty at another, one each in 1000 hours, are worth thirty."""
    pair, other = ("a", "b"), ("a", "c")
    found = [
        Wanted("s", pair, 10.0, 100.0, 1.0),
        Wanted("t", pair, 20.0, 100.0, 1.0),
        Wanted("s", other, 25.0, 100.0, 1.0),
    ]
    ranked = most_valuable(found, 1)
    assert [(kinds, [one.symptom for one in ones]) for kinds, ones in ranked] == [(pair, ["t", "s"])]


def test_several_symptoms_are_worked_on_side_by_side() -> None:
    """And come in the order asked for, as alone."""
    two = book()
    two = replace(two, symptoms={**two.symptoms, "weak": replace(two.symptoms["dead"], id="weak")})
    assert list(wanted(two, ["weak", "dead"])) == [("weak", wanted_for(two, "weak")), ("dead", wanted_for(two, "dead"))]
