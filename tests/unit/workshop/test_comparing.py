"""Two books held against each other."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from faulttree.book import read_cases
from faulttree.workshop.comparing import Comparison, EntryChange, NotSound, compare
from faulttree_cli.main import main
from faulttree_cli.screens.compared import told

HERE = Path(__file__).parent
SOUND = HERE.parent / "book" / "data" / "sound"

CASES = """\
cases:
  bus-or-lamp:
    description: No light at all, and the lamp is the commonest cause.
    origin: constructed
    symptoms: [no-light]
    expect: {cause: lamp}
"""

OVERLAY = """\
faults:
  bus.dead:
    amends: true
    reason: as seen
    date: 2026-03-14
    rate: 9
    basis: {kind: shop-history, note: 9 in 1000 hours since 2024}
components:
  strut: {name: Strut, ata: 32-10}
checks:
  ask-light: {retires: true, reason: nobody remembers, by: shop lead}
"""


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A book and an overlay on it."""
    root = tmp_path_factory.mktemp("books")
    shutil.copytree(SOUND, root / "book")
    (root / "book" / "demo" / "all.cases.yaml").write_text(CASES, encoding="utf-8")
    (root / "shop" / "demo").mkdir(parents=True)
    (root / "shop" / "demo" / "ours.yaml").write_text(OVERLAY, encoding="utf-8")
    return root / "book", root / "shop"


@pytest.fixture(scope="module")
def found(folders: tuple[Path, Path]) -> Comparison:
    """What the overlay changes."""
    book, shop = folders
    return compare([book], [book, shop], "demo")


def test_entries_are_told_by_what_happened_to_them(found: Comparison) -> None:
    """Added, amended by field, retired; the last two with the reason."""
    told_of = {(e.section, e.id): (e.what, list(e.fields), e.reason) for e in found.entries}
    assert told_of == {
        ("faults", "bus.dead"): ("amended", ["rate", "basis"], "as seen; 2026-03-14"),
        ("components", "strut"): ("added", [], None),
        ("checks", "ask-light"): ("retired", [], "nobody remembers; shop lead"),
    }


def test_symptoms_whose_first_causes_change_are_told_with_shares(found: Comparison) -> None:
    """The bus now leads where the lamp led."""
    (light,) = [s for s in found.symptoms if s.id == "no-light"]
    first = [[name for name, _ in shares][:2] for shares in (light.before, light.after)]
    assert tuple(first) == (["lamp", "bus"], ["bus", "lamp"])
    assert light.by == pytest.approx(dict(light.after)["bus"] - dict(light.before)["bus"], abs=0.02)


def test_cases_that_move_are_told_with_what_they_miss_now(found: Comparison) -> None:
    """The case expected the lamp."""
    (case,) = found.cases
    assert (case.id, case.missed, len(case.misses), found.worked) == ("bus-or-lamp", (), 1, 1)


def test_a_book_against_itself_differs_in_nothing(folders: tuple[Path, Path]) -> None:
    """No entry, no symptom, no case."""
    book, _ = folders
    same = compare([book], [book], "demo")
    assert (same.entries, same.symptoms, same.cases) == ((), (), ())
    assert told(same)[-1] == "the book itself is the same, and so is all advice"


def test_a_book_with_errors_is_not_compared(folders: tuple[Path, Path], tmp_path: Path) -> None:
    """The first of them is told."""
    book, _ = folders
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "a.yaml").write_text("component: {}\n", encoding="utf-8")
    with pytest.raises(NotSound, match="did you mean `components`"):
        compare([book], [book, tmp_path], "demo")


def test_cases_that_cannot_be_read_are_counted(folders: tuple[Path, Path], tmp_path: Path) -> None:
    """What they would show is told by nobody else here."""
    book, _ = folders
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "a.cases.yaml").write_text("lost: {symptoms: [no-such]}\n", encoding="utf-8")
    found = compare([book], [book, tmp_path], "demo")
    assert found.unread == len(read_cases([book, tmp_path], "demo").problems) > 0
    assert "wrong with its cases, which are left out" in "\n".join(told(found))


def test_it_reads_at_eighty_columns(found: Comparison) -> None:
    """Every line fits, and signs tell what happened."""
    lines = told(found)
    assert [line for line in lines if len(line) > 80] == []
    assert {"  + components strut", "  - checks ask-light: nobody remembers; shop lead"} <= set(lines)


def test_programs_get_the_same(folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    """As JSON, by family."""
    book, _ = folders
    assert main(["knowledge", "compare", str(book), str(book), "--family", "demo", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["families"]["demo"]["entries"] == []


LONG = "Look at both contacts, in the light, with the wheel off"


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        (["a", "b"], ["b", "c"], "of −a, +c"),
        (["a", "b"], ["b", "a"], "of in another order: b, a"),
        ([["any_of", ["a"]]], [["any_of", ["a", "b"]]], "of any_of +b"),
        ([{"faults": ["a"], "tap": "t"}], [{"faults": ["a", "b"], "tap": "t"}], "of no. 1 faults +b"),
        ([{"faults": ["a"]}], [{"faults": ["a"]}, {"tap": "t"}], "of +{tap: t}"),
        ({"kind": "estimate", "note": "x"}, {"kind": "estimate"}, "of note x → (not stated)"),
        (LONG, LONG.replace("off", "on"), "of …off → …on"),
        (1.0, 2.5, "of 1.0 → 2.5"),
        (None, ["a"], "of (not stated) → [a]"),
    ],
)
def test_a_field_is_told_by_what_is_other_in_it(was: object, now: object, words: str) -> None:
    """Where it stands at the end of a long list or text it would be cut away else."""
    change = EntryChange("events", "one", "amended", {"of": (was, now)})
    assert f"  ~ events one: {words}" in told(Comparison("demo", (change,), (), (), 0))
