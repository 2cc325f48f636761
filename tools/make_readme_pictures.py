"""Draws the pictures of the README from what the demo made.

Run after `make demo`: python tools/make_readme_pictures.py [demo/out]
Gives docs/pictures/*.jpg, small, tagged sRGB.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

import pypdfium2
from PIL import Image, ImageCms

from firstsheet.cms.build import space_profile

ROOT = Path(__file__).parents[1]
TARGET = ROOT / "docs/pictures"
PRINT = "ferry-stairs"


def _srgb(path: Path) -> Image.Image:
    """The picture, converted to sRGB from whatever profile it carries."""
    with Image.open(path) as opened:
        profile = opened.info.get("icc_profile")
        picture = opened.convert("RGB")
    if profile is None:
        return picture
    source = ImageCms.ImageCmsProfile(BytesIO(profile))
    target = ImageCms.ImageCmsProfile(BytesIO(space_profile("srgb")))
    converted = ImageCms.profileToProfile(picture, source, target, outputMode="RGB")
    assert converted is not None
    return converted


def _save(picture: Image.Image, name: str, long_side_px: int) -> None:
    small = picture.copy()
    small.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
    path = TARGET / name
    small.save(path, quality=88, subsampling=0, icc_profile=space_profile("srgb"))
    sys.stdout.write(f"{path.relative_to(ROOT)}  {path.stat().st_size // 1024} kB\n")


def main(demo: Path) -> None:
    """Draw every picture."""
    TARGET.mkdir(parents=True, exist_ok=True)
    folder = demo / "prints" / PRINT
    _save(_srgb(folder / "proof.png"), "proof.jpg", 1100)
    _save(_srgb(folder / "loss-map.png"), "loss-map.jpg", 1000)
    document = pypdfium2.PdfDocument(folder / "job-sheet.pdf")
    for index in range(min(2, len(document))):
        page = document[index].render(scale=1.6).to_pil().convert("RGB")
        _save(page, f"job-sheet-{index + 1}.jpg", 1100)
    document.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "demo/out")
