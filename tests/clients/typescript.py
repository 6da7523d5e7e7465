"""Generates TypeScript types from the API document, compiles typed calls of every operation and runs them."""

import json
import os
import shutil
import subprocess
from pathlib import Path

from tests.clients.operations import DOCUMENT, KEY, LOCKED, Operation, operations
from tests.document.guide import programs
from tests.running import running

HERE = Path(__file__).resolve().parent
GENERATED = HERE / "generated"
TOOLS = HERE / "node_modules/.bin"


def main() -> None:
    shutil.rmtree(GENERATED, ignore_errors=True)
    GENERATED.mkdir()
    schema = str(GENERATED / "schema.d.ts")
    _run(TOOLS / "openapi-typescript", DOCUMENT, "--output", schema, "--default-non-nullable=false")
    calls = "".join(_call(operation) for operation in operations())
    (GENERATED / "calls.ts").write_text(f'import {{ call, client, table }} from "../client.ts";\n\n{calls}')
    (guide,) = programs("typescript")
    (GENERATED / "guide.ts").write_text(guide)
    _run(TOOLS / "tsc", "--project", HERE)
    with running(**LOCKED) as url:
        for program in ("guide.ts", "calls.ts"):
            _run("node", GENERATED / program, SERVICE=url, KEY=KEY)


def _call(operation: Operation) -> str:
    """The request as a literal, so that the compiler holds it against the generated types."""
    request: dict[str, object] = {}
    if operation.parameters:
        request["params"] = operation.parameters
    if operation.body is not None:
        request["body"] = operation.body
    if not operation.json:
        request["parseAs"] = "text"
    sent = json.dumps(request)
    if isinstance(operation.body, str):
        sent = f"{{ ...{sent}, ...table }}"
    arguments = f"{json.dumps(operation.path)}, {sent}"
    return f"await call({json.dumps(operation.name)}, client.{operation.method.upper()}({arguments}));\n"


def _run(*command: object, **environment: str) -> None:
    subprocess.run([str(part) for part in command], check=True, env=os.environ | environment)


if __name__ == "__main__":
    main()
