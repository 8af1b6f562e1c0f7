"""A mechanic of the tests' own: answers every prompt of `faulttree work` by what it asks, to the end of the case.

The real loop runs; the terminal alone is another one, which also says of each prompt how much of the case was known to
be kept when it was shown.
"""

from __future__ import annotations

import io
import json
import os
from argparse import Namespace
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random
from unittest.mock import patch

from prompt_toolkit.input import DummyInput
from prompt_toolkit.output import DummyOutput
from rich.console import RenderableType

from faulttree.case import CaseState
from faulttree.dialogue import Prompt
from faulttree_cli import opening, settings, worker
from faulttree_cli.desk import Desk
from faulttree_cli.terminal import Meanwhile, Terminal
from tests.support.small_family import FAMILY

SIDE_TRIPS = 0.2
JUST_BEGUN = 2
"""Entries of a case of which only the opening and the squawk are there."""
LINES = {"": "QQ-ELM", "squawk": "wheels wont come up", "note": "wiring loom looks old", "stands-now": "-"}
KEYS = {"question": "2", "opening": "1", "cause": "1", "leave-open": "2", "others": "b", "why": "b", "so-far": "b"}


@dataclass(frozen=True, slots=True)
class Shown:
    """A prompt that is on the screen. ``entries`` of the case were kept by then, the last with ``digest``; ``topic``
    and ``about`` are the prompt's, ``keys`` those that mean something, empty where a line of words is asked for."""

    name: str = ""
    entries: int = 0
    digest: str = ""
    topic: str = ""
    about: str = ""
    keys: str = ""

    def packed(self) -> bytes:
        """One line."""
        return json.dumps(asdict(self)).encode() + b"\n"

    @staticmethod
    def unpacked(line: bytes) -> Shown:
        """Of one line."""
        return Shown(**json.loads(line))


class Mechanic:
    """Works by what is proposed; finds the first thing a check can show, and the proof passed.

    With ``random`` it also looks aside, takes back, notes and doubts now and then.
    """

    def __init__(self, random: Random | None = None) -> None:
        self.random = random

    def answer(self, shown: Shown) -> str:
        """A key, or a line of words without its end."""
        if not shown.keys:
            # On a busy machine the registration may have been typed twice, the second time as the squawk.
            unheard = shown.topic == "more-symptoms" and shown.entries == JUST_BEGUN
            return "1" if unheard else LINES.get(shown.topic, "")
        if self.random is not None and shown.topic in ("next", "question") and self.random.random() < SIDE_TRIPS:
            return self.random.choice([key for key in "wohuant?" if key in shown.keys])
        if shown.topic == "outcome":
            return "2" if shown.about == "cycle-test" else "1"
        key = "2" if shown.about == "lowered-by-emergency-means" else KEYS.get(shown.topic, "y")
        return key if key in shown.keys else next(k for k in "ry1xq" if k in shown.keys)


class Watching(Terminal):
    """A terminal that knows what the loop of the work is asking."""

    def __init__(self) -> None:
        # Beside a real terminal's nothing is read or drawn here.
        super().__init__(DummyInput(), DummyOutput(), io.StringIO())
        self.watch()

    def watch(self) -> None:
        """Begin with no work in hand."""
        self.worker: worker.Worker | None = None
        self.asked: Prompt | None = None

    def shown(self, keys: Collection[str] = ()) -> Shown:
        """The prompt that is just being shown."""
        asked = self.asked
        topic, about = (asked.topic, asked.about) if asked is not None else ("", "")
        if self.worker is None:
            return Shown(keys="".join(keys))
        last = self.worker.entries[-1]
        return Shown(self.worker.name, last.number, last.digest, topic, about, "".join(keys))


class Following(Watching):
    """Asks a function instead of a person. What is shown is kept as it came and not drawn: that takes most of the
    time, and the runs at a real terminal do it."""

    def __init__(self, ask: Callable[[Shown], str]) -> None:
        super().__init__()
        self.ask = ask
        self.told: list[str] = []

    def show(self, *what: RenderableType) -> None:
        self.told += [part for part in what if isinstance(part, str)]

    def pages(self, parts: Sequence[RenderableType], reserved: int) -> list[list[RenderableType]]:
        return [list(parts)] if parts else []

    def page(self, *what: RenderableType) -> None:
        self.show(*what)

    def fits(self, parts: Sequence[RenderableType]) -> bool:
        return True

    def line(
        self,
        label: str,
        meanwhile: Callable[[], object] | None = None,
        redraw: Callable[[], None] | None = None,
        at_once: Collection[str] = (),
    ) -> str:
        return self.ask(self.shown())

    def key(
        self,
        label: str,
        keys: Collection[str],
        enter: str | None = None,
        meanwhile: Meanwhile | None = None,
        redraw: Callable[[], None] | None = None,
        read_first: bool = False,
    ) -> str | None:
        # As somebody does who answers before the steps have been played to the end.
        return self.ask(self.shown(keys))


class Telling(Watching):
    """A real terminal that tells, before it waits for a key, what it shows."""

    def __init__(self, tell: Callable[[Shown], object]) -> None:
        Terminal.__init__(self)
        self.watch()
        self.tell = tell

    def line(
        self,
        label: str,
        meanwhile: Callable[[], object] | None = None,
        redraw: Callable[[], None] | None = None,
        at_once: Collection[str] = (),
    ) -> str:
        self.tell(self.shown())
        return super().line(label, meanwhile, redraw, at_once)

    def key(
        self,
        label: str,
        keys: Collection[str],
        enter: str | None = None,
        meanwhile: Meanwhile | None = None,
        redraw: Callable[[], None] | None = None,
        read_first: bool = False,
    ) -> str | None:
        self.tell(self.shown(keys))
        return super().key(label, keys, enter, meanwhile, redraw, read_first)


class Watched(worker.Worker):
    """The loop of the work, which tells a watching terminal what it asks."""

    def __init__(self, desk: Desk, case: opening.Opened, terminal: Terminal, shop: settings.Settings) -> None:
        super().__init__(desk, case, terminal, shop)
        if isinstance(terminal, Watching):
            terminal.worker = self

    def _ask(self, state: CaseState, asked: Prompt) -> str | None:
        if not isinstance(self.terminal, Watching):
            return super()._ask(state, asked)
        self.terminal.asked = asked
        try:
            return super()._ask(state, asked)
        finally:
            self.terminal.asked = None


def words(more: Path, case: str | None = None) -> Namespace:
    """What `faulttree work` is given: the family of the tests by its overlay, or a case to go on with."""
    family = "electromechanical" if case else "made-up"
    return Namespace(case=case, family=family, fitted=[], knowledge=[] if case else [str(more)], aircraft=None)


def work(more: Path, terminal: Watching, case: str | None = None) -> None:
    """Work a case from squawk to end, or go on with one, in this process."""
    with patch.object(worker, "Worker", Watched):
        assert worker.run(words(more, case), terminal) == 0


@contextmanager
def folders(at: Path, database: str | None = None, cases: Path | None = None) -> Iterator[Path]:
    """The environment of the command below a folder, the cases elsewhere if wanted; gives the overlay of the family."""
    more = at / "more"
    (more / "made-up").mkdir(parents=True, exist_ok=True)
    if not (more / "made-up" / "all.yaml").exists():
        (more / "made-up" / "all.yaml").write_text(FAMILY, encoding="utf-8")
    wanted = {
        "FAULTTREE_SETTINGS": str(at / "settings.toml"),
        "FAULTTREE_CASES": str(cases or at / "cases"), "FAULTTREE_DATABASE": database or "",
    }  # fmt: skip
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    try:
        yield more
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
