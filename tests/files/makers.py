"""Functions that make pictures for the door: sound ones, odd ones, and each defect.

Everything is made with other libraries than the code under test uses to decode where that
is possible, or by hand, byte by byte. Sizes are small and odd on purpose.
"""

from __future__ import annotations

import struct
import zlib
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms

Pixels = NDArray[Any]

HEIGHT, WIDTH = 61, 83


def noise(
    dtype: Any = np.uint16, channels: int = 3, *, height: int = HEIGHT, width: int = WIDTH
) -> Pixels:
    """Samples of every value, the same every time."""
    random = np.random.default_rng(20)
    shape = (height, width, channels)
    if np.dtype(dtype).kind == "f":
        fractions: Pixels = random.random(shape).astype(dtype)
        return fractions
    return random.integers(0, np.iinfo(dtype).max, shape, dtype=dtype, endpoint=True)


def slope(channels: int = 3, *, height: int = HEIGHT, width: int = WIDTH) -> Pixels:
    """A smooth 8-bit picture, kind to JPEG."""
    y, x = np.mgrid[0:height, 0:width]
    planes = [
        30 + 180 * ((x * (c + 1) + y * (3 - c % 3)) % (width * 3)) / (width * 3)
        for c in range(channels)
    ]
    return np.stack(planes, axis=2).astype(np.uint8)


