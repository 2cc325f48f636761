"""Who is let in: this computer only, by a key that works once.

Takes every request before anything else sees it. Host and Origin are checked on all of them,
reading ones too, so that no other page and no renamed host can reach in. A first visit with
`/?key=…` gets a cookie and the key is dead. Tests: tests/web/test_guard.py.
"""

from __future__ import annotations

import hmac
import secrets
import threading
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from firstsheet.web.words import REFUSALS

__all__ = ["Guard", "Keys", "refusal"]

COOKIE = "firstsheet"
_POLICY = (
    "default-src 'self'; img-src 'self' blob: data:; style-src 'self'; script-src 'self'; "
    "connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
_ALWAYS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}
_NO_BODY = {"GET", "HEAD"}


def refusal(code: str, status: int) -> Response:
    """A refusal in three sentences."""
    found, consequence, choice = REFUSALS[code]
    error = {"code": code, "found": found, "consequence": consequence, "choice": choice}
    return JSONResponse({"error": error}, status_code=status)


class Keys:
    """The key in the address, good once, and the cookies given for it."""

    def __init__(self) -> None:
        self._unused: set[str] = set()
        self._cookies: set[str] = set()
        self._lock = threading.Lock()

    def fresh(self) -> str:
        """A new key."""
        key = secrets.token_urlsafe(24)
        with self._lock:
            self._unused.add(key)
        return key

    def exchange(self, key: str) -> str | None:
        """A cookie for an unused key; the key is dead afterwards."""
        with self._lock:
            match = next((one for one in self._unused if hmac.compare_digest(one, key)), None)
            if match is None:
                return None
            self._unused.remove(match)
            cookie = secrets.token_urlsafe(24)
            self._cookies.add(cookie)
            return cookie

    def known(self, cookie: str) -> bool:
        """Whether a cookie was given by this run."""
        with self._lock:
            return any(hmac.compare_digest(one, cookie) for one in self._cookies)


class Guard:
    """The application behind its door."""

    def __init__(self, app: ASGIApp, *, port: int, keys: Keys) -> None:
        self._app, self._keys = app, keys
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._origins = {f"http://{host}" for host in self._hosts}
        self._cookie = f"{COOKIE}-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":  # no websockets here
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            return
        answer = self._answer(scope)
        if answer is not None:
            await answer(scope, receive, _adding(send, fresh=False))
            return
        immutable = scope["path"].startswith("/tiles/")
        await self._app(scope, receive, _adding(send, fresh=immutable))

    def _answer(self, scope: Scope) -> Response | None:
        """The refusal or the exchange of the key; None lets the request in."""
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return refusal("wrong-host", 421)
        origins = headers.getlist("origin")
        if any(one.lower() not in self._origins for one in origins):
            return refusal("wrong-origin", 403)
        if headers.get("sec-fetch-site") not in (None, "same-origin", "none"):
            return refusal("wrong-origin", 403)
        if scope["method"] not in _NO_BODY and not origins and headers.get("x-firstsheet") != "1":
            return refusal("wrong-origin", 403)
        if scope["path"] == "/" and scope["method"] == "GET":
            key = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
            cookie = self._keys.exchange(key) if key else None
            if cookie is not None:
                return self._let_in(cookie)
        if self._keys.known(self._cookie_of(headers)):
            return None
        if scope["path"].startswith(("/api", "/tiles")):
            return refusal("no-key", 401)
        return PlainTextResponse(" ".join(REFUSALS["no-key"]) + "\n", status_code=401)

    def _let_in(self, cookie: str) -> Response:
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._cookie, cookie, httponly=True, samesite="strict", path="/")
        return answer

    def _cookie_of(self, headers: Headers) -> str:
        jar: SimpleCookie = SimpleCookie()
        try:
            jar.load(headers.get("cookie", ""))
        except CookieError:
            return ""
        held = jar.get(self._cookie)
        return held.value if held is not None else ""


def _adding(send: Send, *, fresh: bool) -> Send:
    """Send with the headers every answer carries; nothing is kept unless it says so itself."""

    async def adding(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _ALWAYS.items():
                headers.setdefault(name, value)
            if not (fresh and "cache-control" in headers):
                headers["Cache-Control"] = "no-store"
        await send(message)

    return adding
