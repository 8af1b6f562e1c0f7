"""The cache of checked books."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from faulttree.book import cache, read_book
from faulttree.book.files import SourceFile
from faulttree.book.model import Book

SOUND = Path(__file__).parent / "data" / "sound"


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A folder for copies, not there yet."""
    return tmp_path / "cache" / "books"


def _book(kept: Path | None, fitted: tuple[str, ...] = ()) -> Book:
    book = read_book([SOUND], "demo", fitted, kept).book
    assert book is not None
    return book


def _copies(kept: Path) -> list[Path]:
    return sorted(kept.iterdir())


def test_a_kept_book_is_the_book(kept: Path) -> None:
    """The first reading keeps a copy, the second gives the same book from it."""
    first, second = _book(kept), _book(kept)
    assert (first == second == _book(None), len(_copies(kept))) == (True, 1)


def test_the_kept_way_reads_no_yaml(kept: Path) -> None:
    """With a copy at hand, neither YAML nor pydantic nor networkx is imported."""
    _book(kept)
    code = (
        "import sys\nfrom pathlib import Path\nfrom faulttree.book import read_book\n"
        f"assert read_book([Path({str(SOUND)!r})], 'demo', (), Path({str(kept)!r})).book\n"
        "print(sorted({'yaml', 'pydantic', 'networkx', 'difflib'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: b"",
        lambda text: text[:-20],
        lambda text: text.replace(b"Bus", b"Bug"),
        lambda text: b"\xff" + text,
        lambda text: b"0" * 64 + b"\n{}",
    ],
)
def test_a_damaged_copy_is_ignored_and_replaced(kept: Path, damage: object) -> None:
    """A copy that was cut short or changed is as good as none; reading makes a sound one again."""
    book = _book(kept)
    (copy,) = _copies(kept)
    sound = copy.read_bytes()
    copy.write_bytes(damage(sound))  # type: ignore[operator]  # a list of lambdas has no better type
    assert (_book(kept) == book, copy.read_bytes() == sound) == (True, True)


def test_a_copy_with_a_right_checksum_and_wrong_content_is_ignored(kept: Path) -> None:
    """Data that are not a book's do no harm even if they are whole."""
    import hashlib

    book = _book(kept)
    (copy,) = _copies(kept)
    text = json.dumps([1, 2, 3]).encode()
    copy.write_bytes(hashlib.sha256(text).hexdigest().encode() + b"\n" + text)
    assert _book(kept) == book


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    """Where no copy can be kept the book is read all the same."""
    blocked = tmp_path / "file"
    blocked.write_text("")
    assert _book(blocked / "cache").family == "demo"


def test_no_copy_is_kept_of_a_book_with_problems(kept: Path, tmp_path: Path) -> None:
    """What does not load is read anew each time, so that its problems show each time."""
    overlay = tmp_path / "overlay" / "demo"
    overlay.mkdir(parents=True)
    (overlay / "x.yaml").write_text("faults: {bus.dead: {amends: true, rate: -1}}\n")
    readings = [read_book([SOUND, overlay.parent], "demo", (), kept) for _ in range(2)]
    assert ([len(r.problems) for r in readings], kept.exists()) == ([1, 1], False)


def test_the_oldest_copies_go(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder does not grow without end."""
    monkeypatch.setattr(cache, "_KEPT", 2)
    for fitted in [(), ("two-lamps",), ("no-horn",), ("two-lamps", "no-horn")]:
        _book(kept, fitted)
    assert len(_copies(kept)) == 2


def _file(name: str = "shared/a.yaml", layer: int = 0, home: str = "shared", content: bytes = b"x") -> SourceFile:
    return SourceFile(name, layer, home, content)


@pytest.mark.parametrize(
    ("files", "family", "fitted"),
    [
        ([_file(content=b"y")], "demo", ()),
        ([_file(layer=1)], "demo", ()),
        ([_file(home="demo")], "demo", ()),
        ([_file(name="shared/b.yaml")], "demo", ()),
        ([_file(), _file("shared/b.yaml")], "demo", ()),
        ([_file()], "other", ()),
        ([_file()], "demo", ("a",)),
    ],
)
def test_the_key_depends_on_all_that_counts(files: list[SourceFile], family: str, fitted: tuple[str, ...]) -> None:
    """Content, layer, folder and name of each file, family and options all make another key."""
    assert cache.key(files, family, fitted) != cache.key([_file()], "demo", ())


def test_the_key_does_not_depend_on_what_does_not_count() -> None:
    """Where the book's folder lies, the order of options, and regression cases make no difference."""
    cases = _file("shared/a.cases.yaml")
    assert cache.key([_file("/elsewhere/a.yaml"), cases], "demo", ("b", "a")) == cache.key(
        [_file()], "demo", ("a", "b")
    )


def test_the_key_changes_with_the_format(monkeypatch: pytest.MonkeyPatch) -> None:
    """A newer reader does not take an older one's copies."""
    before = cache.key([_file()], "demo", ())
    monkeypatch.setattr(cache, "FORMAT", cache.FORMAT + 1)
    assert cache.key([_file()], "demo", ()) != before
