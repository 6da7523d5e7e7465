"""The document, landing page, API page and guide: not a byte from elsewhere, no script that is not a file of ours."""

import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from flask import Flask, g

from service import MODEL
from service.api import guide
from service.api.endpoint import Kept, Operation, Reference
from service.api.openapi.paths import FOLDER
from service.api.pages.printed import environment
from service.api.pages.ticket import APPROVAL
from service.api.speech import Speech
from service.api.words import ENGLISH, Language

_PAGES = Path(__file__).parent / "pages"
_TEMPLATES = environment(_PAGES)
_FILES = {
    "docs/swagger-ui.css": ("swagger-ui/swagger-ui.css", "text/css"),
    "docs/swagger-ui-bundle.js": ("swagger-ui/swagger-ui-bundle.js", "text/javascript"),
    "docs/docs.css": ("docs.css", "text/css"),
    "docs/start.js": ("start.js", "text/javascript"),
    "welcome/welcome.css": ("welcome.css", "text/css"),
    "welcome/welcome.js": ("welcome.js", "text/javascript"),
}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_STILL = (
    "default-src 'none'; style-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""The policy of a page without a script."""
_TRUSTED = "require-trusted-types-for 'script'; trusted-types 'none'"
"""The policy that lets no script of the landing page turn text into markup; the script of the API page needs to."""


def init_app(
    app: Flask, operations: Sequence[Operation[Any, Any]], references: Sequence[Reference], *, keyed: bool
) -> None:
    """Serve the document, the pages and their files, all read once; the landing page in the language of the caller.

    keyed: whether this deployment asks for a key, so that the landing page can say where it goes
    """

    @cache
    def welcome(language: Language) -> Kept:
        text = _welcome(operations, references, Speech(language=language), keyed=keyed)
        return _page(text, f"{_POLICY}; {_TRUSTED}", language)

    of_document = {"Cache-Control": "no-cache", "Content-Language": "en"}
    document = Kept((FOLDER / "openapi.json").read_bytes(), "application/json", of_document)
    app.add_url_rule("/openapi.json", "openapi", document.respond)
    welcome(ENGLISH)  # one that cannot be written ends the start
    app.add_url_rule("/", "page /", lambda: welcome(g.language).respond())
    docs = _page((_PAGES / "docs.html").read_text(encoding="utf-8"), _POLICY)
    app.add_url_rule("/docs", "page /docs", docs.respond)
    guided = _page(_TEMPLATES.get_template("guide.html").render(guide=guide.read(), approval=APPROVAL), _STILL)
    app.add_url_rule("/guide", "page /guide", guided.respond)
    for name, (path, media) in _FILES.items():
        file = Kept((_PAGES / path).read_bytes(), media, {"Cache-Control": "public, max-age=86400"})
        app.add_url_rule(f"/{name}", f"file {name}", file.respond)


def _welcome(
    operations: Sequence[Operation[Any, Any]], references: Sequence[Reference], speech: Speech, *, keyed: bool
) -> str:
    request = (_PAGES / "welcome.json").read_text(encoding="utf-8").strip()
    return _TEMPLATES.get_template("welcome.html").render(
        _=speech.say,
        language=speech.language,
        model=MODEL,
        operations=operations,
        references=references,
        keyed=keyed,
        request=request,
        line=json.dumps(json.loads(request)),
        approval=APPROVAL,
    )


def _page(text: str, policy: str, language: Language = ENGLISH) -> Kept:
    headers = {"Content-Security-Policy": policy, "Content-Language": language, "Cache-Control": "no-cache"}
    return Kept(text.encode(), "text/html", headers)
