"""Requests that Schemathesis makes of the document, right and wrong; `make fault-test` makes many more."""

from hashlib import sha256

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance

from service.api.app import create_app

EXAMPLES = 10
"""Of each operation, beside its own example."""
KEY = "a-key-for-what-is-made-of-the-document-0123456789"
MAY_FAIL = [positive_data_acceptance]
"""What fits the document may still be against physics or safety, which is a 422."""
ITEM_BY_ITEM = ("/v1/batch-lists", "/v1/spec-checks")
"""Lists that are answered with 200 where an item is wrong: that item alone says so."""

app = create_app({"API_KEY_HASHES": sha256(KEY.encode()).hexdigest()})
app.testing = False
schema = schemathesis.openapi.from_wsgi("/openapi.json", app)
schema.config.phases.coverage.enabled = False  # the tens of thousands at the edges are for make fault-test


@schema.parametrize()
@settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_answers_are_what_the_document_says(case):
    """Status, content type, headers and body; nothing wrong comes through, nobody without a key, no other method."""
    may_fail = [*MAY_FAIL, *([negative_data_rejection] if case.path in ITEM_BY_ITEM else [])]
    case.call_and_validate(headers={"Authorization": f"Bearer {KEY}"}, excluded_checks=may_fail)
