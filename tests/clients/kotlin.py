"""Generates a Kotlin client from the API document, compiles it and calls every operation of a running service with it.
The guide's program goes first; it sets up what the others need.

The compiler is that of the Kotlin kernel on PyPI. OkHttp, which the generated transport rests on, is on none of the
registries that these checks use; ApiClient.kt stands in for that one file of the client.
"""

import shutil
import subprocess
import sys
import tempfile
import zipfile
from importlib.util import find_spec
from pathlib import Path

from tests.clients.operations import DOCUMENT, EXAMPLES, KEY, LOCKED, Operation, operations
from tests.document.guide import programs
from tests.running import running

HERE = Path(__file__).resolve().parent
BIN = Path(sys.executable).parent
OPTIONS = "serializationLibrary=kotlinx_serialization,enumPropertyNaming=UPPERCASE,dateLibrary=string"
ONLY = "models,apis,supportingFiles,modelDocs=false,modelTests=false,apiDocs=false,apiTests=false"
REPLACED = ("ApiClient.kt", "ResponseExtensions.kt")
SERIALIZATION = "org.jetbrains.kotlinx.serialization.compiler.extensions.Serialization"
PLUGIN = {
    "CompilerPluginRegistrar": f"{SERIALIZATION}ComponentRegistrar",
    "CommandLineProcessor": f"{SERIALIZATION}PluginOptions",
}
"""The one plugin that is wanted, of the many that the kernel brings."""


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources = _generate(folder / "client")
        calls = folder / "Calls.kt"
        calls.write_text(_calls())
        (guide,) = programs("kotlin")
        (folder / "Guide.kt").write_text(guide)
        _compile([*sources, *HERE.glob("*.kt"), calls, folder / "Guide.kt"], folder)
        libraries = [folder / "classes", *_jars("kotlin-stdlib", "kotlinx-serialization")]
        with running(**LOCKED) as url:
            _java(libraries, "CallsKt", url, KEY, EXAMPLES)


def _generate(folder: Path) -> list[Path]:
    tool = [BIN / "openapi-generator-cli", "generate", "-g", "kotlin", "--library", "jvm-okhttp4"]
    where = ["-i", DOCUMENT, "-o", folder, f"--additional-properties={OPTIONS}", f"--global-property={ONLY}"]
    subprocess.run([str(part) for part in [*tool, *where]], check=True, stdout=subprocess.DEVNULL)
    sources = [path for path in folder.rglob("*.kt") if path.name not in REPLACED]
    untyped = [path.name for path in sources if path.parent.name == "models" and "kotlin.Any" in path.read_text()]
    assert untyped == ["ProblemNearest.kt"], untyped  # its value may be any JSON; all else is typed plainly
    return sources


def _calls() -> str:
    every = "\n".join(f"    {_call(operation)}" for operation in operations())
    return f"""\
import checks.get
import checks.post
import checks.postTable
import checks.table
import org.openapitools.client.apis.*
import org.openapitools.client.models.*

fun main(arguments: Array<String>) {{
    val (url, key, examples) = arguments
    guide(url, key)
{every}
}}
"""


def _call(operation: Operation) -> str:
    """Return the call; tables go without the generated calls, whose transport neither sends nor reads text/csv."""
    api = f"{operation.tag.capitalize()}Api"
    if isinstance(operation.body, str):
        answer = f"{_upper(operation.identifier).removeprefix('Create')}Answer"
        return f'postTable<{answer}>("{operation.name}", examples, "$url{operation.path}")'
    if not operation.json:
        return f'table("{operation.name}", "$url{operation.path}")'
    if operation.body is not None:
        return f'post("{operation.name}", examples, {api}(url)::{operation.identifier})'
    arguments = ", ".join(
        f"{api}.{_upper(name)}{_upper(operation.identifier)}.{value.upper().replace('-', '_')}"
        for name, value in operation.parameters.get("path", {}).items()
    )
    return f'get("{operation.name}") {{ {api}(url).{operation.identifier}({arguments}) }}'


def _upper(name: str) -> str:
    return name[:1].upper() + name[1:]


def _compile(sources: list[Path], folder: Path) -> None:
    plugin = folder / "plugin.jar"
    with zipfile.ZipFile(plugin, "w") as jar:
        for service, provider in PLUGIN.items():
            jar.writestr(f"META-INF/services/org.jetbrains.kotlin.compiler.plugin.{service}", provider)
    compiler = _jars("kotlin-jupyter-kernel", "kotlin-stdlib", "kotlin-reflect", "kotlin-script-runtime")
    libraries = _path(_jars("kotlin-stdlib", "kotlinx-serialization"))
    options = ["-no-stdlib", "-no-reflect", "-nowarn", "-Xdisable-default-scripting-plugin", f"-Xplugin={plugin}"]
    where = ["-classpath", libraries, "-d", folder / "classes"]
    _java(compiler, "org.jetbrains.kotlin.cli.jvm.K2JVMCompiler", *options, *where, *sources)


def _jars(*names: str) -> list[Path]:
    kernel = find_spec("run_kotlin_kernel")
    assert kernel is not None
    assert kernel.origin is not None
    return [jar for name in names for jar in (Path(kernel.origin).parent / "jars").glob(f"{name}*.jar")]


def _path(jars: list[Path]) -> str:
    return ":".join(str(jar) for jar in jars)


def _java(jars: list[Path], program: str, *arguments: object) -> None:
    java = shutil.which("java")
    assert java is not None, "the Kotlin client needs a Java runtime; make kotlin-client installs it"
    subprocess.run([java, "-Xmx2g", "-cp", _path(jars), program, *map(str, arguments)], check=True)


if __name__ == "__main__":
    main()
