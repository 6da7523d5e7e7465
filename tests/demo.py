"""The show of `make demo`: a prep sheet for the example batch, as the ticket that a bar printer takes."""

import sys

import requests

from tests.running import ROOT, running

EXAMPLE = "openapi/examples/create-prep-sheet.json"
WHERE = """\
Posted {example} to {path} (Accept: text/plain, columns=48).
The service has stopped. `make serve` keeps one running at http://127.0.0.1:8080, with the API page at /docs and the
OpenAPI document at /openapi.json (a copy is in openapi/openapi.json).
"""


def main() -> int:
    path = "/v1/prep-sheets"
    with running() as url:
        answer = requests.post(
            f"{url}{path}?columns=48",
            data=(ROOT / EXAMPLE).read_bytes(),
            headers={"Accept": "text/plain", "Content-Type": "application/json"},
            timeout=30,
        )
    print(answer.text)
    if not answer.ok:
        return 1
    print(WHERE.format(example=EXAMPLE, path=path))
    return 0


if __name__ == "__main__":
    sys.exit(main())
