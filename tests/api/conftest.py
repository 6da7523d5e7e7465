from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.app import create_app
from tests.api.nearest import facts_stated, problems_in
from tests.codes.answers import unlisted


class Listening(FlaskClient):
    """A client that knows every code, and what no offer may be.

    An answer with another code or another sentence fails the test, and so does a refusal whose offer states a fact for
    the caller.
    """

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        response = super().open(*args, **kwargs)
        document = response.request.path == "/openapi.json"  # its examples are cut short
        if response.mimetype in ("application/json", "application/problem+json") and not document:
            body = response.get_json(silent=True)
            if "params" not in ",".join(
                response.request.args.getlist("omit")
            ):  # a sentence names what it does not send then
                assert unlisted(body) == []
            for problem in problems_in(body):
                assert facts_stated(problem) == [], problem
        return response


@pytest.fixture(scope="session")
def client() -> Iterator[FlaskClient]:
    """A client of the whole service, without keys."""
    app = create_app({"AUTH": "open"})
    app.testing = False  # so that a fault of the service is a 500, as in production
    app.test_client_class = Listening
    with app.test_client() as client:
        yield client
