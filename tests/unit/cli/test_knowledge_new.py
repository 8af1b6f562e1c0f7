"""`faulttree knowledge new` line by line: nothing without a yes, answers kept, a lead's files as they were."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import pytest

from faulttree.store import Books, Cases, Database
from faulttree_cli.main import main
from tests.support.authored import CAUSE
from tests.support.closed_cases import answer, entries
from tests.support.small_family import FAMILY, small_book

Run = Callable[..., tuple[int, str, str]]

LINES = [*CAUSE.values(), "y"]

OURS = "# ours\nsymptoms:\n  stays-down:   {amends: true, unlisted: 0.2,  basis: estimate} # as seen\n"


@pytest.fixture
def run(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> Run:  # fmt: skip
    """The command for the made-up family, line by line; the lines end where ``typed`` does."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "data"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.delenv("FAULTTREE_DATABASE", raising=False)
    (tmp_path / "own/made-up").mkdir(parents=True)
    (tmp_path / "own/made-up/all.yaml").write_text(FAMILY, encoding="utf-8")

    def call(
        *words: str,
        typed: Iterable[str] = (),
        plain: Sequence[str] = ("--plain",),
        where: Sequence[str] = ("--knowledge", "own", "--write", "shop", "--family", "made-up"),
    ) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
        status = main([*plain, "knowledge", "new", *where, *words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


def written(at: Path) -> dict[str, str]:
    """What lies in the overlay."""
    return {str(p.relative_to(at)): p.read_text(encoding="utf-8") for p in sorted(at.glob("shop/**/*.yaml"))}


def test_what_was_answered_is_written_after_a_yes_and_ranked(
    run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The YAML and the effect are shown first; the next ranking has the cause, and the checker is content."""
    status, out, err = run(typed=LINES)
    assert (status, err) == (0, "")
    assert list(written(tmp_path)) == [
        "shop/made-up/motor-plug-pins-corroded.cases.yaml", "shop/made-up/motor-plug-pins-corroded.yaml",
    ]  # fmt: skip
    assert (
        out.index("rate: 0.2") < out.index("  before  ") < out.index("The checker: no errors") < out.index("Written:")
    )
    over = ["--family", "made-up", "--knowledge", "own", "--knowledge", "shop"]
    assert main(["rank", *over, "--symptom", "stays-down"]) == 0
    assert "Motor plug: pins corroded" in capsys.readouterr().out
    assert main(["knowledge", "check", "shop", "--knowledge", "own", "--family", "made-up"]) == 0
    assert "1 case, 0 misses" in capsys.readouterr().out


def test_nothing_is_written_without_a_yes(run: Run, tmp_path: Path) -> None:
    """q leaves, and so does the end of the lines; the answers are kept and the yes can be said later."""
    status, out, _ = run(typed=[*LINES[:-1], "q"])
    assert (status, written(tmp_path), "Written" in out) == (0, {}, False)
    assert "the answers are kept: `faulttree knowledge new` goes on" in " ".join(out.split())
    status, out, _ = run(typed=["y"])
    assert (status, written(tmp_path)) == (130, {})
    assert run(typed=["y", "y"])[0] == 0
    assert len(written(tmp_path)) == 2


def test_it_goes_on_where_it_was_left(run: Run) -> None:
    """The next question comes; n begins anew, and then nothing is left of the old answers."""
    status, out, _ = run(typed=LINES[:7])
    assert (status, "goes on with them" in out) == (130, True)
    _, out, _ = run(typed=["y"])
    assert "An entry was begun: cause pins corroded, for made-up, into shop." in out
    assert "question 8" in out
    _, out, _ = run(typed=["n"])
    assert "question 1" in out.partition("question 8")[0]
    assert "An entry was begun" not in run()[1]


def test_files_of_the_lead_stay_as_they_are(run: Run, tmp_path: Path) -> None:
    """To the letter, comments and layout; the new entry lies beside them."""
    (tmp_path / "shop/made-up").mkdir(parents=True)
    (tmp_path / "shop/made-up/motor-plug-pins-corroded.yaml").write_text(OURS, encoding="utf-8")
    assert run(typed=LINES)[0] == 0
    found = written(tmp_path)
    assert found["shop/made-up/motor-plug-pins-corroded.yaml"] == OURS
    assert len(found) == 3


def test_a_file_that_came_meanwhile_is_not_written_over(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All or nothing: the case's file is there at the last moment, so the knowledge is taken out again."""
    from faulttree_cli import author

    real = author.try_out

    def meanwhile(*args: object, **how: object) -> object:
        found = real(*args, **how)  # type: ignore[arg-type]
        (tmp_path / "shop/made-up").mkdir(parents=True)
        (tmp_path / "shop/made-up/motor-plug-pins-corroded.cases.yaml").write_text("# theirs\n", encoding="utf-8")
        return found

    monkeypatch.setattr(author, "try_out", meanwhile)
    status, _, err = run(typed=LINES)
    assert (status, "cannot be written (File exists). Nothing was" in err) == (2, True)
    assert written(tmp_path) == {"shop/made-up/motor-plug-pins-corroded.cases.yaml": "# theirs\n"}


def test_errors_bar_the_yes_and_answers_can_be_changed(run: Run, tmp_path: Path) -> None:
    """A case that does not come out is told with its file; y is no key then; c asks the wrong answer again."""
    answers = {**CAUSE, "case.step.1": "guard-switch.stuck", "case.step.2": "none"}
    number = list(answers).index("case.step.1") + 1
    status, out, _ = run(typed=[*answers.values(), "y", "c", "99", str(number), "look-into-motor-plug=pins-green", "y"])
    assert "shop/made-up/motor-plug-pins-corroded.cases.yaml:2:3: error: case" in " ".join(out.split())
    assert "Type one of c v q ?" in out
    assert "'99' is none of the numbers 1 to" in out
    assert (status, len(written(tmp_path))) == (0, 2)


def test_cases_of_the_book_that_move_are_taken_out_with_a_reason(run: Run, tmp_path: Path) -> None:
    """They are named with their file; without a reason they stay in; another answer brings them back."""
    case = "cases: {switch-first: {description: The switch leads, origin: constructed, symptoms: [stays-down], "
    (tmp_path / "own/made-up/all.cases.yaml").write_text(
        f"{case}expect: {{cause: guard-switch}}}}}}\n", encoding="utf-8"
    )
    place = list(CAUSE).index("rate")
    often = [*list(CAUSE.values())[:place], "200 in 10000", "20", *list(CAUSE.values())[place + 1 :]]
    number = str(place + 1)
    typed = [
        *often,
        "y",
        "r",
        "?",
        "",
        "r",
        "plugs corrode here",
        "c",
        number,
        "300 in 10000",
        "30",
        "r",
        "seen",
        "y",
    ]
    status, out, _ = run(typed=typed)
    told = " ".join(out.split())
    assert (status, "own/made-up/all.cases.yaml:1:9: error: case switch-first: guard-switch" in told) == (0, True)
    assert "Type one of r c v q ?" in out
    assert "Why does the shop expect otherwise than switch-first?" in out
    assert "reason: plugs corrode here" in out
    (cases, knowledge) = written(tmp_path).values()
    assert "switch-first: {retires: true, reason: seen}" in cases
    assert "rate: 30" in knowledge


@pytest.mark.parametrize("back", ["<", "q"])
def test_to_change_an_answer_can_be_thought_better_of(run: Run, tmp_path: Path, back: str) -> None:
    """Help stands beside what the keys do, and either key goes back to what would come of it, with all answers kept."""
    status, out, _ = run(typed=[*LINES[:-1], "c", "?", back, "y"])
    told = " ".join(out.split())
    assert "The question is asked once more; the other answers stay as far as they still fit. Type numbers" in told
    assert (status, len(written(tmp_path))) == (0, 2)


def test_a_number_is_told_as_it_was_understood_and_doubted_where_it_is_far_off(run: Run) -> None:
    """A count is told as a rate; one of seventy beside a third is asked for once more, and taken at its second time."""
    start = LINES[: list(CAUSE).index("rate")]
    _, out, _ = run(typed=[*start, "1 in 5000 h"])
    assert "Taken: 0.2 per 1000 flight hours, that is once in 5,000 flight hours." in out
    _, out, _ = run(typed=["n", *start, "70", "70"])
    assert "It is more than that of any cause of the book (the commonest has 0.3)." in out
    assert "Where do these numbers come from?" in out


def test_words_are_looked_up_and_chosen_by_number(run: Run) -> None:
    """Misspelt too; what is like nothing is said, and a number that is not shown is not taken."""
    _, out, _ = run(typed=["1", "gaurd swich", "7", "zzzz", "gaurd swich", "1", "?", "<", "?"])
    assert "1: Guard switch, guard-switch." in out
    assert "7 is none of the numbers 1 to" in out
    assert "Nothing in the book is like 'zzzz'" in out
    assert "The book has: stuck open (0.3); lead chafed (0.2)." in out
    assert "One thing, one way." in out
    assert "Parts that the book has keep their id" in out


def test_a_closed_case_is_begun_with(run: Run, tmp_path: Path) -> None:
    """Its words are proposed; one whose cause is in the book, and one that is not there, are refused."""
    book = small_book()
    fitted = [f"{group}={option}" for group, option in book.fitted.items()]
    opened = {"family": "made-up", "fitted": fitted, "version": "1", "digest": book.digest, "overlays": [], "job": ""}
    database = Database(f"sqlite:///{tmp_path / 'data' / 'cases.sqlite'}")
    Books(database).keep(book)
    cases = Cases(database)
    _, *log = entries(None, answer("motor-sound", "silent"))
    unknown, _ = cases.open("mechanic", opened)
    cases.append(unknown, 1, "mechanic", [*log[:-1], ("cause-in-words", {"text": "plug green"}), log[-1]])
    known, _ = cases.open("mechanic", opened)
    cases.append(known, 1, "mechanic", entries("motor.brushes-worn")[1:])
    database.close()
    where = ("--knowledge", "own", "--write", "shop")
    _, out, _ = run("--case", unknown, typed=["", "motor", ""], where=where)
    assert "Cause: “plug green”." in out
    assert "In the case it was: plug green." in out
    assert "Enter: plug green." in out
    assert "It is written motor.… in the files." in out
    (tmp_path / "data/new-entry.json").unlink()
    assert "is in the book: motor.brushes-worn" in run("--case", known, where=where)[2]
    assert run("--case", "2031-01-01-9", where=where)[0] == 2


def test_without_a_terminal_it_says_so(run: Run) -> None:
    """On stderr in one line, status 2."""
    status, out, err = run(plain=())
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "this needs a terminal" in err


@pytest.mark.parametrize(
    ("where", "right"),
    [
        (("--write", "own/made-up/all.yaml", "--family", "made-up", "--knowledge", "own"), "is a file; name a folder"),
        (("--write", "own/made-up", "--family", "made-up", "--knowledge", "own"), "is a folder within an overlay"),
        (("--write", "shop", "--family", "made-op", "--knowledge", "own"), "did you mean `made-up`?"),
    ],
)
def test_what_cannot_be_written_into_is_refused_first(run: Run, where: Sequence[str], right: str) -> None:
    """Before anything is asked; status 2."""
    status, _, err = run(where=where)
    assert (status, right in err) == (2, True)


def test_an_overlay_with_errors_is_to_be_mended_first(run: Run, tmp_path: Path) -> None:
    """With the file and line of the first."""
    (tmp_path / "shop/made-up").mkdir(parents=True)
    (tmp_path / "shop/made-up/a.yaml").write_text("faults:\n  motor.x: {name: x}\n", encoding="utf-8")
    status, _, err = run()
    assert (status, "a.yaml:2:" in err, "Mend it first" in err) == (2, True, True)


def test_kind_of_gear_and_overlay_are_asked_for(run: Run, tmp_path: Path) -> None:
    """Each until it can be one; the one overlay of the settings is taken without a question."""
    _, out, _ = run(
        typed=["x", "?", "3", "", "own/made-up", "ours", "1"], where=("--knowledge", "own", "--knowledge", "own")
    )
    assert "Type a number from 1 to 4." in out
    assert "seen in squawks of this kind alone" in out
    (tmp_path / "data/new-entry.json").unlink(missing_ok=True)
    _, out, _ = run(typed=["", "own/made-up", "ours", "1"], where=("--family", "power-pack"))
    assert "own/made-up is a folder within an overlay" in out
    assert "A new entry for power-pack, into ours, question 2." in out
    (tmp_path / "data/new-entry.json").unlink()
    (tmp_path / "settings.toml").write_text(f'overlays = ["{tmp_path / "own"}"]\n', encoding="utf-8")
    assert "A new entry for made-up, into …/own, question 1" in run(where=("--family", "made-up"))[1]


def test_kept_answers_that_cannot_be_read_are_no_hindrance(run: Run, tmp_path: Path) -> None:
    """A broken file, or one with other things in it, counts as none."""
    (tmp_path / "data").mkdir()
    other_things = {"family": 1, "target": "x", "seed": {}, "answers": {}}
    a_list = {"family": "made-up", "target": "x", "seed": {}, "answers": {"kind": ["a"]}}
    for content in ("{", "[]", json.dumps(other_things), json.dumps(a_list)):
        (tmp_path / "data/new-entry.json").write_text(content, encoding="utf-8")
        assert "question 1." in run()[1]


def test_the_name_that_is_given_stands_beside_what_is_amended(run: Run, tmp_path: Path) -> None:
    """Else it is that of the login, which says nothing on a machine that all use."""
    assert run("--by", "J. Miller", typed=LINES)[0] == 0
    (text,) = [text for name, text in written(tmp_path).items() if not name.endswith(".cases.yaml")]
    assert text.count("by: J. Miller") == text.count("amends: true") > 0


def test_enter_beside_a_list_takes_none_of_it_only_the_second_time(run: Run) -> None:
    """Whoever forgot the number is told so before the next question."""
    keys = list(CAUSE)
    before = [CAUSE[key] for key in keys[: keys.index("promoted.1")]]
    _, once, _ = run(typed=[*before, "we", ""])
    assert "None of these? A number takes one; Enter once more: none." in once
    assert "Which squawk does it bring about?" not in once
    _, twice, _ = run(typed=["n", *before, "we", "", ""])
    assert "Which squawk does it bring about?" in twice


def test_gone_on_with_it_is_still_signed_by_whom_it_was_begun(run: Run, tmp_path: Path) -> None:
    """The name was given once; a folder that is given anew is where it goes."""
    run("--by", "J. Miller", typed=LINES[:7])
    into = ("--knowledge", "own", "--write", "our own", "--family", "made-up")
    status, out, _ = run(typed=["y", *LINES[7:]], where=into)
    assert status == 0
    assert "into our own" in out
    assert "`faulttree knowledge check 'our own'` checks it" in out.replace("\n", " ")
    (path,) = (path for path in tmp_path.glob("our own/made-up/*.yaml") if not path.name.endswith(".cases.yaml"))
    text = path.read_text(encoding="utf-8")
    assert text.count("by: J. Miller") == text.count("amends: true") > 0
