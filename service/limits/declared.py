"""Declarations of defaults and limits: each once, with its number, meaning and basis."""

from typing import Literal, NamedTuple, TypeVar

from service.science.band import Band

Kind = Literal["default", "warned", "told", "refused", "advised", "judged", "vessel", "exposure", "request"]
KINDS = """default: taken where a request is silent. warned: past it the answer warns. told: from where on, or how far,
something is told. refused: past it nothing is computed. advised: what an offer or an advice tries. judged: how far off
the bar is taken to be where a limit is judged, or from where on a thing is taken for what it is. vessel: usual for such
a vessel, or of a preset. exposure: of a body of occupational health. request: a bound of this service."""
TRADE = "common practice, no source"
BOUND = "bound of the service"
MAKER = "common practice; the maker's rating or the stamp prevails"
REMARKS = (TRADE, BOUND, MAKER, "from memory", "a producer's data sheet")
"""Sources that are no works but remarks, and so are told in the language of an answer."""

Number = TypeVar("Number", int, float)


class Limit(NamedTuple):
    """One default, limit or bound as it is listed. unit: a kind of quantity, or the name of a plain unit."""

    limit: str
    kind: Kind
    meaning: str
    value: float
    unit: str
    basis: str = "common-practice"
    source: str = TRADE


class Subject:
    """The limits of one subject, in the order of their declaration."""

    def __init__(self) -> None:
        self.rows: list[Limit] = []

    def __call__(
        self, limit: str, kind: Kind, meaning: str, value: Number, unit: str, basis: str = "common-practice",
        source: str = TRADE,
    ) -> Number:  # fmt: skip
        """Declare a limit, and return its number for the code that keeps to it."""
        self.rows.append(Limit(limit, kind, meaning, value, unit, basis, source))
        return value

    def band(self, limit: str, kind: Kind, meaning: str, band: Band, unit: str, basis: str = "common-practice") -> Band:
        """Declare a band, with a row for each end and one for its typical value. meaning: without its full stop"""
        for end, told in (("low", "low end"), ("typical", "typical"), ("high", "high end")):
            self(f"{limit}-{end}", kind, f"{meaning}, {told}.", getattr(band, end), unit, basis)
        return band

    def bound(self, limit: str, meaning: str, value: Number, unit: str = "count") -> Number:
        """Declare a bound of the service."""
        return self(limit, "request", meaning, value, unit, "default", BOUND)
