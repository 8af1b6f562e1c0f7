"""Knowledge files as accidents and malice make them: shipped ones changed by the seed, and any bytes at all.

What is read beside a changed file (``beside``): a file of cases or lessons with the whole book of its family, the
other cases and lessons left out, which it does not name; a file of the small family with all others but the sayings,
which nobody names; a file of a shipped book with the two that say what every book has to (``book`` and ``defaults``)
and nothing else, so that it goes through all stages of the reader with most of what it names unknown. Every twentieth,
and every third of those in which no sign of YAML went wrong, is also read within its whole family.
"""

from __future__ import annotations

import re
import resource
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

from faulttree.book import files, reader, yamltext
from faulttree.book.casereader import read as read_cases
from faulttree.book.drillreader import read as read_drills
from faulttree.book.files import SourceFile
from faulttree.book.model import Book
from faulttree.book.positions import Problem
from tests.support.small_family import FAMILY, shared_texts

SHIPPED = Path(__file__).resolve().parents[2] / "knowledge"
FAMILIES = ("electromechanical", "power-pack", "engine-driven")
SMALL = "made-up"
TOKEN = re.compile(rb"[^\s\[\]{},:]+")
PIECES = (
    b"{", b"}", b"[", b"]", b": ", b"- ", b"\n", b"\t", b"'", b'"', b"#", b"&a", b"*a", b"!t", b"<<", b"---", b"|",
    b">", b"null", b"true", b"0", b"-1", b"1e999", b"nan", b".inf", b"[]", b"{}", b"[x]", b"{x: y}", b"''", b"9" * 400,
    b"amends: true", b"retires: true", b"the-squawk", b"../../etc/passwd", b"\x00", b"\xff\xfe", b"\x1b[2J",
    "\u202e\u200b\ufeff".encode(), "\U0001f6e9".encode(), b"a" * 5000, b"? ", b"%YAML 9.9",
)  # fmt: skip
SECONDS, MEGABYTES = 1.0, 200
"""What reading a book with one such file may take: processor time, and memory beyond what was there."""

EVERY, EVERY_SOUND = 20, 3
"""Of so many files one is also read within its whole family: of all, and of those that are sound as YAML."""

STATED = ("book.yaml", "defaults.yaml")
SAYINGS = "sayings.yaml"

Change = Callable[[Random, bytes], bytes]


def _bytes_flipped(rng: Random, text: bytes) -> bytes:
    made = bytearray(text)
    for _ in range(rng.randint(1, 8)):
        if made:
            made[rng.randrange(len(made))] ^= 1 << rng.randrange(8)
    return bytes(made)


def _on_lines(change: Callable[[Random, list[bytes], int], None]) -> Change:
    def changed(rng: Random, text: bytes) -> bytes:
        lines = text.split(b"\n")
        for _ in range(rng.randint(1, 3)):
            change(rng, lines, rng.randrange(len(lines)))
            lines = lines or [b""]
        return b"\n".join(lines)

    return changed


def _swap(rng: Random, lines: list[bytes], at: int) -> None:
    other = rng.randrange(len(lines))
    lines[at], lines[other] = lines[other], lines[at]


def _indent(rng: Random, lines: list[bytes], at: int) -> None:
    lines[at] = b" " * rng.randint(0, 10) + lines[at].lstrip()


def _delete(rng: Random, lines: list[bytes], at: int) -> None:
    del lines[at : at + rng.randint(1, 4)]


def _double(rng: Random, lines: list[bytes], at: int) -> None:
    lines[at:at] = lines[at : at + rng.randint(1, 30)] * rng.randint(1, 3)


def _token(rng: Random, text: bytes) -> bytes:
    spots = list(TOKEN.finditer(text))
    for _ in range(rng.randint(1, 4)):
        if spots:
            spot, other = rng.choice(spots), rng.choice(spots)
            word = rng.choice([*PIECES, text[other.start() : other.end()]])
            text = text[: spot.start()] + word + text[spot.end() :]
            spots = list(TOKEN.finditer(text))
    return text


def _unicode(rng: Random, text: bytes) -> bytes:
    at = rng.randrange(len(text) + 1)
    signs = "".join(chr(rng.choice([rng.randrange(0x80), rng.randrange(0x3000), rng.randrange(0x110000)]))
                    for _ in range(rng.randint(1, 12)))  # fmt: skip
    return text[:at] + signs.encode("utf-8", "surrogatepass") + text[at:]


def _cut(rng: Random, text: bytes) -> bytes:
    return text[: rng.randrange(len(text) + 1)]


def _anything(rng: Random, text: bytes) -> bytes:
    return rng.randbytes(rng.randrange(2000))


def _pile(rng: Random, text: bytes) -> bytes:
    return b"".join(rng.choice([*PIECES, *TOKEN.findall(text[:4000])]) for _ in range(rng.randrange(60)))


