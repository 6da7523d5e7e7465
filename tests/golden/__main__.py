"""Keeps the numbers of today's answers; a number that moved is kept only once the changelog names it.

Before the first answer of a new model is kept, those of the model before it are written down whole.
--unreleased: numbers that the model before this did not have are kept too, until this one is released
"""

import sys

from service import MODEL
from service.api.app import create_app
from tests.golden.answers import answered, kept, models, moved, requests, unnamed, whole, write


def main(*options: str) -> int:
    newest = models()[-1]
    if newest != MODEL:
        if not whole(newest):
            print(f"openapi/answers are no longer those of {newest}: restore them, then run this before make openapi")
            return 1
        write(newest, kept(newest))
    client = create_app({"AUTH": "open"}).test_client()
    now, before = kept(MODEL), next((kept(model) for model in reversed(models()) if model != MODEL), {})
    keeps, silent = {}, 0
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
        keeps[name] = {"request": request, "numbers": numbers} if not lacking else was
    held = whole(MODEL)
    write(MODEL, {name: one for name, one in keeps.items() if name not in held})
    if wrong := [name for name, one in held.items() if moved(one["numbers"], keeps.get(name, one)["numbers"])]:
        print(f"make openapi keeps these whole: {', '.join(wrong)}")
    return 1 if silent else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
