"""What an answer says beside its numbers: cautions and assumptions, gathered while the work is done."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Literal

from service.errors import Refused, SeveralRefused
from service.science.units import Quantity

Value = Quantity | float | str
Severity = Literal["info", "warning", "danger"]
Basis = Literal["published", "library", "common-practice", "estimate", "unverified", "default"]


@dataclass(frozen=True)
class Caution:
    """Something the bar must know. text holds {names} that are filled from params."""

    code: str
    severity: Severity
    text: str
    params: Mapping[str, Value] = field(default_factory=dict)
    pointers: tuple[str, ...] = ()


@dataclass(frozen=True)
class Assumption:
    """A value the request did not give, or a statement the answer rests on."""

    name: str
    value: Value
    basis: Basis
    source: str = ""
    pointers: tuple[str, ...] = ()


class Notes:
    """Collects cautions and assumptions for one answer; the same one is kept once."""

    def __init__(self) -> None:
        self.cautions: list[Caution] = []
        self.assumptions: list[Assumption] = []
        self._move: Callable[[str], str | None] = lambda pointer: pointer

    def caution(
        self, code: str, severity: Severity, text: str, *, at: tuple[str, ...] | str = (), **params: Value
    ) -> None:
        """Add a caution; `at` is one JSON Pointer or several. Of two with one code at one place the first is kept."""
        new = Caution(code, severity, text, params, self._pointers(at))
        if not any(new.pointers and (c.code, c.pointers) == (code, new.pointers) for c in self.cautions):
            self._add(self.cautions, new)

    def assume(
        self, name: str, value: Value, basis: Basis, source: str = "", *, at: tuple[str, ...] | str = ()
    ) -> None:
        """Add an assumption; `at` is where a caller would override it."""
        self._add(self.assumptions, Assumption(name, value, basis, source, self._pointers(at)))

    @contextmanager
    def within(self, moves: Mapping[str, str | None]) -> Iterator[None]:
        """Inside this block pointers of a part ("/target") become pointers of the whole ("/carbonation/target").

        moves: prefix of the part's request -> prefix of the composed request, None where that has no such field; the
        longest match wins, and "" is the catch-all. Refusals raised inside are moved as well.
        """
        outer = self._move
        self._move = lambda pointer: None if (inner := moved(pointer, moves)) is None else outer(inner)
        try:
            yield
        except (Refused, SeveralRefused) as refused:
            raise refused.moved(lambda pointer: moved(pointer, moves)) from None
        finally:
            self._move = outer

    def _pointers(self, at: tuple[str, ...] | str) -> tuple[str, ...]:
        return tuple(p for p in map(self._move, (at,) if isinstance(at, str) else at) if p is not None)

    @staticmethod
    def _add(to: list[Any], new: Caution | Assumption) -> None:
        if new not in to:
            to.append(new)


def moved(pointer: str, moves: Mapping[str, str | None]) -> str | None:
    """The pointer with its longest known prefix replaced; None where the whole has no such field."""
    fits = [p for p in moves if pointer == p or pointer.startswith(p + "/") or p == ""]
    if not fits:
        return pointer
    best = max(fits, key=len)
    to = moves[best]
    return None if to is None else to + pointer[len(best) :]
