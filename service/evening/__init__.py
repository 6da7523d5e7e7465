"""The evening: several drinks, what they take in people, gear and time, and when each thing is done."""

from service.evening.answer import PlannedTask, ServicePlan
from service.evening.asked import ServicePlanRequest
from service.evening.plan import service_plan, tried_plan

__all__ = ["PlannedTask", "ServicePlan", "ServicePlanRequest", "service_plan", "tried_plan"]
