"""The job as a plain libvips script: `python benchmarks/plain_vips.py IN PAPER OUT [luma|lab]`.

Cubic reduction with the exact stretched kernel (gap=0), a high-pass on luma or on L*, the
library's own conversion to the paper, white sheet, uncompressed 16-bit TIFF.
"""

from __future__ import annotations

import sys

import pyvips

PPI, WIDTH_PX, SHEET_PX, GAIN = 360, 5400, (6840, 4680), 0.9


def high_pass(plane: pyvips.Image) -> pyvips.Image:
    """The detail band of one plane."""
    return plane - plane.gaussblur(2, min_ampl=0.01, precision="float")


def main() -> None:
    """Make one sheet."""
    picture, paper, out = sys.argv[1:4]
    through_lab = len(sys.argv) > 4 and sys.argv[4] == "lab"
    image = pyvips.Image.new_from_file(picture, access="sequential", fail_on="error")
    image = image.resize(WIDTH_PX / image.width, kernel="cubic", gap=0)
    options = {"intent": "relative", "black_point_compensation": True}
    if through_lab:
        lab = image.icc_import(embedded=True, pcs="lab", intent="relative")
        lightness = lab[0] + high_pass(lab[0]) * GAIN
        lab = lightness.bandjoin([lab[1], lab[2]]).copy(interpretation="lab")
        image = lab.icc_export(output_profile=paper, depth=16, **options)
    else:
        luma = image.recomb([[0.2126, 0.7152, 0.0722]])
        image = (image + high_pass(luma) * GAIN).cast("ushort").copy(interpretation="rgb16")
        image = image.icc_transform(paper, embedded=True, depth=16, **options)
    left, top = (SHEET_PX[0] - image.width) // 2, (SHEET_PX[1] - image.height) // 2
    sheet = image.embed(left, top, *SHEET_PX, extend="background", background=[65535] * 3)
    sheet.tiffsave(out, xres=PPI / 25.4, yres=PPI / 25.4)


if __name__ == "__main__":
    main()
