"""RFC 9457 problem documents: the one place that knows HTTP status codes."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Literal

from flask import Flask, Response, g
from flask.json import dumps
from marshmallow import ValidationError
from werkzeug.exceptions import HTTPException, InternalServerError

from service import MODEL
from service.api.answers import Answer
from service.api.quantities import UnknownField
from service.api.speech import PLAIN, Speech
from service.errors import Fault, Names, Refused, SentenceValue, SeveralRefused
from service.limits.requests import MOST_FAULTS, MOST_LIKENED

Where = Literal["body", "query", "header"]
"""The part of a request that a pointer points into."""


@dataclass(frozen=True)
class Type:
    """One problem type: its title, status, and what a caller does about it."""

    title: str
    status: int
    explanation: str


TYPES: dict[str, Type] = {
    "invalid-json": Type(
        "The body is not JSON",
        400,
        "Send one RFC 8259 JSON document in UTF-8: no NaN, no duplicate keys, no deeper than 64 levels.",
    ),
    "invalid-csv": Type(
        "The body is not a table",
        400,
        "Send one RFC 4180 table in UTF-8: a header, rows of its columns, every quote closed.",
    ),
    "invalid-query": Type(
        "The query is not valid",
        400,
        "Each parameter that is wrong is named in errors, with in: query.",
    ),
    "unauthorized": Type("No valid key", 401, "Send Authorization: Bearer and a key of this deployment."),
    "not-found": Type("Nothing here", 404, "The path names no operation; /openapi.json lists them."),
    "method-not-allowed": Type("Not this method", 405, "The Allow header lists the methods of this path."),
    "not-acceptable": Type(
        "No such form",
        406,
        "The operation cannot answer in a form that Accept or format asks for.",
    ),
    "body-too-large": Type("The body is too large", 413, "A request body holds at most 1 MiB."),
    "unsupported-media-type": Type(
        "The body is not of the operation's media type",
        415,
        "Send Content-Type: application/json, or text/csv in UTF-8 where the operation takes a table, without "
        "Content-Encoding.",
    ),
    "invalid-request": Type(
        "The request is not valid",
        422,
        "Each field that is wrong is named in errors by JSON Pointer.",
    ),
    "model-not-available": Type(
        "Another model version",
        422,
        "The request insists on a model version that this deployment does not have; see available.",
    ),
    "refused": Type(
        "Refused for several reasons",
        422,
        "Physics or safety forbids it more than once; nearest, applied together, works.",
    ),
    "outside-validity": Type(
        "Outside what the science covers",
        422,
        "An equation was asked beyond the range of its source; nothing is extrapolated.",
    ),
    "impossible-composition": Type(
        "No such liquid",
        422,
        "Strength, sugar, acid and density cannot all be true of one liquid.",
    ),
    "impossible-batch": Type("No such batch", 422, "The batch cannot be made as asked; the numbers say why."),
    "impossible-line": Type("No such line", 422, "A stretch of line cannot rise or fall by more than it is long."),
    "impossible-solution": Type("No such solution", 422, "The acids, forms, strength and size cannot be met together."),
    "vessel-refused": Type(
        "This vessel is not charged",
        422,
        "Glass, unrated, retired or damaged vessels are never charged. The maker's rating, local code and a "
        "competent person decide.",
    ),
    "calibration-refused": Type(
        "This calibration is not used",
        422,
        "Its solubility is far from any drink's, or hardly known: a misreading would move every pressure.",
    ),
    "no-headspace": Type(
        "Not enough headspace",
        422,
        "A full vessel has no cushion of gas; leave at least a tenth of it empty.",
    ),
    "over-vessel-limit": Type(
        "The vessel could exceed its limit",
        422,
        "Judged at full equilibrium with the dialled pressure, fullest vessel, warmest room. This is arithmetic, "
        "not approval: the maker's rating, local code and a competent person decide.",
    ),
    "timed-charging": Type(
        "This is not charged by the clock",
        422,
        "Only small PET bottles are, each of which is checked; anything else is held on the dial until it is at rest.",
    ),
    "regulator-unsafe": Type(
        "The regulator can exceed the vessel's limit",
        422,
        "Fit a relief valve set at or below the vessel's charge limit, or a regulator that cannot exceed it.",
    ),
    "site-contradiction": Type(
        "The site contradicts itself",
        422,
        "Altitude and station barometer cannot both be true.",
    ),
    "air-handling": Type("The air cannot be handled so", 422, "The method does not fit the vessel."),
    "live-culture": Type(
        "A live culture is not sealed in",
        422,
        "Fermentation goes on in a closed vessel and has no upper pressure that can be computed.",
    ),
    "too-warm": Type("Too warm to charge", 422, "A warm drink takes up little gas and foams; chill it first."),
    "would-freeze": Type(
        "It would freeze",
        422,
        "Ice rejects CO2 and expands; the temperature is below what this drink stands.",
    ),
    "charged-in-freezer": Type(
        "A charged vessel does not go there",
        422,
        "Ice expands and drives CO2 out of solution inside a closed vessel: no freezer, no salted ice.",
    ),
    "pour-too-large": Type(
        "The vessel does not hold one such pour",
        422,
        "A pour is at most what the vessel holds; pour less or fill more.",
    ),
    "oversold": Type(
        "More was sold than there is",
        422,
        "By their logs the vessels of the drink hold less than was sold; the rest of the sale counts. Send the vessels "
        "that are missing, or void what was rung up by mistake.",
    ),
    "impossible-reading": Type(
        "The reading cannot be used",
        422,
        "A reading contradicts the rest of the request, or says too little; read again.",
    ),
    "readings-cannot-tell": Type(
        "The readings cannot tell",
        422,
        "Too few, too alike or too rough readings for the constant that is asked for; facts say how far they go, and "
        "the text what to measure next.",
    ),
    "log-contradiction": Type(
        "The log contradicts itself",
        422,
        "An id stands for two different events, an event lies after now, or a void names nothing that is voided. That "
        "event does not count, and all else does.",
    ),
    "unknown-key": Type(
        "No such key",
        422,
        "A vessel or a sale names a drink or a kind of vessel by a key that the request does not have; that vessel or "
        "sale alone is refused.",
    ),
    "left-connected": Type(
        "A bottle is not left on the gas", 422, "Only a keg stays connected; a bottle is taken off after each shake."
    ),
    "unreachable": Type(
        "The target cannot be reached",
        422,
        "No setting within the stated limits reaches the target; facts and nearest say what can be reached.",
    ),
    "cannot-be-ready": Type(
        "The evening cannot be ready",
        422,
        "Bottles, ice, room in the cold or time are short; facts say how much, and offers what works.",
    ),
    "too-many-tasks": Type(
        "Too many tasks for one plan",
        422,
        "A timetable holds so many tasks and no more: make some drinks ahead, or plan the evening in two.",
    ),
    "bad-request": Type(
        "Not an HTTP request",
        400,
        "The request line, a header or the framing of the body is not valid, or the body was cut off.",
    ),
    "precondition-failed": Type(
        "Not the version that was asked for", 412, "If-Match names no ETag of this table; read it again."
    ),
    "uri-too-long": Type("The address is too long", 414, "No operation has an address of that length."),
    "expectation-failed": Type("No such expectation", 417, "Of Expect, 100-continue alone is met."),
    "headers-too-large": Type("The headers are too large", 431, "Send fewer headers, none over 8 kB."),
    "too-many-requests": Type(
        "Too many requests",
        429,
        "The proxy lets one address or key ask for so much and no more; wait as long as Retry-After says.",
    ),
    "unavailable": Type(
        "Not to be reached just now",
        503,
        "Too much is asked for just now, or no process answered in time; wait as long as Retry-After says. Any request "
        "may be sent again.",
    ),
    "internal": Type("A fault of the service", 500, "Not the caller's fault. Quote the request id when reporting it."),
}
_BY_STATUS = {400: "bad-request", 404: "not-found", 405: "method-not-allowed", 413: "body-too-large"}


class RequestProblem(Exception):
    """A request that fails before the domain sees it.

    text: what is told in detail, filled in from params; the explanation of the type where there is nothing more to say
    errors: what is wrong, one by one; where: the part of the request that their pointers point into
    more: further members of the document
    """

    def __init__(
        self, slug: str, text: str = "", *, errors: Sequence[Fault] = (), where: Where = "body",
        params: Mapping[str, SentenceValue] | None = None, **more: Any,
    ) -> None:  # fmt: skip
        self.slug, self.text, self.errors, self.where = slug, text or TYPES[slug].explanation, tuple(errors), where
        self.params, self.more = params or {}, more
        super().__init__(slug)


def caller() -> Answer:
    """Return what tells a problem of a request that nobody could read: metric, in the language that was asked for."""
    return Answer("metric", Speech(language=g.language))


def respond(body: Mapping[str, Any]) -> Response:
    """Return the response for a problem document."""
    g.problem = body["type"].rpartition("/")[2]  # for logs and metrics
    response = Response(dumps(body), body["status"], mimetype="application/problem+json")
    response.headers["Cache-Control"] = "no-store"
    return response


def document(slug: str, detail: str, answer: Answer, *, errors: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """Return the body of a problem, without HTTP around it; list operations embed it.

    detail: in words already
    """
    kind = TYPES[slug]
    return {
        "type": f"/problems/{slug}",
        "title": answer.speech.say(kind.title),
        "status": kind.status,
        "detail": detail,
        "request_id": g.request_id,
        "errors": list(errors),
    }


def unread(problem: RequestProblem) -> dict[str, Any]:
    """Return the body of the problem of a request that the domain never saw: it refuses nothing, and is told once."""
    answer = caller()
    detail = answer.sentence(problem.text, problem.params)
    if problem.slug == "invalid-request" and problem.errors:
        detail = answer.counted_fields(len(problem.errors))
    errors = [answer.fault(one, problem.where, refused=False) for one in problem.errors[:MOST_FAULTS]]
    return document(problem.slug, detail, answer, errors=errors) | problem.more


def refusal(refused: Refused | SeveralRefused, answer: Answer) -> dict[str, Any]:
    """Return the problem document of a refusal, in the caller's units; each fault stands in it once."""
    several = each(refused)
    errors = _once(answer.fault(f) for r in several for f in r.faults)
    slug = several[0].slug if len({r.slug for r in several}) == 1 else "refused"
    detail = answer.warned_of([(f.text, dict(f.params)) for r in several for f in r.faults])
    found = document(slug, detail, answer, errors=errors)
    facts = _once(answer.fact(f) for r in several for f in r.facts)
    works = all(r.nearest for r in several)  # part of the changes does not make the rest possible
    nearest = answer.nearest([n for r in several for n in r.nearest]) if works else []
    return {**found, **({"facts": facts} if facts else {}), **({"nearest": nearest} if nearest else {})}


