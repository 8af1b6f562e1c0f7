"""A profile of the aircraft that is made or changed while a case is open: what is asked and taken over."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

import pytest

from faulttree.case import add_up, opening_of
from faulttree.case.state import KnownLimit
from faulttree.store import Database, Profiles
from faulttree.store.aircraft import Profile
from faulttree_cli import worker
from faulttree_cli.places import load
from tests.support.typed import OPENING, in_folders_of_its_own, latest, typing, work

LIMIT = {"value": 2.0, "unit": "V", "reference": "manual 32-60-01, revision 4"}


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    in_folders_of_its_own(monkeypatch, tmp_path)


def keep(tmp_path: Path, **more: Any) -> None:
    """One more version of the profile of QQ-ELM."""
    database = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    profiles = Profiles(database)
    before = profiles.find("QQ-ELM") or Profile("QQ-ELM", "made-up")
    profiles.keep(Profile(**{"name": "QQ-ELM", "family": "made-up", "version": before.version, **more}), "lead")
    database.close()


def begun_without(tmp_path: Path) -> str:
    """A case of an aircraft that has no profile yet."""
    work(tmp_path, OPENING + "q")
    return latest(tmp_path)[0]


def test_an_open_case_takes_a_profile_that_was_made_meanwhile(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path, voltage="28 V")
    shown = work(tmp_path, "yyq", case=name)
    assert "The profile of QQ-ELM, version 1, is new to this case" in shown
    opened = opening_of(name, latest(tmp_path)[1])
    assert (opened["voltage"], opened["aircraft"]["version"]) == ("28 V", 1)


def test_options_that_it_names_are_not_taken_as_usual_any_more(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    group, option = opening_of(name, latest(tmp_path)[1])["assumed"][0].split("=")
    keep(tmp_path, fitted={group: option}, voltage="28 V")
    work(tmp_path, "yyq", case=name)
    assert f"{group}={option}" not in opening_of(name, latest(tmp_path)[1])["assumed"]


def test_its_limits_are_those_of_the_case(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path, limits={"feed": LIMIT})
    work(tmp_path, "yyq", case=name)
    book = load("made-up", [], [str(tmp_path / "more")])
    assert add_up(book, latest(tmp_path)[1]).limits["feed"] == KnownLimit(2.0, "V", LIMIT["reference"])


def test_a_profile_that_is_left_is_not_asked_about_again(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path, voltage="28 V")
    work(tmp_path, "kyq", case=name)
    assert "is new to this case" not in work(tmp_path, "yq", case=name)
    assert opening_of(name, latest(tmp_path)[1])["voltage"] == ""


def test_a_profile_that_says_nothing_new_is_not_asked_about(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path)
    assert "is new to this case" not in work(tmp_path, "yq", case=name)


def test_a_profile_of_another_kind_of_gear_is_left_alone(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path, family="power-pack", voltage="28 V")
    assert "is new to this case" not in work(tmp_path, "yq", case=name)


def test_leaving_at_that_question_changes_nothing(tmp_path: Path) -> None:
    name = begun_without(tmp_path)
    keep(tmp_path, limits={"feed": LIMIT})
    before = latest(tmp_path)[1]
    given = Namespace(case=name, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None)
    with typing("q") as (terminal, shown):
        worker.run(given, terminal)
    assert "as it was" in shown.getvalue()
    assert latest(tmp_path)[1] == before


@pytest.mark.parametrize("typed", ["QQ-ELN", "QQELM", "QQ-EM", "QQ-EELM", "QQ-LEM"])
def test_a_registration_nearly_that_of_a_profile_is_remarked_on(tmp_path: Path, typed: str) -> None:
    """A sign put wrong, left out, put in, changed with the next, or the hyphen: `b` goes back, before the squawk."""
    keep(tmp_path)
    shown = work(tmp_path, f"{typed}\rb\rQQ-ELM\rq\r")
    assert f"There is no profile of {typed}, but one of QQ-ELM. Mistyped? b goes back." in shown
    assert "Profile of QQ-ELM, version 1" in shown


@pytest.mark.parametrize("typed", ["QQ-EMN", "PP-ELN", "12345"])
def test_another_registration_is_another_aircraft(tmp_path: Path, typed: str) -> None:
    keep(tmp_path)
    assert f"There is no profile of {typed}; `faulttree aircraft {typed}` makes one" in work(tmp_path, f"{typed}\rq\r")
