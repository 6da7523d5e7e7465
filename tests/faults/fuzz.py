"""Bodies that a fuzzer makes out of the examples, guided by which lines of the service they reach."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from service.api.endpoint import MEDIA_TYPES
from tests.clients.operations import DOCUMENT
from tests.faults.load import examples
from tests.running import ROOT

SECONDS = int(os.environ.get("FUZZ_SECONDS", "60"))
LONGEST = 8192


def run() -> Iterator[str]:
    with TemporaryDirectory() as folder:
        corpus, words = Path(folder, "corpus"), Path(folder, "words")
        corpus.mkdir()
        for number, call in enumerate(examples()):
            body = json.dumps(json.loads(call.body)).encode() if call.form == "json" else call.body
            (corpus / str(number)).write_bytes(bytes([number]) + body)
        words.write_text("".join(f'"{word}"\n' for word in sorted(_words(json.loads(DOCUMENT.read_text())))))
        options = [f"-max_total_time={SECONDS}", f"-max_len={LONGEST}", f"-dict={words}", f"-artifact_prefix={folder}/"]
        command = [sys.executable, "-m", "tests.faults.fuzz", *options, "-seed=1", "-timeout=10", str(corpus)]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, (done.stdout + done.stderr)[-4000:]
    (runs,) = re.findall(r"Done (\d+) runs", done.stderr)
    covered = re.findall(r"cov: (\d+)", done.stderr)
    yield f"{runs} bodies in {SECONDS} s, {covered[0]} branches reached at first, {covered[-1]} at last, no fault"


def _words(document: Any) -> set[str]:
    """Names of properties and values of enumerations, quoted as the fuzzer's dictionary wants it."""
    found: set[str] = set()
    if isinstance(document, dict):
        found |= set(document.get("properties", {})) | {v for v in document.get("enum", []) if isinstance(v, str)}
        document = list(document.values())
    if isinstance(document, list):
        for inner in document:
            found |= {word for word in _words(inner) if re.fullmatch(r"[\w/ -]+", word)}
    return found


def _fuzz() -> None:
    """Do the work of the program that `run` starts."""
    import atheris

    with atheris.instrument_imports(include=["service"]):
        from service.api.app import create_app
    client = create_app({"AUTH": "open"}).test_client()
    calls = examples()

    def one(data: bytes) -> None:
        call = calls[data[0] % len(calls)] if data else calls[0]
        response = client.post(call.path, data=data[1:], content_type=MEDIA_TYPES[call.form])
        if response.status_code >= 500:
            raise RuntimeError(f"{call.path}: {response.status_code} to {data[1:]!r}")

    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    _fuzz()