def each(refused: Refused | SeveralRefused) -> tuple[Refused, ...]:
    """Return the single refusals of one or several."""
    return refused.refusals if isinstance(refused, SeveralRefused) else (refused,)


def _once(items: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for item in items:
        if item not in found:
            found.append(item)
    return found


LONGEST_POINTER = 4000
"""Longest pointer that the document allows; a field of a longer name is pointed to by its place."""


def faults_of(error: ValidationError) -> list[Fault]:
    """Return messages of a marshmallow error with their JSON Pointers (RFC 6901), one more than are told at most."""
    return list(islice(_walk(error.messages, ""), MOST_FAULTS + 1))


def _walk(messages: Any, pointer: str, name: str = "") -> Iterator[Fault]:
    if isinstance(messages, Mapping):
        for key, inner in messages.items():
            token = str(key).replace("~", "~0").replace("/", "~1")
            at = f"{pointer}/{token}"
            yield from _walk(inner, at if len(at) <= LONGEST_POINTER else pointer, str(key))
    else:
        for message in messages:
            if not isinstance(message, UnknownField):
                yield message.at(pointer.removesuffix("/_schema"))  # marshmallow's "the whole"
                continue
            g.likened = g.get("likened", 0) + 1
            yield message.at(pointer, name if g.likened <= MOST_LIKENED else "")


def init_app(app: Flask) -> None:
    """Make every error of the service leave as problem+json, and serve the explanation of its type."""
    app.register_error_handler(RequestProblem, _failed)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(InternalServerError, _internal)
    app.add_url_rule("/problems/<slug>", view_func=explain_problem)


def _failed(error: RequestProblem) -> Response:
    response = respond(unread(error))
    if error.slug == "unauthorized":
        response.headers["WWW-Authenticate"] = 'Bearer realm="batch-carbonation"'
    return response


def _http(error: HTTPException) -> Response:
    response = respond(unread(RequestProblem(_BY_STATUS.get(error.code or 500, "internal"))))
    if error.code == 405:
        response.headers["Allow"] = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
    return response


def _internal(error: InternalServerError) -> Response:
    return respond(unread(RequestProblem("internal")))


def explain_problem(slug: str) -> dict[str, Any]:
    """Answer GET /problems/{slug}."""
    if slug not in TYPES:
        text = "No problem type is called so. There are: {types}."
        raise RequestProblem("not-found", text, params={"types": Names(TYPES)})
    return explanation_of(slug, caller().speech)


def explanation_of(slug: str, speech: Speech = PLAIN) -> dict[str, Any]:
    """Return the meaning of a problem type, in words."""
    kind = TYPES[slug]
    title, explanation = speech.say(kind.title), speech.say(kind.explanation)
    return {"model": MODEL, "slug": slug, "title": title, "status": kind.status, "explanation": explanation}
