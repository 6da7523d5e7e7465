"""Lists what the image holds of others: `python -m tests.inventory notice` the licences, `sbom` as CycloneDX."""

import re
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path
from tempfile import TemporaryDirectory

from service import MODEL
from tests.running import ROOT

PINNED = re.compile(r"(?m)^(([A-Za-z0-9._-]+)==[^ \\]+(?: ;[^\\]+)?)")
HEAD = """Batch carbonation
Copyright 2026 the authors of batch carbonation

Licensed under the Apache License, Version 2.0; see LICENSE.

The container image holds software of others. Their versions stand in lock/runtime.txt, their full texts in the folder
*.dist-info of each package in the image, and beside the files of swagger-ui.

"""
VENDORED = {"swagger-ui": "Apache-2.0, in service/api/pages/swagger-ui"}


def packages() -> dict[str, str]:
    """The locked packages of the image, each with its pin."""
    return {name: pin.strip() for pin, name in PINNED.findall((ROOT / "lock" / "runtime.txt").read_text())}


def notice() -> str:
    """Each package and its licence, of those that are installed here; some are for other systems alone."""
    found = dict(VENDORED)
    for name in packages():
        try:
            found[name] = _licence(name)
        except PackageNotFoundError:
            continue
    return HEAD + "".join(f"{name}: {licence}\n" for name, licence in sorted(found.items()))


def _licence(name: str) -> str:
    told = distribution(name).metadata
    stated = next((told[name] for name in ("License-Expression", "License") if name in told), "")
    if stated and "\n" not in stated and len(stated) < 60:
        return stated
    kinds = [each.rpartition(" :: ")[2] for each in told.get_all("Classifier") or [] if each.startswith("License ::")]
    return ", ".join(kinds) or "see its folder"


def sbom() -> str:
    """All packages as CycloneDX, with the hashes of what is installed, as uv writes it.

    raises: CalledProcessError where no package index is reached
    """
    stated = {"name": "batch-carbonation", "version": MODEL, "requires-python": ">=3.11"}
    lines = [f'{name} = "{value}"' for name, value in stated.items()]
    lines += [f"dependencies = {sorted(packages().values())!r}"]
    with TemporaryDirectory() as folder:
        Path(folder, "pyproject.toml").write_text("\n".join(["[project]", *lines, ""]))
        uv = [str(Path(sys.executable).parent / "uv"), "--quiet", "--directory", folder]
        subprocess.run([*uv, "lock"], check=True)
        export = [*uv, "export", "--format", "cyclonedx1.5", "--preview-features", "sbom-export"]
        written: str = subprocess.run(export, check=True, capture_output=True, text=True).stdout
        return written


if __name__ == "__main__":
    sys.stdout.write({"notice": notice, "sbom": sbom}[sys.argv[1]]())
