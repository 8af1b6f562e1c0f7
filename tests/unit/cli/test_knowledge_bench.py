"""`knowledge show`, `draw` and `testability`: what they print, write and refuse."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from faulttree_cli.main import main

Run = Callable[..., tuple[int, str, str]]
ELECTRIC = ("--family", "electromechanical")


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> Run:
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> tuple[int, str, str]:
        try:
            status = main(("knowledge", *words))
        except SystemExit as end:
            status = int(end.code or 0)
        out, err = capsys.readouterr()
        return status, out, err

    return call


@pytest.mark.parametrize("entry", ["on-jacks", "down-lock-switch", "horn-silent", "secured", "down-lock-brace.binds"])
def test_an_entry_fits_eighty_columns(run: Run, entry: str) -> None:
    """But for where it is written, which is to be copied whole."""
    status, out, _ = run("show", entry, *ELECTRIC)
    assert status == 0
    assert [line for line in out.splitlines() if len(line) > 80 and ".yaml:" not in line] == []


def test_the_bench_reads_the_overlays_that_the_settings_name(run: Run, tmp_path: Path) -> None:
    """Shown, listed and checked, also where they are named once more; each once."""
    ours = tmp_path / "ours" / "electromechanical" / "relay.yaml"
    ours.parent.mkdir(parents=True)
    ours.write_text("components:\n  spare-relay: {name: Spare relay}\n", encoding="utf-8")
    assert run("show", "spare-relay", *ELECTRIC)[0] == 2
    (tmp_path / "settings.toml").write_text(f"overlays = [{json.dumps(str(tmp_path / 'ours'))}]\n", encoding="utf-8")
    for named in ((), ("--knowledge", "ours"), ("--knowledge", str(tmp_path / "ours"))):
        status, out, _ = run("show", "spare-relay", *ELECTRIC, *named)
        assert (status, f"written at {ours}:2:3" in out) == (0, True)
        assert "spare-relay" in run("list", *ELECTRIC, *named)[1]
    ours.write_text("components:\n  spare-relay: {nam: Spare relay}\n", encoding="utf-8")
    for words in ((), ("ours",)):
        status, out, _ = run("check", *ELECTRIC, *words)
        assert (status, out.count("`nam`")) == (1, 1)


def test_what_an_overlay_retired_is_told_with_where_why_and_by_whom(run: Run, tmp_path: Path) -> None:
    """And not as something that never was."""
    ours = tmp_path / "ours" / "electromechanical" / "a.yaml"
    ours.parent.mkdir(parents=True)
    lines = ("saddle: {name: Saddle}", "saddle: {retires: true, reason: sold, by: A. B., date: 2026-03-14}")
    for folder, line in zip(("ours", "later"), lines, strict=True):
        path = tmp_path / folder / "electromechanical" / "a.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"components:\n  {line}\n", encoding="utf-8")
    status, _, err = run("show", "saddle", *ELECTRIC, "--knowledge", "ours", "--knowledge", "later")
    assert status == 2
    assert "`saddle` of electromechanical was retired at later/electromechanical/a.yaml:2:3: sold; A. B." in err


def test_what_pilots_say_is_cut_on_the_screen(run: Run) -> None:
    """A few of the ways, and how many more; all with --all."""
    short, whole = run("show", "will-not-retract", *ELECTRIC)[1], run("show", "will-not-retract", *ELECTRIC, "--all")[1]
    assert re.search(r"; and \d+ more", " ".join(short.split()))
    assert len(whole) > len(short) + 1000


def test_a_result_without_an_event_of_its_own_is_told_by_what_it_looks_at(run: Run) -> None:
    """Not by its own label once more."""
    out = " ".join(run("show", "ammeter-at-selection", *ELECTRIC)[1].split())
    assert "if any of:" in out or "if all of:" in out


def test_an_entry_as_data(run: Run) -> None:
    """Every key, and all that touches it."""
    status, out, err = run("show", "horn-silent", *ELECTRIC, "--json")
    (entry,) = json.loads(out)["entries"]
    assert (status, err) == (0, "")
    assert set(entry) == {"family", "kind", "id", "name", "members", "written_at", "amended", "fields", "touched"}
    assert "Faults below it" in dict(entry["touched"])


def test_without_a_family_the_others_that_have_it_are_told(run: Run) -> None:
    """On stderr, so that a pipe gets the entry alone."""
    _, out, err = run("show", "horn-silent")
    assert "(electromechanical)" in out.splitlines()[0]
    assert "--family engine-driven or --family power-pack" in err


def test_what_other_options_bring_in_is_shown_with_them(run: Run) -> None:
    """The option is told on stderr."""
    status, out, err = run("show", "airspeed-switch.hovers-at-takeoff", *ELECTRIC)
    assert (status, out.splitlines()[0]) == (0, "fault airspeed-switch.hovers-at-takeoff (electromechanical)")
    assert err == "faulttree: only with --fitted airspeed-guard\n"


@pytest.mark.parametrize("command", ["show", "draw"])
def test_what_is_not_there_is_told_with_what_is_near(run: Run, command: str) -> None:
    """In one line, status 2."""
    status, out, err = run(command, "horn-silnt", *ELECTRIC)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "near it are horn-silent" in err


def test_a_tree_on_the_screen(run: Run) -> None:
    """Gates in words, cut sets and importance, in eighty columns."""
    status, out, err = run("draw", "down-light-but-not-locked", *ELECTRIC)
    assert (status, err) == (0, "")
    assert [line for line in out.splitlines() if len(line) > 80] == []
    for words in (
        "all of these together",
        "see [A]",
        "Minimal cut sets in 25 flight hours, 12 of 54",
        "Fussell-Vesely",
    ):
        assert words in out


def test_a_tree_as_data(run: Run) -> None:
    """Every key, and all cut sets."""
    _, out, _ = run("draw", "Horn silent with gear up and throttle back", *ELECTRIC, "--json")
    paper = json.loads(out)
    assert set(paper) == {
        "paper", "family", "name", "knowledge", "fitted", "assumed", "symptom", "hours", "probability", "unlisted",
        "faults", "cut_sets", "cut_sets_in_all", "bounds", "tree",
    }  # fmt: skip
    assert len(paper["cut_sets"]) == paper["cut_sets_in_all"] == 45


def test_families_without_the_option_are_passed_by(run: Run) -> None:
    """An option of one kind of gear says which gear is meant."""
    status, out, err = run("draw", "will-not-retract", "--fitted", "no-relays")
    assert (status, err) == (0, "")
    assert "(Electromechanical gear)" in " ".join(out.split())


def test_sheets_are_files_of_their_own(run: Run, tmp_path: Path) -> None:
    """The first has the name given, the others a number; each is told on stderr."""
    status, out, err = run("draw", "down-light-but-not-locked", *ELECTRIC, "--out", "tree.svg")
    written = sorted(path.name for path in tmp_path.glob("*.svg"))
    assert (status, out) == (0, "")
    assert written == ["tree-2.svg", "tree-3.svg", "tree.svg"]
    assert err.count("Written:") == 3
    for name in written:
        ElementTree.fromstring((tmp_path / name).read_text(encoding="utf-8"))


def test_a_page_needs_no_other_file(run: Run, tmp_path: Path) -> None:
    """Picture and tables in one."""
    assert run("draw", "lights-dead", *ELECTRIC, "--out", "tree.html")[0] == 0
    page = (tmp_path / "tree.html").read_text(encoding="utf-8")
    assert page.count("<svg ") == 1
    assert page.count("<table>") == 2
    assert "src=" not in page
    assert "href=" not in page


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--out", "tree.xyz"), "has to end in .svg, .html or .json"),
        (("--out", "no/such/folder.svg"), "cannot be written"),
        (("--hours", "-3"), "between 0 and 20000"),
        (("--fitted", "wrong"), "there is no option `wrong`"),
    ],
)
def test_what_cannot_be_drawn_is_told_in_one_line(run: Run, words: tuple[str, ...], named: str) -> None:
    """Status 2."""
    status, out, err = run("draw", "lights-dead", *ELECTRIC, *words)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert named in err


def test_testability_as_data(run: Run) -> None:
    """The figures of the gear as before, those of each symptom below them."""
    _, out, _ = run("testability", *ELECTRIC, "--symptom", "lights-dead", "--wanted", "--json")
    found = json.loads(out)["families"]["electromechanical"]
    assert {"faults", "detected", "isolated", "nearly", "mean_group", "groups", "undetected"} < set(found)
    assert set(found["symptoms"]) == {"lights-dead"}
    assert set(found["wanted"][0]) == {"symptom", "kinds", "saves", "minutes", "rate", "per_1000_hours"}


def test_testability_fits_eighty_columns(run: Run) -> None:
    """Figures, groups and the table by symptom."""
    _, out, _ = run("testability", *ELECTRIC)
    assert [line for line in out.splitlines() if len(line) > 80] == []
    assert "  horn-silent " in out


def test_a_misspelt_symptom_is_told(run: Run) -> None:
    """With the nearest one."""
    status, _, err = run("testability", "--symptom", "lights-ded")
    assert (status, "the nearest is 'lights-dead'" in err) == (2, True)


@pytest.mark.parametrize("words", [("check",), ("compare", "ours")])
def test_a_family_that_there_is_not_is_told_with_those_that_there_are(
    run: Run, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """Before anything is read."""
    (tmp_path / "ours" / "shared").mkdir(parents=True)
    (tmp_path / "ours" / "shared" / "words.yaml").write_text("words: {}\n", encoding="utf-8")
    status, out, err = run(*words, "--family", "nosuch")
    assert (status, out) == (2, "")
    assert "there is no family 'nosuch'; there are electromechanical, engine-driven, power-pack" in err


def test_a_file_is_not_passed_by_a_family_that_does_not_read_it(run: Run, tmp_path: Path) -> None:
    """It would be told to be sound, unread."""
    file = tmp_path / "ours" / "electromechanical" / "a.yaml"
    file.parent.mkdir(parents=True)
    file.write_text("faults: {x: }\n", encoding="utf-8")
    status, out, err = run("check", str(file), "--family", "power-pack")
    assert (status, out) == (2, "")
    assert f"{file} is read by electromechanical, not by power-pack" in err


@pytest.mark.parametrize("command", [("knowledge", "list"), ("rank", "--symptom", "horn-silent"), ("work",)])
def test_a_folder_without_knowledge_is_not_passed_over(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Nothing is missing in the book then, and weeks go by."""
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    (tmp_path / "empty").mkdir()
    assert main(["--plain", *command, *ELECTRIC, "--knowledge", str(tmp_path / "empty")]) == 2
    assert f"there is no knowledge in {tmp_path / 'empty'}; it wants a folder `shared`" in capsys.readouterr().err
