"""What comes from outside (files, links, names, records of others, keys) acts on nothing and stops nothing."""

from __future__ import annotations

import json
import os
import re
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from faulttree.book import read_book
from faulttree.case import CaseEntry, chained
from faulttree.papers.progress import COLUMNS, as_csv
from faulttree.store import Cases, Database
from faulttree.workshop.proposal import put
from tests.support.hostile import command, one_message
from tests.support.mangled import SHIPPED
from tests.support.mechanic import Following, Mechanic, work

ESCAPES = "\x1b]0;owned\x07\x1b[2J\x9b31m\x08"
RAW = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""What a terminal obeys, or what turns the direction of writing."""

MARKUP = "[bold red]b[/] <script>alert(1)</script> #eval(1) {{7*7}} :skull:"


def refused(told: tuple[int, str, str]) -> None:
    """Status 2 and few lines, one for each thing wrong; no exception, and nothing that acts."""
    status, printed, said = told
    assert (status, printed, said.count("\n") <= 4) == (2, "", True), said
    assert "Traceback" not in said
    assert "failed inside" not in said
    assert RAW.search(said.replace("\n", "")) is None, said


# -- links and odd files in an overlay -----------------------------------------------------------------


@pytest.mark.parametrize("kind", ["dangling", "ring", "device", "folder", "pipe"])
def test_what_is_no_file_in_an_overlay_is_told_and_not_waited_for(tmp_path: Path, kind: str) -> None:
    """A link to nothing, to itself, to an endless device, to a folder; a pipe that nobody writes to."""
    home = tmp_path / "electromechanical"
    home.mkdir()
    odd = home / "odd.yaml"
    if kind == "pipe":
        os.mkfifo(odd)
    else:
        odd.symlink_to({"dangling": "nowhere", "ring": "odd.yaml", "device": "/dev/zero", "folder": "/"}[kind])
    problems = read_book([SHIPPED, tmp_path], "electromechanical").problems
    assert [(p.position.file, p.rule) for p in problems] == [(str(odd), "file")]


def test_a_device_does_not_keep_a_misspelt_folder_from_being_told(tmp_path: Path) -> None:
    """Whether it defines a family of its own is looked up in its files, and a device has no end."""
    home = tmp_path / "elektromechanical"
    home.mkdir()
    (home / "odd.yaml").symlink_to("/dev/zero")
    problems = read_book([SHIPPED, tmp_path], "electromechanical").problems
    assert "did you mean `electromechanical`?" in [p.right for p in problems]


@pytest.mark.parametrize("family", ["../shared", "/etc", "..", ".", "a\0b", "x" * 5000, "shared", ESCAPES])
def test_a_family_is_a_name_and_no_path(more: Path, family: str) -> None:
    """Nothing outside the book is read; one message, in which nothing acts."""
    refused(command("rank", "--family", family, "--squawk", "wheels wont come up"))


@pytest.mark.parametrize(
    "words",
    [
        ("rank", "--family", "made-up", "--squawk", "x", "--knowledge", "{}"),
        ("record", "{}"),
        ("knowledge", "check", "{}"),
        ("knowledge", "show", "{}"),
        ("cases", "import", "{}"),
        ("aircraft", "{}", "--show"),
        ("knowledge", "schema", "--out", "/dev/null/{}"),
    ],
    ids=" ".join,
)
@pytest.mark.parametrize("name", ["x" * 5000, "../../../etc/shadow", ESCAPES, "a\0b"], ids=["long", "up", "esc", "nul"])
def test_a_strange_name_is_one_message(more: Path, words: tuple[str, ...], name: str) -> None:
    """Status 2, no exception, and nothing in it acts on the terminal."""
    refused(command(*(word.format(name) for word in words)))


# -- records of others ---------------------------------------------------------------------------------

START: list[tuple[str, dict[str, Any]]] = [
    ("opened", {"family": "made-up", "fitted": [], "job": f"QQ{ESCAPES}", "uid": "7" * 32, "version": "1",
                "digest": "sha256:0", "overlays": ["/no/such/folder", "../no-such"]}),
    ("squawk", {"text": f"wheels wont come up {ESCAPES} {MARKUP}"}),
    ("symptom", {"symptom": "stays-down", "present": True}),
]  # fmt: skip


def record(at: Path, *more: tuple[str, dict[str, Any]], name: str = "theirs") -> Path:
    """A record as anybody can write it: its digests hold."""
    entries: list[CaseEntry] = []
    for number, (kind, data) in enumerate([*START, *more], 1):
        entry = CaseEntry(number, "2026-01-01T00:00:00+00:00", f"them{ESCAPES}", kind, data, "")
        entries.append(chained(entry, entries[-1].digest if entries else ""))
    told = [{key: getattr(e, key) for key in CaseEntry.__slots__} for e in entries]
    file = at / "record.json"
    file.write_text(json.dumps({"paper": "record", "format": 1, "case": name, "entries": told}), "utf-8")
    return file


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("symptom", {"symptom": ["x"], "present": True}),
        ("symptom", {}),
        ("undone", {}),
        ("undone", {"entry": "1"}),
        ("hours", {"hours": "x"}),
        ("hours", {"hours": float("nan")}),
        ("hours", {"hours": float("inf")}),
        ("hours", {"hours": 10**400}),
        ("answer", {"check": "motor-sound", "outcome": None}),
        ("reading", {"check": "motor-sound", "value": 1, "unit": "V", "weights": [float("nan"), 1]}),
        ("note", {"text": 5}),
        ("opened", {"family": "made-up", "fitted": [], "digest": "x", "limits": {"a": 5}}),
        ("at-hand", {"people": "all"}),
    ],
)
def test_a_record_with_entries_that_cannot_be_is_not_taken_in(
    more: Path, tmp_path: Path, kind: str, data: dict[str, Any]
) -> None:
    """Whatever its digests say: one message that names the entry, and no case."""
    one_message(command("cases", "import", str(record(tmp_path, (kind, data)))), "entry 4")
    assert command("cases")[1] == "No cases yet.\n"


def test_a_record_that_names_what_the_book_has_not_is_one_message(more: Path, tmp_path: Path) -> None:
    """It is taken in, for the book may be another shop's; its papers say what is missing."""
    assert command("cases", "import", str(record(tmp_path, ("answer", {"check": "no-such", "outcome": "x"}))))[0] == 0
    refused(command("record", "theirs"))


