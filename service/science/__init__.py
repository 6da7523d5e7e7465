"""Equations and tables. Pure functions of floats; nothing here knows a drink, a bar or HTTP."""
