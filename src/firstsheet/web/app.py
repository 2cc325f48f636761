"""The page's addresses: each asks the bench one thing and hands its answer on.

Takes a Bench; gives an ASGI application. No arithmetic and no decisions here. Slow answers are
worked out on threads, so that the loop is never held up; tiles have threads of their own.
The API: docs/bench.md. Tests: tests/web/.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from firstsheet.bench.bench import Bench
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.records import Record
from firstsheet.web.guard import Guard, Keys, refusal

__all__ = ["BenchApp"]

STATIC = Path(__file__).parent / "static"
_NEWS_WAITING = 256  # events a page may be behind before it is told to look again
_PULSE_SECONDS = 15.0
_LARGEST_PROFILE_BYTES = 64 * 2**20
Answer = TypeVar("Answer")
Handler = Callable[[Request], Awaitable[Response]]


class BenchApp:
    """The application, its threads and its open event streams."""

    def __init__(self, bench: Bench, *, port: int, keys: Keys) -> None:
        self._bench = bench
        self._quick = ThreadPoolExecutor(4, thread_name_prefix="asking")
        self._tiles = ThreadPoolExecutor(2, thread_name_prefix="tiles")
        self._slow = ThreadPoolExecutor(2, thread_name_prefix="measuring")
        self._ending = asyncio.Event()
        inner = Starlette(routes=self._routes(), exception_handlers={404: _nothing, 405: _nothing})
        self.asgi: ASGIApp = Guard(inner, port=port, keys=keys)

    def close(self) -> None:
        """End event streams and threads."""
        self._ending.set()
        for pool in (self._quick, self._tiles, self._slow):
            pool.shutdown(wait=False, cancel_futures=True)

    # ---- plumbing --------------------------------------------------------------------------

    async def _ask(
        self, pool: ThreadPoolExecutor, work: Callable[..., Answer], *args: Any, **words: Any
    ) -> Answer:
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(pool, partial(work, *args, **words))

    def _routes(self) -> list[Route | Any]:
        def api(path: str, handler: Handler, *methods: str) -> Route:
            return Route(f"/api{path}", _guarded(handler), methods=list(methods or ("GET",)))

        return [
            Route("/", self._page),
            api("/start", self._start),
            api("/paths", self._paths),
            api("/open", self._open, "POST"),
            api("/draft/{id}", self._draft, "GET"),
            api("/draft/{id}", self._remove, "DELETE"),
            api("/draft/{id}/set", self._set, "POST"),
            api("/draft/{id}/undo", self._undo, "POST"),
            api("/draft/{id}/redo", self._redo, "POST"),
            api("/draft/{id}/choose", self._choose, "POST"),
            api("/draft/{id}/spot", self._spot),
            api("/draft/{id}/regions", self._regions),
            api("/draft/{id}/seen", self._seen),
            api("/draft/{id}/compare", self._compare),
            api("/draft/{id}/sizes", self._sizes),
            api("/draft/{id}/rescan", self._rescan),
            api("/draft/{id}/ticket.toml", self._ticket),
            api("/draft/{id}/first-look", self._first_look),
            api("/draft/{id}/thumb", self._thumb),
            api("/draft/{id}/small-proof", self._small_proof),
            api("/draft/{id}/make", self._make, "POST"),
            api("/make-all", self._make_all, "POST"),
            api("/jobs", self._jobs),
            api("/job/{job}", self._job),
            api("/job/{job}/stop", self._stop, "POST"),
            api("/made/{job}/{name}", self._made),
            api("/upload", self._may_upload, "GET"),
            api("/upload", self._upload, "PUT"),
            api("/recent", self._recent),
            api("/stocks", self._stocks, "GET"),
            api("/stocks", self._add_stock, "PUT"),
            api("/stocks/{name}", self._stock, "GET"),
            api("/stocks/{name}", self._change_stock, "PATCH"),
            api("/stocks/{name}", self._remove_stock, "DELETE"),
            api("/stocks/{name}/gamut", self._gamut),
            api("/screen", self._screen, "POST"),
            api("/events", self._events),
            Route("/colour-test.png", _guarded(self._colour_test)),
            Route("/loss-scale.png", _guarded(self._loss_scale)),
            Route(
                "/tiles/{id}/{kind}/{digest}/{z:int}/{x:int}/{y:int}.{suffix}",
                _guarded(self._tile),
            ),
            _static(),
        ]

    # ---- pages -----------------------------------------------------------------------------

    async def _page(self, _request: Request) -> Response:
        return FileResponse(STATIC / "index.html")

    async def _start(self, _request: Request) -> Response:
        return _record(await self._ask(self._quick, self._bench.start))

    async def _paths(self, request: Request) -> Response:
        typed = request.query_params.get("q", "")
        return _records("entries", await self._ask(self._quick, self._bench.paths, typed))

    async def _open(self, request: Request) -> Response:
        words = await _body(request)
        opened = await self._ask(self._quick, self._bench.open, str(words.get("path", "")))
        return JSONResponse({"id": opened})

    async def _draft(self, request: Request) -> Response:
        return await self._view(self._bench.view, request)

    async def _set(self, request: Request) -> Response:
        words = await _body(request)
        changes = {str(key): str(value) for key, value in dict(words.get("changes", {})).items()}
        revision = int(words.get("revision", 0))
        return await self._view(self._bench.set, request, revision, changes)

    async def _undo(self, request: Request) -> Response:
        return await self._view(partial(self._bench.step, back=True), request)

    async def _redo(self, request: Request) -> Response:
        return await self._view(partial(self._bench.step, back=False), request)

    async def _remove(self, request: Request) -> Response:
        await self._ask(self._quick, self._bench.remove, request.path_params["id"])
        return JSONResponse({})

    async def _choose(self, request: Request) -> Response:
        words = await _body(request)
        code, index = str(words.get("code", "")), int(words.get("index", -1))
        return await self._view(self._bench.choose, request, code, index)

    # ---- looking ---------------------------------------------------------------------------

    async def _spot(self, request: Request) -> Response:
        x_mm, y_mm = (float(request.query_params[one]) for one in ("x", "y"))
        answer = await self._ask(
            self._quick, self._bench.pictures.spot, request.path_params["id"], x_mm, y_mm
        )
        return refusal("not-found", 404) if answer is None else _record(answer)

    async def _regions(self, request: Request) -> Response:
        answer = await self._ask(
            self._quick, self._bench.pictures.regions, request.path_params["id"]
        )
        return refusal("not-found", 404) if answer is None else _record(answer)

    async def _seen(self, request: Request) -> Response:
        answer = await self._ask(self._quick, self._bench.pictures.seen, request.path_params["id"])
        return refusal("not-found", 404) if answer is None else _record(answer)

    async def _compare(self, request: Request) -> Response:
        return await self._view(self._bench.pictures.compare, request)

    async def _sizes(self, request: Request) -> Response:
        return await self._view(self._bench.pictures.sizes, request)

    async def _rescan(self, request: Request) -> Response:
        return await self._view(
            self._bench.pictures.rescan, request, request.query_params.get("film", "")
        )

    async def _ticket(self, request: Request) -> Response:
        text = await self._ask(
            self._quick, self._bench.making.ticket_text, request.path_params["id"]
        )
        return Response(text, media_type="application/toml")

    async def _first_look(self, request: Request) -> Response:
        return _image(
            await self._ask(self._quick, self._bench.pictures.first_look, request.path_params["id"])
        )

    async def _thumb(self, request: Request) -> Response:
        key, value = (request.query_params.get(one, "") for one in ("key", "value"))
        draft = request.path_params["id"]
        try:
            return _image(
                await self._ask(self._slow, self._bench.pictures.thumb, draft, key, value)
            )
        except FirstsheetError:
            if key:
                raise
            return Response(status_code=204)  # a list with one picture less, no fault of a page

    async def _small_proof(self, request: Request) -> Response:
        stock, intent = (request.query_params.get(one, "") for one in ("stock", "intent"))
        draft = request.path_params["id"]
        return _image(
            await self._ask(self._slow, self._bench.pictures.small_proof, draft, stock, intent)
        )

    async def _colour_test(self, _request: Request) -> Response:
        from firstsheet.bench.test_pictures import colour_test

        return _image(await self._ask(self._quick, colour_test), "image/png")

    async def _loss_scale(self, _request: Request) -> Response:
        from firstsheet.bench.test_pictures import loss_scale

        return _image(await self._ask(self._quick, loss_scale), "image/png")

    # ---- making ----------------------------------------------------------------------------

    async def _make(self, request: Request) -> Response:
        words = await _body(request)
        job = await self._ask(
            self._quick,
            self._bench.making.make,
            request.path_params["id"],
            str(words.get("folder") or ""),
            replace=words.get("replace") is True,
        )
        return JSONResponse({"job": job})

    async def _make_all(self, request: Request) -> Response:
        words = await _body(request)
        ids = [str(one) for one in words.get("ids", [])]
        replace = words.get("replace") is True
        job = await self._ask(self._quick, self._bench.making.make_all, ids, replace=replace)
        return JSONResponse({"job": job})

    async def _jobs(self, _request: Request) -> Response:
        return _records("jobs", self._bench.parts.works.all())

    async def _job(self, request: Request) -> Response:
        view = self._bench.parts.works.get(request.path_params["job"])
        return refusal("not-found", 404) if view is None else _record(view)

    async def _stop(self, request: Request) -> Response:
        view = self._bench.parts.works.stop(request.path_params["job"])
        return refusal("not-found", 404) if view is None else _record(view)

    async def _made(self, request: Request) -> Response:
        path = request.path_params
        file = await self._ask(self._quick, self._bench.parts.works.file, path["job"], path["name"])
        if file is None:
            return refusal("not-found", 404)
        if file.suffix != ".pdf":
            return FileResponse(file)
        # The page shows the job sheet in a frame; no other page may.
        framed = {
            "Content-Security-Policy": "frame-ancestors 'self'",
            "X-Frame-Options": "SAMEORIGIN",
        }
        return FileResponse(file, content_disposition_type="inline", headers=framed)

    # ---- uploads ---------------------------------------------------------------------------

    async def _may_upload(self, request: Request) -> Response:
        """Whether a file of that name and length would be taken: asked before it is sent."""
        words = request.query_params
        length = int(words.get("bytes", "0"))
        await self._ask(self._quick, self._bench.upload, words.get("name", ""), length)
        return JSONResponse({})

    async def _upload(self, request: Request) -> Response:
        """Take a file in.

        What is refused is still read to its end: not every browser hears an answer while it sends.
        """
        name = request.query_params.get("name", "")
        length = request.headers.get("content-length", "")
        announced = int(length) if length.isdigit() else None
        upload, refused, path = None, None, None
        try:
            upload = await self._ask(self._quick, self._bench.upload, name, announced)
        except FirstsheetError as error:
            refused = error
        try:
            async for chunk in request.stream():
                if not chunk or upload is None or refused is not None:
                    continue
                try:
                    await self._ask(self._quick, upload.write, chunk)
                except FirstsheetError as error:
                    refused = error
            if refused is not None:
                raise refused
            assert upload is not None
            path = await self._ask(self._quick, upload.finish)
        except ClientDisconnect:
            return Response(status_code=499)
        finally:
            if upload is not None and path is None:
                upload.abandon()
        return JSONResponse({"path": str(path)})

    # ---- stocks ----------------------------------------------------------------------------

    async def _recent(self, _request: Request) -> Response:
        return _records("recent", await self._ask(self._quick, self._bench.recent))

    async def _stocks(self, _request: Request) -> Response:
        return _record(await self._ask(self._slow, self._bench.parts.stocks.list))

    async def _stock(self, request: Request) -> Response:
        name = request.path_params["name"]
        return _record(await self._ask(self._slow, self._bench.parts.stocks.show, name))

    async def _add_stock(self, request: Request) -> Response:
        profile = b""
        async for chunk in request.stream():
            profile += chunk
            if len(profile) > _LARGEST_PROFILE_BYTES:
                return refusal("too-large", 413)
        words = dict(request.query_params)
        return _record(await self._ask(self._slow, self._bench.parts.stocks.add, profile, words))

    async def _change_stock(self, request: Request) -> Response:
        words = {str(key): str(value) for key, value in (await _body(request)).items()}
        name = request.path_params["name"]
        return _record(await self._ask(self._slow, self._bench.parts.stocks.change, name, words))

    async def _remove_stock(self, request: Request) -> Response:
        name = request.path_params["name"]
        return _record(await self._ask(self._slow, self._bench.parts.stocks.remove, name))

    async def _gamut(self, request: Request) -> Response:
        draft = request.query_params.get("draft")
        name = request.path_params["name"]
        return _record(await self._ask(self._slow, self._bench.pictures.gamut, name, draft))

    async def _screen(self, request: Request) -> Response:
        words = await _body(request)
        screen = {str(key): float(value) for key, value in words.items()}
        await self._ask(self._quick, self._bench.keep_screen, screen)
        return JSONResponse({})

    async def _view(self, work: Callable[..., Record], request: Request, *args: Any) -> Response:
        return _record(await self._ask(self._quick, work, request.path_params["id"], *args))

    async def _tile(self, request: Request) -> Response:
        path = request.path_params
        tile = await self._ask(
            self._tiles,
            self._bench.pictures.tile,
            path["id"],
            path["kind"],
            path["digest"],
            (path["z"], path["x"], path["y"]),
            path["suffix"],
        )
        if tile is None:
            return refusal("not-found", 404)
        kind = "image/png" if path["suffix"] == "png" else "image/jpeg"
        keep = "private, max-age=31536000, immutable" if tile.final else "no-store"
        return Response(tile.data, media_type=kind, headers={"Cache-Control": keep})

    # ---- events ----------------------------------------------------------------------------

    async def _events(self, _request: Request) -> Response:
        return StreamingResponse(self._stream(), media_type="text/event-stream")

    async def _stream(self) -> AsyncIterator[str]:
        loop = asyncio.get_running_loop()
        waiting: asyncio.Queue[Mapping[str, Any]] = asyncio.Queue(_NEWS_WAITING)

        def put(event: Mapping[str, Any]) -> None:
            if waiting.full():
                waiting.get_nowait()
            waiting.put_nowait(event)

        def hear(event: Mapping[str, Any]) -> None:
            if not loop.is_closed():
                loop.call_soon_threadsafe(put, event)

        end = self._bench.parts.news.listen(hear)
        ending = asyncio.ensure_future(self._ending.wait())
        following: asyncio.Future[Mapping[str, Any]] | None = None
        try:
            yield "retry: 500\n\n"
            while not self._ending.is_set():
                following = asyncio.ensure_future(waiting.get())
                done, _ = await asyncio.wait(
                    {following, ending},
                    timeout=_PULSE_SECONDS,
                    return_when=asyncio.FIRST_COMPLETED,
                )
                if following not in done:
                    following.cancel()
                    yield ": still here\n\n"
                    continue
                yield f"data: {json.dumps(following.result(), ensure_ascii=False)}\n\n"
        finally:
            end()
            ending.cancel()
            if following is not None:  # a page that went away leaves nothing waiting
                following.cancel()


def _static() -> Any:
    from starlette.routing import Mount

    return Mount("/static", StaticFiles(directory=STATIC))


def _image(data: bytes | None, kind: str = "image/jpeg") -> Response:
    return refusal("not-found", 404) if data is None else Response(data, media_type=kind)


def _guarded(handler: Handler) -> Handler:
    """Errors become their three sentences, never a traceback."""

    async def safe(request: Request) -> Response:
        try:
            return await handler(request)
        except FirstsheetError as error:
            return _error(error)
        except (KeyError, ValueError, TypeError):
            return refusal("not-json", 400)

    return safe


def _error(error: FirstsheetError) -> Response:
    words = {
        "code": error.code,
        "found": error.found,
        "consequence": error.consequence,
        "choice": error.choice,
    }
    status = {"unknown-draft": 404, "not-allowed": 403}.get(error.code, 422)
    return JSONResponse({"error": words}, status_code=status)


async def _nothing(_request: Request, _error: Exception) -> Response:
    return refusal("not-found", 404)


async def _body(request: Request) -> Mapping[str, Any]:
    body = json.loads(await request.body())
    if not isinstance(body, dict):
        raise ValueError("not an object")
    return body


def _record(record: Record) -> Response:
    return Response(record.model_dump_json(), media_type="application/json")


def _records(name: str, records: tuple[Record, ...]) -> Response:
    return JSONResponse({name: [one.model_dump(mode="json") for one in records]})
