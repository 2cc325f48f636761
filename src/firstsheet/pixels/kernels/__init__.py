"""The compiled arithmetic: what happens to every pixel, written for numba.

Only `pixels.native` imports these modules, and only to compile them. Every function takes
plain addresses and counts, allocates nothing and raises nothing. All arithmetic is single
precision in IEEE order (nothing contracted, nothing reassociated), so every processor and
every division of the work into threads or bands gives the same bytes.

Layout: a *line* is one row of interleaved samples; a *plane row* is one row of one channel.
Rings hold plane rows as [plane][ring row][x]. LANES rows travel side by side through `across`.
Theory: docs/theory/resampling.md, sharpening.md, speed.md. Tests: tests/pixels/.
"""
