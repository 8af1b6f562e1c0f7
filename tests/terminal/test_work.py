"""`faulttree work` by keystrokes through a pipe: what the mechanic types, what is shown, what is on the disk."""

from __future__ import annotations

import json
import re
from argparse import Namespace
from pathlib import Path

import pytest
from rich.console import RenderableType

from faulttree.book import families
from faulttree.book.files import digest_of
from faulttree.store import Cases, Database
from faulttree_cli import worker
from faulttree_cli.main import main
from faulttree_cli.places import load, shipped_book
from tests.support.typed import OPENING, in_folders_of_its_own, latest, typing, work


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    in_folders_of_its_own(monkeypatch, tmp_path)


def kinds(tmp_path: Path) -> list[str]:
    return [entry.kind for entry in latest(tmp_path)[1]]


def test_the_standing_cautions_come_first(tmp_path: Path) -> None:
    """Before anything is asked, the manual, the persons and "not in flight" are on the screen."""
    shown = work(tmp_path, OPENING + "q")
    assert shown.index("WARNING") < shown.index("likely  ")
    assert "flight" in shown[: shown.index("likely  ")].lower()


def test_one_key_answers_a_question(tmp_path: Path) -> None:
    """On the main screen a digit answers, and the answer is on the disk."""
    work(tmp_path, OPENING + "2q")
    assert kinds(tmp_path)[-2:] == ["started", "answer"]


def test_keys_that_mean_nothing_do_nothing(tmp_path: Path) -> None:
    """Wrong keys leave no entry."""
    work(tmp_path, OPENING + "Z%9q")
    assert kinds(tmp_path)[-1] == "hours"


def test_cautions_stand_before_the_set_up(tmp_path: Path) -> None:
    """Accepting the check on jacks shows its warnings; nothing is set up before they are acknowledged."""
    shown = work(tmp_path, OPENING + "2yyq")
    assert "Before: Continuity of the guard switch" in shown
    assert "set-up" not in kinds(tmp_path)
    assert "cautions" not in kinds(tmp_path)


def test_each_set_up_has_its_own_cautions_before_it(tmp_path: Path) -> None:
    """Those of the first thing to be set up come before it, and say what it is for; y does not stand for r."""
    shown = work(tmp_path, OPENING + "2yrryq")
    assert "Before: Set up: Secured against power and rolling" in shown
    assert "For: Continuity of the guard switch." in shown
    assert "set-up" not in kinds(tmp_path)


def test_the_cautions_that_were_read_are_named_in_the_log(tmp_path: Path) -> None:
    """Those of the jacks stand before the jacks, in an entry that names what they were read for."""
    work(tmp_path, OPENING + "2y" + "ry" * 12 + "q")
    entries = latest(tmp_path)[1]
    jacks = next(i for i, e in enumerate(entries) if e.kind == "set-up" and e.data["condition"] == "on-jacks")
    assert entries[jacks - 1].data["step"] == "on-jacks"
    assert "jacking-points-and-lowering" in entries[jacks - 1].data["cautions"]


def test_undo_takes_the_answer_back(tmp_path: Path) -> None:
    """u adds an entry that undoes the answer; nothing is taken out."""
    work(tmp_path, OPENING + "2uq")
    assert kinds(tmp_path)[-2:] == ["undone", "dropped"]


def test_a_case_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """After a quit in the middle of a step the same step is shown."""
    work(tmp_path, OPENING + "2yq")
    shown = work(tmp_path, "yq", case=latest(tmp_path)[0])
    assert shown.index("still stand as the log says") < shown.index("Before: Continuity of the guard switch")


def test_control_c_keeps_the_case(tmp_path: Path) -> None:
    """Interrupted, the program says how to go on, and every answer stands."""
    shown = work(tmp_path, OPENING + "2\x03")
    assert "faulttree work " in shown
    assert kinds(tmp_path)[-1] == "answer"


def test_the_standing_cautions_wait_where_the_aircraft_was_named_before(tmp_path: Path) -> None:
    """Nothing clears them away unread: they want their key, and q begins no case."""
    given = Namespace(
        case=None, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft="QQ-ELM"
    )  # fmt: skip
    with typing("xq") as (terminal, shown):
        assert worker.run(given, terminal) == 0
    assert "Nothing was begun." in shown.getvalue()
    with typing("rq\r") as (terminal, shown):
        assert worker.run(given, terminal) == 0
    assert shown.getvalue().index("read and understood") < shown.getvalue().index("What did the pilot say?")


