"""The commands around cases: lists, checks, taking in, papers, profiles; no terminal, no traceback."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from faulttree.store import Cases, Database, Profiles, schema
from faulttree.store.aircraft import Profile
from faulttree_cli.main import main

Run = Callable[..., tuple[int, str, str]]

OPENED = {
    "family": "electromechanical", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0", "overlays": [],
}  # fmt: skip
FORBIDDEN = ("airworthy", "return to service", "returned to service", "overhauled", "rebuilt")


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "cases"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.delenv("FAULTTREE_DATABASE", raising=False)


@pytest.fixture
def run(capsysbinary: pytest.CaptureFixture[bytes]) -> Run:
    def call(*words: str) -> tuple[int, str, str]:
        try:
            status = main(words)
        except SystemExit as end:
            status = int(end.code or 0)
        out, err = capsysbinary.readouterr()
        return status, out.decode(), err.decode()

    return call


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    found = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    yield found
    found.close()


@pytest.fixture
def case(database: Database) -> str:
    """A case of the shipped book with its squawk."""
    cases = Cases(database)
    name, _ = cases.open("mechanic", OPENED)
    new: list[tuple[str, dict[str, Any]]] = [
        ("squawk", {"text": "Won't come up \x1b[31m after take-off"}),
        ("symptom", {"symptom": "will-not-retract", "present": True}),
        ("symptoms-settled", {}),
    ]
    cases.append(name, 1, "mechanic", new)
    return name


def test_no_cases_is_no_error(run: Run) -> None:
    """A fresh installation has an empty list, and no file is made for it."""
    assert run("cases") == (0, "No cases yet.\n", "")


def test_a_list_fits_eighty_columns_and_nothing_acts_in_it(run: Run, case: str) -> None:
    """Name, state, aircraft, squawk; control characters are made visible."""
    status, out, _ = run("cases")
    assert status == 0
    assert case in out
    assert "QQ-ELM" in out
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "found"),
    [(("--open",), 1), (("--state", "closed"), 0), (("--aircraft", "qq-elm"), 1), (("--words", "TAKE-OFF"), 1),
     (("--symptom", "horn-silent"), 0), (("--archived",), 0)],
)  # fmt: skip
def test_lists_are_narrowed_by_words_of_the_command(run: Run, case: str, words: tuple[str, ...], found: int) -> None:
    """Each option leaves out what does not fit."""
    status, out, _ = run("cases", *words, "--json")
    assert (status, len(json.loads(out)["cases"])) == (0, found)


def test_a_case_that_was_left_open_is_not_closed(run: Run, case: str, database: Database) -> None:
    """What still stands on an aircraft is in the list of what is open."""
    cases = Cases(database)
    cases.append(case, len(cases.read(case)), "mechanic", [("left-open", {"reason": "a hose is ordered"})])
    assert [run("cases", *words)[1].count(case) for words in (("--open",), ("--state", "open"))] == [1, 0]


def test_archiving_puts_a_case_away_and_takes_it_out(run: Run, case: str) -> None:
    """It is in the other list, with all that is in it."""
    assert run("cases", "archive", case)[0] == 0
    assert case not in run("cases")[1]
    assert case in run("cases", "--archived")[1]
    assert run("cases", "archive", case)[0] == 1
    assert run("cases", "unarchive", case)[0] == 0
    assert case in run("cases")[1]


def test_verify_finds_all_as_written(run: Run, case: str) -> None:
    """Status 0, and the last digest where a case is named."""
    assert run("cases", "verify") == (0, "1 checked, 0 not as written.\n", "")
    assert "last digest" in run("cases", "verify", case)[1]


def test_verify_names_the_entry_that_was_changed(run: Run, case: str, database: Database) -> None:
    """Status 1, the case and the entry."""
    with database.writing() as connection:
        connection.execute(update(schema.entries).where(schema.entries.c.number == 2).values(who="somebody"))
    status, out, _ = run("cases", "verify")
    assert status == 1
    assert f"{case}: entry 2 was changed" in out


def test_verify_with_the_digest_of_a_record(run: Run, case: str, database: Database) -> None:
    """One that stands in the log is found, another is not; it needs its case."""
    digest = Cases(database).read(case)[-1].digest
    assert run("cases", "verify", case, "--digest", digest)[0] == 0
    assert run("cases", "verify", case, "--digest", "ab" * 32)[0] == 1
    assert run("cases", "verify", "--digest", digest)[0] == 2


def test_a_record_comes_back_as_a_case(
    run: Run, case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, database: Database
) -> None:
    """Exported as JSON on one laptop, taken in on another: the same entries, and the second time nothing new."""
    file = tmp_path / "record.json"
    assert run("record", case, "--out", str(file))[0] == 0
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "other"))
    assert run("cases", "import", str(file))[1] == f"Case {case}: 4 entries taken in.\n"
    assert "already" in run("cases", "import", str(file))[1]
    other = Database(f"sqlite:///{tmp_path / 'other' / 'cases.sqlite'}")
    assert Cases(other).read(case) == Cases(database).read(case)
    other.close()


@pytest.mark.parametrize("content", ["", "nonsense", "[]", "{}", '{"paper": "record"}', '{"entries": [1]}', "[" * 5000])
def test_what_is_no_record_is_refused_with_the_file_named(run: Run, tmp_path: Path, content: str) -> None:
    """One message, status 2."""
    file = tmp_path / "odd.json"
    file.write_text(content)
    status, out, err = run("cases", "import", str(file))
    assert (status, out) == (2, "")
    assert str(file) in err
    assert "Traceback" not in err


@pytest.fixture
def _the_quick_choice_will_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """The step that is best looked ahead takes two seconds."""
    monkeypatch.setattr("faulttree.dialogue.thinking.Thinking.refine", lambda self, state, stop: False)


@pytest.mark.usefixtures("_the_quick_choice_will_do")
@pytest.mark.parametrize("paper", ["record", "handover", "entry"])
@pytest.mark.parametrize(("form", "begins"), [("markdown", "# "), ("html", "<!doctype html>"), ("json", "{")])
def test_every_paper_comes_in_every_form(run: Run, case: str, paper: str, form: str, begins: str) -> None:
    """On stdout, with nothing that approves anything."""
    status, out, err = run(paper, case, "--as", form)
    assert (status, err) == (0, "")
    assert out.lower().startswith(begins)
    assert not [word for word in FORBIDDEN if word in out.lower()]


def test_whoever_takes_over_gets_the_step_that_is_best_looked_ahead(run: Run, database: Database) -> None:
    """That of `rank`; here the quick choice is another one."""
    cases = Cases(database)
    name, _ = cases.open("mechanic", OPENED)
    cases.append(name, 1, "mechanic", [("symptom", {"symptom": "lights-dead", "present": True})])
    asked = ("rank", "--family", "electromechanical", "--symptom", "lights-dead", "--json")
    quick, best = (json.loads(run(*asked, *more)[1])["next"][0] for more in (["--quick"], []))
    assert quick["name"] != best["name"]
    assert json.loads(run("handover", name, "--as", "json")[1])["next"][0]["name"] == best["name"]


@pytest.mark.usefixtures("_the_quick_choice_will_do")
@pytest.mark.parametrize("paper", ["record", "handover", "entry"])
def test_every_paper_comes_as_a_pdf(run: Run, case: str, paper: str, tmp_path: Path) -> None:
    """Written where it is asked for, by the name of the file."""
    file = tmp_path / "paper.pdf"
    assert run(paper, case, "--out", str(file))[0] == 0
    assert file.read_bytes().startswith(b"%PDF")


def test_a_paper_that_cannot_be_written_says_so(run: Run, case: str, tmp_path: Path) -> None:
    """A folder that is not there."""
    status, _, err = run("record", case, "--out", str(tmp_path / "no" / "x.md"))
    assert status == 2
    assert "cannot be written" in err


def test_a_paper_of_a_log_that_was_changed_says_so(run: Run, case: str, database: Database) -> None:
    """It is made of what is there, and that it is not as written is told on stderr."""
    with database.writing() as connection:
        connection.execute(update(schema.entries).where(schema.entries.c.number == 2).values(who="somebody"))
    status, out, err = run("record", case)
    assert status == 0
    assert out
    assert "entry 2 was changed" in err


def test_rules_of_a_registry_that_is_not_known(run: Run, case: str) -> None:
    """The message names those that are."""
    status, _, err = run("entry", case, "--rules", "moon")
    assert status == 2
    assert "us" in err


# -- aircraft ------------------------------------------------------------------------------------------


@pytest.fixture
def profile(database: Database) -> Profile:
    option = {"light-scheme": "one-green"}
    wanted = Profile("QQ-ELM", "electromechanical", option, "28 V", {
        "bus-voltage-under-load": {"value": 23.0, "unit": "V", "reference": "manual 24-30, rev. 7"},
    })  # fmt: skip
    return Profiles(database).keep(wanted, "lead")


def test_profiles_are_listed_and_shown(run: Run, profile: Profile) -> None:
    """By name, with version and limits."""
    assert "QQ-ELM" in run("aircraft")[1]
    assert "23 V, manual 24-30, rev. 7" in run("aircraft", "qq-elm", "--show")[1]


def test_entering_a_profile_needs_a_terminal(run: Run) -> None:
    """It prompts, so it says so without one."""
    status, _, err = run("aircraft", "QQ-NEW")
    assert status == 2
    assert "terminal" in err


def test_rank_takes_options_and_limits_of_the_profile(run: Run, profile: Profile) -> None:
    """The light scheme is not assumed, and a reading is judged by the aircraft's limit."""
    words = ("rank", "--aircraft", "QQ-ELM", "--symptom", "will-not-retract", "--quick", "--json")
    result = json.loads(run(*words)[1])
    assert not any(option.startswith("light-scheme") for option in result["assumed"])
    read = json.loads(run(*words, "--reading", "bus-volts=22.1 V")[1])
    assert read["causes"] != result["causes"]


def test_rank_without_gear_says_what_is_missing(run: Run) -> None:
    """Neither family nor aircraft."""
    status, _, err = run("rank", "--symptom", "will-not-retract")
    assert status == 2
    assert "--family" in err


@pytest.mark.parametrize("url", ["nonsense", "mysql://x/y", "oracle://x"])
def test_an_address_that_is_no_database_is_refused(run: Run, monkeypatch: pytest.MonkeyPatch, url: str) -> None:
    """With what would be right."""
    monkeypatch.setenv("FAULTTREE_DATABASE", url)
    status, _, err = run("cases")
    assert status == 2
    assert "postgresql://" in err
