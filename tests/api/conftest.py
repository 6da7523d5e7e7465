from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient

from service.api.app import create_app


@pytest.fixture(scope="session")
def client() -> Iterator[FlaskClient]:
    """A client of the whole service, without keys."""
    app = create_app({"AUTH": "open"})
    app.testing = False  # so that a fault of the service is a 500, as in production
    with app.test_client() as client:
        yield client
