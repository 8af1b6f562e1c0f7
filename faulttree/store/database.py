"""Connections to the database, made on first use, and its errors in words that a mechanic can act on."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, func, insert, inspect, select, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError

from faulttree.errors import FaulttreeError
from faulttree.store import schema

WAIT_SECONDS = 10
"""How long one writer waits for another."""

ONE_AT_A_TIME = 70_443_921
"""The key under which laptops that make the tables of one PostgreSQL wait for each other."""

URLS = "write postgresql://USER@HOST/DATABASE or sqlite:////FOLDER/FILE"

FULL = ("SQLITE_FULL", "53100")
READ_ONLY = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH", "25006", "42501")
BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED", "55P03")
DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB")
MOVED = "SQLITE_READONLY_DBMOVED"
NOT_TEXT = "Could not decode to UTF-8"
"""What the driver says of a damaged file, with its bytes in it."""

SECRET = ("password", "sslpassword", "passfile")
FAILING = ("SQLITE_IOERR", "58030")


class StoreError(FaulttreeError):
    """The database cannot be used; the message says which, why, and what to do."""


class NotSaved(StoreError):
    """What was just to be written was not; all that was written before still is."""


class NotThere(StoreError):
    """There is no database yet, so nothing to read."""


class Database:
    """One database by URL. Nothing is opened before it is needed."""

    def __init__(self, url: str | Path) -> None:
        self.url = URL.create("sqlite", database=str(url.absolute())) if isinstance(url, Path) else _url(url)
        self.is_file = self.url.get_backend_name() == "sqlite"
        self.file = Path(self.url.database) if self.is_file and self.url.database else None
        self._engine: Engine | None = None

    @property
    def where(self) -> str:
        """The database as it is named in messages, without a password."""
        if self.file is not None:
            return str(self.file)
        return self.url.difference_update_query(SECRET).render_as_string(hide_password=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection to read with. Raises NotThere where nothing was ever written, StoreError."""
        self._must_be_there(StoreError)
        if self.file is not None and not self.file.exists():
            raise NotThere(f"{self.where}: there are no cases yet; `faulttree work` begins one")
        try:
            with self._made().connect() as connection:
                yield connection
        except (DBAPIError, UnicodeDecodeError) as problem:
            raise StoreError(self._told(problem, "cannot be read")) from problem

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A connection in a transaction that is on the disk when this is left. Raises NotSaved.

        IntegrityError passes: it is how one of two writers learns that the other was first.
        """
        self._must_be_there(NotSaved)
        try:
            with self._made().execution_options(writes=True).begin() as connection:
                yield connection
        except IntegrityError:
            raise
        except (DBAPIError, UnicodeDecodeError) as problem:
            if isinstance(problem, DBAPIError) and _code(problem.orig) == MOVED:
                self.close()  # another file lies in its place: the next try is with that
            raise NotSaved(self._told(problem, "not saved")) from problem

    def _must_be_there(self, kind: type[StoreError]) -> None:
        """Raises ``kind`` where a file that was in use is gone: an empty one in its place would hide that."""
        if self._engine is not None and self.file is not None and not self.file.exists():
            raise kind(f"{self.where}: the file is gone from its place; put it back and go on")

    def close(self) -> None:
        """Give the connections back."""
        if self._engine is not None:
            self._engine.dispose()
            self._engine = None

    # -- making it -------------------------------------------------------------------------------------

    def _made(self) -> Engine:
        if self._engine is None:
            if self.file is not None:
                self._make_file(self.file)
            engine = self._connect()
            try:
                self._make_tables(engine)
            except (DBAPIError, UnicodeDecodeError) as problem:
                engine.dispose()
                raise StoreError(self._told(problem, "cannot be opened")) from problem
            except BaseException:
                engine.dispose()
                raise
            self._engine = engine
        return self._engine

    def _make_file(self, file: Path) -> None:
        """The file with its owner's rights alone; SQLite gives its journal the same."""
        if file.exists():
            return
        try:
            file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with suppress(FileExistsError):
                os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        except OSError as problem:
            raise NotSaved(
                f"{file}: cannot be made ({problem.strerror}); nothing is kept. Make the folder writable, or name "
                f"another database in FAULTTREE_DATABASE"
            ) from problem

    def _connect(self) -> Engine:
        if not self.is_file:
            waits = {} if "connect_timeout" in self.url.query else {"connect_timeout": WAIT_SECONDS}
            try:
                engine = create_engine(self.url, pool_pre_ping=True, connect_args=waits)
            except (ArgumentError, ValueError, ImportError):
                raise StoreError(f"FAULTTREE_DATABASE is not an address that PostgreSQL takes; {URLS}") from None
            event.listen(engine, "connect", _set_up_postgres)
            return engine
        engine = create_engine(self.url, connect_args={"timeout": WAIT_SECONDS})
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine

    def _make_tables(self, engine: Engine) -> None:
        version = self._version(engine)
        if version is None:
            with engine.execution_options(writes=True).begin() as connection:
                if not self.is_file:
                    connection.execute(select(func.pg_advisory_xact_lock(ONE_AT_A_TIME)))
                # Somebody else may have been first.
                if not inspect(connection).has_table(schema.about.name):
                    schema.metadata.create_all(connection)
                    connection.execute(insert(schema.about).values(one=1, version=schema.VERSION))
            version = schema.VERSION
        if version != schema.VERSION:
            raise StoreError(
                f"{self.where}: was written by another version of the program (tables {version}, these are "
                f"{schema.VERSION}); use that version, or a newer one"
            )

    def _version(self, engine: Engine) -> int | None:
        with engine.connect() as connection:
            if not inspect(connection).has_table(schema.about.name):
                return None
            return connection.execute(select(schema.about.c.version)).scalar()

    # -- errors ----------------------------------------------------------------------------------------

    def _told(self, problem: DBAPIError | UnicodeDecodeError, what: str) -> str:
        cause = problem.orig if isinstance(problem, DBAPIError) else problem
        code = _code(cause)
        first = next(iter(str(cause).strip().splitlines()), type(cause).__name__)
        if isinstance(cause, UnicodeDecodeError) or NOT_TEXT in first:
            code = DAMAGED[0]
        for codes, why in (
            ((MOVED,), "another file lies in its place; put back the one with this case, and answer anew"),
            (FULL, "the disk is full; make room and go on, all that was saved before is kept"),
            (READ_ONLY, "it may not be opened or written; give yourself the right to the file and its folder"),
            (BUSY, f"another program has held it for {WAIT_SECONDS} seconds; try again"),
            (DAMAGED, "it is not a database, or damaged; put back a copy of the file"),
            (FAILING, f"the disk fails ({first}); all that was saved before is kept"),
        ):
            if code and any(code.startswith(each) for each in codes):
                return f"{self.where}: {what}: {why}"
        return f"{self.where}: {what}: {first}"


