# Reads one JSON job a line: {"ring": [[x, y], ...], "distance": mm, "join": 1 round |
# 2 mitre | 3 bevel, "resolution": segments per quarter}. Writes one JSON line each:
# a list of polygons, each a list of rings, outer ring first. The buffer is GEOS's
# (through Shapely 1.8), an implementation independent of this program.
import json
import sys

from shapely.geometry import Polygon

for line in sys.stdin:
    job = json.loads(line)
    shape = Polygon(job["ring"]).buffer(
        job["distance"], resolution=job["resolution"], join_style=job["join"], mitre_limit=1000)
    parts = [shape] if shape.geom_type == "Polygon" else list(shape.geoms)
    print(json.dumps([
        [list(ring.coords)[:-1] for ring in [part.exterior, *part.interiors]]
        for part in parts if not part.is_empty]))
