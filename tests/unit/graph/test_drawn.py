"""The tree that is drawn of a symptom: shared events once, chains as one gate, faults numbered."""

from __future__ import annotations

import pytest

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.drawn import UNLISTED, Node, drawn, letter
from faulttree.graph.gates import Gates
from tests.jobs.run import shipped_book
from tests.support.books import fault, gate, make_book, symptom


def shared_book(unlisted: float = 0.0) -> Book:
    """Two branches that must hold together, both resting on ``low``."""
    return make_book(
        faults=[fault("a.x"), fault("b.x"), fault("c.x"), fault("d.x")],
        events=[
            gate("low", "any_of", "a.x", "b.x"),
            gate("left", "any_of", "low", "c.x"),
            gate("right", "any_of", "low", "d.x"),
            gate("top", "all_of", "left", "right"),
        ],
        symptoms=[symptom("dead", "top", unlisted=unlisted)],
    )


def kinds(node: Node) -> list[tuple[str, str, str]]:
    return [(one.id, one.kind, one.mark) for one in node.walk()]


def test_what_two_gates_look_at_is_drawn_once_and_transferred() -> None:
    """The second gate has a transfer with the letter of the first; faults keep the numbers they are met with."""
    assert kinds(drawn(shared_book(), "dead")) == [
        ("dead", "gate", ""),
        ("left", "gate", ""), ("c.x", "basic", "1"),
        ("low", "gate", "A"), ("a.x", "basic", "2"), ("b.x", "basic", "3"),
        ("right", "gate", ""), ("low", "transfer", "A"), ("d.x", "basic", "4"),
    ]  # fmt: skip


def test_a_cause_that_is_not_listed_is_undeveloped_below_the_symptom() -> None:
    """It would bring the symptom about by itself, so it is an alternative to all that is listed."""
    root = drawn(shared_book(0.05), "dead")
    assert (root.gate, [one.name for one in root.below]) == ("any_of", ["top", UNLISTED])


def test_a_chain_hangs_on_one_gate() -> None:
    """A tap is dead by whatever lies before it: no gate for each tap on the way."""
    book = make_book(
        faults=[fault("a.x"), fault("b.x"), fault("c.x")],
        events=[
            gate("feed@bus", "any_of", "a.x"),
            gate("feed@out", "any_of", "feed@bus", "b.x"),
            gate("feed", "any_of", "feed@out", "c.x"),
        ],
        symptoms=[symptom("dead", "feed")],
    )
    assert [one.id for one in drawn(book, "dead").walk()] == ["dead", "a.x", "b.x", "c.x"]


def test_what_lies_deeper_than_asked_is_left_undeveloped() -> None:
    """The event says how many faults lie below it."""
    root = drawn(shared_book(), "dead", depth=1)
    assert [(one.kind, one.name) for one in root.below] == [
        ("undeveloped", "left: 3 faults below"),
        ("undeveloped", "right: 3 faults below"),
    ]


def test_an_alternative_that_is_not_fitted_is_left_out() -> None:
    """An empty event never holds; where it has to hold with others it is told."""
    book = make_book(
        faults=[fault("a.x"), fault("b.x")],
        events=[
            gate("none", "any_of"),
            gate("either", "any_of", "none", "a.x", "b.x"),
            gate("both", "all_of", "a.x", "none"),
        ],
        symptoms=[symptom("one", "either"), symptom("two", "both")],
    )
    assert [one.id for one in drawn(book, "one").below] == ["a.x", "b.x"]
    assert [one.name for one in drawn(book, "two").below] == ["a.x", "none: nothing of it is fitted"]


@pytest.mark.parametrize("name", shipped_book().symptoms)
def test_every_fault_below_a_symptom_is_drawn(name: str) -> None:
    """Unfolding the shipped book loses none, and every transfer has its gate."""
    book = shipped_book()
    nodes = list(drawn(book, name).walk())
    assert {n.id for n in nodes if n.kind == "basic"} == Gates(book).below(book.symptoms[name].when)
    gates = [n.mark for n in nodes if n.kind == "gate" and n.mark]
    assert {n.mark for n in nodes if n.kind == "transfer"} == set(gates)
    assert len(gates) == len(set(gates))


def test_letters_go_on_after_z() -> None:
    """A, B, … Z, AA, AB."""
    assert [letter(n) for n in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


def test_an_unknown_symptom_is_named() -> None:
    """In the message."""
    with pytest.raises(UnknownName, match="'wrong'"):
        drawn(make_book(), "wrong")
