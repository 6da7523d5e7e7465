"""Builds the container image and runs it for real, as confined as it is meant to be. `make image-test`; needs root.

A docker service that runs is used; without one, dockerd is started for the occasion. Without the official base image,
one is made of this machine's Debian.
"""

import json
import os
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import requests

from service import MODEL
from service.api.app import OPERATIONS
from service.api.endpoint import MEDIA_TYPES
from tests.composed import check, composed
from tests.faults.load import example, examples, load, until
from tests.faults.proxy import proxied
from tests.running import ROOT, START_SECONDS, free_port

IMAGE = "batch-carbonation:image-test"
OFFICIAL, WITH_COMPILER, PROXY = "python:3.13-slim", "python:3.13", "nginx:1.28-alpine-slim"
VERSIONS = MODEL, f"{MODEL}-next"
BROKEN = f"{MODEL}-broken"
NEVER_SERVES = f"""FROM {IMAGE}
CMD ["sh", "-c", "trap 'exit 0' TERM; sleep 3600 & wait"]
"""
CONFINED = [
    "--network=host", "--read-only", "--tmpfs=/tmp:size=16m", "--cap-drop=ALL", "--security-opt=no-new-privileges",
    "--memory=256m", "--pids-limit=64",
]  # fmt: skip
MEMORY = 256 * 1024 * 1024


class Docker:
    """The docker client of this machine, talking to one service."""

    def __init__(self, host: str = "") -> None:
        self.program = "/usr/bin/docker" if Path("/usr/bin/docker").exists() else "docker"
        self.host, self.client = host, [self.program, *(["--host", host] if host else [])]

    def __call__(self, *arguments: str, check: bool = True) -> str:
        done = subprocess.run([*self.client, *arguments], check=False, capture_output=True, text=True, cwd=ROOT)
        if check and done.returncode:
            raise RuntimeError(f"docker {arguments[0]}: {done.stderr[-2000:]}{done.stdout[-2000:]}")
        return done.stdout.strip()

    def inspect(self, name: str, what: str) -> str:
        return self("inspect", "--format", f"{{{{{what}}}}}", name)


@contextmanager
def docker() -> Iterator[Docker]:
    """The docker service that runs already, or one for the occasion."""
    running = Docker()
    if subprocess.run([*running.client, "info"], check=False, capture_output=True).returncode == 0:
        yield running
        return
    with TemporaryDirectory() as folder:
        socket, pid = f"unix://{folder}/socket", Path(folder, "pid")
        options = ["--storage-driver=vfs", "--iptables=false", "--ip6tables=false", "--bridge=none"]
        places = [f"--data-root={folder}/data", f"--exec-root={folder}/exec", f"--pidfile={pid}", f"--host={socket}"]
        with Path(folder, "log").open("wb") as log:
            daemon = subprocess.Popen(["dockerd", *options, *places], stdout=log, stderr=log)
        own = Docker(socket)
        try:
            _wait(lambda: "Server Version" in own("info", check=False), "dockerd")
            yield own
        finally:
            daemon.terminate()
            daemon.wait(timeout=60)
            subprocess.run(["umount", f"{folder}/exec/netns/default"], check=False, capture_output=True)


