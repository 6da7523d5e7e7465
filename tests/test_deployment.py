"""Everything that deploys the service: as confined as it is meant to be, and in step with the service itself."""

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import kubernetes_validate
import pytest
import yaml
from prometheus_client.metrics import MetricWrapperBase

from service.api import metrics
from service.api.app import OPERATIONS, create_app
from service.api.configuration import SETTINGS
from service.api.problems import TYPES
from service.limits.requests import LARGEST_BODY
from tests.inventory import notice
from tests.running import ROOT

KUBERNETES = ROOT / "docker" / "kubernetes"
EXAMPLES = KUBERNETES / "examples"
INGRESS = yaml.safe_load((EXAMPLES / "ingress.yaml").read_text())
NGINX = ROOT / "docker" / "nginx"
VERSION = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
KUSTOMIZATION = yaml.safe_load((KUBERNETES / "kustomization.yaml").read_text())
COMPOSE = yaml.safe_load((ROOT / "docker" / "compose.yaml").read_text())
DOCKERFILE = (ROOT / "Dockerfile").read_text()
BYTES = {"k": 1024, "m": 1024**2, "Mi": 1024**2}


def resource(kind: str) -> Any:
    found = [yaml.safe_load((KUBERNETES / name).read_text()) for name in KUSTOMIZATION["resources"]]
    (one,) = [each for each in found if each["kind"] == kind]
    return one


POD = resource("Deployment")["spec"]["template"]["spec"]
(CONTAINER,) = POD["containers"]


@pytest.mark.parametrize("name", KUSTOMIZATION["resources"])
def test_kubernetes_resources_are_valid_and_hold_nothing_unknown(name):
    found = yaml.safe_load((KUBERNETES / name).read_text())
    kubernetes_validate.validate(found, kubernetes_validate.latest_version(), strict=True)


def test_the_check_of_kubernetes_resources_can_fail():
    wrong = resource("Service") | {"spec": {"portz": []}}
    with pytest.raises(kubernetes_validate.ValidationError):
        kubernetes_validate.validate(wrong, kubernetes_validate.latest_version(), strict=True)


def test_the_kustomization_names_every_file_and_this_version():
    files = {path.name for path in KUBERNETES.glob("*.yaml")} - {"kustomization.yaml"}
    assert set(KUSTOMIZATION["resources"]) == files
    assert KUSTOMIZATION["images"] == [{"name": CONTAINER["image"], "newTag": VERSION}]
    kinds = {yaml.safe_load((KUBERNETES / name).read_text())["kind"] for name in files}
    assert kinds == {"Deployment", "Service", "HorizontalPodAutoscaler", "PodDisruptionBudget", "NetworkPolicy"}


