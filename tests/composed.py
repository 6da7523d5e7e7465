"""docker/compose.yaml for real: upgraded and taken back under load, attacked, and a process of its proxy killed."""

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass

import requests

from tests.faults.load import example, load, until
from tests.faults.memory import sieges
from tests.faults.slow import besieged
from tests.running import ROOT, START_SECONDS, free_port

PROJECT = "image-test"
EACH = 99
ATTACK_S = 10.0
KILL = """for one in /proc/[0-9]*; do
    grep -q 'nginx: [w]orker process' "$one/cmdline" && kill -9 "${one#/proc/}" && exit 0
done; exit 1"""
"""One of the proxy's processes, with what the smallest of images has."""


@dataclass(frozen=True)
class Composed:
    """A deployment that compose runs.

    environment: by which docker and compose find the docker service, and the images that they are to take
    """

    url: str
    docker: str
    compose: list[str]
    environment: dict[str, str]

    def __call__(self, *command: str) -> str:
        done = subprocess.run(
            command, cwd=ROOT, env=os.environ | self.environment, check=False, capture_output=True, text=True
        )
        if done.returncode:
            raise RuntimeError(f"{' '.join(command)}: {done.stdout[-1000:]}{done.stderr[-2000:]}")
        return done.stdout.strip()

    def of_the_proxy(self, what: str) -> str:
        """Something that docker knows of the proxy's container."""
        name = self(*self.compose, "ps", "-q", "proxy")
        return self(self.docker, "inspect", "--format", f"{{{{{what}}}}}", name)


@contextmanager
def composed(docker: str, host: str, proxy_image: str) -> Iterator[Composed]:
    """Two replicas behind the proxy, until the block ends.

    docker: the client
    host: where its service listens
    proxy_image: with nginx
    """
    program = ["docker-compose"] if shutil.which("docker-compose") else [docker, "compose"]
    port = free_port()
    environment = {"DOCKER_HOST": host} if host else {}
    environment |= {"AUTH": "open", "API_KEYS": "", "LISTEN": f"127.0.0.1:{port}", "PROXY_IMAGE": proxy_image}
    project = [*program, "-p", PROJECT]
    environment |= {"DOCKER": docker, "COMPOSE": " ".join(project)}
    run = Composed(f"http://127.0.0.1:{port}", docker, [*project, "-f", "docker/compose.yaml"], environment)
    try:
        run(*run.compose, "up", "--detach", "--no-build")
        _wait(run)
        yield run
    finally:
        run(*run.compose, "down", "--timeout", "30")


def _wait(run: Composed) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        try:
            if requests.get(f"{run.url}/readyz", timeout=5).ok:
                return
        except requests.RequestException:
            pass
        time.sleep(0.1)
    raise TimeoutError(f"{run.url} is not ready: {run(*run.compose, 'logs', '--tail', '20')}")


def check(run: Composed, version: str, other: str, broken: str) -> Iterator[tuple[str, str]]:
    """Hold it to what is promised; yield what was tried and what came of it.

    version, other, broken: tags of images that are there; the first runs, the last never serves
    """
    with load(run.url, [example("create-set-points")], callers=4, pause_s=0.05) as outcome:
        until(outcome, 50)
        for to in (other, version):
            run("docker/upgrade", to)
        until(outcome, outcome.total + 50)
    assert not outcome.lost, f"lost: {dict(outcome.lost)}"
    told = f"there and back: {outcome.total} requests, none lost, p99 {outcome.quantile_ms(0.99):.0f} ms"
    yield "docker/upgrade", told
    with load(run.url, [example("create-set-points")], callers=4, pause_s=0.05) as outcome:
        until(outcome, 50)
        said = _fails(run, "docker/upgrade", broken)
        assert f"Back: docker/upgrade {version}" in said, said
        assert _running(run) == {"replica-2", "proxy"}
        run("docker/upgrade", version)
        until(outcome, outcome.total + 50)
    assert not outcome.lost, f"lost: {dict(outcome.lost)}"
    assert _running(run) == {"replica-1", "replica-2", "proxy"}
    yield "a broken version", f"is stopped, and back: {outcome.total} requests, none lost"
    host, port = run.url.removeprefix("http://").split(":")
    with ExitStack() as attack:
        for siege in sieges():
            attack.enter_context(besieged((host, int(port)), siege, EACH))
        time.sleep(ATTACK_S)
    assert run.of_the_proxy(".RestartCount") == "0", "the attack ended the proxy"
    yield "the proxy", f"stands {len(sieges())} x {EACH} connections that withhold a byte or read nothing"
    run(run.docker, "exec", run.of_the_proxy(".Id"), "sh", "-c", KILL)
    deadline = time.monotonic() + START_SECONDS
    while run.of_the_proxy(".RestartCount") == "0":
        assert time.monotonic() < deadline, "the proxy goes on with the counts of a process that is dead"
        time.sleep(0.2)
    _wait(run)
    yield "the proxy killed", "kill -9 of one of its processes: its container is started again, and serves"


def _fails(run: Composed, *command: str) -> str:
    """Return what a command says that fails."""
    try:
        run(*command)
    except RuntimeError as error:
        return str(error)
    raise AssertionError(f"{' '.join(command)} ended well")


def _running(run: Composed) -> set[str]:
    """Return the services that compose keeps running."""
    containers = {name: run(*run.compose, "ps", "-q", name) for name in ("replica-1", "replica-2", "proxy")}
    runs = "{{.State.Running}}"
    return {
        name for name, at in containers.items() if at and run(run.docker, "inspect", "--format", runs, at) == "true"
    }
