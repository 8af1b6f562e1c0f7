"""Where something stands in a file, and what is wrong there.

Every flaw in a knowledge file, whoever finds it, is one :class:`Problem`: where, what, what would be
right, and the id of the rule, which comes last so that it can be searched for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

ERROR, ADVICE = "error", "advice"
"""How grave a flaw is: an error has to be mended before the book is used; advice is for the author to weigh."""


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A place in a file. ``line`` and ``column`` start at 1; line 0 stands for the file or folder as a whole."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One flaw: ``what`` is wrong, what would be ``right``, the id of the ``rule`` that says so, its ``severity``."""

    position: Position
    what: str
    right: str
    rule: str
    severity: str = ERROR

    def __str__(self) -> str:
        return " ".join(f"{self.position}: {self.what}; {self.right} [{self.rule}]".split())


def in_reading_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems by file, line and column, each said once."""
    # In the order of the fields, as the classes compare, but tens of thousands in no time; most come in order already.
    return tuple(sorted(dict.fromkeys(problems), key=_by_fields))


def _by_fields(problem: Problem) -> tuple[str, int, int, str, str, str, str]:
    where = problem.position
    return where.file, where.line, where.column, problem.what, problem.right, problem.rule, problem.severity