def test_a_key_is_no_squawk(tmp_path: Path) -> None:
    """A letter pressed where the pilot's words are wanted is not kept as them."""
    shown = work(tmp_path, "QQ-ELM\ru\rwheels wont come up\rq")
    assert "A few words are needed" in shown
    assert latest(tmp_path)[1][1].data == {"text": "wheels wont come up"}


def test_until_the_first_answer_the_aircraft_can_be_put_right(tmp_path: Path) -> None:
    """b instead of a squawk asks for the aircraft anew; the case that is kept then is the only one."""
    work(tmp_path, "QQ-ELM\rb\rQQ-TWO\rwheels wont come up\rq")
    assert latest(tmp_path)[1][0].data["job"] == "QQ-TWO"
    database = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    assert Cases(database).cards()[1] == 1
    database.close()


def test_the_arrow_keys_choose_the_kind_of_gear_and_b_goes_back(tmp_path: Path) -> None:
    """Down and Enter take the first of the list; b at the list asks for the aircraft anew."""
    given = Namespace(case=None, family=None, fitted=[], knowledge=[], aircraft=None)
    with typing("QQ-ELM\rbQQ-TWO\r\x1b[B\rwheels wont come up\rq") as (terminal, _):
        assert worker.run(given, terminal) == 0
    opened = latest(tmp_path)[1][0].data
    assert (opened["job"], opened["family"]) == ("QQ-TWO", families([shipped_book()])[0])


def test_the_equipment_that_is_taken_as_usual_is_listed_by_help(tmp_path: Path) -> None:
    """A sentence on the first screen, the list behind the question mark."""
    given = Namespace(case=None, family="power-pack", fitted=[], knowledge=[], aircraft="")
    with typing("r?bq\r") as (terminal, shown):
        assert worker.run(given, terminal) == 0
    first, _, then = shown.getvalue().partition("? lists it.")
    assert "lamp kind: lamps with a filament" in then
    assert "lamp kind" not in first


def test_a_list_longer_than_the_window_is_turned_over_and_cut_nowhere(tmp_path: Path) -> None:
    """m shows the rest of the symptoms; each has its number and its whole name, and numbers of both parts are taken."""
    given = Namespace(case=None, family="electromechanical", fitted=[], knowledge=[], aircraft="QQ-ELM")
    with typing("rgear will not come up\rymm6 21\rq\r") as (terminal, out):
        assert worker.run(given, terminal) == 0
    shown = out.getvalue().partition("Anything else?")[2]
    book = load("electromechanical", [], [])
    listed = [(i, s.name) for i, s in enumerate(book.symptoms.values(), 1) if s.id != "will-not-retract"]
    lines = [re.escape(f"{i} {name}") for i, name in listed]
    cut = [line for line in lines if not re.search(f"^ *{line} *$", shown, re.MULTILINE)]
    assert cut == []
    told = [e.data["symptom"] for e in latest(tmp_path)[1] if e.kind == "symptom"]
    assert told[1:] == [list(book.symptoms)[5], list(book.symptoms)[20]]


@pytest.mark.parametrize("keys", ["\x03", "\x04"])
def test_leaving_before_there_is_a_case_begins_none(tmp_path: Path, keys: str) -> None:
    """Control-C or control-D where the aircraft is asked for: one sentence, and no case."""
    assert "Nothing was begun." in work(tmp_path, keys)
    database = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    assert Cases(database).cards() == ([], 0)
    database.close()


def test_how_the_aircraft_stands_is_asked_again_when_somebody_else_was_first(tmp_path: Path) -> None:
    """The second writer has not said it: what was added meanwhile may have moved the aircraft."""
    work(tmp_path, OPENING + "q")
    name, entries = latest(tmp_path)
    given = Namespace(case=name, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None)
    with typing("yyyq") as (terminal, shown):
        show, database = terminal.page, Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")

        def meanwhile(*what: RenderableType) -> None:
            terminal.page = show  # type: ignore[method-assign]  # once
            Cases(database).append(name, len(entries), "night shift", [("set-up", {"condition": "secured"})])
            show(*what)

        terminal.page = meanwhile  # type: ignore[method-assign]  # stands for somebody else's laptop
        assert worker.run(given, terminal) == 0
        database.close()
    assert shown.getvalue().count("still stand as the log says") == 2
    assert kinds(tmp_path)[-2:] == ["set-up", "stands"]


@pytest.mark.parametrize(("key", "words"), [("w", "Why this step"), ("o", "Other steps"), ("h", "So far")])
def test_side_views_open_and_close(tmp_path: Path, key: str, words: str) -> None:
    """Why, other steps and the course so far come at one key, and b goes back."""
    assert words in work(tmp_path, OPENING + key + "bq")