CHANGES: dict[str, Change] = {
    "bytes flipped": _bytes_flipped, "lines swapped": _on_lines(_swap), "indent changed": _on_lines(_indent),
    "lines deleted": _on_lines(_delete), "blocks doubled": _on_lines(_double), "words replaced": _token,
    "signs put in": _unicode, "cut off": _cut, "any bytes": _anything, "a pile of pieces": _pile,
}  # fmt: skip


@cache
def book_files(family: str) -> tuple[SourceFile, ...]:
    """All files of a family as they are: a shipped one, or the small one of the tests."""
    if family != SMALL:
        return tuple(files.collect([SHIPPED], family)[0])
    texts = {**shared_texts(), f"{SMALL}/all.yaml": FAMILY}
    return tuple(SourceFile(name, 0, name.split("/")[0], text.encode()) for name, text in texts.items())


def mangled(rng: Random, family: str) -> tuple[list[SourceFile], SourceFile, str]:
    """The family's files with one of them changed, that one, and how."""
    all_files = list(book_files(family))
    at = rng.randrange(len(all_files))
    how = rng.choice(list(CHANGES))
    content = CHANGES[how](rng, all_files[at].content)
    if rng.random() < 0.3:
        more = rng.choice(list(CHANGES))
        content, how = CHANGES[more](rng, content), f"{how}, then {more}"
    all_files[at] = replace(all_files[at], content=content)
    return all_files, all_files[at], how


def beside(all_files: Sequence[SourceFile], changed: SourceFile, family: str) -> list[SourceFile]:
    """The changed file and what is read with it."""
    if not changed.is_book:
        return [file for file in all_files if file.is_book or file is changed]
    if family == SMALL:
        return [file for file in all_files if file is changed or Path(file.name).name != SAYINGS]
    return [file for file in all_files if file is changed or Path(file.name).name in STATED]


def wrong_anywhere(
    all_files: Sequence[SourceFile], changed: SourceFile, family: str, number: int
) -> tuple[str, float, int, bool]:
    """What is wrong with how the changed file is read, first with little beside it, then maybe within its family.

    "" if nothing is; seconds and MB it took; whether it was read within its family. To the seconds of that the time
    is added that the other files took when they were read first: from then on they are kept.
    """
    told, seconds, megabytes = wrong_with(beside(all_files, changed, family), changed, family)
    sound = not told and not yamltext.read_yaml(changed.content, changed.name).problems
    within = not told and (number % EVERY == 0 or (sound and number % EVERY_SOUND == 0))
    if within:
        told, more, most = wrong_with(all_files, changed, family, seconds + seconds_of_others(family))
        seconds, megabytes = more, max(megabytes, most)
    return told, seconds, megabytes, within


@cache
def seconds_of_others(family: str) -> float:
    """What it takes to read all files of a family from bytes to plain data, of which none was read before."""
    yamltext.forget()
    begun = time.process_time()
    for file in book_files(family):
        yamltext.read_yaml(file.content, file.name)
    return time.process_time() - begun


def wrong_with(
    all_files: Sequence[SourceFile], changed: SourceFile, family: str, spent: float = 0.0
) -> tuple[str, float, int]:
    """What is wrong with how a book is read of which one file was changed, "" if nothing; seconds and MB it took.

    ``spent`` are seconds that count with those.
    """
    _forget_peak()
    before, begun = _memory("VmRSS"), time.process_time()
    told = _read(all_files, changed, family)
    seconds, megabytes = spent + time.process_time() - begun, (_memory("VmHWM") - before) // 1024
    if not told and seconds > SECONDS:
        told = f"{seconds:.2f} s"
    if not told and megabytes > MEGABYTES:
        told = f"{megabytes} MB"
    return told, seconds, megabytes


def _read(all_files: Sequence[SourceFile], changed: SourceFile, family: str) -> str:
    try:
        problems: tuple[Problem, ...] | list[Problem]
        if changed.holds_cases:
            problems = read_cases(all_files, family)[1]
        elif changed.holds_drills:
            problems = read_drills(all_files, family).problems
        else:
            book, problems = reader.read(all_files, (), family, ())
            if (book is None) != bool(problems) or not isinstance(book, Book | None):
                return f"neither a book nor problems: {book is not None}, {len(problems)}"
    except Exception as problem:
        return f"{type(problem).__name__}: {problem}"
    placeless = [p for p in problems if not (p.position.file and p.position.line and p.what and p.right and p.rule)]
    return f"a message without its place: {placeless[0]}" if placeless else ""


def _forget_peak() -> None:
    """Linux begins anew with the largest memory that the process had (proc(5), clear_refs)."""
    with suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _memory(what: str) -> int:
    """kB of memory now, or at its largest; where the system does not tell, its largest ever."""
    with suppress(OSError):
        found = re.search(rf"{what}:\s+(\d+)", Path("/proc/self/status").read_text())
        if found:
            return int(found[1])
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
