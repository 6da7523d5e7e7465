"""POST /v1/reconciliations."""

from service.api.endpoint import Operation
from service.api.quantities import Answered, number
from service.api.quantities.answered import COMPONENTS
from service.api.wire import Open, written_by
from service.reconciliation import Reconciliation, ReconciliationRequest, Spread, reconcile


class VolumeOrMassBandSchema(Open):
    """An estimated volume or mass: about nine times in ten the truth lies between low and high."""

    low = number()
    typical = number()
    high = number()
    unit = Answered({"type": "string", "enum": list(COMPONENTS["amount"][1])})


written_by(Spread, VolumeOrMassBandSchema, lambda found, answer: answer.band(found.kind, found.band))  # of two kinds

OPERATIONS = (
    Operation(
        path="/v1/reconciliations",
        operation_id="createReconciliation",
        tag="reconciliations",
        summary="Where it went: what was made against what was sold and what is left.",
        description="Of each drink opening, made and returned, less sold and wasted, is what is expected; what was "
        "counted is held against that. The error of measuring is told apart from loss: a variance inside it is none. "
        "Stock is stated by volume, by vessels, or on the scale, where the spec gives the density. A variance comes "
        "with the serve that would explain it, its money, and the CO2 that went with it. Components are held against "
        "what the drinks account for by their sales, their waste and their own stock.",
        request=ReconciliationRequest,
        answer=Reconciliation,
        view=reconcile,
    ),
)
