"""Schemathesis against the running service: what fits the document, what does not, and what is at its edges."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.faults.instance import instance

EXAMPLES = os.environ.get("CONTRACT_EXAMPLES", "10")
KEY = "key-of-the-contract-tests-0123456789-0123456789"
CHECKS = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
    "negative_data_rejection",
    "missing_required_header",
    "unsupported_method",
    "allow_header_conformance",
    "ignored_auth",
)
"""All that a service without stored objects can meet, save one: a request that fits may still be against physics."""
LIST = "createBatchList"
"""Is answered when one of its batches is no request, which is refused in its place."""


def run() -> Iterator[str]:
    hashes = sha256(KEY.encode()).hexdigest()
    with (
        instance(LOG_LEVEL="warning", AUTH="", API_KEY_HASHES=hashes) as one,
        TemporaryDirectory() as folder,
    ):
        yield from _hold(one.url, folder, "--exclude-operation-id", LIST, "--checks", ",".join(CHECKS))
        fewer = [check for check in CHECKS if check != "negative_data_rejection"]
        yield from _hold(one.url, folder, "--include-operation-id", LIST, "--checks", ",".join(fewer))
        errors = [line for line in one.lines() if line["event"] == "fault"]
    assert not errors, f"server errors: {errors[:3]}"


def _hold(url: str, folder: str, *options: str) -> Iterator[str]:
    """Run schemathesis; yield what it counted."""
    done = subprocess.run(
        [
            Path(sys.executable).parent / "schemathesis", "run", f"{url}/openapi.json", *options,
            "--phases", "examples,coverage,fuzzing", "--mode", "all", "--max-examples", EXAMPLES, "--workers", "2",
            "--header", f"Authorization: Bearer {KEY}", "--continue-on-failure",
            "--suppress-health-check", "all", "--warnings", "off", "--no-color", "--seed", "1",
        ],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
    for line in done.stdout.splitlines():
        if re.search(r"\d+ (selected|generated)", line):
            yield line.strip()
