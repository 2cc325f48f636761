"""A bench without jobs behind it: canned answers and made tiles, for the page alone.

Takes a picture as numbers; gives the address of a running server that speaks the page's API
(docs/bench-page.md). Used where a test must know every pixel that is sent. It counts no
millimetre itself: what it says is written down here.
"""

from __future__ import annotations

import asyncio
import io
import socket
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import uvicorn
from numpy.typing import NDArray
from PIL import Image
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

import firstsheet.web

__all__ = ["MockBench", "running"]

STATIC = Path(firstsheet.web.__file__).parent / "static"
TILE = 512
Pixels = NDArray[np.uint8]


class MockBench:
    """One canned ticket, and what was asked of it."""

    def __init__(self, pixels: Pixels) -> None:
        self.levels = [pixels]
        while max(self.levels[0].shape[:2]) > TILE:
            self.levels.insert(0, _halved(self.levels[0]))
        self.revision = 1
        self.values: dict[str, str] = {
            "print.width": "400 mm",
            "stock": "chalk-matte",
            "print.sheet": "A3+",
            "border": "centred",
            "place.distance": "1.5 m",
            "place.light": "200",
            "colour.intent": "relative",
        }
        self.asked: list[dict[str, Any]] = []
        self.earlier: list[dict[str, str]] = []
        self.ending = False
        self.tag = b""  # profile sent with each tile

    # ---- answers ---------------------------------------------------------------------------

    def view(self, slips: Mapping[str, Any] | None = None) -> dict[str, Any]:
        height, width = self.levels[-1].shape[:2]
        wide_mm = float(self.values["print.width"].split()[0])
        high_mm = wide_mm * height / width
        sheet_mm = (483.0, 330.0) if width >= height else (330.0, 483.0)
        left, top = (sheet_mm[0] - wide_mm) / 2, (sheet_mm[1] - high_mm) / 2
        one = {
            "width": width,
            "height": height,
            "zmax": len(self.levels) - 1,
            "tile": TILE,
        }
        return {
            "id": "0badcafe",
            "revision": self.revision,
            "name": "ferry-stairs",
            "path": "/harbour/ferry-stairs.tif",
            "state": "ready",
            "sentence": self.sentence(),
            "sheet": {
                "name": self.values["print.sheet"],
                "width_mm": sheet_mm[0],
                "height_mm": sheet_mm[1],
                "picture": {"left": left, "top": top, "width": wide_mm, "height": high_mm},
                "unprintable": {"top": 3, "right": 3, "bottom": 15, "left": 3},
                "border_mm": {"top": top, "right": left, "bottom": top, "left": left},
                "crop": {"left": 0, "top": 0, "width": 1, "height": 1},
                "sheet_texts": [f"{one:g} mm" for one in sheet_mm],
                "picture_words": f"{wide_mm:g} × {high_mm:g} mm",
                "width_words": f"{wide_mm:g} mm · 15 3/4 in",
                "height_words": f"{high_mm:.1f} mm",
                "border_texts": [
                    f"{top:.1f} mm",
                    f"{left:.1f} mm",
                    f"{top:.1f} mm",
                    f"{left:.1f} mm",
                ],
                "distance_mm": 1500,
                "angle_degrees": [18, 12],
                "shift_mm": [0, 0],
                "offset": [0, 0],
                "can_crop": [False, False],
            },
            "findings": [
                {
                    "code": "small-border",
                    "weight": "caution",
                    "found": "The lower border is narrow: 15 mm of it cannot be printed.",
                    "consequence": "A picture that reaches there loses its edge.",
                    "choices": [
                        {"text": "Print it 380 mm wide", "applies": True},
                        {"text": "or trim the sheet", "applies": False},
                    ],
                    "figures": {},
                    "source": "",
                }
            ],
            "figures": [
                {
                    "key": "effective-ppi",
                    "label": "The file's own pixels",
                    "value": "284 ppi",
                    "how": {
                        "formula": "pixels ÷ inches",
                        "inputs": [{"name": "pixels", "value": str(width)}],
                        "source": "definition of pixels per inch",
                    },
                }
            ],
            "verdict": f"Good enough at {self.values['place.distance']}.",
            "plan_digest": f"digest-{self.revision}",
            "questions": [],
            "tiles": {
                kind: {**one, "url": f"/tiles/0badcafe/{kind}/d/{{z}}/{{x}}/{{y}}.jpg"}
                for kind in ("proof", "loss", "print", "print-unsharpened")
            },
            "loss": None,
            "proof_caption": "As it will look on the paper.",
            "estimate": {"seconds": 3, "bytes": 1, "free_bytes": 9, "words": "About 3 seconds."},
            "undo": bool(self.earlier),
            "redo": False,
            "slips": dict(slips or {}),
        }

    def sentence(self) -> list[dict[str, Any]]:
        stocks = [("chalk-matte", "Chalk Matte 310"), ("harbour-gloss", "Harbour Gloss 270")]

        def field(key: str, kind: str, title: str, unit: str = "") -> dict[str, Any]:
            text = f"{self.values[key]} {unit}".strip()
            return {
                "key": key,
                "text": text,
                "value": self.values[key],
                "kind": kind,
                "unit": unit,
                "title": title,
            }

        def choice(key: str, title: str, options: list[tuple[str, str]]) -> dict[str, Any]:
            return {
                "key": key,
                "text": dict(options)[self.values[key]],
                "value": self.values[key],
                "kind": "choice",
                "title": title,
                "options": [{"value": value, "text": text} for value, text in options],
            }

        def words(text: str) -> dict[str, Any]:
            return {"text": text}

        return [
            words("Print ferry-stairs "),
            field("print.width", "length", "Width of the picture"),
            words(" wide on "),
            choice("stock", "Paper and printer", stocks),
            words(", sheet "),
            choice("print.sheet", "Sheet", [("A3+", "A3+"), ("A2", "A2")]),
            words(", border "),
            choice("border", "Border", [("centred", "centred"), ("even", "even")]),
            words(", seen from "),
            field("place.distance", "length", "Distance"),
            words(" in "),
            field("place.light", "number", "Light on the print, lux", "lux"),
            words("."),
        ]

    # ---- addresses -------------------------------------------------------------------------

    async def draft(self, _request: Request) -> Response:
        return JSONResponse(self.view())

    async def set(self, request: Request) -> Response:
        body = await request.json()
        self.asked.append(body)
        if any("nonsense" in value for value in body["changes"].values()):
            slip = {"found": "That is no length.", "consequence": "It stays.", "choice": "400 mm."}
            return JSONResponse(self.view(dict.fromkeys(body["changes"], slip)))
        self.earlier.append(dict(self.values))
        self.values |= body["changes"]
        self.revision += 1
        return JSONResponse(self.view())

    async def undo(self, _request: Request) -> Response:
        self.values = self.earlier.pop()
        self.revision += 1
        return JSONResponse(self.view())

    async def tile(self, request: Request) -> Response:
        path = request.path_params
        level = self.levels[path["z"]]
        x, y = path["x"] * TILE, path["y"] * TILE
        cut = level[y : y + TILE, x : x + TILE]
        if path["kind"] == "print-unsharpened":
            cut = 255 - cut
        out = io.BytesIO()
        tag = {"icc_profile": self.tag} if self.tag else {}
        Image.fromarray(cut).save(out, "PNG", compress_level=0, **tag)
        return Response(out.getvalue(), media_type="image/png")

    async def start(self, _request: Request) -> Response:
        recent = [{"id": "0badcafe", "name": "ferry-stairs", "title": "ferry-stairs",
                   "verdict": "Good enough.", "weight": "fine"}]  # fmt: skip
        folder = {"path": "/harbour", "name": "harbour", "kind": "folder", "size": 0}
        return JSONResponse(
            {"version": "0", "allowed": [folder], "recent": recent, "stocks": [], "screen": {}}
        )

    async def stock(self, _request: Request) -> Response:
        facts = {"white_lab": [96.0, 0.2, -1.5]}
        return JSONResponse({"stock": {"facts": facts}, "builtin": True, "file": ""})

    async def events(self, _request: Request) -> Response:
        async def none() -> Any:
            yield "retry: 60000\n\n"
            while not self.ending:
                await asyncio.sleep(0.05)
                yield ": still here\n\n"

        return StreamingResponse(none(), media_type="text/event-stream")

    async def page(self, _request: Request) -> Response:
        return FileResponse(STATIC / "index.html")

    def app(self) -> Starlette:
        """The application."""
        return Starlette(
            routes=[
                Route("/", self.page),
                Route("/api/start", self.start),
                Route("/api/events", self.events),
                Route("/api/stocks/{name}", self.stock),
                Route("/api/draft/{id}", self.draft),
                Route("/api/draft/{id}/set", self.set, methods=["POST"]),
                Route("/api/draft/{id}/undo", self.undo, methods=["POST"]),
                Route("/tiles/{id}/{kind}/{digest}/{z:int}/{x:int}/{y:int}.{suffix}", self.tile),
                Mount("/static", StaticFiles(directory=STATIC)),
            ]
        )


def _halved(pixels: Pixels) -> Pixels:
    """Half as large by the mean of four; odd rims are repeated."""
    height, width = pixels.shape[:2]
    wide = np.pad(pixels, ((0, height % 2), (0, width % 2), (0, 0)), "edge").astype(np.uint16)
    total = wide[::2, ::2] + wide[1::2, ::2] + wide[::2, 1::2] + wide[1::2, 1::2]
    return (total // 4).astype(np.uint8)


@contextmanager
def running(bench: MockBench) -> Iterator[str]:
    """Serve until the block ends; gives the address."""
    listener = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(
        bench.app(), log_level="warning", lifespan="off", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        bench.ending = True
        server.should_exit = True
        thread.join(5)
        listener.close()
