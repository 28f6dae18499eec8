"""Rows and places of vines by general libraries, beside `benches/layout.rs`.

The same block, bearing and spacings; scan lines cut with the outline less a headland of 9 m all
round, then places along every piece. It does less than ours: no clearance by direction, no posts,
no panels, no numbering, no offsets of the first row.
"""

import json
import math
import pathlib
import sys
import time

try:
    import numpy as np
    import shapely
except ImportError as missing:
    print(f"the peer is left out: {missing}")
    sys.exit(0)

ROW, VINE, HEADLAND, OWN = 2.5, 1.2, 9.0, 14.0


def block():
    path = pathlib.Path(__file__).parent.parent / "five-hectares.geojson"
    ring = np.array(json.loads(path.read_text())["geometry"]["coordinates"][0])
    middle = ring.mean(axis=0)
    metres = np.array([111320 * math.cos(math.radians(middle[1])), 111320])
    return (ring - middle) * metres


def rows(ring, bearing):
    angle = math.radians(90 - bearing)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    outline = shapely.buffer(shapely.Polygon(ring @ turn), -HEADLAND)
    west, south, east, north = outline.bounds
    across = np.arange(south, north, ROW)
    ends = np.array([[[west - 1, v], [east + 1, v]] for v in across])
    pieces = shapely.get_parts(shapely.intersection(shapely.linestrings(ends), outline))
    lengths = shapely.length(pieces)
    return pieces[lengths >= 3 * VINE], lengths[lengths >= 3 * VINE]


def places(pieces, lengths):
    counts = np.floor((lengths - VINE) / VINE + 1e-9).astype(int) + 1
    starts = shapely.get_coordinates(shapely.get_point(pieces, 0))
    ends = shapely.get_coordinates(shapely.get_point(pieces, -1))
    way = (ends - starts) / lengths[:, None]
    of = np.repeat(np.arange(len(counts)), counts)
    step = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return starts[of] + way[of] * (VINE / 2 + step * VINE)[:, None]


def best_of(times, work):
    best, result = math.inf, None
    for _ in range(times):
        start = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - start)
    return best * 1000, result


RING = block()
one, vines = best_of(20, lambda: len(places(*rows(RING, OWN))))
print(f"shapely {shapely.__version__}: rows and places at one bearing {one:.1f} ms, {vines} vines")
many, _ = best_of(3, lambda: [len(places(*rows(RING, b))) for b in range(180)])
print(f"shapely {shapely.__version__}: rows and places at 180 bearings {many:.0f} ms, one core")
