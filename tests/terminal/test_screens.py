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
        "FAULTTREE_CACHE": str(at / "cache"), "FAULTTREE_CASES": str(at / "cases"), "FAULTTREE_DATABASE": "",
        "FAULTTREE_SETTINGS": str(at / "settings.toml"), "TERM": "xterm-256color", "LANG": "C.UTF-8",
        "PYTHONUTF8": "1", "COLUMNS": "", "LINES": "",
    }  # fmt: skip


@pytest.mark.parametrize(("columns", "lines"), SIZES)
def test_the_screens_are_as_pinned(tmp_path: Path, columns: int, lines: int) -> None:
    """From the first screen to the cautions of the first check, at both sizes."""
    seen = {}
    with Window([], environment(tmp_path), columns, lines) as window:
        for keys, words, name in WALK:
            window.press(keys)
            text = window.until(words)
            if name:
                seen[name] = text
    folder = PINNED / f"{columns}x{lines}"
    if os.environ.get("PIN_SCREENS"):
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in seen.items():
            (folder / f"{name}.txt").write_text(text, encoding="utf-8")
    pinned = {path.stem: path.read_text(encoding="utf-8") for path in folder.glob("*.txt")}
    assert seen == pinned
