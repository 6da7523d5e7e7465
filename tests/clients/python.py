"""Generates a Python client from the API document and calls every operation of a running service with it."""

import json
import pkgutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from http import HTTPStatus
from importlib import import_module
from io import BytesIO
from pathlib import Path
from types import ModuleType
from typing import Any, get_args, get_type_hints

from tests.clients.operations import DOCUMENT, KEY, LOCKED, Operation, kebab, operations
from tests.running import running

PACKAGE = "generated_client"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        _generate(Path(folder) / PACKAGE)
        sys.path.insert(0, folder)
        calls = _calls()
        with running(**LOCKED) as url:
            client = import_module(PACKAGE).AuthenticatedClient(base_url=url, token=KEY)
            for operation in operations():
                _check(calls[operation.name], client, operation)


def _generate(folder: Path) -> None:
    config = folder.with_suffix(".yaml")
    tables = "content_type_overrides: {text/csv: application/octet-stream}\n"  # it knows no other way to leave them be
    config.write_text(f"post_hooks: []\n{tables}")  # nobody reads it, so nothing formats it
    command = [sys.executable, "-m", "openapi_python_client", "generate", "--meta", "none", "--fail-on-warning"]
    options = ["--path", str(DOCUMENT), "--output-path", str(folder), "--config", str(config)]
    subprocess.run([*command, *options], check=True)


def _calls() -> dict[str, Callable[..., Any]]:
    api: ModuleType = import_module(f"{PACKAGE}.api")
    modules = pkgutil.walk_packages(api.__path__, f"{api.__name__}.")
    return {
        kebab(module.name.rsplit(".", 1)[1]): import_module(module.name).sync_detailed
        for module in modules
        if not module.ispkg
    }


def _check(call: Callable[..., Any], client: Any, operation: Operation) -> None:
    arguments = {name: value for place in operation.parameters.values() for name, value in place.items()}
    if isinstance(operation.body, str):
        arguments["body"] = import_module(f"{PACKAGE}.types").File(payload=BytesIO(operation.body.encode()))
    elif operation.body is not None:
        model = _body_model(call)
        arguments["body"] = model.from_dict(operation.body)
        sent = arguments["body"].to_dict()
        assert _offsets(sent) == _offsets(operation.body), f"{operation.name}: the client changes the request"
    answer = call(client=client, **arguments)
    assert answer.status_code == HTTPStatus.OK, f"{operation.name}: {answer.status_code} {answer.content.decode()}"
    if operation.json:
        assert answer.parsed.to_dict() == json.loads(answer.content), f"{operation.name}: the client changes the answer"
    print(f"python     {operation.name}: {answer.status_code.value}")


def _offsets(document: Any) -> str:
    """The document with moments in UTC written one way; the client writes +00:00 where Z was read (RFC 3339, 4.2)."""
    return json.dumps(document, sort_keys=True).replace('Z"', '+00:00"')


def _body_model(call: Callable[..., Any]) -> Any:
    hint = get_type_hints(call)["body"]
    return next(model for model in (hint, *get_args(hint)) if hasattr(model, "from_dict"))


if __name__ == "__main__":
    main()
