"""Reads a DXF file with ezdxf and tells what it holds, as JSON. Areas by GEOS (Shapely)."""
import json
import sys

import ezdxf
from shapely.geometry import Polygon

document = ezdxf.readfile(sys.argv[1])
auditor = document.audit()
# ezdxf 0.18 says this of every polyline in a block, of files that it wrote itself too.
own_fault = "Deleted SEQEND"
told = {
    "version": document.dxfversion,
    "units": document.header.get("$INSUNITS", 0),
    "errors": [str(e.message) for e in auditor.errors] + 
    [str(f.message) for f in auditor.fixes if not str(f.message).startswith(own_fault)],
    "layers": sorted(layer.dxf.name for layer in document.layers),
    "inserts": [[i.dxf.name, i.dxf.insert.x, i.dxf.insert.y] for i in document.modelspace().query("INSERT")],
    "blocks": {},
}
for block in document.blocks:
    if block.name.startswith(("*", "$")):
        continue
    lines, words = [], []
    for entity in block:
        if entity.dxftype() == "POLYLINE":
            points = [(v.x, v.y) for v in entity.points()]
            lines.append({
                "layer": entity.dxf.layer,
                "closed": entity.is_closed,
                "area": Polygon(points).area if entity.is_closed else 0,
                "valid": Polygon(points).is_valid if entity.is_closed else True,
                "points": points,
            })
        elif entity.dxftype() == "TEXT":
            words.append([entity.dxf.layer, ezdxf.lldxf.encoding.decode_dxf_unicode(entity.dxf.text)])
    told["blocks"][block.name] = {"lines": lines, "words": words}
json.dump(told, sys.stdout)
