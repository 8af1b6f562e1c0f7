"""Profiles of aircraft. A change is a new version; the old ones stay."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Row, func, insert, select
from sqlalchemy.exc import IntegrityError

from faulttree.errors import BadCase
from faulttree.store import schema
from faulttree.store.cards import storable
from faulttree.store.database import Database, NotThere


@dataclass(frozen=True, slots=True)
class Profile:
    """An aircraft by registration or job number. ``fitted`` is group to option; ``limits`` by the limit's id, each
    with value, unit and reference (section and revision of the maker's manual). ``version`` counts from 1."""

    name: str
    family: str
    fitted: Mapping[str, str] = field(default_factory=dict)
    voltage: str = ""
    limits: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    version: int = 0
    at: str = ""
    who: str = ""


class Profiles:
    """The profiles of one database."""

    def __init__(self, database: Database, now: Callable[[], datetime] | None = None) -> None:
        self.database = database
        self._now = now or (lambda: datetime.now().astimezone())

    def find(self, name: str) -> Profile | None:
        """The latest version of a profile, None where there is none."""
        table = schema.aircraft
        latest = select(table).where(table.c.name == key(name)).order_by(table.c.version.desc()).limit(1)
        try:
            with self.database.reading() as connection:
                row = connection.execute(latest).first()
        except NotThere:
            return None
        return None if row is None else _profile(row)

    def all(self) -> list[Profile]:
        """The latest version of every profile, by name."""
        table = schema.aircraft
        newest = select(table.c.name, func.max(table.c.version).label("version")).group_by(table.c.name).subquery()
        query = select(table).join(newest, (table.c.name == newest.c.name) & (table.c.version == newest.c.version))
        try:
            with self.database.reading() as connection:
                return [_profile(row) for row in connection.execute(query.order_by(table.c.name))]
        except NotThere:
            return []

    def nearly(self, name: str) -> list[str]:
        """Names of profiles that are this one but for a sign put wrong, left out, put in or changed with the next."""
        from rapidfuzz.distance import OSA  # only where a name is not found

        wanted = _signs(name)
        return [p.name for p in self.all() if OSA.distance(wanted, _signs(p.name), score_cutoff=1) <= 1]

    def keep(self, profile: Profile, who: str) -> Profile:
        """Write a profile as the next version after its own. Raises BadCase where somebody else has, NotSaved."""
        version = profile.version + 1
        data = {
            "name": profile.name, "family": profile.family, "fitted": dict(profile.fitted),
            "voltage": profile.voltage, "limits": {name: dict(limit) for name, limit in profile.limits.items()},
        }  # fmt: skip
        at = self._now().astimezone(UTC).isoformat(timespec="seconds")
        row = {"name": key(profile.name), "version": version, "at": at, "who": storable(who), "data": json.dumps(data)}
        try:
            with self.database.writing() as connection:
                connection.execute(insert(schema.aircraft).values(**row))
        except IntegrityError:
            raise BadCase(
                f"the profile of {profile.name} was changed by somebody else meanwhile; nothing was kept, "
                "look at it anew"
            ) from None
        return replace(profile, version=version, at=at, who=who)


def key(name: str) -> str:
    """How a registration is looked up: capitals and blanks do not matter."""
    return storable("".join(name.split())).upper()


def _signs(name: str) -> str:
    """A registration without what one writes with a hyphen and another without."""
    return "".join(sign for sign in key(name) if sign.isalnum())


def _profile(row: Row[Any]) -> Profile:
    try:
        data = json.loads(row.data)
        return Profile(**data, version=row.version, at=row.at, who=row.who)
    except (ValueError, TypeError) as problem:
        raise BadCase(
            f"the profile of {row.name}, version {row.version}, cannot be read; the database was changed by other means"
        ) from problem
