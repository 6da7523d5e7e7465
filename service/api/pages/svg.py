"""Drawings of matplotlib made into inert SVG that any page may hold, and that is read out well."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree as ET
from xml.etree.ElementTree import Element

from wcwidth import wcswidth

from service.api.pages.words import strip_control_marks

_SVG, _XLINK = "http://www.w3.org/2000/svg", "{http://www.w3.org/1999/xlink}href"
_FONT = re.compile(r"(?:(?P<weight>bold|\d+) )?(?P<size>[\d.]+px) .*")
_POINTS = re.compile(r"url\(#([^)]+)\)")
_NAME_COLUMNS = 72
"""Columns of a name that is printed above a plot; the whole name stands in its title."""
INK, SOFT = "#16212b", "#4a5863"
ET.register_namespace("", _SVG)


@dataclass(frozen=True)
class Caption:
    """The caption of a plot.

    heading: ours, printed above it; name: the caller's, under it where there is one; reading: the figure that matters
    description: the plot in words
    """

    heading: str
    name: str
    reading: str
    description: str


def inert_svg(drawn: bytes, caption: Caption, *, prefix: str) -> str:
    """Return the drawing without style sheets, style attributes, metadata or outside references, with its title in it.

    prefix: of its ids, its own in every page
    """
    root = ET.fromstring(drawn)  # noqa: S314 - what matplotlib wrote; no word of the caller's is in it
    for parent in list(root.iter()):
        for child in [child for child in parent if _local(child) in ("metadata", "style")]:
            parent.remove(child)
    for element in root.iter():
        _styles_as_attributes(element)
    _rename(root, prefix)
    for name in ("width", "height", "version"):
        root.attrib.pop(name, None)
    root.attrib |= {
        "role": "img", "aria-labelledby": f"{prefix}-title {prefix}-desc", "font-family": "sans-serif",
        "stroke-linejoin": "round",
    }  # fmt: skip
    for position, element in enumerate(_captions(caption, prefix)):
        root.insert(position, element)
    return ET.tostring(root, encoding="unicode") + "\n"


def _local(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def _styles_as_attributes(element: Element) -> None:
    """Turn style attributes into presentation attributes, which a page without inline styles lets through."""
    for declaration in element.attrib.pop("style", "").split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name == "font":
            shorthand = _FONT.fullmatch(value)
            assert shorthand is not None
            element.set("font-size", shorthand["size"])
            if shorthand["weight"]:
                element.set("font-weight", shorthand["weight"])
        elif name and name != "font-family":  # the root's holds
            element.set(name, value)
    if _XLINK in element.attrib:
        element.set("href", element.attrib.pop(_XLINK))


def _rename(root: Element, prefix: str) -> None:
    """Prefix the ids that something in the drawing points to, and drop the others."""
    pointed = {to for element in root.iter() for key, value in element.attrib.items() for to in _targets(key, value)}
    names = {old: f"{prefix}-{number}" for number, old in enumerate(sorted(pointed))}
    for element in root.iter():
        if element.attrib.get("id") in names:
            element.set("id", names[element.attrib["id"]])
        else:
            element.attrib.pop("id", None)
        for key, value in element.attrib.items():
            for to in _targets(key, value):
                element.set(key, value.replace(f"#{to}", f"#{names[to]}"))


def _targets(key: str, value: str) -> list[str]:
    """Return the ids that an attribute points to."""
    return [value[1:]] if key == "href" else _POINTS.findall(value)


def _captions(caption: Caption, prefix: str) -> Iterator[Element]:
    """Put in the captions; the caller's words only ever become text of an element."""
    heading, name, reading, description = (
        strip_control_marks(words) for words in (caption.heading, caption.name, caption.reading, caption.description)
    )
    for tag, words in (("title", f"{heading}. {name}" if name else heading), ("desc", description)):
        yield _element(tag, words, id=f"{prefix}-{tag}")
    y = 22
    for words, size, fill, weight in ((heading, 13, INK, 600), (_cut(name), 10, SOFT, 400), (reading, 10, INK, 400)):
        if words:
            yield _element("text", words, x=16, y=y, font_size=size, fill=fill, font_weight=weight)
            y += 16


def _element(tag: str, words: str, **attributes: float | str) -> Element:
    element = Element(f"{{{_SVG}}}{tag}", {key.replace("_", "-"): str(value) for key, value in attributes.items()})
    element.text = words
    return element


def _cut(name: str) -> str:
    """Return as much of a name as fits on its line; wide characters take two columns."""
    if wcswidth(name) <= _NAME_COLUMNS and len(name) <= 2 * _NAME_COLUMNS:
        return name
    kept = name[: 2 * _NAME_COLUMNS]
    while wcswidth(kept) >= _NAME_COLUMNS:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"
