"""The API page: the OpenAPI document, readable and to try out, without a byte from elsewhere."""

from pathlib import Path

from flask import Flask, Response

_PAGES = Path(__file__).parent / "pages"
_FILES = {
    "swagger-ui.css": ("swagger-ui/swagger-ui.css", "text/css"),
    "swagger-ui-bundle.js": ("swagger-ui/swagger-ui-bundle.js", "text/javascript"),
    "start.js": ("start.js", "text/javascript"),
}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


def init_app(app: Flask) -> None:
    """Serve the page and the three files it loads, all read once."""
    page = (_PAGES / "docs.html").read_bytes()
    files = {name: ((_PAGES / path).read_bytes(), media) for name, (path, media) in _FILES.items()}

    @app.get("/docs")
    def api_page() -> Response:
        return Response(page, mimetype="text/html", headers={"Content-Security-Policy": _POLICY})

    def file(name: str) -> Response:
        body, media = files[name]
        return Response(body, mimetype=media, headers={"Cache-Control": "public, max-age=86400"})

    for name in files:
        app.add_url_rule(f"/docs/{name}", f"docs {name}", file, defaults={"name": name})
