"""The head of an answer: the cautions and assumptions that are gathered while it is worked out, and its envelope."""

import re
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from typing import Annotated, Literal

from service.declared import CODE, PARAMS, TERM, WORDED, Declared, Params, Sentence, text
from service.errors import Measure, Names, Refused, SeveralRefused, Term
from service.science.units import Quantity

Value = Quantity | Measure | float | str | datetime
Counted = Quantity | Measure | float
"""A value that is a number, with its unit where it has one."""
Pointers = tuple[Annotated[str, text(500)], ...]
Severity = Literal["info", "warning", "danger"]
Basis = Literal["published", "library", "common-practice", "estimate", "unverified", "default"]


@dataclass(frozen=True)
class Caution:
    """Something the bar must know.

    about: names of the components that it is said of once, all together; they stand in the text as {components}
    """

    code: Annotated[str, CODE]
    severity: Declared[Severity]
    text: Sentence
    params: Annotated[Mapping[str, Value], PARAMS] = field(default_factory=dict)
    pointers: Declared[Pointers] = ()
    about: tuple[str, ...] = ()

    def together_with(self, other: "Caution") -> "Caution":
        """Return the same caution about the components of both."""
        about = tuple(dict.fromkeys(self.about + other.about))
        pointers = tuple(dict.fromkeys(self.pointers + other.pointers))
        return replace(self, params={"components": listed(about)}, pointers=pointers, about=about)


@dataclass(frozen=True)
class Assumption:
    """A value the request did not give, or a statement the answer rests on. pointers: where to override it.

    template: its name; holds {names} that are filled from filled
    own_code: where the name does not make a plain one
    """

    template: str
    value: Declared[Value]
    basis: Declared[Basis]
    source: Annotated[str | None, WORDED] = None
    pointers: Declared[Pointers] = ()
    own_code: str = ""
    filled: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> Annotated[str, TERM, text(200)]:
        """The name of the assumption, its {names} filled in."""
        return Term(self.template, **dict(self.filled))

    @property
    def code(self) -> Annotated[str, text(200)]:
        """Its own code, or its name as one."""
        return self.own_code or code_of(self.template)

    @property
    def quantity(self) -> Declared[Counted | None]:
        """The value where it is a number."""
        return None if isinstance(self.value, str | datetime) else self.value

    @property
    def text(self) -> Sentence:
        """The assumption as a sentence; {value} is filled in, and the {names} of its name."""
        return sentence_of(self.template)

    @property
    def params(self) -> Params:
        """The value, and all that fills the name."""
        return {"value": self.value, **dict(self.filled)}


@dataclass(frozen=True)
class Safety:
    """The rules for all work under pressure; href: the rules of the night, one by one."""

    href: Annotated[str, text(200)]
    text: Annotated[str, TERM]


SAFETY = Safety(
    "/v1/references/safety-rules",
    Term(
        "Work by the rules of the night. The maker's rating, local code and a competent person decide; this is "
        "arithmetic, not approval."
    ),
)
"""Stands in every answer about pressure."""


@dataclass(frozen=True)
class Envelope:
    """The envelope that every answer begins with. safety: of answers about pressure, never omitted."""

    model: Annotated[str, text(40)]
    cautions: Declared[tuple[Caution, ...]]
    assumptions: Declared[tuple[Assumption, ...]]
    safety: Declared[Safety | None] = None
    labels: Declared[Mapping[str, str] | None] = None


@lru_cache  # there are some hundred names
def code_of(name: str) -> str:
    """Return the name of an assumption as a code, in kebab case, without what is filled in."""
    return "-".join(re.findall(r"[a-z0-9]+", re.sub(r"\{\w+\}", "", name).lower()))


@lru_cache
def sentence_of(name: str) -> str:
    """Return the sentence of an assumption by its name."""
    return f"{name[:1].upper()}{name[1:]}: {{value}}."


_NAMES_SHOWN = 5


def listed(names: Sequence[str]) -> Names:
    """Return names for a sentence; the first few where there are many."""
    return Names(names, most=_NAMES_SHOWN)


