"""What earlier checks of a family found: results of cases, and how the book stood when it was last sound.

A case's result follows from the program, the book and the case; where none of them changed it is not worked again. A
memory that is damaged or cannot be written costs time and nothing else.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import faulttree
from faulttree.book.cases import RegressionCase
from faulttree.book.files import SourceFile
from faulttree.book.items import Written
from faulttree.book.legs import without_leg
from faulttree.book.references import references


@dataclass(slots=True)
class Memory:
    """``results`` are misses by key of a case; ``files``, ``entries``, ``cases`` digests as of the last sound check."""

    results: dict[str, list[str]] = field(default_factory=dict)
    files: str = ""
    entries: dict[str, str] = field(default_factory=dict)
    cases: dict[str, str] = field(default_factory=dict)


def recall(folder: Path | None, name: str) -> Memory:
    """What is remembered under a name; nothing if there is nothing, or nothing sound."""
    try:
        if folder is not None:
            kept = Memory(**json.loads((folder / f"{name}.checked.json").read_text("utf-8")))
            return kept if _is_sound(kept) else Memory()
    except (OSError, ValueError, TypeError):
        pass
    return Memory()


def _is_sound(kept: Memory) -> bool:
    """Whether what a file held is of the kind that is kept there: somebody else may have written it."""
    tables = (kept.entries, kept.cases, kept.results)
    if not isinstance(kept.files, str) or not all(isinstance(table, dict) for table in tables):
        return False
    texts = (*kept.entries.values(), *kept.cases.values())
    misses = kept.results.values()
    return all(isinstance(text, str) for text in texts) and all(
        isinstance(one, list) and all(isinstance(miss, str) for miss in one) for one in misses
    )


def keep(folder: Path | None, name: str, memory: Memory) -> None:
    """Remembers it, whole or not at all."""
    if folder is None:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
        part = folder / f"{name}.{os.getpid()}.part"
        part.write_text(json.dumps(asdict(memory)), "utf-8")
        os.replace(part, folder / f"{name}.checked.json")
    except OSError:
        return


def name_of(folders: Sequence[Path], family: str, refined: bool) -> str:
    """The name to remember a family of these folders by."""
    said = json.dumps([[str(folder.absolute()) for folder in folders], family, refined])
    return f"{family}-{digest_of(said)[:16]}"


def digest_of(data: Any) -> str:
    """SHA-256 over plain data."""
    text = json.dumps(data, sort_keys=True, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def digest_of_files(files: Iterable[SourceFile]) -> str:
    """SHA-256 over the bytes of files and the program that reads them."""
    digest = hashlib.sha256(program().encode())
    for file in files:
        digest.update(json.dumps([file.name, file.layer, file.home, len(file.content)]).encode())
        digest.update(file.content)
    return digest.hexdigest()


@lru_cache(maxsize=1)
def program() -> str:
    """SHA-256 over the library's own source, which is what a result depends on while it is being worked at."""
    root = Path(faulttree.__file__).parent
    digest = hashlib.sha256(faulttree.__version__.encode())
    for path in sorted(root.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def key_of(case: RegressionCase, book: str, refined: bool) -> str:
    """What the result of a case follows from: the program, the book's digest, the case without its place."""
    return digest_of([program(), book, refined, _as_said(case)])


def _as_said(case: RegressionCase) -> dict[str, Any]:
    return {name: value for name, value in asdict(case).items() if name != "position"}


def digests(entries: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    """A digest for each entry of a book, by ``section/id``."""
    return {f"{section}/{name}": digest_of(data) for section, found in entries.items() for name, data in found.items()}


def case_digests(cases: Iterable[RegressionCase]) -> dict[str, str]:
    """A digest for each case, by id."""
    return {case.id: digest_of(_as_said(case)) for case in cases}


def changed_ids(memory: Memory, entries: Mapping[str, str]) -> set[str]:
    """Ids of entries that are new, gone or others since the book was last sound."""
    every = {*memory.entries, *entries}
    return {each.partition("/")[2] for each in every if memory.entries.get(each) != entries.get(each)}


def of_what_changed(
    cases: Sequence[RegressionCase], memory: Memory, entries: Mapping[str, str]
) -> list[RegressionCase]:
    """Cases that changed, or name something that did, since the book was last sound."""
    now = case_digests(cases)
    changed = changed_ids(memory, entries)
    changed |= {name.partition(".")[0] for name in changed}  # with a fault what is asked of its component
    return [case for case in cases if memory.cases.get(case.id) != now[case.id] or _names(case) & changed]


def groups_touched(written: Written, changed: set[str]) -> set[str]:
    """Groups of options that what changed may depend on: its own, and those of what it names or is named by."""
    if changed & set(written.options):
        return set(written.options)
    group_of = {choice: group.id for group in written.options.values() for choice in group.form.choices}
    fitted = {item.id: item.fitted for item in written.items()}
    found: set[str] = set()
    for item in written.items():
        named = {reference.name.partition("@")[0] for reference in references(item)}
        named |= {part for name in (item.id, *named) for part in (without_leg(name)[0], name.partition(".")[0])}
        if item.id in changed or named & changed:
            found |= {option for name in (item.id, *named) for option in fitted.get(name, ())}
    return {group_of[option] for option in found if option in group_of}


def _names(case: RegressionCase) -> set[str]:
    """All that a case names, a fault's component too; ids with a leg count for the entry that they are written in."""
    expect = case.expect
    found = {*case.symptoms, *case.absent, *case.circumstances, *case.standing, *(step.name for step in case.steps)}
    found |= {*expect.order, *expect.next, *expect.hands_on, *expect.cautions, *expect.not_offered, expect.cause or ""}
    found |= {name.partition(".")[0] for name in found}
    return found | {without_leg(name)[0] for name in found}
