"""Pipes and devices are refused at once, as what they are."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from firstsheet.engine.errors import StockError, TicketError
from firstsheet.jobs.planning.ticket_source import wish_from
from firstsheet.jobs.stocks import add
from firstsheet.store.tickets import read_ticket

needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")


@needs_pipes
def test_a_pipe_named_as_ticket_is_not_waited_on(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "p.toml")
    with pytest.raises(TicketError, match="a pipe, not a file"):
        read_ticket(tmp_path / "p.toml")


@needs_pipes
def test_a_pipe_named_as_plan_is_not_waited_on(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "p.json")
    with pytest.raises(TicketError, match="cannot be read"):
        wish_from(tmp_path / "p.json", {})


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_an_endless_device_named_as_profile_takes_no_memory(tmp_path: Path) -> None:
    with pytest.raises(StockError, match="a device, not a file"):
        add(Path("/dev/zero"), name="x", surface="matte", stocks_dir=tmp_path)
