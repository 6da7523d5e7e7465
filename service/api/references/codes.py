"""GET /v1/references/codes."""

from service.api.endpoint import Reference
from service.codes import CodeReferences, codes

REFERENCE = Reference(
    path="/v1/references/codes",
    operation_id="listCodes",
    summary="Every code that an answer or a problem may carry.",
    description="With the sentence that goes with it and its parameters, so that a client may write its own. Codes may "
    "be added; one that is no longer sent stays, marked as deprecated.",
    answer=CodeReferences,
    read=lambda: CodeReferences(codes()),
)
