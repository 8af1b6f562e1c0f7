"""What a path that a shop lead names belongs to: a whole book, or an overlay on the shipped one; and who reads it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from faulttree.book import families
from faulttree.book.files import SHARED, in_common, readers, root_of
from faulttree.book.nearest import did_you_mean
from faulttree.book.yamltext import read_yaml
from faulttree.errors import FaulttreeError


class NoKnowledge(FaulttreeError):
    """A path that holds no knowledge, or lies where nobody reads it."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """The folders of the book that the paths make up, from the lowest, and the families that read any of the paths."""

    folders: tuple[Path, ...]
    families: tuple[str, ...]


def whereabouts(shipped: Path, overlays: Sequence[Path], paths: Sequence[Path]) -> Whereabouts:
    """Where the paths belong, laid over what else there is. Raises NoKnowledge."""
    folders, homes = [shipped, *overlays], []
    for path in paths:
        if not path.exists():
            raise NoKnowledge(f"there is no file or folder {path}")
        root, home = root_of(path)
        if is_whole(root):
            folders[0] = root
        elif root not in [folder.absolute() for folder in folders]:
            folders.append(root)
        homes.append((path, root, home))
    known = families(folders)
    if not paths:
        return Whereabouts(tuple(folders), tuple(known))
    found: dict[str, None] = {}
    for path, root, home in homes:
        read_by = readers(home, root, known)
        if not read_by or (home is not None and not _is_home(home, folders, root)):
            raise NoKnowledge(_misplaced(path, home, families(folders[:1])))
        found |= dict.fromkeys(read_by)
    return Whereabouts(tuple(folders), tuple(name for name in known if name in found))


def is_whole(root: Path) -> bool:
    """Whether a root is a book by itself, which says its version, and not laid over another."""
    for path in sorted((root / SHARED).glob("*.yaml")):
        content = path.read_bytes()
        if b"book:" in content:
            said = read_yaml(content, str(path)).data.get("book")
            if isinstance(said, dict) and "version" in said and "amends" not in said:
                return True
    return False


def _is_home(home: str, folders: Sequence[Path], root: Path) -> bool:
    """Whether a folder is read by a family: a family of its own says so in a section."""
    if in_common(home) or any((folder / home).is_dir() for folder in folders if folder != root):
        return True
    said = (read_yaml(path.read_bytes(), str(path)).data for path in sorted((root / home).glob("*.yaml")))
    return any("family" in data for data in said)


def _misplaced(path: Path, home: str | None, known: Sequence[str]) -> str:
    other = next(iter(sorted(path.glob("*/*.yml"))), None) if home is None and path.is_dir() else None
    if other is not None:
        return f"there is no knowledge in {path}: the name of {other} ends in .yml; let it end in .yaml"
    if home is None:
        return f"there is no knowledge in {path}; it wants a folder {SHARED} or one named after a family"
    wanted = f"a family's folder ({', '.join(known)})"
    right = did_you_mean(home, [SHARED, *known], f"put it into {SHARED} or into {wanted}")
    return f"{path} lies in a folder `{home}` that no family reads; {right}"
