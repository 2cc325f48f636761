"""The job as a plain array script: `python benchmarks/plain_arrays.py PICTURE PAPER OUT`.

tifffile, Pillow's cubic resize of each channel, SciPy's Gaussian on luma, Little CMS through
imagecodecs in 16 bits, tifffile again. The whole picture lies in memory.
"""

from __future__ import annotations

import sys
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from PIL import Image
from scipy.ndimage import gaussian_filter

PPI, WIDTH_PX, SHEET_PX, GAIN = 360, 5400, (6840, 4680), 0.9
RELATIVE, COMPENSATION = 1, 0x2000


def main() -> None:
    """Make one sheet."""
    picture, paper, out = sys.argv[1:4]
    with tifffile.TiffFile(picture) as file:
        page = file.pages[0]
        codes = page.asarray()
        profile = page.tags[34675].value
    size = (WIDTH_PX, round(WIDTH_PX * codes.shape[0] / codes.shape[1]))
    planes = [
        np.asarray(
            Image.fromarray(codes[:, :, i].astype(np.float32)).resize(
                size, Image.Resampling.BICUBIC
            )
        )
        for i in range(3)
    ]
    small = np.stack(planes, axis=-1)
    luma = small @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    small += ((luma - gaussian_filter(luma, 2, truncate=3)) * np.float32(GAIN))[..., None]
    small = np.clip(small + 0.5, 0, 65535).astype(np.uint16)
    printed = imagecodecs.cms_transform(
        small,
        profile,
        Path(paper).read_bytes(),
        colorspace="rgb",
        outcolorspace="rgb",
        outdtype="uint16",
        intent=RELATIVE,
        flags=COMPENSATION,
    )
    sheet = np.full((SHEET_PX[1], SHEET_PX[0], 3), 65535, np.uint16)
    left, top = (SHEET_PX[0] - size[0]) // 2, (SHEET_PX[1] - size[1]) // 2
    sheet[top : top + size[1], left : left + size[0]] = printed
    tifffile.imwrite(out, sheet, photometric="rgb", resolution=(PPI, PPI), rowsperstrip=64)


if __name__ == "__main__":
    main()
