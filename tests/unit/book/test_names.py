"""What is said about names that are not known."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from faulttree.book import BookReading

Reader = Callable[..., BookReading]


@pytest.mark.parametrize(
    ("ref", "what", "right"),
    [
        ("bus.ded", "there is no fault, event, symptom or tap `bus.ded`", "did you mean `bus.dead`?"),
        ("lock", "`lock` is a component", "name a fault, event, symptom or tap"),
        ("swing", "`swing` is a check", "name a fault, event, symptom or tap"),
        ("door-nose.bent", "`door.bent` has no nose leg", "it has left, right"),
        ("bus-left.dead", "`bus.dead` has no left leg", "it has no legs"),
        ("feed@bos", "there is no fault, event, symptom or tap `feed@bos`", "did you mean `feed@bus`?"),
    ],
)
def test_a_wrong_reference_is_answered_with_what_would_be_right(
    read_with: Reader, ref: str, what: str, right: str
) -> None:
    """The nearest known name, the kind of entry that the name is, or the legs that there are."""
    problems = read_with(f"events:\n  odd: {{name: Odd, any_of: [{ref}]}}\n").problems
    assert [(p.what, p.right) for p in problems] == [(what, right)]


def test_an_entry_with_an_error_of_its_own_is_the_nearest_too(read_with: Reader) -> None:
    """A per cent sign in the fault that is meant must not lead to another fault."""
    fault = "faults:\n  bus.dead-slowly: {name: dies, rate: 5 %, basis: estimate, corrected_by: [fix-bus]}\n"
    problems = read_with(fault + "events:\n  odd: {name: Odd, any_of: [bus.dead-slowlly]}\n").problems
    assert [p.right for p in problems if p.rule == "unknown-id"] == ["did you mean `bus.dead-slowly`?"]


def test_a_name_like_no_other_is_answered_with_some_that_are_known(read_with: Reader) -> None:
    """Where nothing is near, known names are listed, not too many of them."""
    (problem,) = read_with("events:\n  odd: {name: Odd, any_of: [zzzzzz]}\n").problems
    assert problem.right.startswith("known: bus.dead, ")
    assert problem.right.endswith(" more")


def test_references_in_entries_that_are_not_fitted_must_exist_too(read_with: Reader) -> None:
    """An unknown name is found whatever the aircraft has."""
    text = "events:\n  odd: {name: Odd, any_of: [bus.ded], fitted: [two-lamps]}\n"
    assert [p.rule for p in read_with(text).problems] == ["unknown-id"]
