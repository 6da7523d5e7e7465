"""Refusals of the core. Only `service.api.problems` turns these into HTTP.

Refused           physics or safety forbids the request; carries the numbers and what would work
SeveralRefused    more than one refusal at once
within_validity   the one place where an equation asked too much of becomes a refusal
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any, NoReturn, Self

from service.science.units import Quantity
from service.science.validity import OutsideValidity


@dataclass(frozen=True)
class Measure:
    """A number in a unit that no caller has another one for ("%vol"), for sentences."""

    value: float
    unit: str


class Term(str):
    """A word of ours inside a sentence ("creased", "fewer than {most}"), told in the language of the sentence."""

    text: str
    params: dict[str, "SentenceValue"]

    def __new__(cls, text: str, **params: "SentenceValue") -> Self:
        new = super().__new__(cls, text.format(**{name: _plain(value) for name, value in params.items()}))
        new.text, new.params = text, params
        return new


def _plain(value: "SentenceValue") -> str:
    if isinstance(value, Quantity | Measure):
        value = value.value
    return f"{value:g}" if isinstance(value, float) else str(value)


AND_MORE = "{names} and {count} more"
"""A list of names that are too many to tell."""


class Names(str):
    """Names inside a sentence, in a row; names of our own among them are terms.

    most: more than so many are counted, not named; all are named where it is None
    """

    names: tuple[str, ...]
    more: int

    def __new__(cls, names: Iterable[str], *, most: int | None = None) -> Self:
        each = tuple(names)
        shown = each if most is None else each[:most]
        named, more = ", ".join(shown), len(each) - len(shown)
        new = super().__new__(cls, AND_MORE.format(names=named, count=more) if more else named)
        new.names, new.more = shown, more
        return new


SentenceValue = Quantity | Measure | float | str
"""Parameters of a sentence; a str is a name, which is the same in every language, unless it is a Term or Names."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong, at a JSON Pointer into the request body.

    text may hold {names} that are filled from params, quantities in the caller's units.
    """

    pointer: str
    code: str
    text: str
    params: tuple[tuple[str, SentenceValue], ...] = ()


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


class Refused(Exception):
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
        """Return the same refusal with every pointer moved into a composed request.

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
        """Return the same refusal with one of its offers as the way out."""
        return Refused(self.slug, self.faults, facts=self.facts, nearest=offer.nearest)


def _moved(nearest: Sequence[Nearest], move: Callable[[str], str | None]) -> tuple[Nearest, ...]:
    """Return all of them with their pointers moved, or none where the whole lacks one of the fields."""
    found = [replace(n, pointer=to) for n in nearest if (to := move(n.pointer)) is not None]
    return tuple(found) if len(found) == len(nearest) else ()


class SeveralRefused(Exception):
    """More than one refusal at once; the caller hears of all of them."""

    def __init__(self, refusals: Sequence[Refused]) -> None:
        self.refusals = tuple(refusals)
        super().__init__("; ".join(str(r) for r in refusals))

    def moved(self, move: Callable[[str], str | None]) -> "SeveralRefused":
        """Return the same refusals with every pointer moved into a composed request."""
        return SeveralRefused([r.moved(move) for r in self.refusals])


def params_of(outside: OutsideValidity) -> dict[str, SentenceValue]:
    """Return the quantity that was out of range, its value, and the lowest and highest there are, all in their unit."""

    def in_unit(number: float) -> SentenceValue:
        if outside.kind is not None:
            return Quantity(outside.kind, number)
        return Measure(number, outside.unit_as_read) if outside.unit else number

    what = Term(outside.quantity[:1].upper() + outside.quantity[1:])
    return {"what": what, "value": in_unit(outside.value), "low": in_unit(outside.low), "high": in_unit(outside.high)}


def outside_in_words(outside: OutsideValidity) -> Term:
    """Return what was out of range as a sentence of its own, to stand in another."""
    return Term("{what} {value} is outside {low} to {high}.", **params_of(outside))


def outside_validity(outside: OutsideValidity, at: str, nearest: Sequence[Nearest] = ()) -> Refused:
    """Return the refusal that names the quantity, its value and the range of its source."""
    text = "{what} {value} is outside {low} to {high}."
    fault = Fault(at, "outside-validity", text, tuple(params_of(outside).items()))
    kind, ends = outside.kind, {"value": outside.value, "lowest": outside.low, "highest": outside.high}
    facts = [Fact(name, Quantity(kind, number) if kind else number) for name, number in ends.items()]
    return Refused("outside-validity", [fault], facts=facts, nearest=nearest)


@contextmanager
def within_validity(
    at: str = "", refusal: Callable[[OutsideValidity, str], Refused] = outside_validity
) -> Iterator[None]:
    """Turn an equation that a block asks outside the range of its sources into a refusal.

    at: JSON Pointer of what is out of range; the whole request where it is not known
    refusal: makes the refusal of it at that pointer, or raises it again where it is of another kind
    raises: Refused
    """
    try:
        yield
    except OutsideValidity as outside:
        raise refusal(outside, at) from None


class Refusals:
    """Gathers the refusals of checks that do not depend on each other, and raises them together."""

    def __init__(self) -> None:
        self._found: list[Refused] = []

    def keep(self, refused: Refused) -> None:
        """Keep one refusal, and go on."""
        self._found.append(refused)

    def gather(self) -> "Refusals":
        """Keep the refusal of a block, and go on after it."""
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
        """Raise the gathered refusals, if there are any.

        raises: Refused, SeveralRefused
        """
        if self._found:
            self.raise_all()

    def raise_all(self) -> NoReturn:
        """Raise the gathered refusals, where there are any.

        raises: Refused, SeveralRefused
        """
        raise self._found[0] if len(self._found) == 1 else SeveralRefused(self._found)
