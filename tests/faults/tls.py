"""TLS as docker/nginx/tls/tls.conf.example has it, with a certificate of its own making."""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import requests

from tests.faults.instance import instance
from tests.faults.load import example
from tests.faults.proxy import proxy
from tests.running import ROOT, free_port


def run() -> Iterator[str]:
    with TemporaryDirectory() as name, instance(LOG_LEVEL="warning") as one:
        folder, port = Path(name), free_port()
        certificate = _made(folder, port)
        with proxy(one.address, large=one.ports[1], tls=folder):
            call = example("create-set-points")
            headers = {"Content-Type": "application/json"}
            url = f"https://127.0.0.1:{port}"
            response = requests.post(
                url + call.path, data=call.body, headers=headers, verify=str(certificate), timeout=30
            )
            assert response.status_code == 200, response.text
            assert "max-age" in response.headers["Strict-Transport-Security"]
            missing = requests.get(f"{url}/metrics", verify=str(certificate), timeout=30)  # answered by the proxy
            assert missing.status_code == 404
            assert "max-age" in missing.headers["Strict-Transport-Security"]
            plain = requests.get(f"http://127.0.0.1:{port}/healthz", timeout=30)
            assert plain.status_code == 400
            assert "Strict-Transport-Security" not in plain.headers
            assert plain.json()["type"] == "/problems/bad-request"
    yield "an answer over TLS; a caller without it gets a problem document"


def _made(folder: Path, port: int) -> Path:
    """The example, listening here, with a certificate for this machine; returns the certificate."""
    certificate, key = folder / "fullchain.pem", folder / "privkey.pem"
    subject = ["-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1", "-days", "1"]
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", str(key)]
    subprocess.run([*made, "-out", str(certificate), *subject], check=True, capture_output=True)
    shutil.copy(ROOT / "docker" / "nginx" / "tls" / "tls.conf.example", folder / "tls.conf")
    text = (folder / "tls.conf").read_text()
    (folder / "tls.conf").write_text(text.replace("listen 8443", f"listen 127.0.0.1:{port}"))
    return certificate
