from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.app import create_app
from tests.codes.answers import unlisted


class Listening(FlaskClient):
    """A client that knows every code: an answer with another one, or with another sentence, fails the test."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        response = super().open(*args, **kwargs)
        document = response.request.path == "/openapi.json"  # its examples are cut short
        if response.mimetype in ("application/json", "application/problem+json") and not document:
            assert unlisted(response.get_json(silent=True)) == []
        return response


@pytest.fixture(scope="session")
def client() -> Iterator[FlaskClient]:
    """A client of the whole service, without keys."""
    app = create_app({"AUTH": "open"})
    app.testing = False  # so that a fault of the service is a 500, as in production
    app.test_client_class = Listening
    with app.test_client() as client:
        yield client
