"""The last words of the program, by how the case stands."""

from __future__ import annotations

import pytest

from faulttree.case.state import CaseState
from faulttree_cli.screens.leaving import lines


def state(**fields: object) -> CaseState:
    """A case with some of its fields set."""
    one = CaseState()
    for name, value in fields.items():
        setattr(one, name, value)
    return one


@pytest.mark.parametrize(
    ("fields", "there", "not_there"),
    [
        ({}, ["faulttree work c1", "faulttree handover c1"], ["knowledge new"]),
        ({"closed": True, "causes": ["a.b"]}, ["faulttree record c1"], ["knowledge new", "work c1", "handover"]),
        ({"closed": True, "cause_in_words": "clip broken"}, ["faulttree knowledge new --case c1"], ["work c1"]),
        ({"closed": True, "found_other": ["clip broken"]}, ["faulttree knowledge new --case c1"], ["work c1"]),
    ],
)
def test_it_says_what_can_be_done_next(fields: dict[str, object], there: list[str], not_there: list[str]) -> None:
    """To go on while it is open; to teach a cause that the book does not know; nothing that would be refused."""
    said = "\n".join(lines("c1", state(**fields), False))
    assert ([w for w in there if w not in said], [w for w in not_there if w in said]) == ([], [])


def test_it_goes_on_as_it_was_begun() -> None:
    """Line by line, where it was."""
    assert "  Go on:   faulttree work c1 --plain" in lines("c1", state(), True)


@pytest.mark.parametrize("closed", [False, True])
def test_it_fits_eighty_columns(closed: bool) -> None:
    """With the name that a case has as a rule."""
    said = lines("2031-11-27-12", state(closed=closed, cause_in_words="clip broken"), True)
    assert [line for line in said if len(line) > 80] == []
