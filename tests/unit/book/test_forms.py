"""The parts that written forms are made of."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from faulttree.book.forms import Between, FalseAlarm, Fresh, Gate, NotNegative, Probability, Share
from faulttree.book.written import FORMS


@pytest.mark.parametrize(
    ("bounds", "words"),
    [
        (Between(0, 1), "from 0 to 1"),
        (Between(0, 1, open_high=True), "from 0 to below 1"),
        (Between(0, 1, open_low=True), "above 0 and up to 1"),
        (Between(0, 1, open_low=True, open_high=True), "above 0 and below 1"),
        (Between(0, 100_000), "from 0 to 100000"),
    ],
)
def test_a_range_is_said_in_words(bounds: Between, words: str) -> None:
    """Both ends are named, and whether they belong to it."""
    assert bounds.words() == words


@pytest.mark.parametrize(
    ("kind", "value", "fits"),
    [
        (Probability, 0.0, True),
        (Probability, 1.0, True),
        (Probability, 1.0000001, False),
        (FalseAlarm, 0.0, True),
        (FalseAlarm, 1.0, False),
        (Fresh, 0.0, False),
        (Fresh, 1.0, False),
        (Share, 0.0, False),
        (Share, 1.0, True),
        (NotNegative, -0.001, False),
        (NotNegative, float("inf"), False),
    ],
)
def test_the_ends_of_ranges(kind: Any, value: float, fits: bool) -> None:
    """Detection and shares may be one, a false alarm may not; freshness is neither nought nor one."""
    adapter: TypeAdapter[float] = TypeAdapter(kind)
    try:
        adapter.validate_python(value, strict=True)
    except ValidationError:
        assert not fits
    else:
        assert fits


def test_forms_take_numbers_written_without_a_point() -> None:
    """A whole number serves where any number may stand, and comes out as the same value."""
    assert FORMS["defaults"].model_validate({"value": 25, "basis": "estimate"}).model_dump()["value"] == 25.0


def test_gates_nest() -> None:
    """A gate may stand wherever an id may."""
    gate = Gate.model_validate({"any_of": ["a", {"not": {"all_of": ["b", "c"]}}]})
    inner = gate.any_of[1] if gate.any_of else None
    assert isinstance(inner, Gate)
    assert isinstance(inner.none_of, Gate)
    assert inner.none_of.all_of == ["b", "c"]


@pytest.mark.parametrize("section", sorted(FORMS))
def test_every_form_has_a_json_schema(section: str) -> None:
    """The written form can be published as JSON Schema, ranges and all."""
    schema = FORMS[section].model_json_schema()
    assert schema["additionalProperties"] is False
