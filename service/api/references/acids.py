"""GET /v1/references/acids."""

from service.acid import AcidReferences, acid_references
from service.api.endpoint import Reference

REFERENCE = Reference(
    path="/v1/references/acids",
    operation_id="listAcids",
    summary="The acids with their constants and products, and the acids of juices and wines.",
    description="Molar masses, dissociation constants, saturations, and the products that are weighed, with hazards; "
    "each with its source and how well it is known.",
    answer=AcidReferences,
    read=acid_references,
)
