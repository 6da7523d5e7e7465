"""GET /v1/references/safety-rules."""

from service.api.endpoint import Reference
from service.safety_rules import SAFETY_RULES, SafetyRuleReferences

REFERENCE = Reference(
    path="/v1/references/safety-rules",
    operation_id="listSafetyRules",
    summary="What holds every night, whatever is charged.",
    description="Read once before the work begins; the cautions of an answer are about its request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=SafetyRuleReferences,
    read=lambda: SafetyRuleReferences(SAFETY_RULES),
)
