"""Where it went: what the record of a period accounts for, held against what was counted at its end."""

from service.reconciliation.asked import ReconciliationRequest
from service.reconciliation.components import ReconciledComponent, Spread
from service.reconciliation.drinks import ReconciledDrink
from service.reconciliation.reconcile import Reconciliation, reconcile

__all__ = [
    "ReconciledComponent",
    "ReconciledDrink",
    "Reconciliation",
    "ReconciliationRequest",
    "Spread",
    "reconcile",
]
