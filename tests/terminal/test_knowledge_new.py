"""`faulttree knowledge new` in a window of eighty by twenty-four: keys as a person presses them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from faulttree.workshop.authoring.session import Session
from tests.support.authored import CAUSE, answered, folders, ground
from tests.support.window import Window
from tests.terminal.test_screens import environment

HALF = 7


@pytest.fixture
def words(tmp_path: Path) -> list[str]:
    return ["knowledge", "new", "--family", "made-up", "--write", str(tmp_path / "shop")]


@pytest.fixture
def around(tmp_path: Path) -> dict[str, str]:
    return environment(tmp_path)


def told(window: Window, pressed: str, wanted: str) -> str:
    if pressed.endswith("\r"):
        window.enter(pressed[:-1])
    else:
        window.press(pressed)
    return window.until(wanted)


def fits(text: str) -> None:
    assert max(map(len, text.splitlines())) <= 80
    assert len(text.splitlines()) <= 24


def test_left_half_way_it_goes_on_and_is_written_after_a_yes(
    words: list[str], around: dict[str, str], tmp_path: Path
) -> None:
    """Control-C says how to come back. What is answered elsewhere meanwhile is spared here but the last question."""
    kept = Path(around["FAULTTREE_CASES"]) / "new-entry.json"
    with Window(words, around) as window:
        window.until("question 1\n")
        for number, (key, typed) in enumerate(list(CAUSE.items())[:HALF], 1):
            pressed = typed if key == "kind" else f"{typed}\r"  # a key acts at once, a line wants its Enter
            fits(told(window, pressed, f"question {number + 1}\n"))
        window.press("\x03")
        left = " ".join(window.until("Left.").split())
    assert "Nothing was written, the answers are kept: `faulttree knowledge new` goes on" in left
    so_far = json.loads(kept.read_text(encoding="utf-8"))
    assert list(so_far["answers"]) == list(CAUSE)[:HALF]
    session = Session(ground(folders(tmp_path / "as"), tmp_path / "shop"), {}, so_far["answers"])
    answered(session, CAUSE)
    del session.answers["case.within"]
    kept.write_text(json.dumps({**so_far, "answers": session.answers}), encoding="utf-8")
    with Window(words, around) as window:
        assert "An entry was begun: cause pins corroded, for made-up" in window.until("y go on with it")
        fits(told(window, "y", f"question {len(CAUSE)}\n"))
        shown = told(window, "1\r", "read on")
        while "y write it" not in shown:
            fits(shown)
            shown = told(window, "y", "   ? help")
        assert "The checker: no errors" in shown
        told(window, "\r", "y write it")  # Enter alone writes nothing
        assert not (tmp_path / "shop").exists()
        told(window, "y", "Written:")
    assert len(list((tmp_path / "shop/made-up").iterdir())) == 2


def test_nonsense_and_help_leave_the_question_where_it_is(words: list[str], around: dict[str, str]) -> None:
    """Each is told above the question; `?` and `<` are at every one and act at once, as all keys do."""
    with Window(words, around) as window:
        window.until("question 1\n")
        assert "A key answers at once. Enter alone takes nothing." in window.text()
        told(window, "1", "question 2\n")
        assert "'zzzz'; try other words, or type new" in told(window, "zzzz\r", "try other words")
        assert "1 Motor (motor)" in told(window, "motr\r", "The likest first")
        assert "keep their id" in told(window, "?", "keep their id")
        told(window, "1\r", "question 3\n")
        assert "The book has: brushes worn (0.3)." in window.text()
        assert "Enter alone: motor, as you had it" in told(window, "<", "question 2\n")
        told(window, "motor\r", "question 3\n")
        told(window, "springs broken\r", "question 4\n")
        assert "There is a fault motor.brushes-worn already" in told(window, "brushes-worn\r", "already")
