"""Which files make up a family's knowledge."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book import families, read_book, read_texts
from faulttree.book.files import collect, digest_of, from_texts


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A root with two families and odds and ends."""
    for name in ("shared/b.yaml", "shared/a.yaml", "demo/c.yaml", "demo/d.cases.yaml", "other/e.yaml", "empty/x.txt"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("{}\n")
    return tmp_path


def test_families_are_the_folders_with_knowledge(root: Path) -> None:
    """Every folder but the shared one counts, if it has a file of knowledge in it."""
    assert families([root]) == ["demo", "other"]


def test_files_come_layer_by_layer_and_by_name(root: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Shared files come before the family's, the shipped book before overlays; other families stay out."""
    overlay = tmp_path_factory.mktemp("overlay")
    (overlay / "shared").mkdir()
    (overlay / "shared" / "z.yaml").write_text("{}\n")
    files, problems = collect([root, overlay], "demo")
    found = [(file.layer, file.home, Path(file.name).name) for file in files]
    assert found == [
        (0, "shared", "a.yaml"),
        (0, "shared", "b.yaml"),
        (0, "demo", "c.yaml"),
        (0, "demo", "d.cases.yaml"),
        (1, "shared", "z.yaml"),
    ]
    assert problems == []


def test_the_digest_of_a_root_is_of_what_the_family_reads_in_it(root: Path) -> None:
    """Of the knowledge alone, whatever the root is called; of a folder that is gone it is that of nothing."""
    before = {family: digest_of(root, family) for family in ("demo", "other")}
    assert len({*before.values(), digest_of(root / "gone", "demo")}) == 3
    (root / "demo/d.cases.yaml").write_text("cases: {}\n")
    (root / "demo/c.yaml").write_text("# ours\n{}\n")
    assert [digest_of(root, family) == was for family, was in before.items()] == [False, True]
    (root / "demo/c.yaml").write_text("{}\n")
    assert digest_of(root.rename(root.with_name("elsewhere")), "demo") == before["demo"]


@pytest.mark.parametrize(
    ("family", "right"), [("demmo", "did you mean `demo`?"), ("zzz", "known families: demo, other")]
)
def test_an_unknown_family_is_answered_with_the_known_ones(root: Path, family: str, right: str) -> None:
    """Asking for a family that is not there names the nearest, or all."""
    reading = read_book([root], family)
    assert (reading.book, [p.right for p in reading.problems if p.rule == "family"]) == (None, [right])


@pytest.mark.parametrize("family", ["", "..", "../other", "a/b", "a\0b"])
def test_a_family_is_never_a_path(root: Path, family: str) -> None:
    """A family's name cannot lead out of the book's folder."""
    files, problems = collect([root], family)
    assert ([file for file in files if file.home == family], [p.rule for p in problems]) == ([], ["family"])


def test_a_missing_folder_is_a_problem(tmp_path: Path) -> None:
    """A root that is not there is reported by its name."""
    problems = read_book([tmp_path / "gone"], "demo").problems
    assert str(tmp_path / "gone") in {p.position.file for p in problems}


def test_no_folder_at_all_is_a_problem() -> None:
    """Without any root there is a problem, not an error."""
    assert "folder" in {p.rule for p in read_book([], "demo").problems}


@pytest.mark.parametrize("stray", ["loose.yaml", "shared/wrong.yml"])
def test_files_that_nobody_would_read_are_reported(root: Path, stray: str) -> None:
    """A knowledge file beside the folders, or with another ending, does not go unnoticed."""
    (root / stray).write_text("{}\n")
    _, problems = collect([root], "demo")
    assert [p.position.file for p in problems] == [str(root / stray)]


def test_a_misspelt_folder_of_an_overlay_is_told_by_its_name(
    root: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Else each entry in it would be told to lack all that it names; a family of the overlay's own is none."""
    overlay = tmp_path_factory.mktemp("overlay")
    (overlay / "demmo").mkdir()
    (overlay / "demmo" / "more.yaml").write_text("faults: {}\n")
    _, problems = collect([root, overlay], "demo")
    assert [p.right for p in problems] == ["did you mean `demo`?"]
    (overlay / "demmo" / "more.yaml").write_text("family: {id: demmo}\n")
    assert collect([root, overlay], "demo")[1] == []


def test_texts_are_laid_out_like_files() -> None:
    """The name of a text says its layer and folder; a bare name is shared; other families stay out."""
    files, problems = from_texts({"a.yaml": "", "demo/b.yaml": "", "other/c.yaml": "", "shop/demo/d.yaml": ""}, "demo")
    assert [(file.layer, file.home) for file in files] == [(0, "shared"), (0, "demo"), (1, "demo")]
    assert problems == []


def test_texts_without_the_family_name_the_known_ones() -> None:
    """An unknown family of texts is one problem that names what there is."""
    problems = read_texts({"demo/b.yaml": "", "shared/a.yaml": ""}, "demos").problems
    assert [p.right for p in problems if p.rule == "family"] == ["did you mean `demo`?"]


def test_a_folder_of_several_families_is_read_by_each_of_them_and_is_no_family(root: Path) -> None:
    """Between the shared folder and the family's own; the others do not see it."""
    one, two = families([root])[:2]
    (root / f"{one}+{two}").mkdir()
    (root / f"{one}+{two}" / "both.yaml").write_text("options: {}\n", encoding="utf-8")
    for family in (one, two):
        homes = [file.home for file in collect([root], family)[0]]
        assert homes == sorted(homes, key=["shared", f"{one}+{two}", family].index)
        assert f"{one}+{two}" in homes
    assert families([root])[:2] == [one, two]
    assert f"{one}+{two}" not in families([root])


def test_a_folder_of_several_families_names_those_that_there_are(root: Path) -> None:
    """A family misspelt would simply not be read."""
    one = families([root])[0]
    (root / f"{one}+{one}x").mkdir()
    (problem,) = collect([root], one)[1]
    assert f"no family `{one}x`" in problem.what
    assert one in problem.right
