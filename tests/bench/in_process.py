"""The service within this process, for CPU time and memory."""

import gc

from flask.testing import FlaskClient

from service.api.app import create_app


def client() -> FlaskClient:
    """Without keys; what it starts with is kept from the collector's rounds, as it is where it is deployed."""
    found = create_app({"AUTH": "open"}).test_client()
    gc.collect()
    gc.freeze()
    return found