class Notes:
    """Collects cautions and assumptions for one answer; the same one is kept once."""

    def __init__(self) -> None:
        self.cautions: list[Caution] = []
        self._known: set[tuple[object, ...]] = set()  # a log of events or a spec of references makes hundreds or
        self._assumed: dict[Assumption, None] = {}  # thousands: looked up, not searched
        self._move: Callable[[str], str | None] = lambda pointer: pointer

    @property
    def assumptions(self) -> list[Assumption]:
        return list(self._assumed)

    def caution(
        self, code: str, severity: Severity, text: str, *, at: tuple[str, ...] | str = (), **params: Value
    ) -> None:
        """Add a caution; `at` is one JSON Pointer or several. Of two with one code at one place the first is kept."""
        self._add(Caution(code, severity, text, params, self._pointers(at)))

    def caution_for_all(self, code: str, severity: Severity, text: str, about: Mapping[str, str]) -> None:
        """Add a caution that is said once in an answer, or add to it what else it is about.

        text: holds {components}
        about: JSON Pointer of each place -> the component's name
        """
        names = tuple(dict.fromkeys(about.values()))
        self._add(Caution(code, severity, text, {"components": listed(names)}, self._pointers(tuple(about)), names))

    def _add(self, new: Caution) -> None:
        """Add a caution, unless one with its code stands at its place and is not about components together."""
        if new.about or not new.pointers or (new.code, new.pointers) not in self._known:
            self._keep(new)

    def _keep(self, new: Caution) -> None:
        if new.about:
            for i, known in enumerate(self.cautions):
                if known.code == new.code:
                    self.cautions[i] = known.together_with(new)
                    return
        same = (new.code, new.severity, new.text, new.pointers, *new.params.items())
        if same not in self._known:
            self._known |= {same, (new.code, new.pointers)}
            self.cautions.append(new)

    def assume(
        self, name: str, value: Value, basis: Basis, source: str = "", *, at: tuple[str, ...] | str = (),
        code: str = "", **params: str,
    ) -> None:  # fmt: skip
        """Add an assumption; `at` is where a caller would override it. A value that is a text is words of ours.

        name: holds {names} that are filled from params
        code: where the name does not make a plain one
        """
        value = Term(value) if type(value) is str else value
        own = "" if code == code_of(name) else code
        new = Assumption(name, value, basis, source or None, self._pointers(at), own, tuple(params.items()))
        self._assumed.setdefault(new)

    def join(self, other: "Notes", *, wanted: Callable[[Caution | Assumption], bool] = lambda _: True) -> None:
        """Add the notes of another collection, pointers as they are; those that are here already are kept once."""
        for caution in filter(wanted, other.cautions):
            self._keep(caution)
        self._assumed |= dict.fromkeys(filter(wanted, other._assumed))

    def repeat(self, other: "Notes") -> None:
        """Add the notes of another collection as if they were made here, pointers turned as those of notes made now."""
        for caution in other.cautions:
            self._add(replace(caution, pointers=self._pointers(caution.pointers)))
        for assumed in other.assumptions:
            self._assumed.setdefault(replace(assumed, pointers=self._pointers(assumed.pointers)))

    def without(self, assumed: Container[Assumption], cautions: Container[Caution]) -> "Notes":
        """Return the notes that were gathered and are not among others."""
        rest = Notes()
        for caution in self.cautions:
            if caution not in cautions:
                rest._keep(caution)
        rest._assumed = {assumption: None for assumption in self._assumed if assumption not in assumed}
        return rest

    @contextmanager
    def within(self, moves: Mapping[str, str | None]) -> Iterator[None]:
        """Turn pointers of a part ("/target"), inside this block, into pointers of the whole ("/carbonation/target").

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
        return tuple([p for p in map(self._move, (at,) if isinstance(at, str) else at) if p is not None])


class SilentNotes(Notes):
    """Discards all notes; for trial runs."""

    def caution(self, *args: object, **said: object) -> None:
        pass

    def caution_for_all(self, *args: object, **said: object) -> None:
        pass

    def assume(self, *args: object, **said: object) -> None:
        pass


def moved(pointer: str, moves: Mapping[str, str | None]) -> str | None:
    """Return the pointer with its longest known prefix replaced; None where the whole has no such field."""
    prefix = pointer
    while prefix not in moves:
        if not prefix:
            return pointer
        prefix = prefix.rpartition("/")[0]
    to = moves[prefix]
    return None if to is None else to + pointer[len(prefix) :]
