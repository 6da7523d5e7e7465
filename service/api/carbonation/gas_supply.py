"""POST /v1/carbonation/gas-supply."""

from service import carbonation
from service.api.endpoint import Operation
from service.carbonation import GasSupply, GasSupplyRequest

GAS_SUPPLY = Operation(
    path="/v1/carbonation/gas-supply",
    operation_id="createGasSupply",
    tag="carbonation",
    summary="What batches take from a cylinder, and what an escape of it comes to.",
    description=(
        "Gas for each batch with its headspaces, purges and losses; how often the cylinder serves them, at what weight "
        "to swap it; what its gauge shows, which does not tell the content; and the room if all of it escapes, against "
        "published exposure limits. This is arithmetic, not approval: local code and a competent person decide."
    ),
    request=GasSupplyRequest,
    answer=GasSupply,
    pressure=True,
    view=carbonation.gas_supply,
)