@lru_cache(maxsize=1)  # made once: its header holds the second it was made
def srgb_profile() -> bytes:
    """An sRGB profile from Pillow's own builder."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def write_tiff(path: Path, pixels: Pixels, **options: Any) -> Path:
    """A TIFF with 17 rows per strip unless told otherwise; `(rows, width, samples)` in."""
    options.setdefault("photometric", "rgb" if pixels.shape[2] >= 3 else "minisblack")
    if options.get("planarconfig") == "separate":
        pixels = np.moveaxis(pixels, 2, 0)
    elif pixels.shape[2] == 1:
        pixels = pixels[:, :, 0]
    if "tile" not in options:
        options.setdefault("rowsperstrip", 17)
    options.setdefault("metadata", None)
    tifffile.imwrite(path, pixels, **options)
    return path


def with_profile(path: Path, profile: bytes, pixels: Pixels | None = None, **options: Any) -> Path:
    """A TIFF that carries these profile bytes."""
    return write_tiff(path, noise() if pixels is None else pixels, iccprofile=profile, **options)


def pages(path: Path, number: int = 3, *, thumbnail_first: bool = False) -> Path:
    """A TIFF of several pages, each of its own grey; perhaps a reduced copy before them."""
    with tifffile.TiffWriter(path) as writer:
        if thumbnail_first:
            writer.write(np.zeros((6, 8, 3), np.uint8), photometric="rgb", subfiletype=1)
        for index in range(number):
            flat = np.full((HEIGHT, WIDTH, 3), 40 * (index + 1), np.uint8)
            writer.write(flat, photometric="rgb", metadata=None)
    return path


def layered(path: Path) -> Path:
    """A flattened page with layer data beside it (tag 37724), and a second page."""
    with tifffile.TiffWriter(path) as writer:
        tags = [(37724, 7, 8, b"layers!!", True)]
        writer.write(noise(np.uint8), photometric="rgb", extratags=tags, metadata=None)
        writer.write(noise(np.uint8), photometric="rgb", metadata=None)
    return path


def palette_tiff(path: Path, *, deep: bool = False) -> tuple[Path, Pixels]:
    """An indexed TIFF, and the RGB it stands for (8 bits, or 16 where the palette needs it)."""
    random = np.random.default_rng(5)
    codes = random.integers(0, 256, (HEIGHT, WIDTH), dtype=np.uint8)
    table = random.integers(0, 256, (3, 256), dtype=np.uint16)
    wide = table * 257 + (1 if deep else 0) * (table < 255)
    tifffile.imwrite(path, codes, photometric="palette", colormap=wide.astype(np.uint16))
    colours = wide.T[codes] if deep else table.T[codes].astype(np.uint8)
    return path, colours.astype(np.uint16 if deep else np.uint8)


def one_bit_tiff(path: Path, compression: str | None = None) -> tuple[Path, Pixels]:
    """A bilevel TIFF written by Pillow, and its 0 / 255 greys."""
    bits = np.random.default_rng(6).integers(0, 2, (HEIGHT, WIDTH), dtype=np.uint8) * 255
    picture = Image.fromarray(bits).convert("1")
    picture.save(path, compression=compression or "raw")
    return path, bits[:, :, None]


def raw_camera_tiff(path: Path, *, below: bool) -> Path:
    """Sensor data, in the main page or, as makers do, in a sub-directory of a preview."""
    sensor = np.zeros((32, 32), np.uint16)
    tags = [(33421, 3, 2, (2, 2), True), (33422, 1, 4, b"\0\1\1\2", True)]
    with tifffile.TiffWriter(path) as writer:
        if below:
            small = np.zeros((8, 8, 3), np.uint8)
            writer.write(small, photometric="rgb", subfiletype=1, subifds=1, metadata=None)
            writer.write(sensor, photometric="cfa", extratags=tags, metadata=None)
        else:
            writer.write(sensor, photometric="cfa", extratags=tags, metadata=None)
    return path


def bomb_tiff(path: Path, side: int = 200_000) -> Path:
    """A tiny TIFF whose header claims side × side pixels in one deflate strip."""
    packed = zlib.compress(bytes(1000))
    entries = [
        (256, 4, 1, side),
        (257, 4, 1, side),
        (258, 3, 1, 8),
        (259, 3, 1, 8),
        (262, 3, 1, 1),
        (273, 4, 1, 8),
        (277, 3, 1, 1),
        (278, 4, 1, side),
        (279, 4, 1, len(packed)),
    ]
    return _hand_made_tiff(path, entries, packed)


def bomb_png(path: Path, side: int = 100_000) -> Path:
    """A tiny PNG that claims side × side pixels."""
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    body = _png_chunk(b"IHDR", header) + _png_chunk(b"IDAT", zlib.compress(bytes(5000)))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + body + _png_chunk(b"IEND", b""))
    return path


def no_pixels_tiff(path: Path) -> Path:
    """A TIFF of 0 × 5 pixels."""
    entries = [
        (256, 4, 1, 0),
        (257, 4, 1, 5),
        (258, 3, 1, 8),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, 8),
        (277, 3, 1, 1),
        (278, 4, 1, 5),
        (279, 4, 1, 4),
    ]
    return _hand_made_tiff(path, entries, b"\0\0\0\0")


def _hand_made_tiff(path: Path, entries: list[tuple[int, int, int, int]], data: bytes) -> Path:
    """A little-endian TIFF with its strip at offset 8 and these single-value entries."""
    data += b"\0" * (len(data) % 2)
    lines = b""
    for tag, kind, count, value in entries:
        field = struct.pack("<HH", value, 0) if kind == 3 else struct.pack("<I", value)
        lines += struct.pack("<HHI", tag, kind, count) + field
    directory = struct.pack("<H", len(entries)) + lines + b"\0\0\0\0"
    path.write_bytes(b"II*\0" + struct.pack("<I", 8 + len(data)) + data + directory)
    return path


def _png_chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def write_png(
    path: Path,
    pixels: Pixels,
    extra: list[tuple[bytes, bytes]] | None = None,
    *,
    data_chunk_bytes: int = 1 << 30,
    level: int = 6,
) -> Path:
    """A PNG made by hand, every row with filter 0; `extra` chunks go before the data."""
    height, width, channels = pixels.shape
    kind = {1: 0, 2: 4, 3: 2, 4: 6}[channels]
    bits = 8 * pixels.dtype.itemsize
    big = pixels.astype(pixels.dtype.newbyteorder(">"))
    lines = b"".join(b"\0" + row.tobytes() for row in big)
    chunks = [(b"IHDR", struct.pack(">IIBBBBB", width, height, bits, kind, 0, 0, 0))]
    chunks += extra or []
    packed = zlib.compress(lines, level)
    starts = range(0, len(packed), data_chunk_bytes)
    chunks += [(b"IDAT", packed[at : at + data_chunk_bytes]) for at in starts]
    chunks += [(b"IEND", b"")]
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(_png_chunk(*chunk) for chunk in chunks))
    return path


def exif_block(
    *,
    orientation: int | None = None,
    colour_space: int | None = None,
    interop: str = "",
    camera: tuple[str, str] = ("", ""),
    taken: str = "",
    resolution: tuple[float, float] | None = None,
    thumbnail: bytes = b"",
) -> bytes:
    """An EXIF block with its prefix, made with Pillow; a thumbnail is appended by hand."""
    exif = Image.Exif()
    if orientation is not None:
        exif[274] = orientation
    for tag, text in zip((271, 272), camera, strict=True):
        if text:
            exif[tag] = text
    if resolution is not None:
        exif[282], exif[283], exif[296] = resolution[0], resolution[1], 2
    below = exif.get_ifd(0x8769)
    if colour_space is not None:
        below[0xA001] = colour_space
    if taken:
        below[36867] = taken
    if interop:
        below[0xA005] = {1: interop}
    block = exif.tobytes()
    return _with_thumbnail(block, thumbnail) if thumbnail else block


def _with_thumbnail(block: bytes, thumbnail: bytes) -> bytes:
    """Append a second directory that points at a JPEG thumbnail."""
    body = bytearray(block[6:])
    order = "<" if body[:2] == b"II" else ">"
    first = struct.unpack_from(f"{order}I", body, 4)[0]
    number = struct.unpack_from(f"{order}H", body, first)[0]
    body += b"\0" * (len(body) % 2)
    second = len(body)
    struct.pack_into(f"{order}I", body, first + 2 + 12 * number, second)
    data_at = second + 2 + 12 * 2 + 4
    body += struct.pack(f"{order}H", 2)
    body += struct.pack(f"{order}HHII", 513, 4, 1, data_at)
    body += struct.pack(f"{order}HHII", 514, 4, 1, len(thumbnail))
    body += struct.pack(f"{order}I", 0) + thumbnail
    return b"Exif\0\0" + bytes(body)


def jpeg_bytes(pixels: Pixels, **options: Any) -> bytes:
    """A JPEG by Pillow."""
    import io

    held = io.BytesIO()
    options.setdefault("quality", 92)
    mode = {1: "L", 3: "RGB", 4: "CMYK"}[pixels.shape[2]]
    Image.fromarray(pixels[:, :, 0] if mode == "L" else pixels, mode=None).convert(mode).save(
        held, "JPEG", **options
    )
    return held.getvalue()


def cut(path: Path, share: float) -> Path:
    """Cut a file off."""
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


def orange_negative(*, height: int = 300, width: int = 400) -> Pixels:
    """What a scanner sees of a masked colour negative: densities over an orange base.

    Base densities of about 0.25, 0.65 and 0.95 (R, G, B), gamma 0.6 for each layer, a scene
    of 1.8 log units; common values of the trade, no source.
    """
    random = np.random.default_rng(8)
    coarse = random.normal(size=(height // 20, width // 20, 3))
    scene = np.kron(coarse, np.ones((20, 20, 1)))
    shared = np.kron(random.normal(size=(height // 20, width // 20, 1)), np.ones((20, 20, 1)))
    log_exposure = np.clip(0.9 + 0.5 * shared + 0.2 * scene, 0, 1.8)
    sky = (shared > 0.0) & (shared < 1.2)  # a blue sky in the upper middle tones
    log_exposure = log_exposure + sky * np.array([-0.2, 0.0, 0.35])
    density = np.array([0.25, 0.65, 0.95]) + 0.6 * log_exposure
    linear = 10.0 ** -(density - 0.2)
    encoded = linear ** (1 / 2.2) + random.normal(scale=0.003, size=linear.shape)
    codes: Pixels = (np.clip(encoded, 0, 1) * 65535).astype(np.uint16)
    return codes


def cmyk_profile() -> bytes:
    """A crude press profile: 2 grid points a side, Lab falling with each ink (ICC lut8)."""
    inks = np.stack(np.meshgrid(*[[0, 1]] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    left = np.prod(1 - inks * [0.5, 0.55, 0.12, 0.95], axis=1)
    tone = (inks @ np.array([[-35, -45], [72, -4], [-5, 90], [0, 0]])) * left[:, None]
    lab = np.column_stack([left * 255, tone + 128])
    ramp = bytes(range(256))
    identity = struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    grid = np.clip(np.round(lab), 0, 255).astype(np.uint8).tobytes()
    table = b"mft1\0\0\0\0" + bytes((4, 3, 2, 0)) + identity + ramp * 4 + grid + ramp * 3
    words = b"Crude press\0"
    described = b"desc\0\0\0\0" + struct.pack(">I", len(words)) + words + bytes(78)
    tags = {
        b"desc": described,
        b"cprt": b"text\0\0\0\0No rights reserved\0",
        b"wtpt": b"XYZ \0\0\0\0" + struct.pack(">3i", 63190, 65536, 54061),
        b"A2B0": table,
    }
    body, places = b"", b""
    for name, data in tags.items():
        places += struct.pack(">4sII", name, 128 + 4 + 12 * len(tags) + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    rest = struct.pack(">I", len(tags)) + places + body
    head = struct.pack(
        ">I4sI4s4s4s12x4s", 128 + len(rest), b"none", 0x02400000, b"prtr", b"CMYK", b"Lab ", b"acsp"
    )
    head += bytes(68 - len(head)) + struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + rest
