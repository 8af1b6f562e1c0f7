"""A small sound book, and ways to read it together with something else."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from faulttree.book import BookReading, read_texts

DATA = Path(__file__).parent / "data"
Reader = Callable[..., BookReading]


def _texts(folder: Path) -> dict[str, str]:
    return {path.relative_to(folder).as_posix(): path.read_text("utf-8") for path in sorted(folder.glob("*/*.yaml"))}


@pytest.fixture(scope="session")
def data() -> Path:
    """The folder of sample files."""
    return DATA


@pytest.fixture(scope="session")
def sound() -> Mapping[str, str]:
    """The files of the sound book by name."""
    return _texts(DATA / "sound")


@pytest.fixture(scope="session")
def read_with(sound: Mapping[str, str]) -> Reader:
    """Reads the sound book with one more file, as part of it or (``overlay=True``) on top of it."""

    def read(text: str = "", fitted: tuple[str, ...] = (), *, overlay: bool = False) -> BookReading:
        name = "overlay/demo/more.yaml" if overlay else "demo/more.yaml"
        return read_texts({**sound, name: text}, "demo", fitted)

    return read
