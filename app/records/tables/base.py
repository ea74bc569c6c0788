"""What every table shares: constraint names, how it appears in the trail, and column shorthands."""

from typing import Any, ClassVar

from sqlmodel import Field, SQLModel

# SQLite can only rebuild a table whose constraints have names.
SQLModel.metadata.naming_convention = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Row(SQLModel):
    """A row of the shop's records.

    ``personal`` names the columns that tell who somebody is: the trail seals their values with that
    person's key. ``secret`` names the columns whose values never reach the trail at all (health
    answers, password hashes). ``in_trail`` is False only for machinery (visits, counters, used keys).
    """

    personal: ClassVar[frozenset[str]] = frozenset()
    secret: ClassVar[frozenset[str]] = frozenset()
    in_trail: ClassVar[bool] = True
    add_only: ClassVar[bool] = False

    def key_owner(self) -> str | None:
        """Whose key seals the personal values of this row, as ``guest:<ref>`` or ``party:<ref>``."""
        return None


def key() -> Any:
    """Primary key numbered by the database."""
    return Field(default=None, primary_key=True)


def link(target: str, *, index: bool = True, **more: Any) -> Any:
    """A foreign key to ``table.column``, indexed because lists follow it."""
    return Field(foreign_key=target, index=index, **more)


def instant(*, empty: bool = False, index: bool = False) -> Any:
    """An instant, aware, stored as UTC and read back as UTC; naive ones are refused."""
    return Field(default=None, index=index) if empty else Field(index=index)
