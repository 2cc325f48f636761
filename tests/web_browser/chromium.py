"""Which browser the tests drive, how, and what is said where there is none."""

from __future__ import annotations

import os
import shutil

__all__ = ["BROWSER", "FLAGS", "NOT_RUN"]

BROWSER = os.environ.get("FIRSTSHEET_CHROMIUM") or shutil.which("chromium") or ""
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
NOT_RUN = "NOT RUN: no Chromium on this computer (Debian: apt-get install chromium)"
