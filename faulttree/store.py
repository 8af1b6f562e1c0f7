"""Cases on disk: one file per case, one JSON entry per line, only ever appended to and flushed to the disk."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from faulttree.case import CaseEntry
from faulttree.errors import BadCase

SUFFIX = ".case.jsonl"


class Store:
    """The cases in one folder, made on first use, readable by its owner alone."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def cases(self) -> list[str]:
        """Names of all cases, oldest first."""
        if not self.folder.is_dir():
            return []
        return sorted(path.name.removesuffix(SUFFIX) for path in self.folder.glob(f"*{SUFFIX}"))

    def new_name(self, today: datetime) -> str:
        """A name that no case has: the day, and a number."""
        taken = set(self.cases())
        n = 1
        while f"{today:%Y-%m-%d}-{n}" in taken:
            n += 1
        return f"{today:%Y-%m-%d}-{n}"

    def read(self, name: str) -> list[CaseEntry]:
        """All entries of a case. Raises BadCase where there is none, or a line cannot be read.

        A last line without its end was cut off while it was written: it was never answered for, and is left out.
        """
        path = self._path(name)
        if not path.is_file():
            known = ", ".join(self.cases()[-5:]) or "none yet"
            raise BadCase(f"there is no case {name!r}; the latest are: {known}")
        text = path.read_text(encoding="utf-8", errors="replace")
        lines = text.split("\n")
        return [self._entry(path, i + 1, line) for i, line in enumerate(lines[:-1])]

    def append(self, name: str, number: int, who: str, kind: str, data: Mapping[str, Any]) -> CaseEntry:
        """Write one entry and have it on the disk before returning.

        Raises BadCase where ``number`` does not follow the last entry there: somebody else has written meanwhile.
        """
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        entry = CaseEntry(number, datetime.now(UTC).isoformat(timespec="seconds"), who, kind, data)
        line = {"number": entry.number, "at": entry.at, "who": who, "kind": kind, "data": dict(data)}
        path = self._path(name)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        with os.fdopen(handle, "r+b") as file:
            content = file.read()
            whole = _end_of_whole_lines(content)
            there = content[:whole].count(b"\n")
            if number != there + 1:
                raise BadCase(f"case {name} has {there} entries by now: it is open elsewhere; go on with it anew")
            file.seek(whole)
            file.truncate()
            file.write(json.dumps(line, ensure_ascii=False).encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
        return entry

    def _path(self, name: str) -> Path:
        if not name or Path(name).name != name or name.startswith("."):
            raise BadCase(f"{name!r} is not a case name; write it as `work` showed it")
        return self.folder / f"{name}{SUFFIX}"

    def _entry(self, path: Path, line_number: int, line: str) -> CaseEntry:
        try:
            found = json.loads(line)
            entry = CaseEntry(found["number"], found["at"], found["who"], found["kind"], found["data"])
        except (ValueError, KeyError, TypeError) as problem:
            raise BadCase(f"{path}:{line_number}: not an entry of a case; the file was changed by hand") from problem
        if entry.number != line_number:
            raise BadCase(f"{path}:{line_number}: entry {entry.number} stands where {line_number} should")
        return entry


def _end_of_whole_lines(content: bytes) -> int:
    return content.rfind(b"\n") + 1
