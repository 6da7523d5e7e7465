"""The configuration of the application, read from the environment; a wrong word ends the start."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from service.api.keys import Key, keys_of

SETTINGS = (
    "API_KEYS", "API_KEY_HASHES", "AUTH", "CORS_ORIGINS",
    "BIND", "LARGE_BIND", "METRICS_BIND", "WORKERS", "LARGE_WORKERS", "PROXIES", "LOG_LEVEL",
)  # fmt: skip
"""Variables of the application, then those of the server, which docker/gunicorn.conf.py reads."""
ALIKE = 0.9
"""Likeness from which on another variable is one of ours misspelt: WORKER and API_KEY are, OAUTH is not."""
_ORIGIN = re.compile(r"https?://[a-z0-9.-]+(:[0-9]{1,5})?")


@dataclass(frozen=True)
class Configuration:
    """The application's part of the environment.

    keys: those that open; none where everybody may ask
    origins: whose pages may call from a browser
    metrics_port: on which the server listens for metrics and probes alone
    """

    keys: tuple[Key, ...]
    origins: tuple[str, ...]
    metrics_port: int | None


def read(settings: Mapping[str, str]) -> Configuration:
    """Read the configuration from the environment.

    raises: ValueError for a variable that is wrong or misspelt
    """
    _check_names(settings)
    return Configuration(_keys(settings), _origins(settings), _metrics_port(settings))


def _check_names(settings: Mapping[str, str]) -> None:
    for name in settings:
        near = get_close_matches(name.upper(), SETTINGS, n=1, cutoff=ALIKE)
        if near and name not in SETTINGS:
            raise ValueError(f"{name} is no setting; if {near[0]} is meant, write it so, otherwise unset {name}")


def _keys(settings: Mapping[str, str]) -> tuple[Key, ...]:
    named, bare = settings.get("API_KEYS", "").strip(), settings.get("API_KEY_HASHES", "").strip()
    auth = settings.get("AUTH", "")
    if auth not in ("", "open"):
        raise ValueError('AUTH may only be "open"')
    if bool(named or bare) == (auth == "open"):
        raise ValueError("set either API_KEYS (name:hash, comma-separated), API_KEY_HASHES, or AUTH=open")
    return keys_of(named, bare)


def _origins(settings: Mapping[str, str]) -> tuple[str, ...]:
    stated = tuple(origin.strip() for origin in settings.get("CORS_ORIGINS", "").split(",") if origin.strip())
    if not all(_ORIGIN.fullmatch(origin) for origin in stated):
        raise ValueError("CORS_ORIGINS must hold origins such as https://till.example, separated by commas")
    return stated


def _metrics_port(settings: Mapping[str, str]) -> int | None:
    stated = settings.get("METRICS_BIND", "")
    if not stated:
        return None
    port = stated.rpartition(":")[2]
    if not port.isdecimal() or not settings.get("PROMETHEUS_MULTIPROC_DIR"):
        raise ValueError("METRICS_BIND must be address:port, and needs PROMETHEUS_MULTIPROC_DIR")
    return int(port)