def test_a_fault_found_by_its_number(tmp_path: Path) -> None:
    """f, then a number: the find is in the log."""
    work(tmp_path, OPENING + "f1\rq")
    assert kinds(tmp_path)[-1] == "found"


def test_something_the_book_does_not_know_is_kept_in_words(tmp_path: Path) -> None:
    """f, then words that name no fault, and k: kept as they were typed."""
    work(tmp_path, OPENING + "fa mouse nest in the well\rkq")
    assert latest(tmp_path)[1][-1].data == {"text": "a mouse nest in the well"}


def test_leaving_open_wants_a_reason(tmp_path: Path) -> None:
    """x and a reason in words end the work; the reason is in the log."""
    shown = work(tmp_path, OPENING + "x5awaiting a part\r")
    assert "Left open: awaiting a part" in shown


def test_a_case_left_open_is_taken_up_again(tmp_path: Path) -> None:
    """It asks first, then how the aircraft stands, and work goes on."""
    work(tmp_path, OPENING + "x2")
    shown = work(tmp_path, "yyq", case=latest(tmp_path)[0])
    assert "Left open: waits for a part" in shown
    assert kinds(tmp_path)[-2:] == ["taken-up", "stands"]
    assert "likely  " in shown


def test_a_case_left_open_can_stay_so(tmp_path: Path) -> None:
    """n leaves it as it is."""
    work(tmp_path, OPENING + "x2")
    work(tmp_path, "n", case=latest(tmp_path)[0])
    assert kinds(tmp_path)[-1] == "left-open"


def test_enter_does_not_say_how_the_aircraft_stands(tmp_path: Path) -> None:
    """Whoever takes a case up has to look: Enter is no answer."""
    work(tmp_path, OPENING + "q")
    work(tmp_path, "\r\rq", case=latest(tmp_path)[0])
    assert "stands" not in kinds(tmp_path)


def test_an_aircraft_that_stands_otherwise_is_taken_as_it_stands(tmp_path: Path) -> None:
    """n, then the numbers of what stands: that is in the log and on the screen."""
    work(tmp_path, OPENING + "q")
    shown = work(tmp_path, "n2\rq", case=latest(tmp_path)[0])
    assert kinds(tmp_path)[-1] == "found-standing"
    assert "stands  Secured" in shown


def test_what_was_not_done_has_a_reason(tmp_path: Path) -> None:
    """n on a step in hand asks why; the reason is in the log with it."""
    work(tmp_path, OPENING + "2y" + "ry" * 12 + "n3q")
    assert latest(tmp_path)[1][-1].data == {"check": "switch-continuity", "reason": "not-done", "why": "no access"}


def test_a_note_is_kept(tmp_path: Path) -> None:
    """a, then a line of words."""
    work(tmp_path, OPENING + "aoil on the left strut\rq")
    assert latest(tmp_path)[1][-1].data == {"text": "oil on the left strut"}


def test_a_repair_in_words_wants_its_proof_next(tmp_path: Path) -> None:
    """o, r and words: the repair is in the log, and the proof of the squawk is proposed."""
    shown = work(tmp_path, OPENING + "ortightened a loose terminal\rq")
    assert kinds(tmp_path)[-1] == "did-other"
    assert "check: Cycle on jacks" in shown


def test_what_somebody_else_added_meanwhile_is_told(tmp_path: Path) -> None:
    """The second writer sees what the first added; their own answer is not taken."""
    work(tmp_path, OPENING + "q")
    name, entries = latest(tmp_path)
    given = Namespace(case=name, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None)
    with typing("yyy2q") as (terminal, shown):
        show, database = terminal.page, Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")

        def meanwhile(*what: RenderableType) -> None:
            """As the first screen appears another mechanic writes."""
            terminal.page = show  # type: ignore[method-assign]  # once
            Cases(database).append(name, len(entries), "night shift", [("note", {"text": "the pump is warm"})])
            show(*what)

        terminal.page = meanwhile  # type: ignore[method-assign]  # stands for somebody else's laptop
        assert worker.run(given, terminal) == 0
        database.close()
    assert "the pump is warm" in shown.getvalue()
    assert kinds(tmp_path)[-5:] == ["hours", "note", "stands", "started", "answer"]


@pytest.mark.parametrize("nasty", ["[bold]x[/bold]", "\x1b[2Jx", ":warning: x", "\u202ex"])
def test_words_that_look_like_commands_are_shown_as_words(tmp_path: Path, nasty: str) -> None:
    """Markup, escape codes, names of emoji and turned text stand on the screen for what they are."""
    work(tmp_path, OPENING + "q")
    database = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    name, entries = latest(tmp_path)
    Cases(database).append(name, len(entries), nasty, [("note", {"text": nasty})])
    database.close()
    shown = work(tmp_path, "yhbq", case=name)
    assert not {"\x1b", "\u202e"} & set(shown)
    assert nasty.replace("\x1b", "\\x1b").replace("\u202e", "\\u202e") in shown


