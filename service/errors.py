"""What the domain may refuse. Only `service.api.problems` turns these into HTTP.

ServiceError
  OutsideValidity   an equation was asked outside the range its source supports
  Refused           physics or safety forbids the request; carries the numbers and what would work
  SeveralRefused    more than one refusal at once
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from service.science.units import Kind, Quantity


@dataclass(frozen=True)
class Measure:
    """A number in a unit that no caller has another one for ("%vol"), for sentences."""

    value: float
    unit: str


Told = Quantity | Measure | float | str
"""Parameters of a sentence."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong, at a JSON Pointer into the request body.

    text may hold {names} that are filled from params, quantities in the caller's units.
    """

    pointer: str
    code: str
    text: str
    params: tuple[tuple[str, Told], ...] = ()


@dataclass(frozen=True)
class Fact:
    """A number the refusal rests on."""

    name: str
    value: Quantity | float


@dataclass(frozen=True)
class Nearest:
    """A value that, put at the pointer, makes this refusal go away."""

    pointer: str
    value: Quantity | float | int | str | dict[str, Any]


@dataclass(frozen=True)
class Offer:
    """One of several ways out of a refusal; its values are put at their pointers together.

    text may hold {names} that are filled from params.
    """

    code: str
    text: str
    nearest: tuple[Nearest, ...]
    params: tuple[tuple[str, Quantity | float | str], ...] = ()


_AS_READ = {"degC": "°C", "% vol": "%vol", "mL": "ml", "g/L": "g/l"}
"""Units of the science as a bar reads them."""
_KINDS: dict[str, Kind] = {"degC": "temperature", "bar": "pressure", "mL": "volume", "g": "mass", "m": "length"}
"""Units of the science that a caller has units of its own for."""


class ServiceError(Exception):
    """Base of everything the domain raises on purpose."""


class OutsideValidity(ServiceError, ValueError):
    """An equation was asked outside the range of its source; nothing is extrapolated.

    quantity: what was out of range, in words ("temperature", "alcoholic strength")
    """

    def __init__(self, quantity: str, value: float, low: float, high: float, unit: str) -> None:
        self.quantity, self.value, self.low, self.high, self.unit = quantity, value, low, high, unit
        read = _AS_READ.get(unit, unit)
        super().__init__(f"{quantity[:1].upper()}{quantity[1:]} {value:g} {read} is outside {low:g} to {high:g} {read}")

    @property
    def params(self) -> dict[str, Told]:
        """The quantity that was out of range, its value, and the lowest and highest there are, each with its unit."""
        what = self.quantity[:1].upper() + self.quantity[1:]
        value, low, high = map(self._told, (self.value, self.low, self.high))
        return {"what": what, "value": value, "low": low, "high": high}

    @property
    def _kind(self) -> Kind | None:
        return "co2" if self.quantity == "CO2 level" else _KINDS.get(self.unit)

    def _told(self, number: float) -> Quantity | Measure | float:
        if self._kind is not None:
            return Quantity(self._kind, number)
        return Measure(number, _AS_READ.get(self.unit, self.unit)) if self.unit else number

    def refused(self, at: str = "", *, nearest: Sequence[Nearest] = ()) -> "Refused":
        """Return the refusal of what asked for it.

        at: JSON Pointer of what is out of range; the whole request where it is not known
        """
        text = "{what} {value} is outside {low} to {high}."
        fault = Fault(at, "outside-validity", text, tuple(self.params.items()))
        ends = {"value": self.value, "lowest": self.low, "highest": self.high}
        facts = [Fact(name, Quantity(self._kind, n) if self._kind else n) for name, n in ends.items()]
        return Refused("outside-validity", [fault], facts=facts, nearest=nearest)


class Refused(ServiceError):
    """Physics or safety forbids it.

    slug: names the problem type, see `service.api.problems.TYPES`
    nearest: what works, applied together; that of the first offer where there are several ways
    """

    def __init__(
        self,
        slug: str,
        faults: Sequence[Fault],
        *,
        facts: Sequence[Fact] = (),
        nearest: Sequence[Nearest] = (),
        offers: Sequence[Offer] = (),
    ) -> None:
        self.slug = slug
        self.faults, self.facts, self.offers = tuple(faults), tuple(facts), tuple(offers)
        self.nearest = tuple(nearest) or (self.offers[0].nearest if self.offers else ())
        super().__init__(f"{slug}: " + "; ".join(f"{f.pointer} {f.code}" for f in self.faults))

    def moved(self, move: Callable[[str], str | None]) -> "Refused":
        """The same refusal with every pointer moved into a composed request.

        move: None for a field that the composed request lacks; the fault is then the whole's, and nothing is offered
        """
        return Refused(
            self.slug,
            [replace(f, pointer=move(f.pointer) or "") for f in self.faults],
            facts=self.facts,
            nearest=_moved(self.nearest, move),
            offers=[replace(o, nearest=to) for o in self.offers if (to := _moved(o.nearest, move))],
        )

    def taking(self, offer: Offer) -> "Refused":
        """The same refusal with one of its offers as what works."""
        return Refused(self.slug, self.faults, facts=self.facts, nearest=offer.nearest)


def _moved(nearest: Sequence[Nearest], move: Callable[[str], str | None]) -> tuple[Nearest, ...]:
    """All of them with their pointers moved, or none where the whole lacks one of the fields."""
    found = [replace(n, pointer=to) for n in nearest if (to := move(n.pointer)) is not None]
    return tuple(found) if len(found) == len(nearest) else ()


class SeveralRefused(ServiceError):
    """More than one refusal at once; the caller hears of all of them."""

    def __init__(self, refusals: Sequence[Refused]) -> None:
        self.refusals = tuple(refusals)
        super().__init__("; ".join(str(r) for r in refusals))

    def moved(self, move: Callable[[str], str | None]) -> "SeveralRefused":
        """The same refusals with every pointer moved into a composed request."""
        return SeveralRefused([r.moved(move) for r in self.refusals])


class Refusals:
    """Gathers the refusals of checks that do not depend on each other, and raises them together."""

    def __init__(self) -> None:
        self._found: list[Refused] = []

    def keep(self, refused: Refused) -> None:
        """Keep this one, and go on."""
        self._found.append(refused)

    def gather(self) -> "Refusals":
        """Keep what a block refuses, and go on after it."""
        return self

    def __len__(self) -> int:
        return len(self._found)

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> bool | None:
        if isinstance(error, Refused):
            self._found.append(error)
        elif isinstance(error, SeveralRefused):
            self._found.extend(error.refusals)
        else:
            return False
        return True

    def raise_any(self) -> None:
        """Raise what was gathered, if anything was.

        raises: Refused, SeveralRefused
        """
        if self._found:
            self.raise_all()

    def raise_all(self) -> NoReturn:
        """Raise what was gathered, where something was.

        raises: Refused, SeveralRefused
        """
        raise self._found[0] if len(self._found) == 1 else SeveralRefused(self._found)
