"""The show of `make demo`: a prep sheet as the ticket a bar printer takes, and the board of an evening as text."""

import sys

import requests

from tests.running import ROOT, running

SHOWN = (
    ("/v1/prep-sheets", "openapi/examples/create-prep-sheet.json", 48),
    ("/v1/service-plans", "openapi/examples/create-service-plan.json", 80),
)
POSTED = "Posted {example} to {path} (Accept: text/plain, columns={columns}).\n"
WHERE = """\
The service has stopped. `make serve` keeps one running at http://127.0.0.1:8080, with the API page at /docs and the
OpenAPI document at /openapi.json (a copy is in openapi/openapi.json).
"""


def main() -> int:
    with running() as url:
        for path, example, columns in SHOWN:
            answer = requests.post(
                f"{url}{path}?columns={columns}",
                data=(ROOT / example).read_bytes(),
                headers={"Accept": "text/plain", "Content-Type": "application/json"},
                timeout=30,
            )
            print(answer.text)
            if not answer.ok:
                return 1
            print(POSTED.format(example=example, path=path, columns=columns))
    print(WHERE)
    return 0


if __name__ == "__main__":
    sys.exit(main())
