"""API keys: which are accepted is known by their hashes alone. `python -m service.api.keys` makes one."""

import re
import sys
from hashlib import sha256
from hmac import compare_digest
from secrets import token_urlsafe

from flask import request

from service.api.problems import TYPES, RequestProblem

SHORTEST = 43
"""Characters that 32 random bytes take in base64url without padding (RFC 4648); hex takes more."""
_HASH = re.compile(r"[0-9a-f]{64}")


def hashes_of(stated: str) -> tuple[str, ...]:
    """The hashes in a comma-separated list of SHA-256 in hex.

    raises: ValueError for one that is none
    """
    hashes = tuple(part.strip() for part in stated.split(",")) if stated else ()
    if not all(_HASH.fullmatch(h) for h in hashes):
        raise ValueError("API_KEY_HASHES must hold 64 lower-case hex digits for each key")
    return hashes


def authorize(hashes: tuple[str, ...]) -> None:
    """Let the current request pass if it brings one of the keys.

    raises: RequestProblem 401
    """
    scheme, _, key = request.headers.get("Authorization", "").partition(" ")
    found = sha256(key.encode("utf-8", "surrogateescape")).hexdigest()
    matches = [compare_digest(found, known) for known in hashes]  # every one, so that time tells nothing
    if scheme.lower() != "bearer" or len(key) < SHORTEST or not any(matches):
        raise RequestProblem("unauthorized", TYPES["unauthorized"].explanation)


def new() -> tuple[str, str]:
    """A random key and its hash."""
    key = token_urlsafe(32)
    return key, sha256(key.encode()).hexdigest()


if __name__ == "__main__":
    sys.stdout.write("key, for the caller alone:      {}\nhash, for API_KEY_HASHES here:  {}\n".format(*new()))
