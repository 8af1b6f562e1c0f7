"""Which files make up a family's knowledge. The only module here, with the cache, that touches the disk.

A root holds ``shared/``, which every family reads, one folder per family, and folders that some families read,
named after them with a plus between (``electromechanical+power-pack``): what these have in common is written once.
The first root is the shipped book; each further one is an overlay of the same shape, applied in the order given.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path, PurePath

from faulttree.book.nearest import did_you_mean, nearest
from faulttree.book.positions import Position, Problem

SHARED = "shared"
AND = "+"
CASES = ".cases.yaml"
DRILLS = ".drills.yaml"
_NAME_IT = "name the book's folder, or an overlay's"
SIZE = 250_000
"""The largest file that is read, in bytes; the largest shipped one has half of it. Whatever a file of this size holds,
it is read or refused in a second or two."""


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file's bytes, the ``name`` to report it by, its ``layer`` (0 is the shipped book) and its folder."""

    name: str
    layer: int
    home: str
    content: bytes

    @property
    def holds_cases(self) -> bool:
        """Whether it holds regression cases rather than knowledge."""
        return self.name.endswith(CASES)

    @property
    def holds_drills(self) -> bool:
        """Whether it holds what is for practice: lessons, scenarios and what goes with them."""
        return self.name.endswith(DRILLS)

    @property
    def is_book(self) -> bool:
        """Whether it is knowledge, on which the advice rests."""
        return not self.holds_cases and not self.holds_drills


def in_common(home: str) -> bool:
    """Whether more than one family reads the folder."""
    return home == SHARED or AND in home


def _read_by(home: str, family: str) -> bool:
    return home == SHARED or family in home.split(AND)


def _homes(root: Path, family: str) -> list[str]:
    """The folders that the family reads: the shared one, those that it has in common with some, its own."""
    some = sorted(f.name for f in root.iterdir() if AND in f.name and _read_by(f.name, family) and f.is_dir())
    return [SHARED, *some, family]


def families(folders: Sequence[Path]) -> list[str]:
    """The families that have a folder with knowledge in any of the roots, sorted."""
    found = set()
    for root in folders:
        if root.is_dir():
            found |= {f.name for f in root.iterdir() if f.is_dir() and not in_common(f.name) and any(f.glob("*.yaml"))}
    return sorted(found)


def digest_of(root: Path, family: str) -> str:
    """The digest of what a family reads in one root: SHA-256 over its files' places and bytes, cases and drills left
    out; comments count, so that two copies of a file are told apart."""
    files, _ = collect([root], family) if root.is_dir() else ([], [])
    return f"sha256:{digest_of_files(files)}"


def laid_over(overlays: Sequence[str], digests: Sequence[str]) -> list[dict[str, str]]:
    """Overlays by the name of their folder, each with its digest; "" where none was kept."""
    names = [PurePath(folder).name or folder for folder in overlays]
    return [
        {"name": name, "digest": digest} for name, digest in zip_longest(names, digests[: len(names)], fillvalue="")
    ]


def digest_of_files(files: Iterable[SourceFile], head: bytes = b"") -> str:
    """SHA-256 in hex digits over ``head`` and the knowledge among the files, each with its layer and place."""
    digest = hashlib.sha256(head)
    for file in (file for file in files if file.is_book):
        place = json.dumps([file.layer, file.home, Path(file.name).name, len(file.content)])
        digest.update(place.encode("utf-8", "surrogatepass"))
        digest.update(file.content)
    return digest.hexdigest()


def root_of(path: Path) -> tuple[Path, str | None]:
    """The root that a path of a book or an overlay belongs to, and the folder of that root if it lies in one."""
    path = path.absolute()
    if path.is_file():
        return path.parent.parent, path.parent.name
    inside = path.name == SHARED or AND in path.name or (any(path.glob("*.yaml")) and not (path / SHARED).is_dir())
    return (path.parent, path.name) if inside else (path, None)


def readers(home: str | None, root: Path, known: Sequence[str]) -> list[str]:
    """The families that read a folder of a root, or any of its folders if none is named."""
    homes = [home] if home else [folder.name for folder in sorted(root.iterdir()) if any(folder.glob("*.yaml"))]
    return [family for family in known if any(_read_by(one, family) for one in homes)]


def collect(folders: Sequence[Path], family: str) -> tuple[list[SourceFile], list[Problem]]:
    """All files that the family reads, root by root, the shared folder first, by name within a folder."""
    files: list[SourceFile] = []
    problems: list[Problem] = []
    if in_common(family):  # its files would be read twice, and each entry told as there already
        return [], [_unknown_family(folders, family)]
    if not folders:
        problems.append(Problem(Position("book"), "no folder of knowledge is given", _NAME_IT, "folder"))
    for layer, root in enumerate(folders):
        if not root.is_dir():
            problems.append(Problem(Position(str(root)), "there is no such folder", _NAME_IT, "folder"))
            continue
        problems.extend((*_strays(root), *_misnamed(root, families(folders)), *_overlays_own(root, folders)))
        for home in _homes(root, family):
            for path in sorted((root / home).glob("*.yaml")) if _plain_name(home) else []:
                _take(path, layer, home, files, problems)
    if not any(file.home == family for file in files):
        problems.append(_unknown_family(folders, family))
    return files, problems


