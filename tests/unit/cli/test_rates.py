"""`faulttree knowledge rates`: what it prints, and that nothing is written without a yes."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from faulttree.store import Books, Cases, Database
from faulttree.workshop.effect import Moved
from faulttree_cli.commands.knowledge.rates_told import _moved
from faulttree_cli.main import main
from tests.support.closed_cases import answer, entries
from tests.support.small_family import FAMILY, small_book

Run = Callable[..., tuple[int, str, str]]

STUCK = "guard-switch.stuck"
FILE = "shop/made-up/rates-from-cases.yaml"


@pytest.fixture
def run(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> Run:  # fmt: skip
    """The command in a shop with thirty closed cases: the switch, each time with the motor heard to hum."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.delenv("FAULTTREE_DATABASE", raising=False)
    (tmp_path / "own/made-up").mkdir(parents=True)
    (tmp_path / "own/made-up/all.yaml").write_text(FAMILY, encoding="utf-8")
    _fill(tmp_path)

    def call(*words: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        plain = ["--plain"] if typed else []
        status = main([*plain, "knowledge", "rates", "--family", "made-up", "--knowledge", "own", *words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


def _fill(folder: Path) -> None:
    book = small_book()
    fitted = [f"{group}={option}" for group, option in book.fitted.items()]
    opened = {"family": "made-up", "fitted": fitted, "version": "1", "digest": book.digest, "overlays": []}
    database = Database(f"sqlite:///{folder / 'cases.sqlite'}")
    Books(database).keep(book)
    cases = Cases(database)
    _, *log = entries(STUCK, ("found", {"fault": STUCK}), answer("motor-sound", "hummed"))
    for _ in range(30):
        name, _ = cases.open("mechanic", {**opened, "job": "QQ-OWN"})
        cases.append(name, 1, "mechanic", log)
    database.close()


def test_it_tells_what_was_found_what_moves_and_what_that_does(run: Run) -> None:
    """Counted, proposed, the effect; in eighty columns but for the diff."""
    status, out, _ = run()
    assert status == 0
    assert "made-up: 30 cases closed, in 30 the cause was found" in out
    assert "only the shares of the causes within each symptom" in out.replace("\n  ", " ")
    assert f"+  {STUCK}:" in out
    assert "Effect on the advice, each symptom by itself: 1 of 1 change" in out
    assert [line for line in out.splitlines() if len(line) > 80 and not line.startswith("+")] == []


def test_nothing_is_written_where_nobody_says_yes(run: Run, tmp_path: Path) -> None:
    """No terminal, no --yes: the folder is not even made."""
    _, out, _ = run("--write", "shop")
    assert out.endswith("made-up: nothing was written.\n")
    assert not (tmp_path / "shop").exists()


@pytest.mark.parametrize(("typed", "there"), [("y\n", True), ("n\n", False)])
def test_it_is_written_after_a_yes(run: Run, tmp_path: Path, typed: str, there: bool) -> None:
    """And after nothing else."""
    status, _, _ = run("--write", "shop", typed=typed)
    assert (status, (tmp_path / FILE).exists()) == (0, there)


def test_what_was_written_is_not_built_upon(run: Run, tmp_path: Path) -> None:
    """With the overlay in place the same cases propose the same file."""
    run("--write", "shop", "--yes")
    status, out, _ = run("--knowledge", "shop", "--write", "shop", "--yes")
    assert status == 0
    assert f"{FILE} says all of this already." in out.replace("\n", " ")


def test_hours_are_taken_from_the_line_or_the_settings(run: Run, tmp_path: Path) -> None:
    """By aircraft in the settings, in all on the line."""
    (tmp_path / "settings.toml").write_text("[hours]\nmade-up = {QQ-OWN = 30000, QQ-TWO = 20000}\n", encoding="utf-8")
    told = [json.loads(run("--json", *words)[1])["families"]["made-up"] for words in ((), ("--hours", "7000"))]
    assert [each["hours"] for each in told] == [50000.0, 7000.0]
    assert [{r["fault"]: r["expected"] for r in each["rates"]}[STUCK] for each in told] == [15.0, pytest.approx(2.1)]


def test_an_aircraft_without_a_profile_is_told(run: Run, tmp_path: Path) -> None:
    """A slip in its registration would pass for an aircraft as usual."""
    (tmp_path / "settings.toml").write_text("[hours]\nmade-up = {QQ-OWN = 30000}\n", encoding="utf-8")
    assert "no profile of QQ-OWN: taken as fitted as usual" in run()[1]


def test_hours_of_gear_that_nobody_knows_are_refused(run: Run, tmp_path: Path) -> None:
    """At their line: without them shares alone would be learned, without a word."""
    (tmp_path / "settings.toml").write_text("[hours]\nmade-upp = 5000\n", encoding="utf-8")
    status, _, err = run()
    assert status == 2
    assert "settings.toml:2: no knowledge is there of gear 'made-upp'; did you mean `made-up`?" in err


def test_a_family_named_twice_is_learned_of_once(run: Run) -> None:
    """It is one family with hours of its own."""
    _, out, _ = run("--family", "made-up", "--hours", "7000")
    assert out.count("30 cases closed") == 1


def test_the_history_is_one_page(run: Run, tmp_path: Path) -> None:
    """Beside what is printed."""
    status, _, err = run("--out", "history.html")
    assert (status, err) == (0, "Written: history.html\n")
    assert "Guard switch: stuck open" in (tmp_path / "history.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [(("--yes",), "--yes writes nothing without --write DIR"), (("--hours", "0"), "--hours must be from 1 to")],
)
def test_what_cannot_be_meant_is_refused(run: Run, words: tuple[str, ...], told: str) -> None:
    """With status 2 and one line."""
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert told in err


@pytest.mark.parametrize(
    ("moved", "told"),
    [
        (Moved(("a: b",), ()), True), (Moved((), ("a: b",)), False), (Moved((), ()), False),
        (Moved(("a: b",), (), runs=False), False),
    ],
    ids=["one is lost", "one is won", "none moves", "the book would not load"],
)  # fmt: skip
def test_how_a_case_that_moved_is_taken_out_is_told_where_one_is_lost(moved: Moved, told: bool) -> None:
    """Else the overlay that was just written would be refused by the next check, with no way on."""
    assert ("retires: true" in " ".join(_moved(moved))) == told