def test_help_is_always_there(tmp_path: Path) -> None:
    """? tells the keys."""
    assert "Number keys answer" in work(tmp_path, OPENING + "?q")


def test_no_line_is_wider_than_the_window(tmp_path: Path) -> None:
    """Eighty columns hold every screen."""
    shown = work(tmp_path, OPENING + "2y" + "y" * 6 + "q")
    assert max(len(line) for line in shown.splitlines()) <= 80


@pytest.mark.parametrize(("asked", "coloured"), [(None, True), ("1", False)])
def test_no_color_is_honoured(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: str | None, coloured: bool
) -> None:
    """A window that shows colour gets it, and none with NO_COLOR; the level stands there in words either way."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.delenv("NO_COLOR", raising=False)
    if asked is not None:
        monkeypatch.setenv("NO_COLOR", asked)
    shown = work(tmp_path, OPENING + "q")
    assert bool(re.search("\x1b\\[[0-9;]*[34][0-7]m", shown)) is coloured
    assert "WARNING" in shown


def test_a_case_goes_on_with_the_overlay_it_was_opened_with(tmp_path: Path) -> None:
    """Resumed without naming the folder again, the same book is read."""
    work(tmp_path, OPENING + "q")
    name = latest(tmp_path)[0]
    given = Namespace(case=name, family="electromechanical", fitted=[], knowledge=[], aircraft=None)
    with typing("yq") as (terminal, shown):
        assert worker.run(given, terminal) == 0
    assert "Guard switch" in shown.getvalue()


def test_papers_name_the_overlay_with_its_digest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As it was when the case was opened, whatever became of it since."""
    work(tmp_path, OPENING + "q")
    digest = digest_of(tmp_path / "more", "made-up")
    with (tmp_path / "more/made-up/all.yaml").open("a") as file:
        file.write("# changed\n")
    for paper in ("record", "handover", "entry"):
        assert main([paper, latest(tmp_path)[0], "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["knowledge"]["overlays"] == [{"name": "more", "digest": digest}]


def test_cautions_are_not_passed_by_enter(tmp_path: Path) -> None:
    """Enter does not acknowledge: the last page waits for its key."""
    work(tmp_path, OPENING + "2y" + "\r" * 9 + "q")
    assert "cautions" not in kinds(tmp_path)


def test_words_lead_to_the_causes_that_are_like_them(tmp_path: Path) -> None:
    """In any order, with others between; the one that is meant is taken by its number."""
    work(tmp_path, OPENING + "fworn were the brushes of it\r1q")
    assert latest(tmp_path)[1][-1].data == {"fault": "motor.brushes-worn"}


def test_a_question_mark_helps_at_once_where_words_are_typed(tmp_path: Path) -> None:
    """It does not become part of the squawk."""
    shown = work(tmp_path, "QQ-ELM\r?bwheels wont come up\ry21\r\rq")
    assert "Type what the pilot said" in shown
    assert [e.data["text"] for e in latest(tmp_path)[1] if e.kind == "squawk"] == ["wheels wont come up"]


def test_cautions_read_once_are_shown_in_short_the_next_time(tmp_path: Path) -> None:
    """Dropped and begun again, the step says them by their first words, and wants r all the same."""
    shown = work(tmp_path, OPENING + "2y" + "r" * 8 + "xby" + "q")
    assert "All of these were read before, and hold again." in shown
    assert kinds(tmp_path)[-1] == "started"


def test_what_nobody_can_say_is_no_evidence(tmp_path: Path) -> None:
    """t at a symptom is neither yes nor no, and it is not asked again."""
    work(tmp_path, "QQ-ELM\rwheels wont come up\rtq\r")
    assert kinds(tmp_path)[-1] == "symptom-untold"


def test_a_learner_ranks_before_the_ranking_is_shown(tmp_path: Path) -> None:
    """Their parts are asked for first, and stand beside the book's; nothing of it goes into the case."""
    given = Namespace(
        case=None, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None, learner=True
    )
    with typing(OPENING + "2 1\rq") as (terminal, out):
        assert worker.run(given, terminal) == 0
    shown = out.getvalue()
    assert shown.index("Your ranking first") < shown.index("likely  ")
    assert "Yours: Motor (the book:" in shown
    assert kinds(tmp_path)[-1] == "hours"