def _plain_name(home: str) -> bool:
    """Whether it is one folder's name, not a path out of the book."""
    return bool(home) and Path(home).name == home and home != ".." and "\0" not in home


def _unknown_family(folders: Sequence[Path], family: str) -> Problem:
    where = Position(str(folders[0]) if folders else "book")
    known = families(folders)
    listed = f"known families: {', '.join(known)}" if known else "there is no family's folder in it"
    return Problem(where, f"there is no family `{family}`", did_you_mean(family, known, listed), "family")


def _strays(root: Path) -> list[Problem]:
    """Files that look like knowledge but lie where nobody reads them."""
    misnamed = (Position(str(path)) for path in (*root.glob("*.yml"), *root.glob("*/*.yml")))
    loose = (Position(str(path)) for path in root.glob("*.yaml"))
    move = f"move it to {SHARED}/ or to a family's folder"
    return [
        *(Problem(where, "the name ends in .yml", "let it end in .yaml", "file-name") for where in misnamed),
        *(Problem(where, "the file lies beside the folders that are read", move, "folder") for where in loose),
    ]


def _misnamed(root: Path, known: Sequence[str]) -> list[Problem]:
    """Folders named after several families of which one does not exist."""
    wrong = [(f, part) for f in sorted(root.iterdir()) if AND in f.name for part in f.name.split(AND)]
    return [
        Problem(Position(str(folder)), f"there is no family `{part}`", did_you_mean(part, known, "rename it"), "folder")
        for folder, part in wrong if part not in known and folder.is_dir()
    ]  # fmt: skip


def _overlays_own(root: Path, folders: Sequence[Path]) -> list[Problem]:
    """Folders of an overlay that no family is read from: the name is misspelt, or it is a family of its own.

    One that is nearly the name of a family of the book below it is taken for a slip.
    """
    below = folders[: list(folders).index(root)]
    known = families(below) if below else []
    found = []
    for folder in sorted(root.iterdir()) if known else []:
        if (
            folder.is_dir()
            and folder.name not in (*known, SHARED)
            and AND not in folder.name
            and any(folder.glob("*.yaml"))
        ):
            meant = nearest(folder.name, known)
            if meant is not None and not any(_defines_family(path) for path in folder.glob("*.yaml")):
                what = f"no family of the book is called `{folder.name}`"
                found.append(Problem(Position(str(folder)), what, f"did you mean `{meant}`?", "folder"))
    return found


def _defines_family(path: Path) -> bool:
    try:
        return any(line.startswith(b"family:") for line in _content(path).splitlines())
    except OSError:
        return False


def _content(path: Path) -> bytes:
    """The bytes of a file, or as many as show that it is too large. Raises OSError.

    Of a link what it leads to, if that is a file: a pipe would be waited for, and a device has no end.
    """
    if path.exists() and not path.is_file():
        raise OSError(None, "it is no file, nor does it lead to one")
    with path.open("rb") as stream:
        return stream.read(SIZE + 1)


def _take(path: Path, layer: int, home: str, files: list[SourceFile], problems: list[Problem]) -> None:
    try:
        files.append(SourceFile(str(path), layer, home, _content(path)))
    except OSError as error:
        what = f"the file cannot be read ({error.strerror or error})"
        problems.append(Problem(Position(str(path)), what, "see to its rights", "file"))


def from_texts(texts: Mapping[str, str], family: str) -> tuple[list[SourceFile], list[Problem]]:
    """Texts by name as if they lay on disk: ``shared/a.yaml``, ``<family>/b.yaml``; a bare name is shared.

    What stands before the last two parts of a name is the root (``overlay/shared/a.yaml``); roots are
    layers in the order in which they first appear.
    """
    layers: dict[str, int] = {}
    files: list[SourceFile] = []
    for name, text in texts.items():
        parts = name.split("/")
        root = "/".join(parts[:-2])
        layer = layers.setdefault(root, len(layers))
        home = parts[-2] if len(parts) > 1 else SHARED
        if _read_by(home, family):
            files.append(SourceFile(name, layer, home, text.encode("utf-8", "surrogatepass")))
    files.sort(key=lambda file: file.layer)
    if any(file.home == family for file in files):
        return files, []
    known = sorted({home for name in texts if "/" in name and not in_common(home := name.split("/")[-2])})
    right = did_you_mean(family, known, f"known families: {', '.join(known) or 'none'}")
    return files, [Problem(Position("book"), f"there is no family `{family}`", right, "family")]