@pytest.mark.parametrize(
    ("name", "here"),
    [
        (f"../../x{ESCAPES}", "x-0-owned-2J-31m"),
        ("$(touch x); `x` & x", "touch-x-x-x"),
        ("--out", "out"),
        ("\n", "case"),
        ("", "record"),
        ("2026-11-26-1", "2026-11-26-1"),
        ("x" * 500, "x" * 80),
    ],
)
def test_a_case_from_elsewhere_has_a_name_that_can_be_typed(more: Path, tmp_path: Path, name: str, here: str) -> None:
    """It stands in lists, in file names and in command lines that are proposed."""
    status, printed, _ = command("cases", "import", str(record(tmp_path, name=name)))
    assert (status, printed) == (0, f"Case {here}: 3 entries taken in.\n")


@pytest.mark.parametrize("deep", ["[" * 100_000, '{"a":' * 100_000, "\xff", "", "nul\x00", "[1, 2]", "NaN"])
def test_what_is_no_record_is_one_message(more: Path, tmp_path: Path, deep: str) -> None:
    """Nested without end, no JSON, no text."""
    file = tmp_path / "record.json"
    file.write_text(deep, "latin-1")
    one_message(command("cases", "import", str(file)), str(file))


def test_nothing_typed_elsewhere_acts_on_this_terminal(more: Path, tmp_path: Path) -> None:
    """Lists, papers in words and the check of the log, of a case that is full of escapes."""
    command("cases", "import", str(record(tmp_path, ("note", {"text": ESCAPES + MARKUP}))))
    for words in (("cases",), ("cases", "verify", "theirs"), ("cases", "--json"), ("cases", "--words", "owned")):
        _, printed, said = command(*words)
        assert printed
        assert RAW.search((printed + said).replace("\n", "")) is None


def test_nothing_typed_acts_on_the_screen(more: Path, tmp_path: Path) -> None:
    """The squawk, a note and a fault in own words, on every screen to the end of the case: escapes are written out,
    and markup stays the letters it is."""
    mechanic = Mechanic()
    words = {"squawk": f"wheels wont come up {ESCAPES}", "note": ESCAPES + MARKUP, "found": ESCAPES + MARKUP}
    trip = iter(["a", "", "f", ""])

    def ask(shown: Any) -> str:
        if shown.topic in words and not shown.keys:
            return words[shown.topic]
        if shown.topic == "found-which":
            return "k"
        if shown.topic == "next" and (key := next(trip, None)):
            return key
        return mechanic.answer(shown)

    terminal = Following(ask)
    drawn = terminal.console.file
    # Shown as by the real terminal, whose file is a text in memory here.
    terminal.show = lambda *what: type(terminal).__mro__[2].show(terminal, *what)  # type: ignore[method-assign]
    work(more, terminal)
    told = drawn.getvalue()  # type: ignore[attr-defined]
    assert MARKUP.split()[0] in told
    assert RAW.search(re.sub(r"\n", "", told)) is None


