"""The label of every vessel: what is in it, how it is kept and opened, and a code for the till."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import orjson
import segno
from markupsafe import Markup

from service.api.pages.names import allergen
from service.api.pages.paper import NO_BREAK, Paper
from service.prep_sheet import PrepSheet, PrepSheetRequest
from service.science.units import Quantity

MOST_LABELS = 24
"""Labels on a sheet; of more vessels they are printed again."""


@dataclass(frozen=True)
class Label:
    """A label. care: how it is kept and opened; lines: name and text of the others; code: the QR code as SVG."""

    name: str
    care: tuple[str, ...]
    lines: tuple[tuple[str, str], ...]
    code: Markup
    code_name: str
    statement: str


def label_of(asked: PrepSheetRequest, found: PrepSheet, paper: Paper) -> Label:
    """Return the label; dates only where the request gave one."""
    label, stated = found.batch.label, found.batch.to_declare
    strength = paper.say("not stated") if label.abv is None else f"{paper.speech.fixed(label.abv, 1)}{NO_BREAK}%vol"
    lines = [
        (paper.say("lot"), asked.lot),
        (paper.say("made"), None if label.made_at is None else paper.moment(label.made_at)),
        (paper.say("use by"), None if label.use_by is None else paper.moment(label.use_by)),
        (paper.say("strength"), strength),
        (paper.say("allergens"), allergens(stated.allergens, paper, whole=not stated.unstated)),
    ]
    cold = Quantity("temperature", label.keep_at_c)
    return Label(
        name=label.name,
        care=(
            paper.say("Under CO₂ pressure"),
            paper.say("Keep upright and cold, at most {cold}", cold=cold),
            paper.say("Open slowly, away from faces"),
        ),
        lines=tuple((name, text) for name, text in lines if text is not None),
        code=drawn(payload(asked, found)),
        code_name=paper.say("Code with lot, dates and spec"),
        statement=paper.say(label.statement),
    )


def allergens(codes: Sequence[str], paper: Paper, *, whole: bool) -> str:
    """Return the allergens to declare; silence of a component is not absence: then the makers' labels have the word.

    whole: every component says what it has
    """
    names = ", ".join(allergen(code, paper) for code in codes)
    if whole:
        return names or paper.say("none declared")
    if not names:
        return paper.say("not all stated, see the makers' labels")
    return paper.say("{allergens}; not all stated, see the makers' labels", allergens=names)


def payload(asked: PrepSheetRequest, found: PrepSheet) -> bytes:
    """Return what the code holds, as JSON: lot, moments (RFC 3339) and fingerprint of the spec; what is not known is
    left out."""
    label = found.batch.label
    known = {"lot": asked.lot, "made": label.made_at, "discard": label.use_by, "spec_id": found.spec_id}
    told = {name: value for name, value in known.items() if value is not None}
    return orjson.dumps(told, option=orjson.OPT_OMIT_MICROSECONDS)


@lru_cache(maxsize=16)
def drawn(holds: bytes) -> Markup:
    """Return a QR code as SVG, with the quiet zone of four modules that the standard asks for.

    source: ISO/IEC 18004, through the library; error correction M
    """
    code = segno.make_qr(holds, error="m")
    svg = code.svg_inline(omitsize=True, border=4, svgclass=None, lineclass=None)
    return Markup(svg)  # noqa: S704 - modules only; no word of the caller's is in it
