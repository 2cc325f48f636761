"""Runs the bench: a server on this computer only, and a browser shown its address.

Takes allowed places and a port; runs until it is stopped. Tests: tests/web/test_serve.py.
"""

from __future__ import annotations

import contextlib
import os
import socket
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path

import uvicorn

from firstsheet.jobs.bench import Bench, state_folder
from firstsheet.web.app import BenchApp
from firstsheet.web.guard import Keys

__all__ = ["serve"]

_HOST = "127.0.0.1"


class _Server(uvicorn.Server):
    """Ends its open event streams before it waits for them."""

    on_end: Callable[[], None] = staticmethod(lambda: None)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self.on_end()
        await super().shutdown(sockets)


def serve(
    places: Sequence[Path],
    *,
    port: int,
    browser: bool,
    stocks_dir: Path | None,
    tell: Callable[[str], None],
) -> None:
    """Serve until stopped.

    Parameters
    ----------
    places
        Folders and files the page may open.
    port
        0 takes a free one.
    tell
        Called once with the address to open.
    """
    bench = Bench(places, state=state_folder(), stocks_dir=stocks_dir)
    keys = Keys()
    try:
        with contextlib.closing(_listening(port)) as listener:
            taken = listener.getsockname()[1]
            app = BenchApp(bench, port=taken, keys=keys)
            server = _Server(
                uvicorn.Config(
                    app.asgi,
                    log_level="warning",
                    access_log=False,
                    server_header=False,
                    timeout_graceful_shutdown=1,
                    lifespan="off",
                    http="h11",
                    ws="none",
                )
            )
            server.on_end = app.close
            address = f"http://{_HOST}:{taken}/?key={keys.fresh()}"
            tell(address)
            if browser:
                threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
            with contextlib.suppress(KeyboardInterrupt):
                server.run(sockets=[listener])
    finally:
        bench.close()


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind((_HOST, port))
    listener.set_inheritable(False)
    return listener