def test_pods_are_confined():
    assert POD["securityContext"]["runAsNonRoot"]
    assert POD["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
    assert not POD["automountServiceAccountToken"]
    assert CONTAINER["securityContext"] == {
        "allowPrivilegeEscalation": False,
        "readOnlyRootFilesystem": True,
        "capabilities": {"drop": ["ALL"]},
    }
    assert CONTAINER["resources"]["limits"]["memory"] == "256Mi"
    assert {mount["mountPath"] for mount in CONTAINER["volumeMounts"]} == {"/tmp", "/dev/shm"}


@pytest.mark.parametrize("probe", ["startupProbe", "readinessProbe", "livenessProbe"])
def test_probes_ask_what_the_service_answers(probe):
    asked = CONTAINER[probe]["httpGet"]
    assert create_app({"AUTH": "open"}).test_client().get(asked["path"]).status_code == 200
    assert asked["port"] == "metrics"  # where no work is ahead of it


def test_pods_have_time_to_stop():
    settings = (ROOT / "docker/gunicorn.conf.py").read_text()
    (graceful,) = re.findall(r"(?m)^graceful_timeout = (\d+)$", settings)
    before = re.search(r"sleep\((\d+)\)", CONTAINER["lifecycle"]["preStop"]["exec"]["command"][-1])
    assert before
    assert POD["terminationGracePeriodSeconds"] > int(graceful) + int(before[1])
    assert int(COMPOSE["services"]["replica-1"]["stop_grace_period"].removesuffix("s")) > int(graceful)


def test_ports_are_the_same_everywhere():
    ports = {"http": 8080, "large": 8081, "metrics": 9090}
    assert re.findall(r"(?m)^EXPOSE (.*)$", DOCKERFILE) == [" ".join(map(str, ports.values()))]
    assert {port["name"]: port["containerPort"] for port in CONTAINER["ports"]} == ports
    stated = {each["name"]: each.get("value") for each in CONTAINER["env"]}
    composed = COMPOSE["services"]["replica-1"]["environment"]
    for name in ("large", "metrics"):
        variable = f"{name.upper()}_BIND"
        assert stated[variable] == composed[variable] == f"0.0.0.0:{ports[name]}"
    assert [port["targetPort"] for port in resource("Service")["spec"]["ports"]] == [
        "http",
        "large",
    ]  # metrics stay inside
    assert set(re.findall(r"replica:(\d+);", (NGINX / "replicas.conf").read_text())) == {"8080", "8081"}


def test_the_proxy_finds_every_replica_by_one_name():
    (name,) = set(re.findall(r"(\S+):\d+;", (NGINX / "replicas.conf").read_text()))
    for replica in REPLICAS:
        assert COMPOSE["services"][replica]["networks"] == {"inside": {"aliases": [name]}}
    passed = re.findall(r"proxy_pass http://(\S+?)[;/]", (NGINX / "nginx.conf").read_text())
    assert set(passed) == {"$replica", "$ordinary"}  # by variables alone does it ask for the name again


def test_what_takes_long_is_operations_of_ours():
    """One list, docker/nginx/large.conf; the example of an ingress has the same."""
    stated = re.findall(r"(?m)^    (/v1/\S+) 1;$", (NGINX / "large.conf").read_text())
    assert {"/v1/rollouts", "/v1/batch-lists"} <= set(stated) <= {operation.path for operation in OPERATIONS}
    (rule,) = INGRESS["spec"]["rules"]
    to = {each["path"]: each["backend"]["service"]["port"]["name"] for each in rule["http"]["paths"]}
    assert to == dict.fromkeys(stated, "large") | {"/": "http"}


def test_the_example_of_an_ingress_is_valid_and_holds_the_limits_of_the_proxy():
    kubernetes_validate.validate(INGRESS, kubernetes_validate.latest_version(), strict=True)
    stated = {name.partition("/")[2]: value for name, value in INGRESS["metadata"]["annotations"].items()}
    text, rates = (NGINX / "nginx.conf").read_text(), (NGINX / "rates.conf").read_text()
    assert f"client_max_body_size {stated['proxy-body-size']};" in text
    assert f"client_body_buffer_size {stated['client-body-buffer-size']};" in text
    assert f"limit_conn connections {stated['limit-connections']};" in text
    assert f"rate={stated['limit-rps']}r/s" in rates
    assert f"proxy_next_upstream {stated['proxy-next-upstream']};" in text
    assert f"proxy_read_timeout {stated['proxy-read-timeout']}s;" in text
    assert f"proxy_buffers {stated['proxy-buffers-number']} {stated['proxy-buffer-size']};" in text
    assert stated["proxy-request-buffering"] == "on"


METRICS = {
    name
    for metric in vars(metrics).values()
    if isinstance(metric, MetricWrapperBase)
    for found in metric.describe()
    for name in (found.name, f"{found.name}_total", f"{found.name}_bucket", f"{found.name}_sum")
}


@pytest.mark.parametrize("name", ["alerts.yaml", "dashboard.json"])
def test_alerts_and_dashboard_ask_for_metrics_that_there_are(name):
    text = (EXAMPLES / name).read_text()
    asked = set(re.findall(r"batch_carbonation_\w+", text))
    assert asked <= METRICS
    assert len(asked) > 5
    labels = set(re.findall(r"(\w+)(?:!?=~?)\\?\"", text)) | {
        each for by in re.findall(r"by \(([\w, ]+)\)", text) for each in by.split(", ")
    }
    assert labels <= {"status", "operation", "pool", "key", "type", "le", "pod"}
    panels = json.loads((EXAMPLES / "dashboard.json").read_text())["panels"]
    assert len({panel["id"] for panel in panels}) == len(panels)


def test_an_alert_knows_how_many_workers_a_pod_has():
    stated = {each["name"]: each.get("value") for each in CONTAINER["env"]}
    (fewest,) = re.findall(r"batch_carbonation_workers\) < (\d+)", (EXAMPLES / "alerts.yaml").read_text())
    assert int(fewest) == int(stated["WORKERS"]) + int(stated.get("LARGE_WORKERS", "1")) + 1


def test_the_pods_that_are_watched_are_those_that_run():
    monitor = yaml.safe_load((EXAMPLES / "pod-monitor.yaml").read_text())
    assert monitor["spec"]["selector"] == resource("Deployment")["spec"]["selector"]
    assert [each["port"] for each in monitor["spec"]["podMetricsEndpoints"]] == ["metrics"]


def test_nobody_is_called():
    policy = resource("NetworkPolicy")["spec"]
    assert policy["egress"] == []
    assert "Egress" in policy["policyTypes"]
    assert COMPOSE["networks"]["inside"]["internal"]


REPLICAS = ["replica-1", "replica-2"]


@pytest.mark.parametrize("name", COMPOSE["services"])
def test_containers_are_confined(name):
    found = COMPOSE["services"][name]
    assert found["read_only"]
    assert found["cap_drop"] == ["ALL"]
    assert found["security_opt"] == ["no-new-privileges:true"]
    assert not {"privileged", "cap_add", "network_mode", "pid"} & found.keys()
    assert 0 < int(found["mem_limit"].removesuffix("m")) <= 256


def test_only_the_proxy_is_reached_from_outside():
    services = COMPOSE["services"]
    assert list(services) == [*REPLICAS, "proxy"]
    assert [name for name in services if "ports" in services[name]] == ["proxy"]
    assert {network for name in REPLICAS for network in services[name]["networks"]} == {"inside"}
    assert set(services["proxy"]["depends_on"]) == set(REPLICAS)
    (mount,) = services["proxy"]["volumes"]
    source, _, way = mount.removeprefix("./").split(":")
    assert (ROOT / "docker" / source / "nginx.conf").is_file()
    assert way == "ro"


def test_the_image_does_not_run_as_root():
    assert re.findall(r"(?m)^USER (\d+):(\d+)$", DOCKERFILE) == [("10001", "10001")]
    assert DOCKERFILE.index("USER") > DOCKERFILE.rindex("RUN")


def test_the_image_says_what_it_is():
    labels = dict(re.findall(r'org\.opencontainers\.image\.([\w.]+)="([^"]*)"', DOCKERFILE))
    assert {"title", "description", "licenses", "version", "revision", "base.name"} == labels.keys()
    assert re.findall(r"(?m)^ARG VERSION=(.*)$", DOCKERFILE) == [VERSION]
    assert "COPY LICENSE NOTICE ./" in DOCKERFILE


def test_the_notice_names_every_package_of_the_image():
    """`make notice` writes it anew; how a licence is written varies with the version, and that with Python's."""
    found, written = (re.findall(r"(?m)^([\w.-]+): \S", text) for text in ((ROOT / "NOTICE").read_text(), notice()))
    assert found == written
    assert "flask" in found


def own_errors() -> Iterator[tuple[str, int, Any]]:
    for status, text in re.findall(r"return (\d+) '(\{.*\})';", (NGINX / "nginx.conf").read_text()):
        found = json.loads(text.replace("\\'", "'"))
        yield found["type"].removeprefix("/problems/"), int(status), found


@pytest.mark.parametrize("slug, status, found", list(own_errors()), ids=lambda value: str(value)[:20])
def test_the_proxy_answers_its_own_errors_as_the_service_would(slug, status, found):
    assert set(found) == {"type", "title", "status", "detail", "request_id", "errors"}
    assert (found["title"], found["status"], found["status"]) == (TYPES[slug].title, TYPES[slug].status, status)


def test_every_error_of_the_proxy_has_its_answer():
    text = (NGINX / "nginx.conf").read_text()
    named = set(re.findall(r"error_page [\d ]+= /own-errors/([a-z-]+);", text))
    assert named == {slug for slug, _, _ in own_errors()}
    assert named | {"key"} == set(re.findall(r"location = /own-errors/([a-z-]+) \{\n\s+internal;", text))


def test_the_proxy_has_the_memory_that_it_is_said_to_have():
    text, container = (NGINX / "nginx.conf").read_text(), COMPOSE["services"]["proxy"]
    (files,) = re.findall(r"size=(\d+m)", container["tmpfs"][0])
    parts = [int(number) for number in re.findall(r"(?m)^#   .* (\d+) MB$", text)]
    assert parts[1] == int(files.removesuffix("m"))
    assert sum(parts) <= 0.85 * int(container["mem_limit"].removesuffix("m"))
    (body,) = re.findall(r"client_body_buffer_size (\d+)k;", text)
    (buffers, size), (head,) = (
        re.findall(r"proxy_buffers (\d+) (\d+)k;", text)[0],
        re.findall(r"buffers 4 (\d+)k", text),
    )
    (first,) = re.findall(r"proxy_buffer_size (\d+)k;", text)
    kernel = sum(2 * int(each) for each in re.findall(r"(?:rcv|snd)buf=(\d+)k", (NGINX / "listen.conf").read_text()))
    (at_once,) = set(re.findall(r"limit_conn all (\d+);", text))
    each = max(int(body) + 4 * int(head), int(first) + int(buffers) * int(size)) + kernel / 2
    assert int(at_once) * each / 1024 <= parts[0]
    assert "worker_processes 2;" in text  # each has its own connections


def test_logs_are_rotated():
    for service in COMPOSE["services"].values():
        assert service["logging"]["options"].keys() == {"max-size", "max-file"}


def test_the_upgrade_replaces_what_compose_has():
    text = (ROOT / "docker" / "upgrade").read_text()
    assert re.findall(r"for replica in (.*); do", text) == [" ".join(REPLICAS)]
    (name, version), *others = {tuple(COMPOSE["services"][replica]["image"].split(":", 1)) for replica in REPLICAS}
    assert not others
    assert version == f"${{VERSION:-{VERSION}}}"
    assert f'"{name}:$VERSION"' in text


HEADERS_READ = {
    name
    for path in (ROOT / "service" / "api").glob("**/*.py")
    for name in re.findall(r"request\.headers\.get\(\"([\w-]+)\"", path.read_text())
} | {
    "Accept",
    "Content-Encoding",
    "Content-Type",
    "If-Match",
    "If-None-Match",
    "Origin",
}  # what Flask reads by names of its own


def test_the_proxy_lets_in_what_the_service_does():
    text = (NGINX / "nginx.conf").read_text()
    size = re.search(r"client_max_body_size (\d+)(\w);", text)
    assert size
    assert int(size[1]) * BYTES[size[2]] == LARGEST_BODY
    for header in HEADERS_READ:
        assert f"proxy_set_header {header} $" in text
    for name in re.findall(r"include ([\w.-]+\.conf);", text):
        assert (NGINX / name).is_file()


CALLING = {"aiohttp", "ftplib", "http", "httpx", "requests", "smtplib", "socket", "subprocess", "urllib", "urllib3"}


def test_the_service_calls_nobody_and_starts_nothing():
    found = {
        f"{path.name}: {name}"
        for path in (ROOT / "service").glob("**/*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        for name in imported(node)
        if name.split(".")[0] in CALLING
    }
    assert found == set()


def imported(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    return [node.module or ""] if isinstance(node, ast.ImportFrom) else []


def test_what_is_saturated_is_the_ordinary_pool():
    """The same operations stand in docker/nginx/large.conf: they have workers of their own."""
    large = re.findall(r"(?m)^    (/v1/\S+) 1;$", (NGINX / "large.conf").read_text())
    named = {operation.operation_id for operation in OPERATIONS if operation.path in large}
    for name in ("alerts.yaml", "dashboard.json"):
        (left_out,) = re.findall(r"operation!~\\?\"([\w|]+)\\?\"", (EXAMPLES / name).read_text())
        assert set(left_out.split("|")) == named


def test_compose_passes_on_every_setting_that_its_page_names():
    page = (ROOT / "docker" / "README.md").read_text().partition("## With compose")[2].partition("\n## ")[0]
    named = {name for row in re.findall(r"(?m)^\| (`.*?) \|", page) for name in re.findall(r"`(\w+)`", row)}
    text = (ROOT / "docker" / "compose.yaml").read_text()
    assert named == set(re.findall(r"\$\{(\w+):-", text))
    assert set(COMPOSE["services"]["replica-1"]["environment"]) <= set(SETTINGS)
