"""What is asked for in JSON, told in JSON."""

from flask import Blueprint, jsonify
from werkzeug.wrappers import Response

from coop.web.openapi import document
from coop.web.page import needs

pages = Blueprint("api", __name__)


@pages.get("/api/openapi.json")
@needs("read")
def openapi() -> Response:
    """Answer with the OpenAPI document."""
    return jsonify(document())
