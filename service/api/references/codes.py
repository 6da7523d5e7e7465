"""GET /v1/references/codes."""

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.quantities import flag, says, text, texts
from service.codes import Code, codes

KINDS = """caution, assumption, finding, step, value (of a step; its text is the name), line (of records, its text is
the point; and of the label), advice, gain, sensitivity, judgement (of a calibration), difference, sentence (read out at
a site of a rollout), problem (of an error), and offer (of a refusal). A finding may also carry the code of a caution or
of a problem."""


class CodeParamReference(Open):
    """A parameter of a sentence. kind: of its quantity, number, or text."""

    name = text(60)
    kind = text(100)


class CodeReference(Open):
    """A code, and the sentence that goes with it; {names} in the text are filled from the params."""

    code = text(60)
    kind = text(20, metadata=says(KINDS.replace("\n", " ")))
    severity = text(20, required=False, metadata=says("info, warning or danger, of cautions and findings."))
    params = fields.List(fields.Nested(CodeParamReference), required=True)
    also = texts(1000, required=False, metadata=says("Other wordings that are sent under the same code today."))
    deprecated = flag(required=False, metadata=says("true: it is no longer sent."))
    text = text(1000)


class CodeReferencesAnswer(Open):
    """Every code, by kind and name."""

    model = text(40)
    items = fields.List(fields.Nested(CodeReference), required=True)


def read() -> Body:
    """Return every code."""
    return {"items": [_written(code) for code in codes()]}


def _written(code: Code) -> Body:
    return {
        "code": code.code,
        "kind": code.kind,
        **({"severity": code.severity} if code.severity else {}),
        "text": code.text,
        **({"also": list(code.also)} if code.also else {}),
        "params": [{"name": name, "kind": kind} for name, kind in code.params],
        **({"deprecated": True} if code.deprecated else {}),
    }


REFERENCE = Reference(
    path="/v1/references/codes",
    operation_id="listCodes",
    summary="Every code that an answer or a problem may carry.",
    description="With the sentence that goes with it and its parameters, so that a client may write its own. Codes may "
    "be added; one that is no longer sent stays, marked as deprecated.",
    answer=CodeReferencesAnswer,
    read=read,
)
