"""Constants that more than one equation uses. Exact by definition unless the line says measured."""

ZERO_CELSIUS_K = 273.15
"""0 degC in kelvin; exact, SI."""

GAS_CONSTANT_L_BAR = 0.08314462618
"""R [L bar/(mol K)]; exact since the 2019 SI (8.31446261815324 J/(mol K))."""

ATMOSPHERE_BAR = 1.01325
"""Standard atmosphere [bar]; exact, ISO 2533."""

CO2_G_PER_MOL = 44.0095
"""Molar mass of CO2 [g/mol]; measured, IUPAC standard atomic weights."""
