"""The form that the answer is to have, the query parameters, and the form that a body must have."""

from flask import request
from werkzeug.datastructures import MIMEAccept

from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation
from service.api.problems import TYPES, RequestProblem


def negotiate(operation: Operation) -> tuple[str, dict[str, str]]:
    """The form to answer in, and the query parameters.

    raises: RequestProblem 400 for a parameter that is unknown or wrong, 406 for a form that does not exist
    """
    offered = ("json", *operation.forms)
    query = request.args.to_dict()
    wrong = [
        _query_fault(name, "unknown-parameter", "Unknown parameter.")
        for name in query
        if name != "format" and name not in operation.query
    ]
    if "format" in query:
        form = query["format"]
        if form not in offered:
            raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(offered)}.")
    else:
        form = _best(request.accept_mimetypes, offered)
    if form != "text" and "columns" in query:
        wrong.append(_query_fault("columns", "needs-text", "Only the text form has columns."))
    wrong += [
        _query_fault(name, "out-of-range", f"Must be a whole number from {schema['minimum']} to {schema['maximum']}.")
        for name, schema in operation.query.items()
        if name in query and not _fits(query[name], schema)
    ]
    if wrong:
        raise RequestProblem("invalid-query", "The query is not valid.", errors=wrong)
    return form, query


def _fits(text: str, schema: Body) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 9 and schema["minimum"] <= int(text) <= schema["maximum"]


def _query_fault(name: str, code: str, text: str) -> Body:
    return {"in": "query", "pointer": f"/{name}", "code": code, "text": text}


def _best(accept: MIMEAccept, offered: tuple[str, ...]) -> str:
    if not accept:
        return "json"
    types = [MEDIA_TYPES[form] for form in offered]
    accept = MIMEAccept([(media.partition(";")[0].strip(), q) for media, q in accept])  # charset and the like
    quality = {form: accept.quality(media) for form, media in zip(offered, types, strict=True)}
    best = max(offered, key=lambda form: quality[form])  # the first of equals, and JSON is listed first
    if quality[best] <= 0:
        raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(types)}.")
    return best


def check_media_type() -> None:
    """A body is one plain application/json document.

    raises: RequestProblem 415
    """
    if request.mimetype != "application/json" or request.content_encoding:
        raise RequestProblem("unsupported-media-type", TYPES["unsupported-media-type"].explanation)
