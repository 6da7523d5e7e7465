"""API keys, known here by their hashes alone. `python -m service.api.keys NAME` makes one."""

import re
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from hmac import compare_digest
from secrets import token_urlsafe

from flask import g, request

from service.api.problems import RequestProblem

SHORTEST = 43
"""Characters of 32 random bytes in base64url without padding (RFC 4648); hex takes more."""
MOST = 1000
"""Keys of a deployment; each has series of its own in the metrics."""
NAME = r"[a-z0-9][a-z0-9._-]{0,39}"
_HASH = re.compile(r"[0-9a-f]{64}")
_NAMED = re.compile(rf"({NAME}):([0-9a-f]{{64}})(?::([0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}))?")


@dataclass(frozen=True)
class Key:
    """One key that opens.

    name: for logs and metrics; of a bare hash its first eight digits
    last_day: on which it opens, in UTC; for ever unless stated
    """

    name: str
    hash: str
    last_day: date | None = None

    @property
    def ends(self) -> float:
        """The moment from which it is refused [s since 1970]."""
        if self.last_day is None:
            return float("inf")
        after = self.last_day + timedelta(days=1)
        return datetime(after.year, after.month, after.day, tzinfo=UTC).timestamp()


def keys_of(named: str, bare: str) -> tuple[Key, ...]:
    """Read the keys of two comma-separated lists.

    named: name:hash, or name:hash:last-day
    bare: hashes
    raises: ValueError for an entry that is none of these, for a name or a hash that stands twice, for more than MOST
    """
    found = (*(_named(part, i) for i, part in enumerate(_parts(named), 1)), *map(_bare, _parts(bare)))
    for what in ("name", "hash"):
        if len({getattr(key, what) for key in found}) < len(found):
            raise ValueError(f"API_KEYS and API_KEY_HASHES must not hold a {what} twice")
    if len(found) > MOST:
        raise ValueError(f"API_KEYS must hold at most {MOST} keys")
    return found


def _parts(stated: str) -> list[str]:
    return [part.strip() for part in stated.split(",")] if stated else []


def _named(part: str, number: int) -> Key:
    wrong = (
        f"API_KEYS must hold name:hash or name:hash:YYYY-MM-DD, the last day; entry {number} is neither. "
        "A name has up to 40 of a-z 0-9 . _ - and a hash 64 lower-case hex digits"
    )
    matched = _NAMED.fullmatch(part)
    if not matched:
        raise ValueError(wrong)
    name, known, day = matched.groups()
    try:
        return Key(name, known, date.fromisoformat(day) if day else None)
    except ValueError:
        raise ValueError(wrong) from None


def _bare(part: str) -> Key:
    if not _HASH.fullmatch(part):
        raise ValueError("API_KEY_HASHES must hold 64 lower-case hex digits for each key")
    return Key(f"key-{part[:8]}", part)


def authorize(keys: Sequence[Key]) -> None:
    """Let the current request pass if it brings one of the keys, and note which.

    raises: RequestProblem 401
    """
    scheme, _, sent = request.headers.get("Authorization", "").partition(" ")
    found = sha256(sent.encode("utf-8", "surrogateescape")).hexdigest()
    matches = [key for key in keys if compare_digest(found, key.hash)]  # every one, so that timing reveals nothing
    if scheme.lower() != "bearer" or len(sent) < SHORTEST or not matches:
        raise RequestProblem("unauthorized")
    g.key = matches[0].name
    if time.time() >= matches[0].ends:
        text = "The key has expired; its last day was {last_day}."
        raise RequestProblem("unauthorized", text, params={"last_day": str(matches[0].last_day)})


def new_key() -> tuple[str, str]:
    """Return a random key and its hash."""
    key = token_urlsafe(32)
    return key, sha256(key.encode()).hexdigest()


if __name__ == "__main__":
    key, known = new_key()
    name = sys.argv[1].lower() if len(sys.argv) > 1 else "name"
    if not re.fullmatch(NAME, name):
        sys.exit("a name has up to 40 of a-z 0-9 . _ -")
    sys.stdout.write(f"key, for the caller alone:    {key}\nfor API_KEYS here:            {name}:{known}\n")
