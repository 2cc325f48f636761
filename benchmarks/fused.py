"""The job by Firstsheet's own rooms: `python benchmarks/fused.py PICTURE PAPER OUT`.

Opens the TIFF, builds the colour link, renders the sheet, writes the TIFF. No look at every
pixel, no proof, no plan: the same work the two plain scripts do.
"""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

from firstsheet.cms.chain import build_chain
from firstsheet.cms.link import paper_link, source_colour
from firstsheet.files.reading.byte_reader import open_for_reading
from firstsheet.files.reading.source import PictureSource
from firstsheet.files.reading.tiff import open_tiff
from firstsheet.files.writing.tiff import open_tiff_sink
from firstsheet.pixels.job import RenderJob
from firstsheet.pixels.render import render

PPI, WIDTH_PX, SHEET_PX = 360, 5400, (6840, 4680)
SHARPEN = SimpleNamespace(
    gain=0.9, radius_px=2.0, overshoot_limit_l=5.0, edge_low_l=3.0, edge_high_l=9.0
)


def main() -> None:
    """Make one sheet."""
    picture, paper, out = (Path(name) for name in sys.argv[1:4])
    reader = open_for_reading(picture)
    stored = open_tiff(reader, page=None, allow_bomb=True)
    source = PictureSource(reader, stored.raw, stored.resolver)
    chain = build_chain(
        source_profile=stored.metadata.icc or b"",
        colour_model="rgb",
        paper_profile=paper.read_bytes(),
        intent="relative",
        black_point=True,
    )
    height_px = round(WIDTH_PX * source.height_px / source.width_px)
    job = RenderJob(
        sheet_width_px=SHEET_PX[0],
        sheet_height_px=SHEET_PX[1],
        picture_left_px=(SHEET_PX[0] - WIDTH_PX) // 2,
        picture_top_px=(SHEET_PX[1] - height_px) // 2,
        width_px=WIDTH_PX,
        height_px=height_px,
        crop=(0, 0, source.width_px, source.height_px),
        sharpen=SHARPEN,
    )
    sink = open_tiff_sink(
        out,
        width_px=SHEET_PX[0],
        height_px=SHEET_PX[1],
        channels=3,
        bits=16,
        ppi=PPI,
        profile=paper.read_bytes(),
        keep_early=False,  # nobody flushes here, as in the plain scripts
    )
    render(source, job, source_colour(chain), paper_link(chain), sink, threads=2)
    sink.close()


if __name__ == "__main__":
    main()
