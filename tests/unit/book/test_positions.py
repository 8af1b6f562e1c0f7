"""Positions and problems as people see them."""

from __future__ import annotations

from faulttree.book.positions import ADVICE, ERROR, Position, Problem, in_reading_order


def test_a_problem_reads_as_place_flaw_remedy_and_rule() -> None:
    """A problem renders as ``file:line:column: what; right [rule]``."""
    problem = Problem(Position("a.yaml", 3, 7), "`x` is not known", "did you mean `y`?", "unknown-id")
    assert str(problem) == "a.yaml:3:7: `x` is not known; did you mean `y`? [unknown-id]"


def test_a_whole_file_has_no_line() -> None:
    """A problem of a file or folder as a whole names no line."""
    assert str(Problem(Position("shared"), "it is gone", "bring it back", "folder")).startswith("shared: it is gone")


def test_problems_come_by_file_and_line_each_once() -> None:
    """Problems are sorted by file, then by line as a number, and a repeated one is said once."""
    late, early = Problem(Position("a", 10, 1), "w", "r", "x"), Problem(Position("a", 9, 1), "w", "r", "x")
    other = Problem(Position("b", 1, 1), "w", "r", "x")
    assert in_reading_order([other, late, early, late]) == (early, late, other)


def test_the_order_is_that_of_the_fields() -> None:
    """The quick way to sort gives what comparing the problems themselves gives."""
    told = [
        Problem(Position(file, line, column), what, right, rule, severity)
        for file in "ba" for line in (10, 9) for column in (2, 1) for what in "wv" for right in "sr" for rule in "yx"
        for severity in (ERROR, ADVICE)
    ]  # fmt: skip
    assert in_reading_order([*told, *told]) == tuple(sorted(told))
