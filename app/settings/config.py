"""Settings of one running shop: where its data lies and how it is reached."""

import ipaddress
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict, SettingsError

VERSION = "0.3.0"
# The folders beside the code that hold pages and files for the browser.
ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = ROOT / "templates"
STATIC = ROOT / "static"
MIGRATIONS = ROOT / "migrations"


class UnsafeSettings(ValueError):
    """A setting would run the shop in a way that cannot be answered for; the text says what to change."""


class Settings(BaseSettings):
    """Typed settings, from arguments first, then from ``DAYBUOY_...`` variables."""

    model_config = SettingsConfigDict(env_prefix="DAYBUOY_", extra="ignore", frozen=True)

    data: Path = Path("data")
    database_url: str | None = None
    host: str = "127.0.0.1"
    port: int = Field(default=8000, ge=0, le=65535)
    # Names and addresses under which browsers may reach this shop, besides the loopback ones.
    names: tuple[str, ...] = ()
    https: bool = False
    demo: bool = False

    @field_validator("data")
    @classmethod
    def _absolute(cls, value: Path) -> Path:
        return value.expanduser().resolve()

    @model_validator(mode="after")
    def _refuse_unsafe(self) -> "Settings":
        if self.database_url and not self.database_url.startswith(("postgresql://", "postgresql+psycopg://")):
            raise UnsafeSettings(
                "DAYBUOY_DATABASE_URL must start with postgresql:// (leave it unset for the SQLite file)."
            )
        if self.host in ("0.0.0.0", "::") and not self.names:  # noqa: S104 - compared, not bound
            raise UnsafeSettings(
                "Listening on every address needs DAYBUOY_NAMES: a list of the names or addresses that "
                "the shop's devices type, for example DAYBUOY_NAMES='[\"192.168.1.20\"]'."
            )
        return self

    @property
    def scheme(self) -> str:
        """``https`` once the shop has set it up, else ``http``."""
        return "https" if self.https else "http"

    def host_names(self) -> frozenset[str]:
        """Names that the Host header may carry (without port), lower case."""
        own = {"127.0.0.1", "localhost", "[::1]", *(name.lower() for name in self.names)}
        if self.host not in ("0.0.0.0", "::"):  # noqa: S104 - compared, not bound
            own.add(f"[{self.host}]" if _is_v6(self.host) else self.host.lower())
        return frozenset(own)


def read_settings(**given: Any) -> Settings:
    """Return the settings, ``None`` meaning "not given"; raises UnsafeSettings with one sentence.

    The sentence names the setting and never repeats its value, which may hold a password.
    """
    try:
        return Settings(**{name: value for name, value in given.items() if value is not None})
    except ValidationError as problem:
        first = problem.errors(include_input=False, include_url=False)[0]
        name = str(first["loc"][0]) if first["loc"] else ""
        said = first["msg"].removeprefix("Value error, ")
        if not name:
            raise UnsafeSettings(said) from None
        raise UnsafeSettings(f"DAYBUOY_{name.upper()} cannot be used: {said[0].lower()}{said[1:]}.") from None
    except SettingsError:
        raise UnsafeSettings(
            "DAYBUOY_NAMES cannot be read. Write it as a list, "
            "for example DAYBUOY_NAMES='[\"192.168.1.20\"]'."
        ) from None


def _is_v6(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).version == 6  # noqa: PLR2004 - the name of a protocol
    except ValueError:
        return False
