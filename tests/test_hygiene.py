"""What no file of the project may hold, and what its files must agree on."""

import ast
import re
import tomllib

import pytest

from tests.running import ROOT

VENDORED = "service/api/pages/swagger-ui/"
LOCKS = ("runtime", "demo", "dev", "faults", "compile")
# In pieces, so that this file may be read too.
MACHINE = re.compile("|".join(["/" + "work/", "/" + "root/", "/" + "home/", "pyenv" + "/", "file:" + "//"]))
REGISTRY = re.compile("|".join(["python" + "hosted", "npm" + "js", "--(extra-)?index" + "-url", "--find" + "-links"]))


def project_files() -> list[str]:
    """What may be committed, found without git."""
    ignored = {line.rstrip("/").rsplit("/", 1)[-1] for line in lines_of(".gitignore")} | {".git"}
    folders, found = [ROOT], []
    for folder in folders:
        for path in sorted(folder.iterdir()):
            if path.name not in ignored:
                (folders if path.is_dir() else found).append(path)
    return [path.relative_to(ROOT).as_posix() for path in found]


def lines_of(name: str) -> list[str]:
    return (ROOT / name).read_text(encoding="utf-8", errors="replace").splitlines()


def locked(name: str) -> dict[str, str]:
    pins = (re.match(r"([\w.-]+)==(\S+)([^\\]*)", line) for line in lines_of(f"lock/{name}.txt"))
    return {f"{pin[1]}{pin[3].strip()}": pin[2] for pin in pins if pin}


def test_no_file_names_a_machine_or_a_registry():
    found = [
        f"{name}:{number}"
        for name in project_files()
        if not name.startswith(VENDORED)
        for number, line in enumerate(lines_of(name), 1)
        if MACHINE.search(line) or REGISTRY.search(line)
    ]
    assert found == []
    assert len(project_files()) > 20


@pytest.mark.parametrize("name", LOCKS)
def test_every_locked_package_has_a_hash(name):
    text = (ROOT / f"lock/{name}.txt").read_text()
    entries = re.split(r"(?m)^(?=[\w])", text)
    assert [entry.split("==")[0] for entry in entries if entry.strip() and "--hash=sha256:" not in entry] == []
    assert len(locked(name)) >= 5


@pytest.mark.parametrize("smaller, larger", [("runtime", "demo"), ("demo", "dev"), ("compile", "dev")])
def test_locks_agree(smaller, larger):
    assert locked(smaller).items() <= locked(larger).items()


def test_the_changelog_opens_with_this_version_and_says_which_numbers_moved():
    version = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
    releases = re.split(r"(?m)^## ", (ROOT / "CHANGELOG.md").read_text())[1:]
    assert releases[0].startswith(version)
    assert [release.splitlines()[0] for release in releases if "### Numbers" not in release] == []


def test_nothing_inherits_from_what_is_compiled():
    """In the container service/science is compiled by mypyc; what is interpreted cannot inherit from a native class
    (mypyc's documentation, "Native classes"). Exceptions stay Python objects."""
    inherited = []
    for path in sorted((ROOT / "service").rglob("*.py")):
        if "science" in path.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        of_science = {
            one.asname or one.name
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("service.science")
            for one in node.names
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                bases = {base.id for base in node.bases if isinstance(base, ast.Name)}
                inherited += [f"{path.name}: {node.name}({name})" for name in bases & of_science]
    assert inherited == []
