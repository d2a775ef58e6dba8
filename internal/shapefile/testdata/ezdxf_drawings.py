"""Writes one closed outline in each way that a DXF can draw it, with ezdxf, and points on
the line by ezdxf's own geometry (x y, mm, one a line, in order round the outline)."""
import math
import sys

import ezdxf
from ezdxf import units
from ezdxf.math import Vec3

out = sys.argv[1]


def points_of(entities, n=60):
    """Points on the entities, in order round the outline, by ezdxf's own evaluation of each
    kind of line. (Its paths are no truth: they make cubics of a quarter turn of arcs.)"""
    runs = []
    for e in entities:
        kind = e.dxftype()
        if kind in ("LWPOLYLINE", "POLYLINE"):
            runs += [points_of([v]) for v in e.virtual_entities()]
        elif kind == "LINE":
            runs.append([e.dxf.start.lerp(e.dxf.end, i / n) for i in range(n + 1)])
        elif kind == "ARC":
            sweep = (e.dxf.end_angle - e.dxf.start_angle) % 360
            at = lambda i: e.dxf.center + Vec3.from_deg_angle(e.dxf.start_angle + sweep * i / n, e.dxf.radius)
            runs.append([e.ocs().to_wcs(at(i)) for i in range(n + 1)])
        elif kind == "ELLIPSE":
            runs.append(list(e.vertices([math.tau * i / (8 * n) for i in range(8 * n)])))
        elif kind == "SPLINE":
            tool = e.construction_tool()
            knots = tool.knots()
            runs.append(list(tool.points([knots[0] + (knots[-1] - knots[0]) * i / (8 * n) for i in range(8 * n + 1)])))
        else:
            raise ValueError(kind)
    out = []
    for k, run in enumerate(runs):
        run = [Vec3(p) for p in run]
        if len(runs) > 1:  # the end that meets the neighbour comes last in the first run, first in the others
            meets = [Vec3(runs[1][0]), Vec3(runs[1][-1])] if k == 0 else [out[-1]]
            first, last = (min(p.distance(q) for q in meets) for p in (run[0], run[-1]))
            if (first < last) == (k == 0):
                run.reverse()
        out += run
    return out


def save(doc, name, pts, scale=1.0):
    doc.saveas(f"{out}/{name}.dxf")
    with open(f"{out}/{name}.txt", "w") as f:
        for p in pts:
            f.write(f"{p.x * scale!r} {p.y * scale!r}\n")


def new(release, unit=units.MM):
    doc = ezdxf.new(release)
    doc.units = unit
    doc.header["$INSUNITS"] = unit
    return doc, doc.modelspace()


RELEASES = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]

# A seat of lines and bulges in every release.
corners = [(0, 0, 0), (400, 0, 0.1), (430, 380, 0.4), (400, 410, 0.05), (30, 410, 0.3), (0, 380, -0.1)]
for release in RELEASES:
    doc, msp = new(release)
    e = msp.add_polyline2d([(x, y, b) for x, y, b in corners], format="xyb", close=True) if release == "R12" else \
        msp.add_lwpolyline(corners, format="xyb", close=True)
    save(doc, "bulges-" + release, points_of([e]))

# The same seat in loose lines and arcs, inches.
doc, msp = new("R2010", units.IN)
line = lambda a, b: msp.add_line(a, b)
es = [line((0, 0), (16, 0)), msp.add_arc((16, 2), 2, -90, 0), line((18, 2), (18, 14)), msp.add_arc((16, 14), 2, 0, 90),
      line((16, 16), (0, 16)), line((0, 16), (0, 0))]
save(doc, "loose-inches", points_of(es), 25.4)

# Splines: clamped cubic, closed by its ends; quadratic; degree 5; rational; through fit points.
ring = [(200 + 180 * math.cos(a), 200 + 150 * math.sin(a) + 20 * math.cos(3 * a)) for a in [i * math.tau / 12 for i in range(12)]]
ring.append(ring[0])
for degree in (2, 3, 5):
    doc, msp = new("R2010")
    e = msp.add_open_spline([Vec3(p) for p in ring], degree=degree)
    save(doc, f"spline-{degree}", points_of([e]))
doc, msp = new("R2013")
e = msp.add_spline()
e.set_closed([Vec3(p) for p in ring[:-1]], degree=3)
tool = e.construction_tool()
knots, n = tool.knots(), 480
first, last = knots[3], knots[len(knots) - 4]
save(doc, "spline-closed", list(tool.points([first + (last - first) * i / n for i in range(n + 1)])))
doc, msp = new("R2010")
e = msp.add_rational_spline([Vec3(p) for p in ring], weights=[1, 2, 1, 0.5, 1, 3, 1, 1, 2, 1, 0.7, 1, 1], degree=3)
save(doc, "spline-rational", points_of([e]))
doc, msp = new("R2010")
e = msp.add_cad_spline_control_frame([Vec3(p) for p in ring])
save(doc, "spline-fitted", points_of([e]))

# An ellipse, and a block placed turned, stretched and mirrored.
doc, msp = new("R2010")
e = msp.add_ellipse((10, 20), major_axis=(150, 130), ratio=0.7)
save(doc, "ellipse", points_of([e]))
doc, msp = new("R2010")
block = doc.blocks.new("pad", base_point=(50, 60))
block.add_lwpolyline(corners, format="xyb", close=True)
insert = msp.add_blockref("pad", (500, -300), dxfattribs={"xscale": -1, "yscale": 1, "rotation": 30})
save(doc, "block-mirrored", points_of(list(insert.virtual_entities())))
