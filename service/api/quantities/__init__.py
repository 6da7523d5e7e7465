"""Marshmallow fields of the wire: numbers that are numbers, quantities with units, and what OpenAPI says of them."""

from service.api.quantities.answered import (
    NUMBER,
    Answered,
    band,
    flag,
    money,
    number,
    q,
    quantity_components,
    text,
    texts,
    whole,
)
from service.api.quantities.faults import NULL, REQUIRED, Coded, UnknownField, fault
from service.api.quantities.measured import AcidityField, AmountField, MoneyField, QuantityField, SugarField
from service.api.quantities.plain import Choice, Flag, LabelsField, Number, Text, Whole, says

__all__ = [
    "NULL",
    "NUMBER",
    "REQUIRED",
    "AcidityField",
    "AmountField",
    "Answered",
    "Choice",
    "Coded",
    "Flag",
    "LabelsField",
    "MoneyField",
    "Number",
    "QuantityField",
    "SugarField",
    "Text",
    "UnknownField",
    "Whole",
    "band",
    "fault",
    "flag",
    "money",
    "number",
    "q",
    "quantity_components",
    "says",
    "text",
    "texts",
    "whole",
]
