"""Machine code of one kernel as a file that can be mapped and called, without any compiler.

Takes an ELF object (x86-64); gives a flat image in which every reference is already settled,
because all of them are relative and inside. What cannot be settled so is refused, and the
caller compiles in the ordinary way. Format of the object: System V ABI, AMD64 supplement,
sections 4.3 and 4.4. Theory: docs/theory/speed.md. Tests: tests/pixels/test_native_kernels.py.
"""

from __future__ import annotations

import hashlib
import mmap
import os
import struct
import sys
from pathlib import Path

__all__ = ["ImageError", "link_object", "map_image", "supported", "write_image"]

_MAGIC = b"FSKERN02"
_PAGE = 4096
_ALLOC = 0x2
_NOBITS = 8
_SYMTAB, _RELA = 2, 4
_PC32, _PLT32 = 2, 4
_UNREACHED = {b"NRT_MemInfo_call_dtor"}  # frees what arrays own; ours own nothing
_TRAP = b"\x0f\x0b".ljust(16, b"\xcc")  # ud2


class ImageError(Exception):
    """The image cannot be made or trusted; the ordinary compiler takes over."""


def supported() -> bool:
    """True where images are made and mapped: Linux on x86-64."""
    return sys.platform == "linux" and os.uname().machine == "x86_64"


def link_object(elf: bytes, symbol: str) -> tuple[bytes, int]:
    """Lay out an ELF object so that it runs wherever it lies; gives code and entry offset.

    Raises
    ------
    ImageError
        If it refers to anything outside itself, or needs its own address.
    """
    if elf[:4] != b"\x7fELF" or elf[4] != 2 or elf[5] != 1:
        raise ImageError("not a 64-bit little-endian object")
    (table_at,) = struct.unpack_from("<Q", elf, 0x28)
    entry_size, count = struct.unpack_from("<HH", elf, 0x3A)
    sections = [
        struct.unpack_from("<IIQQQQIIQQ", elf, table_at + i * entry_size) for i in range(count)
    ]
    names = sections[struct.unpack_from("<H", elf, 0x3E)[0]][4]
    code = bytearray()
    placed: dict[int, int] = {}
    for index, (name, kind, flags, _, offset, size, _, _, align, _) in enumerate(sections):
        label = elf[names + name : elf.index(b"\0", names + name)]
        if not flags & _ALLOC or label.startswith(b".eh_frame") or size == 0:
            continue
        if kind == _NOBITS:
            raise ImageError("the kernel keeps state")
        code += b"\0" * (-len(code) % max(align, 16))
        placed[index] = len(code)
        code += elf[offset : offset + size]
    code += b"\0" * (-len(code) % 16)
    trap = len(code)
    code += _TRAP
    symbols = next((s for s in sections if s[1] == _SYMTAB), None)
    if symbols is None:
        raise ImageError("no symbols")
    for section in sections:
        if section[1] == _RELA and section[7] in placed:
            _settle(elf, code, section, symbols, placed, trap, sections[symbols[6]][4])
    return bytes(code), _entry(elf, symbols, sections, placed, symbol)


_Section = tuple[int, int, int, int, int, int, int, int, int, int]


def _settle(
    elf: bytes,
    code: bytearray,
    section: _Section,
    symbols: _Section,
    placed: dict[int, int],
    trap: int,
    strings: int,
) -> None:
    """Write every relative reference of one section."""
    base = placed[section[7]]
    for at in range(section[4], section[4] + section[5], 24):
        offset, info, addend = struct.unpack_from("<QQq", elf, at)
        if info & 0xFFFFFFFF not in (_PC32, _PLT32):
            raise ImageError(f"relocation of type {info & 0xFFFFFFFF}")
        name, _, _, home, value, _ = struct.unpack_from(
            "<IBBHQQ", elf, symbols[4] + (info >> 32) * 24
        )
        start = strings + name
        label = elf[start : elf.index(b"\0", start)]
        if home not in placed and label not in _UNREACHED:
            raise ImageError(f"a reference leads outside: {label.decode()}")
        goal = placed[home] + value if home in placed else trap
        place = base + offset
        struct.pack_into("<i", code, place, goal + addend - place)


def _entry(
    elf: bytes,
    symbols: _Section,
    sections: list[_Section],
    placed: dict[int, int],
    symbol: str,
) -> int:
    """Where the kernel begins."""
    strings = sections[symbols[6]][4]
    wanted = symbol.encode()
    for at in range(symbols[4], symbols[4] + symbols[5], 24):
        name, _, _, home, value, _ = struct.unpack_from("<IBBHQQ", elf, at)
        start = strings + name
        if home in placed and elf[start : elf.index(b"\0", start)] == wanted:
            return placed[home] + int(value)
    raise ImageError("the kernel is missing")


def write_image(path: Path, code: bytes, entry: int) -> None:
    """Write the image whole or not at all."""
    body = struct.pack("<QQ", entry, len(code))
    head = _MAGIC + hashlib.sha256(body + code).digest() + body
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with part.open("xb") as file:
            file.write(head.ljust(_PAGE, b"\0") + code)
        part.chmod(0o600)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def map_image(path: Path) -> tuple[int, object]:
    """Map an image and give the address of its kernel, and what to hold on to.

    Raises
    ------
    ImageError
        If the file is missing, changed, another user's, or may not be run.
    """
    try:
        with path.open("rb") as file:
            facts = os.fstat(file.fileno())
            if facts.st_uid != os.geteuid() or facts.st_mode & 0o022:
                raise ImageError("others could have written it")
            whole = mmap.mmap(
                file.fileno(), 0, flags=mmap.MAP_PRIVATE, prot=mmap.PROT_READ | mmap.PROT_EXEC
            )
    except (OSError, ValueError) as error:
        raise ImageError(str(error)) from error
    entry, size = struct.unpack_from("<QQ", whole, 40) if len(whole) >= _PAGE else (0, 0)
    digest = hashlib.sha256(whole[40:56])
    digest.update(memoryview(whole)[_PAGE:])
    good = whole[:8] == _MAGIC and whole[8:40] == digest.digest()
    if not good or len(whole) != _PAGE + size or entry >= size:
        raise ImageError("it is not the image that was written")
    import numpy as np

    view = np.frombuffer(whole, dtype=np.uint8)
    return int(view.ctypes.data) + _PAGE + entry, view
