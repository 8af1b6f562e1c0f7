"""How long the largest knowledge files take that are read, each full of one thing that is wrong or much.

    python tests/benchmarks/crafted.py

Beside the seconds of this process' own work (the least of two) stands their ratio to a bare parse of the same text by
PyYAML's C parser in the same run, and the power of the size that they grow with from a quarter of it: 1 is in
proportion, 2 is with the square. Goal: under a second for any. Ends with 1 where one takes longer.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

import yaml

from faulttree.book import read_texts, reader, yamltext
from faulttree.book.files import SIZE
from tests.support.crafted import KINDS, crafted

BESIDE = Path(__file__).resolve().parents[1] / "unit" / "book" / "data" / "sound"
MOST = 1.0
PART = 4


def seconds(work: Callable[[], object]) -> float:
    """The least of two runs, each as if the process had just been started."""
    taken = []
    for _ in range(2):
        reader._load.cache_clear()
        yamltext.forget()
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def parsed(text: str) -> None:
    """All events of a text, up to where it is no YAML."""
    try:
        for _ in yaml.parse(text, Loader=yaml.CSafeLoader):
            pass
    except yaml.YAMLError:
        pass


def measured(kind: str, size: int, texts: Mapping[str, str]) -> tuple[float, float]:
    """Seconds of reading the book with such a file of so many bytes, and of a bare parse of the file."""
    text = crafted(kind, size)
    with_it = {**texts, "demo/more.yaml": text}
    return seconds(lambda: read_texts(with_it, "demo")), seconds(lambda: parsed(text))


def main(words: Sequence[str] | None = None) -> int:
    """Prints the table; 1 where a file takes longer than a second."""
    parser = argparse.ArgumentParser(description="Times the largest files, crafted to take long.")
    parser.add_argument("--kind", action="append", default=[], choices=tuple(KINDS))
    parser.add_argument("--size", type=int, default=SIZE)
    asked = parser.parse_args(words)
    texts = {
        path.relative_to(BESIDE).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(BESIDE.glob("*/*.yaml"))
    }  # fmt: skip
    measured(next(iter(KINDS)), asked.size // 10, texts)  # loads what is loaded only where it is wanted
    worst = 0.0
    for kind in asked.kind or KINDS:
        part, _ = measured(kind, asked.size // PART, texts)
        whole, bare = measured(kind, asked.size, texts)
        power = math.log(whole / part) / math.log(PART)
        print(f"{kind:26} {whole:6.2f} s  {whole / bare:6.1f} x a bare parse  power {power:4.1f}", flush=True)
        worst = max(worst, whole)
    print(f"longest {worst:.2f} s, goal {MOST:g}: {'met' if worst <= MOST else 'MISSED'}")
    return worst > MOST


if __name__ == "__main__":
    sys.exit(main())
