"""`faulttree knowledge new`: a cause, a check or a symptom that no book has, asked for at the terminal."""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from faulttree.errors import FaulttreeError

from ... import options, places, settings

if TYPE_CHECKING:
    from ...terminal import Terminal


OVERLAY_HELP = "An overlay is a folder of the shop's own. It lies on top of the shipped book, which stays as it is."

ONE_KEY = 9
"""So many choices have a digit each."""

LONGEST_PATH = 30
"""Signs of a path on the first line of each question; of a longer one its last part is shown."""


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "new", "add a cause, a check or a symptom by answering questions",
        "Asks for a new cause, check or symptom, each answer checked as it is typed; shows the YAML, what it would do "
        "to the ranking and what the checker says; and writes it with a regression case into an overlay, in files of "
        "its own, after a yes. Needs a terminal. What was answered is kept until it is written.",
        "faulttree knowledge new --write ours",
        "faulttree knowledge new --write ours --case 2026-11-26-1",
    )  # fmt: skip
    parser.add_argument("--case", metavar="CASE", help="begin with a closed case whose cause was not in the book")
    options.add_family(parser, "; asked for without")
    told = "the overlay to write into, made if need be, after a yes"
    parser.add_argument("--write", metavar="DIR", help=f"{told}; else that of the shop's settings, or asked for")
    options.add_by(parser)
    options.add_knowledge(parser)
    options.add_plain(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Asks, shows, and writes after a yes."""
    from ...plain_terminal import open_terminal

    terminal = open_terminal(given.plain)
    begun = _Begun(places.begun_entry())
    try:
        return _New(given, terminal, begun).run()
    except (KeyboardInterrupt, EOFError):
        terminal.show("", _left(begun))
        return 130


def _left(begun: _Begun) -> str:
    if not begun.read():
        return "Left. Nothing was written."
    return "Left. Nothing was written, the answers are kept: `faulttree knowledge new` goes on with them."


class _Begun:
    """The answers to an entry that is not written yet, in a file of the user's."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> dict[str, Any]:
        """What was kept; nothing where there is none, or where it cannot be read."""
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        sound = isinstance(kept, dict) and all(isinstance(kept.get(key), str) for key in ("family", "target"))
        sound = sound and isinstance(kept.get("by", ""), str)
        return kept if sound and all(_is_words(kept.get(key)) for key in ("seed", "answers")) else {}

    def keep(self, family: str, target: Path, by: str, seed: Mapping[str, str], answers: Mapping[str, str]) -> None:
        """Raises FaulttreeError."""
        from faulttree.workshop.proposal import put

        kept = {"family": family, "target": str(target), "by": by, "seed": dict(seed), "answers": dict(answers)}
        try:
            put(self.path, json.dumps(kept, ensure_ascii=False, indent=1), private=True)
        except OSError as problem:
            raise FaulttreeError(f"{self.path}: the answers cannot be kept ({problem.strerror})") from problem

    def drop(self) -> None:
        """It was written, or is begun anew."""
        self.path.unlink(missing_ok=True)


def _is_words(kept: Any) -> bool:
    return isinstance(kept, dict) and all(isinstance(said, str) for said in kept.values())


class _New:
    """One run of the command."""

    def __init__(self, given: argparse.Namespace, terminal: Terminal, begun: _Begun) -> None:
        self.given, self.terminal, self.begun = given, terminal, begun
        self.overlays = [Path(folder) for folder in settings.read().overlays_and(given.knowledge)]

    def run(self) -> int:
        """Goes on with what was begun if that is wished, else begins."""
        from faulttree.workshop.authoring.ground import Ground, NotSound
        from faulttree.workshop.authoring.session import Session

        from ...author import Author
        from ...desk import signed

        begun = self._going_on()
        if begun:
            family, seed = begun["family"], begun["seed"]
            target = Path(begun["target"]) if self.given.write is None else overlay_at(self.given.write)
        else:
            seed, of_case = self._from_case()
            family = self._family(of_case)
            target = self._target()
        by = self.given.by or begun.get("by", "")
        folders = [places.shipped_book(), *self.overlays]
        if target.is_dir() and target.absolute() not in [folder.absolute() for folder in folders]:
            folders.append(target)
        try:
            ground = Ground(folders, family, target, signed(by))
        except NotSound as problem:
            raise FaulttreeError(f"{problem}. Mend it first: `faulttree knowledge check` shows all") from problem
        session = Session(ground, seed, begun.get("answers"))

        def keep(answers: Mapping[str, str]) -> None:
            self.begun.keep(family, target, by, seed, answers)

        where = str(target) if len(str(target)) <= LONGEST_PATH else f"…/{target.name}"
        head = f"A new entry for {family}, into {where}"
        texts = Author(self.terminal, session, head, keep, places.cache_folder()).run()
        if texts is None:
            self.terminal.show("", _left(self.begun))
            return 0
        written = _write(target, texts)
        self.begun.drop()
        self._tell(written, target)
        return 0

    # -- where to begin ----------------------------------------------------------------------------------

    def _going_on(self) -> dict[str, Any]:
        kept = self.begun.read()
        if not kept:
            return {}
        about = kept["answers"].get("mode") or kept["answers"].get("check") or kept["answers"].get("name") or ""
        told = f"An entry was begun: {kept['answers'].get('kind', 'nothing chosen yet')} {about}".rstrip()
        into = self.given.write or kept["target"]
        parts = [
            f"{told}, for {kept['family']}, into {into}.",
            "At once: y go on with it   n begin anew, and drop it   ? help",
        ]
        self.terminal.page(*parts)
        while True:
            pressed = self.terminal.key("> ", ["y", "n", "?"], redraw=lambda: self.terminal.page(*parts))
            if pressed != "?":
                break
            self.terminal.show("y asks the next question. n throws the answers away. Control-C leaves all as it is.")
        if pressed == "y":
            return kept
        self.begun.drop()
        return {}

    def _from_case(self) -> tuple[dict[str, str], str]:
        """The answers that a closed case proposes, and its family."""
        if self.given.case is None:
            return {}, ""
        from faulttree.case import opening_of
        from faulttree.workshop.authoring.regression import begin_with

        from ...desk import Desk

        desk = Desk()
        entries = desk.cases.read(self.given.case)
        opened = opening_of(self.given.case, entries)
        overlays = [str(folder) for folder in self.overlays]
        today = places.load(opened["family"], opened["fitted"], overlays)
        begun = begin_with(self.given.case, entries, desk.book_of(self.given.case, entries), today)
        desk.close()
        self.terminal.show(f"Case {self.given.case}: “{begun.squawk}”. Cause: “{begun.cause}”.")
        return dict(begun.seed), opened["family"]

    def _family(self, of_case: str) -> str:
        from faulttree.book import families
        from faulttree.book.nearest import did_you_mean

        known = families([places.shipped_book(), *self.overlays])
        wanted = self.given.family or of_case
        if of_case and wanted != of_case:
            raise FaulttreeError(f"case {self.given.case} is of {of_case}, not of {wanted}")
        if wanted and wanted not in known:
            near = did_you_mean(wanted, known, "there are " + ", ".join(known))
            raise FaulttreeError(f"there is no family {wanted!r}; {near}")
        return wanted or self._one_of(
            "Which kind of gear is it for?", known, "What you add is seen in squawks of this kind alone."
        )

    def _target(self) -> Path:
        if self.given.write is not None:
            return overlay_at(self.given.write)
        if len(self.overlays) == 1:
            return overlay_at(str(self.overlays[0]))
        if self.overlays:
            return overlay_at(
                self._one_of("Into which overlay?", [str(folder) for folder in self.overlays], OVERLAY_HELP)
            )
        said = ""
        while True:
            parts = [
                *([said, ""] if said else []), "Into which folder is it to be written?",
                "  The shop's own overlay; it is made if it is not there. Such as: ours", "",
                "Type it, then Enter. Enter alone takes nothing.", "At once: ? help",
            ]  # fmt: skip
            self.terminal.page(*parts)
            typed = self.terminal.line("> ").strip()
            if typed in ("", "?"):
                said = OVERLAY_HELP
                continue
            try:
                return overlay_at(typed)
            except FaulttreeError as problem:
                said = f"{problem}."

    def _one_of(self, title: str, known: Sequence[str], help: str) -> str:
        said = ""
        while True:
            keys = (
                [str(i) for i in range(1, len(known) + 1)] if len(known) <= ONE_KEY and not self.terminal.plain else []
            )
            listed = [f"  {i} {one}" for i, one in enumerate(known, 1)]
            how = "A key answers at once" if keys else "Type a number, then Enter"
            self.terminal.page(*([said, ""] if said else []), title, *listed, "", f"{how}.   ? help")
            typed = (self.terminal.key("> ", [*keys, "?"]) or "") if keys else self.terminal.line("> ").strip()
            if typed.isascii() and typed.isdigit() and 1 <= int(typed[:6]) <= len(known):
                return known[int(typed) - 1]
            said = help if typed == "?" else f"Type a number from 1 to {len(known)}."

    # -- the end -----------------------------------------------------------------------------------------

    def _tell(self, written: Sequence[Path], target: Path) -> None:
        self.terminal.show("", *(f"Written: {path}" for path in written))
        quoted = shlex.quote(str(target))
        self.terminal.show(f"`faulttree knowledge check {quoted}` checks it, also after changes by hand.")
        if target.absolute() in [folder.absolute() for folder in map(Path, settings.read().overlays)]:
            self.terminal.show("The shop's settings name this overlay, so the next squawk is ranked with it.")
        else:
            self.terminal.show(
                f"It holds with --knowledge {quoted}; or name it in {settings.settings_file()}: "
                f'overlays = ["{target.absolute()}"]'
            )


def overlay_at(typed: str) -> Path:
    """The overlay that is meant, there or not yet. Raises FaulttreeError for what cannot be one."""
    from faulttree.book.files import root_of
    from faulttree.workshop.whereabouts import is_whole

    path = Path(typed).expanduser()
    if path.exists() and not path.is_dir():
        raise FaulttreeError(f"{path} is a file; name a folder")
    if path.is_dir():
        root, home = root_of(path)
        if home is not None:
            raise FaulttreeError(f"{path} is a folder within an overlay; name the overlay: {root}")
        if is_whole(path):
            raise FaulttreeError(f"{path} is a whole book and no overlay; name a folder of the shop's own")
    return path


def _write(target: Path, texts: Mapping[str, str]) -> list[Path]:
    """New files only: one that has come to be there meanwhile is left alone. Raises FaulttreeError; all or nothing."""
    written: list[Path] = []
    try:
        for name, text in texts.items():
            path = target / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8") as stream:
                written.append(path)
                stream.write(text)
    except OSError as problem:
        for path in written:
            path.unlink(missing_ok=True)
        raise FaulttreeError(
            f"{path}: cannot be written ({problem.strerror}). Nothing was; the answers are kept, and "
            "`faulttree knowledge new` goes on with them"
        ) from problem
    return written
