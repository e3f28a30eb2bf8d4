"""What every request must satisfy before anything else sees it, and what every answer carries."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from neutralpoint.app.replies import refused
from neutralpoint.errors import NeutralPointError

TOKEN_HEADER = "x-np-token"
READING = ("GET", "HEAD")
METHODS = (*READING, "POST", "PUT", "DELETE")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; font-src 'self'; frame-ancestors 'none'; base-uri 'none'; "
    "form-action 'none'"
)
# Sent with every answer; an answer may bring a stricter policy of its own.
CARRIED = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}


@dataclass(frozen=True)
class Access:
    """Who may ask for what.

    Attributes:
        hosts: Values of the Host header that are answered, each with its port.
        upload_limit: Bytes of an uploaded file.
        token: What a writing request must carry; new with each process.
    """

    hosts: frozenset[str]
    upload_limit: int
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))


class Guard:
    """Refuses a request by its headers alone, and sets the headers of every answer.

    A page on another site can make a browser send requests here. It cannot choose the Host header
    (so a name that points at this machine is refused), nor the Origin, nor know the token.
    """

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self._app, self._access = app, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it with a refusal."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets here: the connection is closed

        async def carried(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in CARRIED.items():
                    headers.setdefault(name, value)
            await send(message)

        fault = self._fault(scope)
        if fault is not None:
            await refused(*fault)(scope, receive, carried)
            return
        await self._app(scope, receive, carried)

    def _fault(self, scope: Scope) -> tuple[NeutralPointError, int] | None:
        headers, method = Headers(scope=scope), scope["method"]
        host = headers.get("host", "")
        if len(headers.getlist("host")) != 1 or host not in self._access.hosts:
            return _refusal(f"The host {host[:80]!r} is not this workbench.", "Host"), 421
        if method not in METHODS:
            return (
                NeutralPointError(
                    "request-invalid",
                    f"The method {method[:20]!r} is not in use here.",
                    where="method",
                    hint=f"In use are {', '.join(METHODS)}.",
                ),
                405,
            )
        origin = headers.get("origin")
        if origin is not None and origin != f"http://{host}":
            return _refusal(f"The origin {origin[:80]!r} is another site.", "Origin"), 403
        site, mode = headers.get("sec-fetch-site"), headers.get("sec-fetch-mode", "")
        if site not in (None, "same-origin", "none") and mode != "navigate":
            return _refusal("The request was made by another site.", "Sec-Fetch-Site"), 403
        if method in READING:
            return None
        if origin is None:
            return _refusal("A request that writes has no origin.", "Origin"), 403
        if not secrets.compare_digest(
            headers.get(TOKEN_HEADER, "").encode("latin-1", "replace"), self._access.token.encode()
        ):
            return _refusal("The token of the page is missing or old.", "X-NP-Token"), 403
        return None


def _refusal(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "request-refused",
        message,
        where=where,
        hint="Open the address that `neutralpoint serve` printed, and load the page again.",
    )
