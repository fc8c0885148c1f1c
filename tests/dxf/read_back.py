"""Reads a DXF with ezdxf, which shares no code with the writer, and prints what it found as one JSON object.

Run by crates/throwbar/tests/it/drawings.rs; by hand: tests/dxf/.venv/bin/python tests/dxf/read_back.py FILE.dxf
"""

import json
import sys
from collections import Counter

import ezdxf
from ezdxf import bbox

document = ezdxf.readfile(sys.argv[1])
space = document.modelspace()
auditor = document.audit()
box = bbox.extents(space)
print(
    json.dumps(
        {
            "version": document.dxfversion,
            "units": document.units,
            "errors": [error.message for error in auditor.errors],
            "layers": sorted(layer.dxf.name for layer in document.layers),
            "counts": {
                f"{kind} {layer}": count
                for (kind, layer), count in sorted(
                    Counter((entity.dxftype(), entity.dxf.layer) for entity in space).items()
                )
            },
            "holes": [
                [*entity.dxf.center.vec2, 2 * entity.dxf.radius]
                for entity in space.query("CIRCLE[layer=='DRILL']")
            ],
            "cuts": [
                [list(point) for point in entity.get_points("xy")] for entity in space.query("LWPOLYLINE[layer=='CUT']")
            ],
            "open_letters": sum(
                1
                for entity in space.query("LWPOLYLINE[layer=='ENGRAVE']")
                if not entity.closed and not entity.dxf.const_width
            ),
            "box": [*box.extmin.vec2, *box.extmax.vec2],
        }
    )
)