def _wait(ready: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + START_SECONDS
    while not ready():
        if time.monotonic() > deadline:
            raise TimeoutError(f"{what} is not ready after {START_SECONDS} s")
        time.sleep(0.1)


def bases(docker: Docker) -> tuple[str, str]:
    """Return the bases to run on and to build on: official images where they can be had, or this machine's Debian."""
    official = OFFICIAL, WITH_COMPILER
    if all(docker("images", "--quiet", name) or docker("pull", "--quiet", name, check=False) for name in official):
        return official
    compiler = ("gcc", "libc6-dev", "python3-dev")
    return _of_debian(docker, "base-python"), _of_debian(docker, "build-python", *compiler)


def proxy_image(docker: Docker) -> str:
    """One with nginx: the official one where it can be had, otherwise one of this machine's Debian."""
    if docker("images", "--quiet", PROXY) or docker("pull", "--quiet", PROXY, check=False):
        return PROXY
    return _of_debian(docker, "nginx-of-debian", "nginx-light")


def _of_debian(docker: Docker, name: str, *more: str) -> str:
    """An image of this machine's Debian with Python and more packages."""
    with TemporaryDirectory() as folder:
        packages = f"--include={','.join(('python3', 'python3-venv', 'ca-certificates', *more))}"
        subprocess.run(["debootstrap", "--variant=minbase", packages, _suite(), folder], check=True,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        for spare in ("var/cache/apt", "var/lib/apt/lists", "usr/share/doc", "usr/share/locale"):
            shutil.rmtree(Path(folder, spare))
        for known in ("etc/ssl/certs/ca-certificates.crt", "etc/pip.conf"):  # what reaches a package index from here
            if Path("/", known).exists():
                shutil.copy(Path("/", known), Path(folder, known))
        Path(folder).chmod(0o755)  # it becomes the root folder
        tar = subprocess.Popen(["tar", "-C", folder, "-cf", "-", "."], stdout=subprocess.PIPE)
        subprocess.run([*docker.client, "import", "-", name], stdin=tar.stdout, check=True, stdout=subprocess.DEVNULL)
        tar.wait()
    return name


def _suite() -> str:
    release = dict(line.split("=", 1) for line in Path("/etc/os-release").read_text().splitlines() if "=" in line)
    return release["VERSION_CODENAME"].strip('"')


@contextmanager
def container(docker: Docker, address: str) -> Iterator[str]:
    """One confined container; yields its name."""
    name = f"image-test-{address.replace(':', '-')}"
    settings = ["--env=AUTH=open", f"--env=BIND={address}"]
    docker("run", "--detach", f"--name={name}", *CONFINED, *settings, IMAGE)
    try:
        yield name
    finally:
        docker("rm", "--force", name)


def ready(docker: Docker, name: str, address: str) -> float:
    """Wait for it; returns the time it took [s]."""
    began = time.monotonic()

    def answers() -> bool:
        if docker.inspect(name, ".State.Running") != "true":
            raise RuntimeError(f"the container ended: {docker('logs', name)[-4000:]}")
        try:
            return requests.get(f"http://{address}/readyz", timeout=2).ok
        except requests.RequestException:
            return False

    _wait(answers, address)
    return time.monotonic() - began


def check_confined(docker: Docker, name: str) -> None:
    """Not root, no capability, nothing to write to, a limit on memory, healthy by its own word; science compiled."""
    status = docker("exec", name, "cat", "/proc/self/status")
    kept = next(line.split()[1] for line in status.splitlines() if line.startswith("CapEff"))
    written = docker("exec", name, "sh", "-c", "touch /srv/x /x 2>&1; ls /srv/x /x 2>/dev/null", check=False)
    found = {
        "user": docker("exec", name, "id", "-u"),
        "capabilities": int(kept, 16),
        "written": "/srv/x\n" in f"{written}\n" or "\n/x\n" in f"\n{written}\n",
        "memory": int(docker.inspect(name, ".HostConfig.Memory")),
    }
    assert found == {"user": "10001", "capabilities": 0, "written": False, "memory": MEMORY}, found
    science = docker("exec", name, "python3", "-c", "from service.science import gas; print(gas.__file__)")
    assert science.endswith(".so"), science
    _wait(lambda: docker.inspect(name, ".State.Health.Status") == "healthy", "health check")


def check_answers(address: str) -> int:
    """Every example is answered in every form; returns how many."""
    forms = {operation.path: ["json", *operation.further_forms] for operation in OPERATIONS}
    asked = [(call, MEDIA_TYPES[form]) for call in examples() for form in forms[call.path]]
    for call, form in asked:
        headers = {"Content-Type": MEDIA_TYPES[call.form], "Accept": form}
        response = requests.post(f"http://{address}{call.path}", data=call.body, headers=headers, timeout=30)
        assert response.status_code == 200, (call.path, form, response.text[:500])
        assert response.headers["Content-Type"].startswith(form), response.headers
    return len(asked)


def stop_in_turn(docker: Docker, names: tuple[str, str], addresses: tuple[str, str]) -> str:
    """Stop one after the other under load."""
    with (
        proxied(*addresses) as url,
        load(url, [example("create-set-points")], callers=8) as outcome,
    ):
        for name, address in zip(names, addresses, strict=True):
            until(outcome, outcome.total + 300)
            docker("stop", "--time=30", name)
            assert docker.inspect(name, ".State.ExitCode") == "0", docker("logs", name)[-2000:]
            until(outcome, outcome.total + 300)
            docker("start", name)
            ready(docker, name, address)
    assert not outcome.lost, outcome.lost
    return f"{outcome.total} requests, {outcome.lost.total()} lost"


def main() -> None:
    with docker() as service:
        under, builder = bases(service)
        began = time.monotonic()
        os.environ["DOCKER_BUILDKIT"] = "1"
        images = [f"--build-arg=BASE_IMAGE={under}", f"--build-arg=BUILD_IMAGE={builder}"]
        service("build", "--network=host", *images, f"--tag={IMAGE}", ".")
        built = time.monotonic() - began
        size, below = (int(service.inspect(image, ".Size")) / 1e6 for image in (IMAGE, under))
        _tell("base", under)
        _tell("image", f"built in {built:.0f} s; {size:.0f} MB, of which base {below:.0f} MB")
        port = free_port()
        addresses = f"127.0.0.1:{port}", f"127.0.0.2:{port}"
        with container(service, addresses[0]) as first, container(service, addresses[1]) as second:
            started = [ready(service, name, at) for name, at in zip((first, second), addresses, strict=True)]
            check_confined(service, first)
            _tell("ready", f"{max(started):.1f} s after start")
            _tell("confined", "read-only root, no capability, user 10001, 256 MB, healthy")
            _tell("examples", f"{check_answers(addresses[0])} answers, each example in each form")
            _tell("stopped in turn", f"under load: {stop_in_turn(service, (first, second), addresses)}")
            lines = [json.loads(line) for line in service("logs", first).splitlines()]
            assert lines, "no log"
            assert not [line for line in lines if line["level"] in ("error", "critical")], lines
            peak = service("exec", first, "sh", "-c", "grep -h VmHWM /proc/[0-9]*/status").splitlines()
            _tell("memory at most", f"{', '.join(line.split()[1] for line in peak)} kB by process")
        for tag in VERSIONS:
            service("tag", IMAGE, f"batch-carbonation:{tag}")
        with TemporaryDirectory() as folder:
            Path(folder, "Dockerfile").write_text(NEVER_SERVES)
            service("build", f"--tag=batch-carbonation:{BROKEN}", folder)
        with composed(service.program, service.host, proxy_image(service)) as run:
            for what, found in check(run, *VERSIONS, BROKEN):
                _tell(what, found)


def _tell(what: str, found: str) -> None:
    """Print a row of the table of what was found."""
    print(f"{what:18}{found}", flush=True)


if __name__ == "__main__":
    main()
