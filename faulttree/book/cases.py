"""Regression cases: what is said and done about a squawk, and what the program must then say.

They lie beside what they test, in files named ``*.cases.yaml``, and are not part of the book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from faulttree.book.files import collect
from faulttree.book.positions import Position, Problem


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its unit; for a limit also the ``reference`` it was taken from."""

    value: float
    unit: str
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing said or done. ``kind`` is ``answer``, ``unsure``, ``found``, ``did`` or ``reading``.

    ``name`` is the check, fault or action; ``outcome`` goes with answers, ``measured``, ``limit`` (the
    limit's id) and ``limit_is`` with readings.
    """

    kind: str
    name: str
    outcome: str | None = None
    measured: Measured | None = None
    limit: str | None = None
    limit_is: Measured | None = None


@dataclass(frozen=True, slots=True)
class Expect:
    """What must come out. Whatever is ``None`` or empty is not asked for.

    ``cause`` (a fault or a component without leg) is among the first ``within``; the components of
    ``order`` (without leg) come first, in this order; the first suggestion is one of ``next`` and of one of
    ``kinds``, the first that is neither question nor look one of ``hands_on``; ``cautions`` are shown; ``not_offered``
    are not suggested.
    """

    cause: str | None = None
    within: int = 1
    order: tuple[str, ...] = ()
    next: tuple[str, ...] = ()
    hands_on: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    not_offered: tuple[str, ...] = ()
    unlisted_at_least: float | None = None
    contradiction: bool | None = None
    conflict_at_least: float | None = None


@dataclass(frozen=True, slots=True)
class RegressionCase:
    """One case: ``origin`` is ``constructed``, ``worked-example`` or ``shop``; ``hours`` is ``None`` if not stated.

    ``from_case`` is the shop's closed case that it tells of, "" where none is said.
    """

    id: str
    position: Position
    description: str
    origin: str
    family: str
    fitted: tuple[str, ...]
    symptoms: tuple[str, ...]
    absent: tuple[str, ...]
    squawk: str | None
    circumstances: tuple[str, ...]
    hours: float | None
    steps: tuple[Step, ...]
    standing: tuple[str, ...]
    expect: Expect
    from_case: str = ""


@dataclass(frozen=True, slots=True)
class CasesReading:
    """The sound cases of a family, and what is wrong with the others. Flaws of the book itself are not told here."""

    cases: tuple[RegressionCase, ...]
    problems: tuple[Problem, ...]


def read_cases(folders: Sequence[Path], family: str) -> CasesReading:
    """Reads the regression cases of a family from the shared folders and its own. Never raises for bad data.

    Every case is held against the book for the options it names; a case that names an unknown id is a
    problem, and is left out.
    """
    from faulttree.book.casereader import read  # brings YAML and pydantic

    files, _ = collect(folders, family)
    return CasesReading(*read(files, family))
