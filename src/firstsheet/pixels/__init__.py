"""The picture's pixels, streamed: resample, sharpen, paper colour, compose, encode.

Enters: a source of rows and plain tables. Leaves: rows for a sink; memory stays bounded.
May import: cms, engine, NumPy, compiled kernels.
"""
