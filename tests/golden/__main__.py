"""Keeps the numbers of today's answers; a number that moved is kept only once the changelog names it.

--unreleased: so are those that the model before this did not have, until this one is released
"""

import sys

from service import MODEL
from service.api.app import create_app
from tests.golden.answers import answered, drop, kept, models, moved, requests, unnamed, write


def main(*options: str) -> int:
    client = create_app({"AUTH": "open"}).test_client()
    now = kept(MODEL)
    before = next((kept(model) for model in reversed(models()) if model != MODEL), {})
    drop(now.keys() - requests().keys())
    silent = 0
    for name, request in requests().items():
        numbers, was = answered(client, name, request), now.get(name, {})
        if not numbers:
            print(f"{name}: refused")
            silent += 1
            continue
        differ = moved(was["numbers"], numbers) if was.get("request") == request else {}
        if options == ("--unreleased",):
            had = before.get(name, {}).get("numbers", {})
            differ = {pointer: both for pointer, both in differ.items() if pointer in had}
        lacking = unnamed(name, differ, MODEL)
        for pointer in lacking:
            print(f"{name} {pointer}: {differ[pointer]}: not named in CHANGELOG.md under {MODEL}, Numbers")
        silent += len(lacking)
        if not lacking:
            write(name, request, numbers)
    return 1 if silent else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
