"""The screens that matter, as a person sees them in a window, pinned as text below `screens/`.

After a change that is meant: `PIN_SCREENS=1 python -m pytest tests/terminal/test_screens.py -n0`, and read the diff.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.support.small_family import FAMILY
from tests.support.window import Window

PINNED = Path(__file__).parent / "screens"
SIZES = [(80, 24), (120, 40)]

WALK = [
    ("", "a new squawk", "front"),
    ("n", "Registration or job number", "standing-cautions"),
    ("QQ-ELM\r", "What drives the gear", "family"),
    ("3", "What did the pilot say", "squawk"),
    ("wheels wont come up\r", "Gear stays down?", "symptom"),
    ("y", "Anything else?", ""),
    ("\r", "emergency means?", "opening"),
    ("2", "known to be locked", ""),
    ("1", "Which of these apply", "circumstances"),
    ("\r", "flight hours", "hours"),
    ("\r", "8 times in 10", "question"),
    ("?", "b back, or Enter", "help"),
    ("b", "Was the motor heard", ""),
    ("w", "Why this step", "why"),
    ("1", "Then next", "what-if"),
    ("b", "Was the motor heard", ""),
    ("2", "8 times in 10", "next"),
    ("d", "less likely", "changed"),
    ("b", "do this next", ""),
    ("v", "page 1 of", "tree"),
    ("b", "do this next", ""),
    ("c", "Why can't it be done here", "cannot-here"),
    ("b", "do this next", ""),
    ("o", "Other steps", "others"),
    ("t", "Which check?", ""),
    ("guard\r", "Type its number", "jump"),
    ("\r", "do this next", ""),
    ("h", "So far", "so-far"),
    ("t", "Take which answer back?", "take-back"),
    ("b", "do this next", ""),
    ("f", "What did you find?", "found"),
    ("brushes worn out\r", "Is it one of these?", "found-which"),
    ("b", "do this next", ""),
    ("y", "read and understood", "cautions"),
]
"""Keys, what is then awaited, and the name under which the screen is pinned."""


def environment(at: Path) -> dict[str, str]:
    """Folders of its own, a family of its own beside the shipped ones, a terminal with signs and colours."""
    family = at / "more" / "made-up"
    family.mkdir(parents=True)
    (family / "all.yaml").write_text(FAMILY, encoding="utf-8")
    (at / "settings.toml").write_text(f'overlays = ["{at / "more"}"]\n', encoding="utf-8")
    return {
        "FAULTTREE_CASES": str(at / "cases"), "FAULTTREE_DATABASE": "",
        "FAULTTREE_SETTINGS": str(at / "settings.toml"), "TERM": "xterm-256color", "LANG": "C.UTF-8",
        "PYTHONUTF8": "1", "COLUMNS": "", "LINES": "",
    }  # fmt: skip


DRILL = ["drill", "--family", "made-up", "--symptom", "stays-down", "--level", "1", "--seed", "3"]
DRILL_WALK = [
    ("", "read and understood", ""),
    ("r", "ask the pilot", ""),
    ("p", "What do you ask", ""),
    ("1\r", "y go on", ""),
    ("y", "ask the pilot", ""),
    ("p", "What do you ask", ""),
    ("2\r", "y go on", ""),
    ("y", "ask the pilot", ""),
    ("p", "What do you ask", ""),
    ("3\r", "y go on", ""),
    ("y", "known    Motor heard", "main"),
    ("s", "What do you set up", "set-ups"),
    ("b\r", "ask the pilot", ""),
    ("x", "Call in a specialist?", ""),
    ("y", "Debrief, page 1", "debrief"),
]
"""A drill as far as the first findings, then given up."""


@pytest.mark.parametrize(("columns", "lines"), SIZES)
def test_the_screens_are_as_pinned(tmp_path: Path, columns: int, lines: int) -> None:
    """From the first screen to the cautions of the first check, at both sizes."""
    assert_pinned(walked([], WALK, tmp_path, columns, lines), f"{columns}x{lines}")


def test_the_screens_of_a_drill_are_as_pinned(tmp_path: Path) -> None:
    """The screen that a learner works on, a list, and the first page of the debrief."""
    assert_pinned(walked(DRILL, DRILL_WALK, tmp_path, 80, 24), "drill-80x24")


def walked(
    words: list[str], walk: list[tuple[str, str, str]], tmp_path: Path, columns: int, lines: int
) -> dict[str, str]:
    """The screens that are named on the way, as they are seen."""
    seen = {}
    with Window(words, environment(tmp_path), columns, lines) as window:
        for keys, awaited, name in walk:
            window.press(keys)
            text = window.until(awaited)
            if name:
                seen[name] = text
    return seen


def assert_pinned(seen: dict[str, str], where: str) -> None:
    """They are those in a folder of ``screens``; or become them."""
    folder = PINNED / where
    if os.environ.get("PIN_SCREENS"):
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in seen.items():
            (folder / f"{name}.txt").write_text(text, encoding="utf-8")
    assert seen == {path.stem: path.read_text(encoding="utf-8") for path in folder.glob("*.txt")}
