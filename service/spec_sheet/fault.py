"""A cell for which its row is refused."""

from dataclasses import dataclass, field
from typing import Annotated

from service.declared import CODE, Declared, Params, Sentence, text


@dataclass(frozen=True)
class CellFault:
    """One thing wrong with a cell; the spec of its row is not answered. row: the first is 1, which has the header."""

    row: Declared[int]
    column: Annotated[str, text(200)]
    code: Annotated[str, CODE]
    text: Sentence
    params: Params = field(default_factory=dict)
