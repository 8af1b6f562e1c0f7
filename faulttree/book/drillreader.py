"""Practice files to lessons, scenarios and what goes with them: their form, and whether what they name exists."""

from __future__ import annotations

from collections.abc import Sequence

from faulttree.book.drills import Practice, PracticeReading
from faulttree.book.files import SourceFile


def read(files: Sequence[SourceFile], family: str) -> PracticeReading:
    """What is sound, in reading order, and what is wrong with the rest."""
    return PracticeReading(Practice())
