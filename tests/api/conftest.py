from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.app import create_app
from tests.api.nearest import facts_stated, problems_in


class Watching(FlaskClient):
    """Holds every refusal that any test meets to what an offer may be: it never states a fact for the caller."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        response = super().open(*args, **kwargs)
        if response.mimetype in ("application/json", "application/problem+json"):
            for problem in problems_in(response.get_json(silent=True)):
                assert facts_stated(problem) == [], problem
        return response


@pytest.fixture(scope="session")
def client() -> Iterator[FlaskClient]:
    """A client of the whole service, without keys."""
    app = create_app({"AUTH": "open"})
    app.testing = False  # so that a fault of the service is a 500, as in production
    app.test_client_class = Watching
    with app.test_client() as client:
        yield client
