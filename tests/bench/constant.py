"""Flask at its least: one constant answer, the yardstick for the service's own rates."""

from flask import Flask, Response, jsonify


def create_app() -> Flask:
    app = Flask(__name__)

    @app.get("/readyz")
    @app.post("/")
    def answer() -> Response:
        return jsonify(status="ready")

    return app