# -- papers, tables ------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_of_a_table_is_a_formula(sign: str) -> None:
    """Names come from logins and from overlays."""
    row = {key: f"{sign}cmd|' /C calc'!A0" for key, _ in COLUMNS}
    cells = as_csv({"rows": [row]}).splitlines()[1:]
    assert cells
    assert not any(cell.lstrip('"')[:1] in ("=", "+", "-", "@", "\t", "\r") for cell in ",".join(cells).split(","))


# -- rights, network, bytes ----------------------------------------------------------------------------


def test_nobody_else_can_read_what_is_kept(more: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the umask: the database with its journal, its folder, the copies of books."""
    monkeypatch.setenv("FAULTTREE_CACHE", str(tmp_path / "cache"))
    before = os.umask(0)
    try:
        work(more, Following(Mechanic().answer))
    finally:
        os.umask(before)
    cases = tmp_path / "cases"
    kept = [cases, *cases.iterdir(), *(tmp_path / "cache").iterdir()]
    open_to_others = [str(p) for p in kept if stat.S_IMODE(p.stat().st_mode) & 0o077]
    assert len(kept) > 2
    assert open_to_others == []


def test_nobody_else_can_read_a_half_written_entry(tmp_path: Path) -> None:
    """It may hold the words of a case; what is written into a shop's knowledge is for everybody."""
    before = os.umask(0o022)
    try:
        put(tmp_path / "data" / "new-entry.json", "{}", private=True)
        put(tmp_path / "ours" / "rates.yaml", "faults: {}")
    finally:
        os.umask(before)
    made = (tmp_path / "data", tmp_path / "data" / "new-entry.json", tmp_path / "ours" / "rates.yaml")
    assert [stat.S_IMODE(path.stat().st_mode) for path in made] == [0o700, 0o600, 0o644]


ALONE = """
import io, json, sys
def alone(event, args):
    if event.startswith(("socket.connect", "socket.getaddrinfo", "socket.sendto", "socket.gethostby")):
        raise SystemExit(f"{event} {args!r}")
sys.addaudithook(alone)
from faulttree_cli.main import main
for line in json.loads(sys.argv[1]):
    sys.stdin = io.StringIO("y\\nq\\n")
    assert main(line) == 0, line
"""

COMMANDS = (
    "rank --family made-up --knowledge {more} --squawk wheels_wont_come_up",
    "knowledge check {more}",
    "record {case} --out {at}/record.pdf",
    "handover {case} --out {at}/handover.html",
    "entry {case}",
    "work {case} --plain",
    "cases verify",
)


def test_no_connection_is_opened(more: Path, tmp_path: Path) -> None:
    """An audit hook (PEP 578) ends the program at the first that it would open, or name that it would look up."""
    work(more, Following(Mechanic().answer))
    with closing(Database(tmp_path / "cases" / "cases.sqlite")) as database:
        case = Cases(database).cards()[0][0].name
    lines = [[word.format(more=more, case=case, at=tmp_path) for word in line.split()] for line in COMMANDS]
    done = subprocess.run([sys.executable, "-c", ALONE, json.dumps(lines)], capture_output=True, text=True)
    assert (done.returncode, "socket" in done.stderr) == (0, False), done.stderr


def test_a_connection_would_be_noticed() -> None:
    """The hook does end a program that opens one."""
    line = ALONE.partition("from faulttree_cli")[0] + "import socket; socket.create_connection(('127.0.0.1', 9))"
    done = subprocess.run([sys.executable, "-c", line], capture_output=True, text=True)
    assert (done.returncode, "socket.getaddrinfo" in done.stderr) == (1, True)


def test_bytes_that_are_no_text_are_taken_down(more: Path) -> None:
    """Line by line, in a place where bytes have to be UTF-8: what was typed is kept, written out."""
    typed = b"QQ-\xff\xfe\nr\nwheels wont come up \xff\ny\nq\n"
    line = [sys.executable, "-c", "import sys; from faulttree_cli.main import main; sys.exit(main(sys.argv[1:]))"]
    done = subprocess.run(
        [*line, "work", "--plain", "--family", "made-up", "--knowledge", str(more)], input=typed, capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "utf-8:strict"},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert r"wheels wont come up \xff" in command("cases")[1]
