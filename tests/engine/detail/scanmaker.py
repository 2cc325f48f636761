"""Makes scans whose truth is known: scene, lens, grain, scanner, sampling, later treatment.

Takes a ScanSpec; gives lightness (L*, float32) as a reader would, and the exact response of
what made it. Resampling and JPEG are Pillow's, not ours. Used by tests and tools only.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from firstsheet.engine.colour.lab import y_to_lightness

Floats = NDArray[np.float64]
_OVER = 3  # samples of the scene per scan pixel
_KERNELS = {
    "bilinear": Image.Resampling.BILINEAR,
    "bicubic": Image.Resampling.BICUBIC,
    "lanczos": Image.Resampling.LANCZOS,
}


@dataclass(frozen=True, kw_only=True)
class ScanSpec:
    """How a scan is made; lengths in pixels of the scan before any later treatment."""

    seed: int = 0
    size_px: int = 384  # of the finished picture
    scene: str = "town"  # town, texture, sky
    lens_sigma_px: float = 0.4
    grain: float = 0.01  # standard deviation of the grain in density, per scan pixel, unfiltered
    scanner_sigma_px: float = 0.4
    electronic: float = 0.0  # of full scale in encoded values, white, after sampling
    demosaic: bool = False
    factor: float = 1.0  # above 1: enlarged; below: made smaller
    kernel: str = "bicubic"
    anti_alias: bool = True  # False: reductions keep the kernel as narrow as for enlarging
    sharpen_sigma_px: float = 1.0  # in the finished picture
    sharpen_gain: float = 0.0
    first_jpeg_quality: int | None = None  # saved as JPEG before it was enlarged or made smaller
    late_grain: float = 0.0  # of full scale, white, added at the very end
    jpeg_quality: int | None = None
    bits: int = 16


def encode(linear: Floats) -> Floats:
    """Encode linear light after IEC 61966-2-1."""
    y = np.clip(linear, 0.0, 1.0)
    return np.where(y <= 0.0031308, 12.92 * y, 1.055 * np.maximum(y, 1e-9) ** (1 / 2.4) - 0.055)


def decode(encoded: Floats) -> Floats:
    """Undo `encode`."""
    v = np.clip(encoded, 0.0, 1.0)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def blur(plane: Floats, sigma_px: float) -> Floats:
    """Gaussian blur through its exact frequency response (edges wrap)."""
    if sigma_px <= 0:
        return plane
    fy = np.fft.fftfreq(plane.shape[0])[:, None]
    fx = np.fft.rfftfreq(plane.shape[1])[None, :]
    response = np.exp(-2 * math.pi**2 * sigma_px**2 * (fx**2 + fy**2))
    return np.asarray(np.fft.irfft2(np.fft.rfft2(plane) * response, s=plane.shape))


def _box(
    plane: Floats, rng: np.random.Generator, longest: float, shortest: float, tone: float
) -> None:
    """Paint one turned rectangle."""
    size = plane.shape[0]
    cx, cy = rng.uniform(0, size, 2)
    half_w, half_h = rng.uniform(shortest, longest, 2) / 2
    angle = math.radians(rng.uniform(-40, 40) if rng.random() < 0.3 else rng.uniform(-12, 12))
    reach = int(math.hypot(half_w, half_h)) + 2
    top, left = max(0, int(cy) - reach), max(0, int(cx) - reach)
    bottom, right = min(size, int(cy) + reach), min(size, int(cx) + reach)
    y, x = np.mgrid[top:bottom, left:right].astype(float)
    u = (x - cx) * math.cos(angle) + (y - cy) * math.sin(angle)
    v = -(x - cx) * math.sin(angle) + (y - cy) * math.cos(angle)
    inside = (np.abs(u) < half_w) & (np.abs(v) < half_h)
    plane[top:bottom, left:right][inside] = tone


def _fractal(rng: np.random.Generator, size: int, power: float) -> Floats:
    """Noise whose amplitude falls as 1/f^power; standard deviation 1."""
    fy, fx = np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :]
    radius = np.maximum(np.hypot(fx, fy), 1.0 / size)
    spectrum = np.fft.rfft2(rng.standard_normal((size, size))) / radius**power
    spectrum[0, 0] = 0
    plane = np.fft.irfft2(spectrum, s=(size, size))
    return np.asarray(plane / plane.std())


def scene(kind: str, size: int, rng: np.random.Generator) -> Floats:
    """Linear luminance of an invented view, `size` x `size` fine samples."""
    ramp = np.linspace(0.55, 0.25, size)[:, None] * np.ones(size)
    if kind == "sky":
        return ramp * np.exp(0.02 * _fractal(rng, size, 2.0))
    if kind == "texture":
        return np.clip(0.2 * np.exp(0.5 * _fractal(rng, size, 1.1)), 0.005, 0.95)
    plane = ramp.copy()
    for _ in range(14):
        _box(plane, rng, size * 0.35, size * 0.08, float(rng.choice([0.03, 0.08, 0.5, 0.8])))
    for _ in range(10):
        _box(plane, rng, size * 0.12, size * 0.02, float(rng.uniform(0.02, 0.9)))
    quarter = size // 3  # a patch of foliage
    leaves = 0.12 * np.exp(0.6 * _fractal(rng, quarter, 1.0))
    top, left = rng.integers(0, size - quarter, 2)
    plane[top : top + quarter, left : left + quarter] = np.clip(leaves, 0.005, 0.95)
    return plane


def _sampled(plane: Floats) -> Floats:
    """Average squares of fine samples: the scan pixel's aperture, and sampling."""
    rows, columns = (side // _OVER for side in plane.shape)
    whole = plane[: rows * _OVER, : columns * _OVER]
    return np.asarray(whole.reshape(rows, _OVER, columns, _OVER).mean(axis=(1, 3)))


def _demosaic(encoded: Floats) -> Floats:
    """Lay a colour filter pattern over a grey picture and interpolate it bilinearly."""
    rows, columns = np.indices(encoded.shape)
    green = (rows + columns) % 2 == 0
    red = (rows % 2 == 0) & (columns % 2 == 1)
    total = np.zeros_like(encoded)
    for mask, share in ((green, 0.72), (red, 0.21), (~green & ~red, 0.07)):
        weighted, count = np.zeros_like(encoded), np.zeros_like(encoded)
        for dy in (-1, 0, 1):
            for dx in (-1, 0, 1):
                near = (2 - abs(dy)) * (2 - abs(dx))
                weighted += near * np.roll(np.where(mask, encoded, 0.0), (dy, dx), (0, 1))
                count += near * np.roll(mask.astype(float), (dy, dx), (0, 1))
        total += share * np.where(mask, encoded, weighted / count)
    return total


def _resized(encoded: Floats, size_px: int, kernel: str, anti_alias: bool) -> Floats:
    """Pillow's own resize, single precision."""
    picture = Image.fromarray(encoded.astype(np.float32))
    if not anti_alias:
        step = encoded.shape[0] / size_px
        turned = picture.transform(
            (size_px, size_px),
            Image.Transform.AFFINE,
            (step, 0, 0, 0, step, 0),
            Image.Resampling.BILINEAR if kernel == "bilinear" else Image.Resampling.BICUBIC,
        )
        return np.asarray(turned).astype(np.float64)
    return np.asarray(picture.resize((size_px, size_px), _KERNELS[kernel])).astype(np.float64)


def _jpeg(encoded: Floats, quality: int) -> Floats:
    """Through an 8-bit JPEG and back."""
    buffer = io.BytesIO()
    Image.fromarray(np.round(encoded * 255).astype(np.uint8)).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer)).astype(np.float64) / 255.0


