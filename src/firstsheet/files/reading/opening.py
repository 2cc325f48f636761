"""Opening a picture: recognised by content, checked pixel by pixel, described, never changed.

Takes a path and the person's answers; gives an OpenedPicture: rows, facts, profile and
metadata. What is accepted, asked and refused: docs/theory/opening.md.
Tests: tests/files/test_open_*.py.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Literal

from firstsheet.engine.errors import ChangedOriginalError, FirstsheetError, RefusedPictureError
from firstsheet.engine.records import Finding, PictureFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.files.hashing import sha256_of_reader
from firstsheet.files.reading import findings as say
from firstsheet.files.reading.byte_reader import ByteReader, open_for_reading
from firstsheet.files.reading.colour import Reading, check_float, choose_reading
from firstsheet.files.reading.kind import Kind, recognise
from firstsheet.files.reading.measure import (
    Measured,
    MeasuredKeeper,
    measure,
    packed,
    unpacked,
)
from firstsheet.files.reading.metadata import Metadata
from firstsheet.files.reading.source import PictureSource, damaged_refusal
from firstsheet.files.reading.stored import Stored
from firstsheet.files.reading.summary import make_facts

__all__ = ["OpenedPicture", "open_kind", "open_picture"]


class OpenedPicture:
    """An opened picture; close it, or use it in a `with` block."""

    def __init__(
        self,
        source: PictureSource,
        facts: PictureFacts,
        profile_bytes: bytes,
        metadata: Metadata,
    ) -> None:
        self.source, self.facts = source, facts
        self.profile_bytes, self.metadata = profile_bytes, metadata

    def __enter__(self) -> OpenedPicture:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give files and temporary files back; closing twice is harmless."""
        self.source.close()


def open_picture(
    path: str | Path,
    *,
    page: int | None = None,
    background: Literal["paper", "black"] | None = None,
    read_as: str | None = None,
    answers: Mapping[str, str] | None = None,
    allow_bomb: bool = False,
    inspect_only: bool = False,
    keeper: MeasuredKeeper | None = None,
    progress: Progress | None = None,
    stop: StopCheck | None = None,
) -> OpenedPicture:
    """Open a picture for reading, look at every pixel once, and say what was found.

    Parameters
    ----------
    path
        The picture. It is only ever read.
    page
        Page of a file with several, counted from 1; None takes the first full one.
    background
        What lies under partly clear pixels; None takes paper and says so.
    read_as
        Name of a space, or the file of a profile, for a picture without a usable profile.
    answers
        Replies to questions by finding code, such as `float-over-one: clip`.
    allow_bomb
        Open a small file that claims absurdly many pixels all the same.
    inspect_only
        Open a damaged picture to look at the rows that are real.
    keeper
        Where the pass over all pixels is remembered between two runs; None: nowhere.
    progress, stop
        Told how far the work is; asked whether to stop.

    Raises
    ------
    RefusedPictureError
        If it cannot be printed as it is.
    QuestionError
        If only the person can answer; `choice` names the option.
    ChangedOriginalError
        If the file changes while it is being read.
    """
    reader = open_for_reading(Path(path))
    source: PictureSource | None = None
    digest: _Digest | None = None
    try:
        kind = recognise(reader.read_at(0, 64), reader.path)
        stored = open_kind(reader, kind, page=page, allow_bomb=allow_bomb)
        source = PictureSource(reader, stored.raw, stored.resolver, stored.rows_present)
        if background is not None:
            source.resolve_with(background=background)
        if stored.rows_present is not None and not inspect_only:
            raise damaged_refusal(
                reader.path.name, stored.rows_present, stored.height_px, stored.damage
            )
        reading = choose_reading(stored, read_as)
        digest = _Digest(reader)
        measured = _measured(source, digest, keeper, (stored.page, background), progress, stop)
        notes = _settle(source, stored, measured, reading, answers or {}, background, inspect_only)
        facts = make_facts(source, stored, measured, reading, answers or {}, notes, digest.result())
        if not reader.unchanged_since_opening():
            raise ChangedOriginalError(
                f"{reader.path.name} changed while it was being read.",
                "What was seen may be half of the old and half of the new picture.",
                "Wait until it is saved, then start again.",
                "changed-while-reading",
            )
        return OpenedPicture(source, facts, reading.profile_bytes, stored.metadata)
    except BaseException:
        if digest is not None:
            digest.abandon()
        (source or reader).close()
        raise


