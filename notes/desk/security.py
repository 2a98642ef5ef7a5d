"""Who may ask the desk: this machine's browser, holding the key of this start, from the desk's own pages."""

import hmac
import secrets

from starlette.datastructures import Headers, MutableHeaders, QueryParams
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

CHANGES = "x-tapeside"
_SAFE = frozenset({"GET", "HEAD"})
# No outside request, nothing inline, no frame around the desk.
_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; media-src 'self' blob:; "
        "connect-src 'self'; font-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(), geolocation=()",
}


class Keys:
    """The secrets of one start: `entry` opens the desk from the printed address, `change` goes with every change."""

    def __init__(self) -> None:
        self.entry = secrets.token_urlsafe(24)
        self.cookie = secrets.token_urlsafe(24)
        self.change = secrets.token_urlsafe(24)


class Guard:
    """ASGI middleware that lets pass only what comes from the desk's own pages (OWASP, "CSRF Prevention")."""

    def __init__(self, app: ASGIApp, keys: Keys, port: int):
        self.app = app
        self.keys = keys
        # Cookies know no ports: each desk of a machine needs a name of its own.
        self.cookie = f"tapeside-{port}"
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse one request, and put the guarding headers on every answer."""
        if scope["type"] != "http":
            return await self.app(scope, receive, send)

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers[name] = value
                if not scope["path"].startswith("/static/"):
                    headers["cache-control"] = "no-store"
            await send(message)

        refusal = self._refusal(scope)
        await (refusal or self.app)(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if headers.get("host") not in self.hosts:
            return PlainTextResponse("The desk answers on 127.0.0.1 only.", 421)
        origin = headers.get("origin")
        if origin is not None and origin not in {f"http://{host}" for host in self.hosts}:
            return PlainTextResponse("This request came from another page.", 403)
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            return PlainTextResponse("This request came from another page.", 403)
        if scope["path"].startswith("/static/"):
            return None
        entry = QueryParams(scope["query_string"]).get("key")
        if scope["method"] == "GET" and entry is not None and _same(entry, self.keys.entry):
            opened = RedirectResponse(scope["path"], 303)
            opened.set_cookie(self.cookie, self.keys.cookie, httponly=True, samesite="strict")
            return opened
        cookies = cookie_parser(headers.get("cookie", ""))
        if not _same(cookies.get(self.cookie, ""), self.keys.cookie):
            return PlainTextResponse("Open the desk by the address that `tapeside desk` printed.", 403)
        if scope["method"] not in _SAFE and not _same(headers.get(CHANGES, ""), self.keys.change):
            return PlainTextResponse("This change did not come from the desk's own page; reload it.", 403)
        return None


def _same(given: str, right: str) -> bool:
    return hmac.compare_digest(given.encode(), right.encode())