def make_encoded(spec: ScanSpec) -> Floats:
    """The finished picture in encoded values, 0..1, quantised as it would be stored."""
    rng = np.random.default_rng(spec.seed)
    source_px = max(16, round(spec.size_px / spec.factor))
    margin = 8
    fine = scene(spec.scene, (source_px + 2 * margin) * _OVER, rng)
    fine = blur(fine, spec.lens_sigma_px * _OVER)
    if spec.grain > 0:
        density = spec.grain * _OVER * rng.standard_normal(fine.shape)
        fine = fine * 10.0**-density
    fine = blur(fine, spec.scanner_sigma_px * _OVER)
    plane = encode(_sampled(fine)[margin:-margin, margin:-margin])
    plane = plane + spec.electronic * rng.standard_normal(plane.shape)
    if spec.demosaic:
        plane = _demosaic(plane)
    if spec.first_jpeg_quality is not None:
        plane = _jpeg(np.clip(plane, 0.0, 1.0), spec.first_jpeg_quality)
    if source_px != spec.size_px:
        plane = _resized(plane, spec.size_px, spec.kernel, spec.anti_alias)
    if spec.sharpen_gain > 0:
        plane = plane + spec.sharpen_gain * (plane - blur(plane, spec.sharpen_sigma_px))
    plane = np.clip(plane + spec.late_grain * rng.standard_normal(plane.shape), 0.0, 1.0)
    if spec.jpeg_quality is not None:
        return _jpeg(plane, spec.jpeg_quality)
    top = 2.0**spec.bits - 1
    return np.round(plane * top) / top


def make_scan(spec: ScanSpec) -> NDArray[np.float32]:
    """The finished picture as lightness, L*."""
    return np.asarray(y_to_lightness(decode(make_encoded(spec))), dtype=np.float32)


def true_factor(spec: ScanSpec) -> float:
    """The factor truly used, after rounding the source to whole pixels."""
    return spec.size_px / max(16, round(spec.size_px / spec.factor))


def crossing_cpp(sigma_px: float, level: float) -> float:
    """Where Gaussian times square pixel falls to a level, cycles/pixel; exact, by halving."""
    low, high = 0.0, 0.9999
    for _ in range(60):
        middle = 0.5 * (low + high)
        response = math.exp(-2 * (math.pi * sigma_px * middle) ** 2) * np.sinc(middle)
        low, high = (middle, high) if response > level else (low, middle)
    return low
