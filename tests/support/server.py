"""The application behind a real socket, in this process: the test moves its clock."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask
from werkzeug.serving import WSGIRequestHandler, make_server


class _Quiet(WSGIRequestHandler):
    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:
        """Say nothing: a test that fails says more."""


@contextmanager
def serving(app: Flask) -> Iterator[str]:
    """Serve on a free loopback port with a thread for each request; give the origin."""
    server = make_server("127.0.0.1", 0, app, threaded=True, request_handler=_Quiet)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join(timeout=10)
        server.server_close()
