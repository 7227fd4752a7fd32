"""
Answers made smaller for browsers that take gzip (RFC 9110 8.4.1.3): files once, pages as asked.

Compressing a page that holds a secret beside text of a stranger's choice tells the secret's
signs by the length of the answer, to who reads the wire and makes the browser ask again and
again (known as BREACH). So here: only what was asked for by GET is compressed, never the
answer to a form, which says back what was typed and may hold a one-use address; the session
cookie is SameSite=Lax, so other sites' pages cannot ask in the member's name unseen; form
tokens are signed anew each second and the signing key stands on no page; and each page gets
padding of random length in the file-name field of its gzip header (RFC 1952 2.3.1).
"""

from collections.abc import Callable
from gzip import GzipFile, compress
from io import BytesIO

from flask import Flask, Response, request

PAGE_BYTES_MIN = 1_024  # under it the padding would eat most of what is gained
PAGE_LEVEL = 6
PADDING_BYTES_MAX = 100  # as other frameworks do (from memory)
GZIP = "gzip"
PACKED_TYPE = "text/html"
WORTH_IT = 0.9

Random = Callable[[int], bytes]


def install(app: Flask, random: Random) -> None:
    """Compress pages on their way out; `random` gives so many random bytes."""

    def pack_page(response: Response) -> Response:
        if response.mimetype == PACKED_TYPE:
            response.vary.add("Accept-Encoding")
            if _is_worth_it(response):
                length = int.from_bytes(random(2)) % PADDING_BYTES_MAX + 1
                response.set_data(_padded(response.get_data(), length))
                response.content_encoding = GZIP
        return response

    app.after_request(pack_page)


def _is_worth_it(response: Response) -> bool:
    return (
        request.method == "GET"
        and takes_gzip()
        and not response.is_streamed
        and "Content-Encoding" not in response.headers
        and len(response.get_data()) >= PAGE_BYTES_MIN
    )


def takes_gzip() -> bool:
    """Say whether the browser takes gzip."""
    return request.accept_encodings.quality(GZIP) > 0


def _padded(content: bytes, length: int) -> bytes:
    packed = BytesIO()
    with GzipFile("x" * length, "wb", PAGE_LEVEL, packed, mtime=0) as file:
        file.write(content)
    return packed.getvalue()


def packed_file(content: bytes) -> bytes | None:
    """Return a file that anybody may have as gzip, or None where that gains little."""
    packed = compress(content, mtime=0)
    return packed if len(packed) < len(content) * WORTH_IT else None


def file_response(content: bytes, packed: bytes | None, media_type: str) -> Response:
    """Answer with a file in the smaller form where there is one and the browser takes it."""
    if packed is None:
        return Response(content, mimetype=media_type)
    small = takes_gzip()
    response = Response(packed if small else content, mimetype=media_type)
    response.vary.add("Accept-Encoding")
    if small:
        response.content_encoding = GZIP
    return response
