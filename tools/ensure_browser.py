"""Sees to a Chromium for the browser tests: installs Debian's where it may, else says so loudly.

Called by `make test`. Never fails: without a browser those tests are skipped, with the reason.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

_COMMANDS = (
    ["apt-get", "update", "-qq"],
    ["apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium"],
)


def main() -> None:
    """Install or complain."""
    if os.environ.get("FIRSTSHEET_CHROMIUM") or shutil.which("chromium"):
        return
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    if root and shutil.which("apt-get"):
        sys.stdout.write("Installing Chromium for the browser tests…\n")
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for command in _COMMANDS:
            subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL, check=False)
        if shutil.which("chromium"):
            return
    line = "!" * 78
    sys.stdout.write(
        f"{line}\nNO CHROMIUM HERE: the browser tests will NOT be run.\n"
        f"Debian: apt-get install chromium; elsewhere set FIRSTSHEET_CHROMIUM.\n{line}\n"
    )


if __name__ == "__main__":
    main()
