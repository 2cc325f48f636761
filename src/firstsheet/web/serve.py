"""Runs the bench: a server on this computer only, and a browser shown its address.

Takes allowed places and a port; runs until it is stopped. Tests: tests/web/test_serve.py.
"""

from __future__ import annotations

import contextlib
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path

import uvicorn

from firstsheet.bench.bench import Bench, state_folder, warm_up
from firstsheet.web.app import BenchApp
from firstsheet.web.guard import Keys

__all__ = ["serve"]

_HOST = "127.0.0.1"
_TURN_SECONDS = 0.001  # after which a busy thread lets one with a tile to make have the interpreter


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
    _give_memory_back()
    sys.setswitchinterval(_TURN_SECONDS)
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
            threading.Thread(target=warm_up, name="warming", daemon=True).start()
            if browser:
                threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
            with contextlib.suppress(KeyboardInterrupt):
                server.run(sockets=[listener])
    finally:
        bench.close()


def _give_memory_back() -> None:
    """Ask the C library to return large blocks at once; by default it keeps what it had.

    Numbers of mallopt(3): -3 is the size above which blocks stand alone, -8 the number of pools.
    Where the library is another one, nothing happens.
    """
    import ctypes

    with contextlib.suppress(OSError, AttributeError):
        change = ctypes.CDLL(None).mallopt
        change(-3, 4 << 20)
        change(-8, 2)


def _listening(port: int) -> socket.socket:
    # the protocol must be named: only then are answers sent without waiting for the last packet
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind((_HOST, port))
    listener.set_inheritable(False)
    listener.listen(128)  # from now on a browser that comes early waits instead of being refused
    return listener
