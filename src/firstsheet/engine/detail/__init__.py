"""What a picture truly holds: edges, grain, traces of enlargement, sharpening and compression."""
