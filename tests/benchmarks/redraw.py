"""How long a key takes to show its screen, in the real program behind a pseudo-terminal, on the largest shipped family.

    python tests/benchmarks/redraw.py --keys 300 --reading 3

Cases are worked by what is proposed, each answer drawn by chance, with a look aside now and then (why, other steps, the
fault tree, what was done so far). Each screen is read for some seconds, as anybody does; then a key is pressed, and the
time to the first and to the last byte of what is drawn is taken. Goal: 95 % of the last bytes within 50 ms.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import select
import sys
import tempfile
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from faulttree_cli.terminal import TO_THE_TOP
from tests.support.window import LONGEST, Window

SQUAWKS = (
    "gear will not come up", "no green on the left, gear seems down", "hydraulic fluid on the belly, gear slow",
    "gear stopped half way coming down", "horn blows with the gear down", "gear will not go down",
    "gear takes ages to come up", "a leg came down late",
)  # fmt: skip
SETTLED = 0.3
"""Seconds without a byte after which a screen is whole."""

KEYS_A_CASE = 30
"""Answers drawn by chance contradict each other the more, the more of them there are; no job is like that."""

ASIDE, ASIDES = 0.15, "wovhd"
"""How often something else is looked at first, and the keys for it."""


def main() -> None:
    """Presses keys through as many cases as it takes, and prints the times."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--keys", type=int, default=300)
    parser.add_argument("--reading", type=float, default=3.0, help="seconds that each screen is read")
    parser.add_argument("--family", default="engine-driven")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    rng, taken = Random(given.seed), list[tuple[str, float, float]]()
    for number in range(1000):
        squawk = SQUAWKS[number % len(SQUAWKS)]
        with tempfile.TemporaryDirectory() as home:
            taken += case(home, squawk, given.family, given.reading, rng, given.keys - len(taken))
        if len(taken) >= given.keys:
            break
    for name, told in (("first", [first for _, first, _ in taken]), ("last", [last for _, _, last in taken])):
        told.sort()
        print(
            f"{len(told)} keys, {name} byte: median {_ms(told[len(told) // 2])}, "
            f"95 % within {_ms(told[int(0.95 * (len(told) - 1))])}, longest {_ms(told[-1])}"
        )
    print("slowest:", ", ".join(f"{key} {_ms(last)}" for key, _, last in sorted(taken, key=lambda t: -t[2])[:12]))


def _ms(seconds: float) -> str:
    return f"{seconds * 1e3:.0f} ms"


def case(home: str, squawk: str, family: str, reading: float, rng: Random, most: int) -> list[tuple[str, float, float]]:
    """One case from its squawk: of each key what it was pressed for, seconds to the first and to the last byte."""
    environment = {
        "HOME": home, "XDG_DATA_HOME": f"{home}/data", "XDG_CONFIG_HOME": f"{home}/config", "TERM": "xterm-256color",
        "XDG_CACHE_HOME": f"{home}/cache", "LANG": "C.UTF-8",
    }  # fmt: skip
    words = ["work", "--aircraft", "QQ-HYD", "--family", family]
    with Window(words, environment) as window:
        _begin(window, squawk)
        found, about = list[tuple[str, float, float]](), ""
        while len(found) < min(most, KEYS_A_CASE):
            if not _read(window, reading):
                break
            about, keys = _next_keys(window.text(), rng)
            if not keys:
                break
            for key in keys:
                found.append((f"{key!r} {about}", *_pressed(window, key)))
        return found


def _begin(window: Window, squawk: str) -> None:
    """To the screen that comes of the squawk."""
    window.until("r read")
    window.press("r")
    window.until("What did the pilot say?")
    window.enter(squawk)


def _read(window: Window, seconds: float) -> bool:
    """Look at the screen; what the program draws meanwhile of its own is drawn. False where it is over."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        if select.select([window.descriptor], [], [], left)[0]:
            if not (drawn := _drawn(window)):
                return False
            window.draw(drawn)
    return True


def _drawn(window: Window) -> bytes:
    """What there is to draw; nothing where the program is over."""
    with contextlib.suppress(OSError):
        return os.read(window.descriptor, 65536)
    return b""


def _next_keys(screen: str, rng: Random) -> tuple[str, str]:
    """What the screen is about, and the key (with Enter where a line is asked for) that goes on; "" at the end."""
    title = next((line for line in screen.splitlines()[2:] if line.strip()), "")[:40]
    if "r read and understood" in screen:
        return title, "r"
    if "closed" in screen or "Which cause" in screen:
        return title, ""
    if re.search(r"Enter (for|takes|alone)|Enter goes on", screen) and "w why" not in screen and "b back" not in screen:
        return title, "\r"
    if "w why" in screen and rng.random() < ASIDE:
        return title, rng.choice(ASIDES)
    if re.search(r"^  y ", screen, re.M):
        return title, "y"
    numbers = re.findall(r"^  ([1-9]) ", screen, re.M)
    if numbers:
        return title, rng.choice(numbers[:2])
    return title, "b" if re.search(r"\bb back", screen) else ""


def _pressed(window: Window, key: str) -> tuple[float, float]:
    """Seconds from a key to the first and to the last byte of the screen that is drawn for it."""
    start = time.perf_counter()
    os.write(window.descriptor, key.encode())
    first = last = 0.0
    while select.select([window.descriptor], [], [], SETTLED if first else LONGEST)[0]:
        if not (drawn := _drawn(window)):
            break
        last = time.perf_counter() - start
        if TO_THE_TOP.encode() in drawn:  # what comes before it is the line of the old screen being left
            first = first or last
        window.draw(drawn)
    return first, last


if __name__ == "__main__":
    main()
