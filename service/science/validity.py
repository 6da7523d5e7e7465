"""The error of an equation that is asked outside the range of its source."""

from service.science.units import Kind

_AS_READ = {"degC": "°C", "% vol": "%vol", "mL": "ml", "g/L": "g/l"}
"""Units of the science as a bar reads them."""
_KINDS: dict[str, Kind] = {"degC": "temperature", "bar": "pressure", "mL": "volume", "g": "mass", "m": "length"}
"""Units of the science that a caller has units of its own for."""


class OutsideValidity(ValueError):
    """Raised where an equation is asked outside the range of its source; nothing is extrapolated.

    quantity: what was out of range, in words ("temperature", "alcoholic strength")
    """

    def __init__(self, quantity: str, value: float, low: float, high: float, unit: str) -> None:
        self.quantity, self.value, self.low, self.high, self.unit = quantity, value, low, high, unit
        read = self.unit_as_read
        super().__init__(f"{quantity[:1].upper()}{quantity[1:]} {value:g} {read} is outside {low:g} to {high:g} {read}")

    @property
    def unit_as_read(self) -> str:
        """The unit as a bar reads it."""
        return _AS_READ.get(self.unit, self.unit)

    @property
    def kind(self) -> Kind | None:
        """The kind of quantity that was out of range, where a caller has units of its own for it."""
        return "co2" if self.quantity == "CO2 level" else _KINDS.get(self.unit)