def _measured(
    source: PictureSource,
    digest: _Digest,
    keeper: MeasuredKeeper | None,
    opened_as: tuple[object, ...],
    progress: Progress | None,
    stop: StopCheck | None,
) -> Measured:
    """The pass over all pixels: remembered, if this very file was looked at before."""
    if keeper is None:
        return measure(source, progress, stop)
    facts = source.path.stat()
    key = (str(source.path.resolve()), facts.st_size, facts.st_mtime_ns, facts.st_ino, *opened_as)
    kept = keeper.load(key)
    if kept is not None:
        measured, sha256 = unpacked(kept)
        if digest.result() == sha256:  # the bytes are the same, not only the name and the time
            return measured
    measured = measure(source, progress, stop)
    if measured.valid_rows == source.height_px and not measured.damage:
        keeper.save(key, packed(measured, digest.result()))
    return measured


def open_kind(reader: ByteReader, kind: Kind, *, page: int | None, allow_bomb: bool) -> Stored:
    """The format's own opener; only TIFF has pages."""
    if kind == "TIFF":
        from firstsheet.files.reading.tiff import open_tiff

        return open_tiff(reader, page=page, allow_bomb=allow_bomb)
    from firstsheet.files.reading import jpeg_webp, png

    if page not in (None, 1):
        raise RefusedPictureError(
            f"{reader.path.name} is a {kind} with one picture; page {page} was asked for.",
            "There is no such page.",
            "Name no page.",
            "no-such-page",
        )
    openers = {
        "PNG": png.open_png,
        "JPEG": jpeg_webp.open_jpeg,
        "WebP": jpeg_webp.open_webp,
    }
    return openers[kind](reader, allow_bomb=allow_bomb)


def _settle(
    source: PictureSource,
    stored: Stored,
    measured: Measured,
    reading: Reading,
    answers: Mapping[str, str],
    background: str | None,
    inspect_only: bool,
) -> list[Finding]:
    """Refuse, ask or decide what the pass brought to light; gives what there is to say."""
    notes = [*stored.notes, *reading.notes]
    if measured.valid_rows < source.height_px or stored.damage:
        valid = measured.valid_rows
        reason = measured.damage or stored.damage
        if not inspect_only:
            raise damaged_refusal(source.path.name, valid, source.height_px, reason)
        source.end_at(valid, reason)
        notes.append(say.still_damaged(valid, source.height_px, reason))
    if stored.resolver.alpha_sample is not None:
        if not measured.clear_pixels:
            source.resolve_with(alpha_sample=None)
        else:
            notes.append(
                say.partly_clear(
                    source.resolver.background,
                    measured.clear_pixels / measured.pixels * 100.0,
                    asked=background is not None,
                )
            )
    if stored.sample_format == "float":
        notes.extend(check_float(source, measured, answers))
    return notes


class _Digest:
    """The file's SHA-256, worked out on a thread of its own beside the facts pass."""

    def __init__(self, reader: ByteReader) -> None:
        self._answer = ""
        self._error: FirstsheetError | OSError | ValueError | None = None
        self._given_up = False
        self._thread = threading.Thread(target=self._run, args=(reader,), daemon=True)
        self._thread.start()

    def result(self) -> str:
        """Wait for the digest."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        return self._answer

    def abandon(self) -> None:
        """Stop hashing, before the file is closed."""
        self._given_up = True
        self._thread.join()

    def _run(self, reader: ByteReader) -> None:
        try:
            self._answer = sha256_of_reader(reader, None, self._check)
        except _Abandoned:
            pass
        except (FirstsheetError, OSError, ValueError) as error:
            self._error = error

    def _check(self) -> None:
        if self._given_up:
            raise _Abandoned


class _Abandoned(Exception):  # noqa: N818  a signal, not an error
    """The digest is no longer wanted."""