def _code(cause: object) -> str:
    return str(getattr(cause, "sqlite_errorname", None) or getattr(cause, "sqlstate", None) or "")


def _url(url: str) -> URL:
    """The address as the drivers want it. Nothing of it is repeated in a message: it may hold a password."""
    try:
        found = make_url(url)
    except (ArgumentError, ValueError):
        raise StoreError(f"FAULTTREE_DATABASE is not the address of a database; {URLS}") from None
    backend = found.drivername.partition("+")[0]
    if backend in ("postgresql", "postgres"):
        return found.set(drivername="postgresql+psycopg")
    if backend != "sqlite":
        raise StoreError(f"FAULTTREE_DATABASE names neither PostgreSQL nor SQLite; {URLS}")
    if not found.database or found.database == ":memory:" or found.query:
        raise StoreError(f"FAULTTREE_DATABASE names no file that would keep anything; {URLS}")
    return found.set(drivername="sqlite")


def _set_up_sqlite(connection: Any, record: object) -> None:
    """The driver leaves transactions to us; a commit is on the disk, the folder's entry of the journal too."""
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA synchronous = EXTRA")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _set_up_postgres(connection: Any, record: object) -> None:
    """A commit is on the server's disk before it returns, whatever the server does for others."""
    connection.execute("SET synchronous_commit TO on")
    connection.commit()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.execute(text("BEGIN IMMEDIATE" if writes else "BEGIN"))
