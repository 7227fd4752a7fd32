"""One module per screen; each has a blueprint named `pages`. No page imports another."""

from importlib import import_module
from pkgutil import iter_modules

from flask import Flask


def install(app: Flask) -> None:
    """Register every screen in this package."""
    for module in sorted(found.name for found in iter_modules(__path__)):
        app.register_blueprint(import_module(f"{__name__}.{module}").pages)
